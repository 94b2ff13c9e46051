"""A table of somebody's own shape turned into a fleet folder, column by column.

A file of the folder is made of the columns that are matched to it. What it must have besides comes from a
column of the same name that is matched to another file (a machine stands once in the table and in three
files), from a value that holds for all rows, or is put together from the row: an assembly without a tag is
called by its place and day, a design by what it is made of.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from forecasting.wording import gettext as _

from .columns import Column, Kind
from .foreign import Table
from .hand_kept import (
    SIZES,
    Manner,
    as_written,
    dash_of_inches,
    order_of,
    says_nothing,
    slashed,
    told_doubt,
    written_in_inches,
)
from .schema import FILES_BY_NAME

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
PLACE = ("machine", "position")
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

    def for_all_rows(self, file: str, name: str) -> str:
        """The value that holds for all rows of the file's column `name`.

        One that says only that it is not known is none: as a name it would make a part or a site called so.
        """
        text = self.constants.get(f"{file}.{_column(file, name).file_names[0]}", "")
        return "" if says_nothing(text) else text


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
    if match.header_of(file, name) or match.for_all_rows(file, name):
        return True
    return any(match.header_of(*one) for one in COMPOSED.get((file, name), ()))


def _column(file: str, name: str) -> Column:
    return next(one for one in FILES_BY_NAME[file].columns if one.name == name)


def doubtful_days(table: Table, match: Match) -> list[str]:
    """Days of the table that can be read day first and month first, where no other day decides it."""
    if len(_deciding_days(table, match)) == 1:
        return []
    texts = dict.fromkeys(text for texts in _slashed_days(table, match).values() for text in texts)
    figures = {text: slashed(text) or (0, 0, 0) for text in texts}
    return [text for text, (day, month, _) in figures.items() if day != month and max(day, month) <= 12]


def _slashed_days(table: Table, match: Match) -> dict[str, list[str]]:
    """The distinct days such as 03/04/2026 under each header that is matched to a day."""
    return {
        header: texts
        for header, target in match.columns.items()
        if target.column.kind is Kind.DATE
        and (texts := [text for text in table.texts(header) if slashed(text)])
    }


def _deciding_days(table: Table, match: Match) -> dict[str, tuple[str, str]]:
    """Each order that a day of the table shows by a figure above twelve, with its header and the day.

    One sheet is kept in one order: where there are two or none, the days decide nothing.
    """
    deciding: dict[str, tuple[str, str]] = {}
    for header, texts in _slashed_days(table, match).items():
        for text in texts:
            first, second, _ = slashed(text) or (0, 0, 0)
            if order := order_of(first, second):
                deciding.setdefault(order, (header, text))
    return deciding


def manners_of(table: Table, match: Match) -> dict[str, Manner]:
    """How the cells under each header are written."""
    shown = _deciding_days(table, match)
    order = next(iter(shown)) if len(shown) == 1 else match.day_order
    return {
        header: Manner(order, target.column.name in SIZES and bool(written_in_inches(table.texts(header))))
        for header, target in match.columns.items()
    }


def doubtful_sizes(table: Table, match: Match) -> list[str]:
    """Why sizes of the table cannot be taken, each with what to write."""
    manners = manners_of(table, match)
    return [
        told
        for header, target in match.columns.items()
        if target.column.name in SIZES
        for text in dict.fromkeys(table.texts(header))
        if (told := told_doubt(text, header, manners[header]))
    ]


def told_manners(table: Table, match: Match) -> dict[str, str]:
    """What is told of how days and sizes are read, by the header under which they stand."""
    told = {}
    shown = _deciding_days(table, match)
    must = {
        "day": _("Days are read day first: %(text)s under %(header)s can be read no other way."),
        "month": _("Days are read month first: %(text)s under %(header)s can be read no other way."),
    }
    chosen = {
        "day": _("Days are read day first, as was chosen."),
        "month": _("Days are read month first, as was chosen."),
    }
    for header in _slashed_days(table, match):
        if len(shown) == 1:
            (order, (where, text)) = next(iter(shown.items()))
            told[header] = must[order] % {"text": text, "header": where}
        elif match.day_order:
            told[header] = chosen[match.day_order]
    for header, target in match.columns.items():
        example = written_in_inches(table.texts(header)) if target.column.name in SIZES else ""
        if example:
            told[header] = _("Read in inches: %(text)s is dash %(dash)s.") % {
                "text": example,
                "dash": dash_of_inches(example),
            }
    return told


@dataclass(frozen=True, slots=True)
class Made:
    """What comes of a table: `files` of a fleet folder, each as its header and its rows.

    `lines` has the line of the table from which each row came, the first of them where it came of several;
    `clashes` what rows say against each other; `without_design` the machine and position of each line that
    does not tell all that a design needs, so that none is made of it.
    """

    files: dict[str, list[list[str]]]
    lines: dict[str, list[int]]
    clashes: list[Clash]
    without_design: dict[int, tuple[str, str]]


def map_table(table: Table, match: Match) -> Made:
    """The fleet folder that the table makes.

    A row of the table gives a row of a file where it says something of it; rows of one key become one.
    """
    manners = manners_of(table, match)
    clashes: list[Clash] = []
    without_design: dict[int, tuple[str, str]] = {}
    places = {header: place for place, header in enumerate(table.header)}
    gathered = {file: _Gathered(file) for file in match.files}
    for line, row in enumerate(table.rows, start=table.first_line):
        said = {
            target: as_written(row[places[header]], target.column, manners[header])
            for header, target in match.columns.items()
        }
        if not any(said.values()):
            continue
        if _lacks_a_design(match, said):
            machine, position = (_given("installations", name, match, said) for name in PLACE)
            without_design[line] = machine, position
            said = {target: text for target, text in said.items() if target.file not in ("designs", "parts")}
        for file, into in gathered.items():
            if file == "parts" and "designs" in gathered:
                for part in _parts_of(match, said):
                    into.add(part, line, clashes)
            elif _speaks_of(file, said):
                into.add(_row_of(file, match, said), line, clashes)
    if {"designs", "positions"} <= set(gathered):
        without_design |= _bare_hoses(gathered)
        _leave_bare(gathered["positions"], without_design.values())
    files = {file: into.table() for file, into in gathered.items() if into.rows}
    lines = {file: list(into.lines.values()) for file, into in gathered.items() if into.rows}
    if "machines" in files:
        files["sites"], lines["sites"] = _named_sites(files["machines"], lines["machines"])
    return Made(files, lines, clashes, dict(sorted(without_design.items())))


class _Gathered:
    """The rows of one file by their key, as they come together from the table's."""

    def __init__(self, file: str) -> None:
        self.file = FILES_BY_NAME[file]
        self.rows: dict[tuple[str, ...], dict[str, str]] = {}
        self.lines: dict[tuple[str, ...], int] = {}
        self._headers: dict[str, None] = {}

    def add(self, row: dict[str, str], line: int, clashes: list[Clash]) -> None:
        self._headers |= dict.fromkeys(row)
        key = tuple(row.get(name, "") for name in self._key_headers())
        stands = self.rows.setdefault(key, {})
        self.lines.setdefault(key, line)
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


