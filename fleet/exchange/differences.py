"""What a fleet folder would change in the register: told cell by cell, and as one digest of all of it."""

import hashlib
from dataclasses import asdict, dataclass

import numpy as np
import pandas as pd

from .columns import Column, File, Kind
from .merging import Fleet, State
from .numerals import shortest
from .schema import FILES
from .tables import dtypes_of, same

MOST_SHOWN = 20


@dataclass(frozen=True, slots=True)
class Change:
    """One cell that the folder changes; an empty text is a cell that is not known."""

    key: str
    column: str
    before: str
    now: str


@dataclass(frozen=True, slots=True)
class FileDifference:
    """What the folder does to the rows of one file: how many there are of each, and the first of them."""

    file: str
    created: int
    changed: int
    unchanged: int
    first_created: list[str]
    first_changes: list[Change]
    changes: int


def list_differences(fleet: Fleet) -> list[FileDifference]:
    """One entry for each file of the folder, in the schema's order; MOST_SHOWN rows and cells at most."""
    return [_difference(fleet, file) for file in FILES if file.name in fleet.folder.sheets]


def told_differences(fleet: Fleet) -> list[dict]:
    """The same as `list_differences` in plain values, as JSON takes them."""
    return [asdict(one) for one in list_differences(fleet)]


def digest_of(fleet: Fleet) -> str:
    """A digest of every row that would be created or changed, and of what stands where it would be changed.

    It hangs on no order of rows: the same folder on the same register gives the same one.
    """
    digest = hashlib.sha256()
    for file in FILES:
        rows = fleet[file.name]
        names = list(dtypes_of(file))
        for state in (State.CREATED, State.CHANGED):
            after = rows.loc[rows["state"] == state, names]
            digest.update(f"{file.name} {state} {len(after)}".encode())
            digest.update(_hashed(after))
            if state is State.CHANGED:
                digest.update(_hashed(_before(fleet, file, after)[names]))
    return digest.hexdigest()


def _hashed(rows: pd.DataFrame) -> bytes:
    return np.sort(pd.util.hash_pandas_object(rows, index=False).to_numpy()).tobytes()


def _before(fleet: Fleet, file: File, after: pd.DataFrame) -> pd.DataFrame:
    """What stands of the rows in `after`, under their index."""
    key = list(file.key)
    standing = fleet.before[file.name]
    places = standing[key].assign(_at=np.arange(len(standing)))
    at = after[key].merge(places, how="left", on=key)["_at"].to_numpy(dtype=np.int64)
    return standing.iloc[at].set_axis(after.index)


def _difference(fleet: Fleet, file: File) -> FileDifference:
    rows = fleet[file.name]
    states = rows["state"].value_counts()
    created, changed, unchanged = (int(states.get(state, 0)) for state in State)
    new = rows[rows["state"] == State.CREATED].head(MOST_SHOWN)
    after = rows[rows["state"] == State.CHANGED]
    before = _before(fleet, file, after)
    shown: list[Change] = []
    count = 0
    for column in file.columns:
        names = [column.stored_name, *(column.entered_names if column.measure else ())]
        moved = ~same(before, after, names).to_numpy()
        count += int(moved.sum())
        for at in np.flatnonzero(moved)[:MOST_SHOWN]:
            key = _key(after.iloc[at], file)
            cells = (_text(frame.iloc[at], column) for frame in (before, after))
            shown.append(Change(key, column.name, *cells))
    shown.sort(key=lambda one: one.key)
    firsts = [_key(row, file) for _, row in new.iterrows()]
    return FileDifference(file.name, created, changed, unchanged, firsts, shown[:MOST_SHOWN], count)


def _key(row: pd.Series, file: File) -> str:
    texts = (_text(row, file.by_stored_name[name]) for name in file.key)
    return ", ".join(text for text in texts if text)


def _text(row: pd.Series, column: Column) -> str:
    """The cell as it was entered, a measure with its unit; empty where it is not known."""
    value = row[column.stored_name]
    if pd.isna(value):
        return ""
    if column.kind is Kind.DATE:
        return f"{value:%Y-%m-%d}"
    if column.kind is Kind.YES_NO:
        return "yes" if value else "no"
    if column.measure:
        entered, suffix = (row[name] for name in column.entered_names)
        if pd.isna(entered):
            unit = next(iter(column.units.values()))
            return f"{shortest(value)} {unit.symbol}"
        return f"{shortest(entered)} {column.units[suffix].symbol}"
    return shortest(value) if isinstance(value, float) else str(value)
