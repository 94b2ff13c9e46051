"""A table of somebody's own shape turned into a fleet folder, column by column.

A file of the folder is made of the columns that are matched to it. What it must have besides comes from a
column of the same name that is matched to another file (a machine stands once in the table and in three
files), from a value that holds for all rows, or is put together from the row: an assembly without a tag is
called by its place and day, a design by what it is made of.
"""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from .columns import Column, Kind
from .foreign import Table
from .numerals import meant_number
from .schema import FILES_BY_NAME
from .tables import NUMERIC

# What one table of a fleet kept by hand may hold, in the order of the schema.
MATCHED = (
    "machines",
    "meter_readings",
    "parts",
    "designs",
    "positions",
    "installations",
    "inspections",
    "stock",
)
# What is put together from the row where the table has no column for it, by file and column, and of what.
STAY = (("installations", "machine"), ("installations", "position"), ("installations", "installed_on"))
MADE_OF = ("hose_part", "end_a_part", "end_b_part", "overall_length")
COMPOSED: dict[tuple[str, str], tuple[tuple[str, str], ...]] = {
    ("installations", "assembly"): STAY,
    ("inspections", "assembly"): STAY,
    ("designs", "design"): tuple(("designs", name) for name in MADE_OF),
    ("designs", "hose_part"): (("parts", "construction"), ("parts", "dash")),
}
PARTS_OF_DESIGN = {"hose_part": "bulk_hose", "end_a_part": "hose_end", "end_b_part": "hose_end"}


@dataclass(frozen=True, slots=True)
class Target:
    """One column of one file, under the header it has there: with the unit where it is measured."""

    file: str
    header: str

    @property
    def code(self) -> str:
        return f"{self.file}.{self.header}"

    @property
    def column(self) -> Column:
        return FILES_BY_NAME[self.file].by_header[self.header]


def target_of(code: str) -> Target | None:
    """The target of that code; None where there is none."""
    file, _, header = code.partition(".")
    known = file in MATCHED and header in FILES_BY_NAME[file].by_header
    return Target(file, header) if known else None


@dataclass(frozen=True, slots=True)
class Match:
    """What the columns of a table mean, by their headers; `constants` by the code of a target.

    `day_order` says how 03/04/2026 is meant: "day" first, "month" first, or "" where nothing is in doubt.
    """

    columns: Mapping[str, Target]
    constants: Mapping[str, str] = field(default_factory=dict)
    day_order: str = ""

    @property
    def files(self) -> list[str]:
        """The files that the table feeds, in the schema's order."""
        fed = {target.file for target in self.columns.values()}
        if "designs" in fed:
            fed.add("parts")
        return [name for name in MATCHED if name in fed]

    def header_of(self, file: str, name: str) -> str:
        """The header of the column that gives the file's column `name`, '' where none does."""
        own = {(one.file, one.column.name): header for header, one in self.columns.items()}
        if (file, name) in own:
            return own[(file, name)]
        if not _column(file, name).must_be_filled:
            return ""
        return next((header for (_, other), header in own.items() if other == name), "")


@dataclass(frozen=True, slots=True)
class Clash:
    """Two rows of the table that say different things of one row of a file."""

    file: str
    key: str
    column: str
    one: str
    other: str
    line: int


def lacking(match: Match) -> list[Target]:
    """What the files must have and nothing gives: match a column to each, or give a value for all rows."""
    missing = []
    for file in match.files:
        if file == "parts" and "designs" in match.files:
            continue  # its rows are what the designs name
        for column in FILES_BY_NAME[file].columns:
            asked = column.must_be_filled and column.name not in FILES_BY_NAME[file].may_be_empty
            if asked and not _is_given(file, column.name, match):
                missing.append(Target(file, column.file_names[0]))
    return missing


