"""A spreadsheet of somebody's own shape as texts: its header, wherever it begins, and the rows below it."""

import csv
import itertools
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from forecasting.wording import gettext as _

from .sources import Source, Unreadable, find_sources

MOST_ROWS = 20_000
HEADER_WITHIN = 20
SEPARATORS = (";", "\t", "|")


@dataclass(frozen=True, slots=True)
class Table:
    """One table: each row has as many cells as the header; `first_line` is the line of the first row.

    No two headers are alike; `titles` names all tables of the file.
    """

    title: str
    titles: list[str]
    header: list[str]
    rows: list[list[str]]
    first_line: int

    def texts(self, header: str) -> list[str]:
        """The distinct texts under the header."""
        place = self.header.index(header)
        return list(dict.fromkeys(row[place] for row in self.rows if row[place]))


def read_table(path: Path, title: str = "") -> Table:
    """The table of that title in the CSV file or workbook, the first one where it has no such.

    Above the header may stand other lines: it is the first row with two filled cells. Raises Unreadable.
    """
    sources = [source for source in find_sources(path) if source.rows is not None]
    if not sources:
        raise Unreadable(_("%(path)s holds no table.") % {"path": path.name}, _("Send a .csv or an .xlsx."))
    source = next((one for one in sources if one.name == title), sources[0])
    lines = enumerate(_rows(source), start=1)
    begin = ((line, [cell.strip() for cell in row]) for line, row in itertools.islice(lines, HEADER_WITHIN))
    line, header = next(((line, cells) for line, cells in begin if sum(map(bool, cells)) >= 2), (0, []))
    if not header:
        raise Unreadable(
            _("%(label)s has no header in its first %(most)s rows.")
            % {"label": source.label, "most": HEADER_WITHIN},
            _("Put a name over each column, in one row."),
        )
    while not header[-1]:
        header.pop()
    rows = []
    for _line, row in lines:
        cells = [cell.strip() for cell in row[: len(header)]]
        rows.append(cells + [""] * (len(header) - len(cells)))
        if len(rows) > MOST_ROWS:
            raise Unreadable(
                _("%(label)s has more than %(most)s rows.")
                % {"label": source.label, "most": f"{MOST_ROWS:,}"},
                _("Send it as a fleet folder."),
            )
    return Table(source.name, [one.name for one in sources], _told_apart(header), rows, line + 1)


def _rows(source: Source) -> Iterator[list[str]]:
    """The source's rows; those of a CSV file that separates its cells by another sign, parted at that."""
    assert source.rows is not None
    rows = source.rows()
    first = list(itertools.islice(rows, HEADER_WITHIN))
    rows = itertools.chain(first, rows)
    joined = "".join(",".join(row) for row in first)
    separator = max(SEPARATORS, key=joined.count)
    if not source.even or joined.count(separator) < max(len(first), joined.count(",")):
        return rows
    return csv.reader((",".join(row) for row in rows), delimiter=separator)


def _told_apart(header: list[str]) -> list[str]:
    seen: dict[str, int] = {}
    names = []
    for place, name in enumerate(header, start=1):
        name = name or _("column %(place)s") % {"place": place}
        seen[name] = seen.get(name, 0) + 1
        names.append(name if seen[name] == 1 else f"{name} ({seen[name]})")
    return names
