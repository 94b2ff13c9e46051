"""The files out: a plan's tables as CSV and its report as JSON, a backtest's scores, a comparison."""

import json
from collections.abc import Iterable
from pathlib import Path

import pandas as pd

from forecasting.outputs import COMPARISON, OUTPUTS, SCORES
from forecasting.tables import Table

from .aside import written_aside
from .numerals import shortest

# What a reader can use; chances and quantities, without a unit here, keep what their sums need.
DECIMALS = {"bar": 2, "%": 2, "mm": 1, "d": 1, "h": 1, "min": 1, "money": 2, "": 8}


def write_results(folder: Path, tables: dict[str, pd.DataFrame], report: dict) -> Iterable[Path]:
    """The paths of the files written into `folder`, which is made where it is new.

    All are written aside first, so that a run that is stopped leaves the files that stood.
    """
    with written_aside(folder) as aside:
        for one in OUTPUTS.values():
            _write_table(aside, tables[one.name], one)
        # Sorted, because PostgreSQL keeps no order of names: the same plan gives the same bytes from both.
        text = json.dumps(report, indent=2, ensure_ascii=False, allow_nan=False, sort_keys=True)
        (aside / "report.json").write_text(f"{text}\n", encoding="utf-8")
        return [path.replace(folder / path.name) for path in sorted(aside.iterdir())]


def write_scores(folder: Path, scores: pd.DataFrame) -> Path:
    """The path of scores.csv, written into `folder`, which is made where it is new."""
    with written_aside(folder) as aside:
        return _write_table(aside, scores, SCORES).replace(folder / f"{SCORES.name}.csv")


def write_comparison(folder: Path, comparison: pd.DataFrame) -> Path:
    """The path of comparison.csv, written into `folder`, which is made where it is new."""
    with written_aside(folder) as aside:
        return _write_table(aside, comparison, COMPARISON).replace(folder / f"{COMPARISON.name}.csv")


def _write_table(folder: Path, frame: pd.DataFrame, table: Table) -> Path:
    path = folder / f"{table.name}.csv"
    written = as_written(frame, table)
    written.to_csv(path, index=False, lineterminator="\n", date_format="%Y-%m-%d", float_format=shortest)
    return path


def as_written(frame: pd.DataFrame, table: Table) -> pd.DataFrame:
    """`frame` as its file shows it: numbers rounded for their unit, yes and no in words."""
    written = {}
    for column in table.columns:
        values = frame[column.name]
        if column.kind == "number":
            values = values.round(DECIMALS[column.unit]) + 0.0  # no -0.0
        elif column.kind == "yes_no":
            values = values.astype(object).map({True: "yes", False: "no"})
        written[column.name] = values
    return pd.DataFrame(written)