def _is_given(file: str, name: str, match: Match) -> bool:
    if match.header_of(file, name) or match.constants.get(f"{file}.{_column(file, name).file_names[0]}"):
        return True
    return any(match.header_of(*one) for one in COMPOSED.get((file, name), ()))


def _column(file: str, name: str) -> Column:
    return next(one for one in FILES_BY_NAME[file].columns if one.name == name)


def doubtful_days(table: Table, match: Match) -> list[str]:
    """Days of the table that can be read day first and month first, where no other day decides it."""
    slashed = _slashed_days(table, match)
    if len(_orders(slashed)) == 1:
        return []
    return [
        text for text, (first, second, _) in slashed.items() if first != second and max(first, second) <= 12
    ]


def _slashed_days(table: Table, match: Match) -> dict[str, tuple[int, int, int]]:
    texts = dict.fromkeys(
        row[place]
        for place, header in enumerate(table.header)
        if header in match.columns and match.columns[header].column.kind is Kind.DATE
        for row in table.rows
    )
    return {text: parts for text in texts if (parts := _slashed(text)) is not None}


def _orders(slashed: Mapping[str, tuple[int, int, int]]) -> set[str]:
    """Which orders the days show by a figure above twelve; both or none where they decide nothing."""
    shown = {"day" for first, second, _ in slashed.values() if first > 12 >= second}
    return shown | {"month" for first, second, _ in slashed.values() if second > 12 >= first}


def map_table(table: Table, match: Match) -> tuple[dict[str, list[list[str]]], list[Clash]]:
    """The files of a fleet folder, each as its header and its rows, and what rows say against each other.

    A row of the table gives a row of a file where it says something of it; rows of one key become one.
    """
    shown = _orders(_slashed_days(table, match))
    order = shown.pop() if len(shown) == 1 else match.day_order
    files: dict[str, list[list[str]]] = {}
    clashes: list[Clash] = []
    places = {header: place for place, header in enumerate(table.header)}
    gathered = {file: _Gathered(file) for file in match.files}
    for line, row in enumerate(table.rows, start=table.first_line):
        said = {
            target: _as_written(row[places[header]], target.column, order)
            for header, target in match.columns.items()
        }
        if not any(said.values()):
            continue
        for file, into in gathered.items():
            if file == "parts" and "designs" in gathered:
                for part in _parts_of(match, said):
                    into.add(part, line, clashes)
            elif _speaks_of(file, said):
                into.add(_row_of(file, match, said), line, clashes)
    for file, into in gathered.items():
        if into.rows:
            files[file] = into.table()
    if "machines" in files:
        files["sites"] = _named_sites(files["machines"])
    return files, clashes


class _Gathered:
    """The rows of one file by their key, as they come together from the table's."""

    def __init__(self, file: str) -> None:
        self.file = FILES_BY_NAME[file]
        self.rows: dict[tuple[str, ...], dict[str, str]] = {}
        self._headers: dict[str, None] = {}

    def add(self, row: dict[str, str], line: int, clashes: list[Clash]) -> None:
        self._headers |= dict.fromkeys(row)
        key = tuple(row.get(name, "") for name in self._key_headers())
        stands = self.rows.setdefault(key, {})
        for header, text in row.items():
            before = stands.get(header, "")
            if text and before and text != before and (self.file.name, header) != ("positions", "design"):
                clashes.append(Clash(self.file.name, ", ".join(key), header, before, text, line))
            elif text:
                stands[header] = text

    def table(self) -> list[list[str]]:
        headers = [header for header in self.file.by_header if header in self._headers]
        return [headers, *([row.get(header, "") for header in headers] for row in self.rows.values())]

    def _key_headers(self) -> Iterable[str]:
        return (column.name for column in self.file.columns if column.key)


def _speaks_of(file: str, said: Mapping[Target, str]) -> bool:
    """Whether the row fills a column that is matched to the file; of a design also what its hose is tells."""
    files = {file, "parts"} if file == "designs" else {file}
    return any(text for target, text in said.items() if target.file in files)