def _bare_hoses(gathered: Mapping[str, _Gathered]) -> dict[int, tuple[str, str]]:
    """The machine and position of each hose of which no row tells a design, by its first line."""
    hoses = gathered.get("installations")
    if hoses is None:
        return {}
    return {
        hoses.lines[key]: (row.get("machine", ""), row.get("position", ""))
        for key, row in hoses.rows.items()
        if not row.get("design")
    }


def _leave_bare(positions: _Gathered, places: Iterable[tuple[str, str]]) -> None:
    """Has these places ask for no design.

    A hose without one has that of its place: it would get the design of another hose there, and its rating.
    """
    for place in places:
        if place in positions.rows:
            positions.rows[place]["design"] = ""


def _speaks_of(file: str, said: Mapping[Target, str]) -> bool:
    """Whether the row fills a column that is matched to the file; of a design also what its hose is tells."""
    files = {file, "parts"} if file == "designs" else {file}
    return any(text for target, text in said.items() if target.file in files)


def _lacks_a_design(match: Match, said: Mapping[Target, str]) -> bool:
    """Whether the row tells of a design without a number of its own, but not all that one is made of."""
    if "designs" not in match.files or match.header_of("designs", "design"):
        return False
    return _speaks_of("designs", said) and not all(_given("designs", one, match, said) for one in MADE_OF)


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
    text = _by_name(said, name) or match.for_all_rows(file, name)
    pieces = () if text else COMPOSED.get((file, name), ())
    return text or " ".join(piece for one in pieces if (piece := _given(*one, match, said)))


def _by_name(said: Mapping[Target, str], name: str) -> str:
    return next((text for target, text in said.items() if target.column.name == name and text), "")


def _named_sites(machines: list[list[str]], lines: list[int]) -> tuple[list[list[str]], list[int]]:
    header, *rows = machines
    at = header.index("site")
    sites: dict[str, int] = {}
    for row, line in zip(rows, lines, strict=True):
        if row[at]:
            sites.setdefault(row[at], line)
    return [["site"], *([site] for site in sites)], list(sites.values())
