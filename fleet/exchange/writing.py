"""The register's tables as the CSV files of a fleet folder: the same rows always give the same bytes.

Rows stand in the order of their keys, columns in the schema's, numbers as short as they read back exactly.
"""

import csv
from pathlib import Path

import numpy as np
import pandas as pd

from forecasting.units import stored_unit

from .columns import Column, File, Kind
from .numerals import shortest
from .schema import FILES
from .tables import NUMERIC


def file_name(file: File) -> str:
    return f"{file.name}.csv"


def write_folder(tables: dict[str, pd.DataFrame], folder: Path) -> list[str]:
    """The names of the files written into `folder`: those of which the register has rows."""
    written = []
    for file in FILES:
        frame = tables[file.name]
        if frame.empty:
            continue
        with (folder / file_name(file)).open("w", encoding="utf-8", newline="") as out:
            writer = csv.writer(out, lineterminator="\n")
            columns = [_column_as_written(frame, column) for column in file.columns]
            writer.writerow(header for header, _ in columns)
            writer.writerows(zip(*(texts for _, texts in columns), strict=True))
        written.append(file_name(file))
    return written


def _column_as_written(frame: pd.DataFrame, column: Column) -> tuple[str, list[str]]:
    """The header and the texts of a column.

    A measure stands in the unit in which it was entered if that is one for all rows, else in the stored unit.
    """
    values = frame[column.stored_name]
    if not column.measure:
        return column.name, _texts(values, column)
    stored = stored_unit(column.measure).suffix
    entered, unit = (frame[name] for name in column.entered_names)
    units = unit[values.notna()].fillna(stored).unique()
    suffix = units[0] if len(units) == 1 else stored
    header = f"{column.name}_{suffix}" if suffix else column.name
    return header, _texts(values if suffix == stored else entered, column)


def _texts(values: pd.Series, column: Column) -> list[str]:
    """A text for each value; each distinct value is written once."""
    codes, distinct = pd.factorize(values)
    if column.kind in NUMERIC:
        texts = [shortest(value) for value in distinct]
    elif column.kind is Kind.DATE:
        texts = [f"{day:%Y-%m-%d}" for day in distinct]
    elif column.kind is Kind.YES_NO:
        texts = ["yes" if value else "no" for value in distinct]
    else:
        texts = list(distinct)
    return np.array([*texts, ""], dtype=object)[codes].tolist()
