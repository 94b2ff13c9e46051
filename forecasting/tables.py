"""What a table at the border is, and the check that a frame is one.

`inputs` and `outputs` declare the tables themselves. Columns are kept in one dtype a kind:

    text    str, missing where empty        number  float64, NaN where empty
    whole   int64                           date    datetime64[s], NaT where empty
    yes_no  boolean, <NA> where empty
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

import pandas as pd

from .errors import BadTable
from .wording import gettext as _

DTYPES = {
    "text": "str",
    "number": "float64",
    "whole": "int64",
    "date": "datetime64[s]",
    "yes_no": "boolean",
}


@dataclass(frozen=True, slots=True)
class Column:
    """One column: `may_be_empty` says that "not known" is a value of it."""

    name: str
    kind: str
    meaning: str = ""
    unit: str = ""
    may_be_empty: bool = True

    @property
    def dtype(self) -> str:
        return DTYPES[self.kind]


@dataclass(frozen=True, slots=True)
class Table:
    """A table that crosses the border: `rows` says what one row is, `key` what makes it unique."""

    name: str
    rows: str
    columns: tuple[Column, ...]
    key: tuple[str, ...] = ()

    @property
    def names(self) -> list[str]:
        return [column.name for column in self.columns]


def table(name: str, rows: str, key: tuple[str, ...], *columns: Column) -> Table:
    """A table whose key columns may not be empty."""
    held = (
        Column(c.name, c.kind, c.meaning, c.unit, may_be_empty=False) if c.name in key else c for c in columns
    )
    return Table(name, rows, tuple(held), key)


def text(name: str, meaning: str = "", **more) -> Column:
    return Column(name, "text", meaning, **more)


def number(name: str, meaning: str = "", unit: str = "", **more) -> Column:
    return Column(name, "number", meaning, unit, **more)


def whole(name: str, meaning: str = "", unit: str = "") -> Column:
    return Column(name, "whole", meaning, unit, may_be_empty=False)


def date(name: str, meaning: str = "", **more) -> Column:
    return Column(name, "date", meaning, **more)


def yes_no(name: str, meaning: str = "", **more) -> Column:
    return Column(name, "yes_no", meaning, **more)


def make_table(data: pd.DataFrame | Mapping | list | None, table: Table) -> pd.DataFrame:
    """A frame of `table` from anything pandas can frame: absent columns empty, every dtype as declared.

    Raises BadTable where a value does not fit its column. A frame that fits already is returned as a view
    of the declared columns.
    """
    frame = pd.DataFrame(data if data is not None else {})
    if frame.empty:
        return _without_rows(table).copy()
    made = {}
    for column in table.columns:
        values = (
            frame[column.name] if column.name in frame else pd.Series(None, index=frame.index, dtype=object)
        )
        if values.dtype == column.dtype:
            made[column.name] = values
            continue
        try:
            if column.kind == "date":
                made[column.name] = pd.to_datetime(values).astype(column.dtype)
            elif column.kind == "number":
                made[column.name] = pd.to_numeric(values).astype(column.dtype)
            elif column.kind == "text":
                made[column.name] = values.where(values.notna() & (values != ""), None).astype(column.dtype)
            else:
                made[column.name] = values.astype(column.dtype)
        except (TypeError, ValueError) as error:
            raise BadTable(
                _("Table %(table)s, column %(column)s: %(error)s; expected %(dtype)s.")
                % {"table": table.name, "column": column.name, "error": error, "dtype": column.dtype}
            ) from error
    return check_table(pd.DataFrame(made, index=frame.index).reset_index(drop=True), table)


@cache
def _without_rows(table: Table) -> pd.DataFrame:
    return pd.DataFrame({column.name: pd.Series(dtype=column.dtype) for column in table.columns})


def check_table(frame: pd.DataFrame, table: Table) -> pd.DataFrame:
    """`frame` with exactly the columns of `table`, in its order.

    Raises BadTable where a column is missing, has another dtype, is empty where it may not be, or a key
    stands twice.
    """
    missing = [name for name in table.names if name not in frame]
    if missing:
        raise BadTable(
            _("Table %(table)s lacks %(missing)s; it has %(columns)s.")
            % {"table": table.name, "missing": ", ".join(missing), "columns": ", ".join(map(str, frame))}
        )
    checked = frame[table.names]
    for column, dtype in zip(table.columns, checked.dtypes, strict=True):
        if dtype != column.dtype:
            raise BadTable(
                _("Table %(table)s, column %(column)s is %(dtype)s; expected %(expected)s.")
                % {"table": table.name, "column": column.name, "dtype": dtype, "expected": column.dtype}
            )
        if not column.may_be_empty and (empty := checked[column.name].isna()).any():
            row = int(empty.to_numpy().argmax())
            raise BadTable(
                _("Table %(table)s, row %(row)s: %(column)s is empty and may not be.")
                % {"table": table.name, "row": row, "column": column.name}
            )
    if table.key and frame.duplicated(list(table.key)).any():
        row = int(frame.duplicated(list(table.key)).to_numpy().argmax())
        shown = ", ".join(f"{name} {frame[name].iloc[row]}" for name in table.key)
        raise BadTable(
            _("Table %(table)s, row %(row)s: %(shown)s stands twice; each may stand once.")
            % {"table": table.name, "row": row, "shown": shown}
        )
    return checked
