"""The register's tables as frames: one per file, measures in stored units and as entered.

text, choice(s)   str, missing where empty     number, whole, money, measure   float64, NaN where empty
date              datetime64[s]                yes_no                          boolean
"""

from collections.abc import Mapping

import pandas as pd

from .columns import Column, File, Kind

NUMERIC = (Kind.NUMBER, Kind.WHOLE, Kind.MONEY, Kind.MEASURE)


def dtype_of(column: Column) -> str:
    """The dtype in which a frame keeps the column's stored values."""
    if column.kind in NUMERIC:
        return "float64"
    return {Kind.YES_NO: "boolean", Kind.DATE: "datetime64[s]"}.get(column.kind, "str")


def dtypes_of(file: File) -> dict[str, str]:
    """Every column of the file's frame with its dtype: the stored columns, then measures as entered."""
    dtypes = {column.stored_name: dtype_of(column) for column in file.columns}
    for column in file.measures:
        value, unit = column.entered_names
        dtypes |= {value: "float64", unit: "str"}
    return dtypes


def fit_table(data: Mapping | pd.DataFrame | None, file: File) -> pd.DataFrame:
    """A frame with every column of the file; columns that `data` lacks are empty, further ones are kept."""
    frame = pd.DataFrame({} if data is None else data)
    dtypes = dtypes_of(file)
    columns = {
        name: frame[name].astype(dtype) if name in frame else pd.Series(None, index=frame.index, dtype=dtype)
        for name, dtype in dtypes.items()
    }
    return pd.DataFrame(
        columns | {name: frame[name] for name in frame if name not in dtypes}, index=frame.index
    )


def same(left: pd.DataFrame, right: pd.DataFrame, names: list[str]) -> pd.Series:
    """Which rows of two equally indexed frames hold the same in the named columns; empty equals empty."""
    alike = pd.Series(True, index=left.index)
    for name in names:
        one, other = left[name], right[name]
        equal = (one == other).fillna(False).astype(bool)
        alike &= equal | (one.isna() & other.isna())
    return alike
