"""Where a finding about the merged register belongs: on a line of the folder that is being read."""

from collections.abc import Callable
from functools import partial
from typing import Any, NamedTuple

import pandas as pd

from ..findings import Findings, Severity
from ..merging import Fleet
from ..reading import Sheet


class Place(NamedTuple):
    """A cell that may be to blame: its file, which column of the rows holds its line, and its column."""

    file: str
    line: str
    column: str


def report(
    findings: Findings,
    fleet: Fleet,
    severity: Severity,
    rule: str,
    rows: pd.DataFrame,
    places: list[Place],
    tell: Callable[[Any], tuple[str, str]],
) -> None:
    """Adds a finding for each row at the first of the places that stands in the folder.

    Rows of which nothing stands in the folder are none of its doing and are passed over. `tell` gets a row as
    a named tuple and gives what is wrong and what would be right.
    """
    for place in places:
        if rows.empty:
            return
        in_folder = rows[place.line] > 0
        here, rows = rows[in_folder], rows[~in_folder]
        if here.empty:
            continue
        sheet = fleet.folder.sheets[place.file]
        findings.add(
            severity,
            rule,
            sheet.label,
            sheet.header(place.column),
            list(here.itertuples(index=False)),
            partial(_tell_at, place, sheet, tell),
        )


def _tell_at(
    place: Place, sheet: Sheet, tell: Callable[[Any], tuple[str, str]], row: Any
) -> tuple[int, str, str, str]:
    line = int(getattr(row, place.line))
    return line, sheet.text(line, place.column), *tell(row)