def _row_of(file: str, match: Match, said: Mapping[Target, str]) -> dict[str, str]:
    """The row of the file that one row of the table gives, by the file's headers."""
    row = {target.header: text for target, text in said.items() if target.file == file}
    for column in FILES_BY_NAME[file].columns:
        if not column.must_be_filled or any(header in row for header in column.file_names):
            continue
        text = _given(file, column.name, match, said)
        if text or column.name not in FILES_BY_NAME[file].may_be_empty:
            row[column.file_names[0]] = text
    if file in ("positions", "installations") and "designs" in match.files and "design" not in row:
        row["design"] = _given("designs", "design", match, said) if _speaks_of("designs", said) else ""
    return row


def _parts_of(match: Match, said: Mapping[Target, str]) -> list[dict[str, str]]:
    """The parts that the row's design names: its ends, and its hose with what the table says of a part."""
    if not _speaks_of("designs", said):
        return []
    rows = []
    for name, kind in PARTS_OF_DESIGN.items():
        part = _given("designs", name, match, said)
        if part:
            more = {target.header: text for target, text in said.items() if target.file == "parts"}
            rows.append(({} if kind != "bulk_hose" else more) | {"part": part, "kind": kind})
    return rows


def _given(file: str, name: str, match: Match, said: Mapping[Target, str]) -> str:
    """What the row gives for the file's column: by that name, for all rows, or put together; else ''."""
    text = _by_name(said, name) or match.constants.get(f"{file}.{_column(file, name).file_names[0]}", "")
    pieces = () if text else COMPOSED.get((file, name), ())
    return text or " ".join(piece for one in pieces if (piece := _given(*one, match, said)))


def _by_name(said: Mapping[Target, str], name: str) -> str:
    return next((text for target, text in said.items() if target.column.name == name and text), "")


def _named_sites(machines: list[list[str]]) -> list[list[str]]:
    header, *rows = machines
    at = header.index("site")
    return [["site"], *([site] for site in dict.fromkeys(row[at] for row in rows) if site)]


def _as_written(text: str, column: Column, order: str) -> str:
    """The text as a fleet folder writes it; one that cannot be told stays, for the reader to refuse."""
    if column.kind is Kind.DATE:
        return _day(text, order)
    if column.name in ("dash", "connection_dash"):
        return text.removeprefix("-").lstrip("0") or text  # the trade writes -08 for a dash size of 8
    if column.kind in NUMERIC:
        # A letter may be a unit that is not the column's: that is for the reader to refuse.
        strange = re.search(r"[^\d\s.,'’+-]", text)
        return text if strange else meant_number(text) or text
    if column.kind is Kind.YES_NO:
        return {"y": "yes", "x": "yes", "n": "no"}.get(text.casefold(), text.casefold())
    if column.choices:
        bare = re.sub(r"[\s-]+", "_", text.casefold())
        return bare if bare in column.choices else text
    return text


def _slashed(text: str) -> tuple[int, int, int] | None:
    """The three figures of a day such as 03/04/2026 or 3-4-26."""
    found = re.fullmatch(r"(\d{1,2})[/-](\d{1,2})[/-](\d{4}|\d{2})", text)
    return (int(found[1]), int(found[2]), int(found[3])) if found else None


def _day(text: str, order: str) -> str:
    if dotted := re.fullmatch(r"(\d{1,2})\.\s?(\d{1,2})\.\s?(\d{4}|\d{2})", text):
        day, month, year = (int(one) for one in dotted.groups())
    elif parts := _slashed(text):
        first, second, year = parts
        day, month = (first, second) if order == "day" else (second, first)
    else:
        return re.sub(r"^(\d{4}-\d{2}-\d{2})[ T]\d{2}:\d{2}.*$", r"\1", text)
    return f"{year + 2000 if year < 100 else year}-{month:02}-{day:02}"
