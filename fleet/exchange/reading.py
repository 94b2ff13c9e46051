"""A fleet folder as texts: which tables it holds, under which headers, and what stands in every cell.

A column keeps each distinct text once, so that whatever looks at texts looks at each one once.
"""

import itertools
import re
import unicodedata
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path, PurePath

import numpy as np

from forecasting.wording import gettext as _

from .columns import Column, File
from .findings import Findings, Severity
from .names import Names, either
from .schema import FILES_BY_NAME
from .sources import Source, Unreadable, find_sources

ROWS_AT_ONCE = 50_000
# Blanks, and marks without width: soft hyphen, zero-width space, direction marks, word joiner, byte order.
_UNSEEN = r"[\s\xad\u200b\u200e\u200f\u2060\ufeff]"
_UNSEEN_AROUND = re.compile(rf"^{_UNSEEN}+|{_UNSEEN}+$")


@dataclass(frozen=True, slots=True)
class Cells:
    """The texts of one column: row i holds `texts[codes[i]]`."""

    header: str
    texts: list[str]
    codes: np.ndarray

    def __getitem__(self, row: int) -> str:
        return self.texts[self.codes[row]]


@dataclass(frozen=True, slots=True)
class Sheet:
    """One file of the folder as texts; `lines` holds each row's line, rising. Blank rows are left out."""

    file: File
    label: str
    lines: np.ndarray
    cells: dict[str, Cells]

    def header(self, stored_name: str) -> str:
        """The header under which the column stands in the file."""
        if stored_name in self.cells:
            return self.cells[stored_name].header
        column = self.file.by_stored_name.get(stored_name)
        return column.file_names[0] if column else stored_name

    def text(self, line: int, stored_name: str) -> str:
        """The text of the column on that line, empty where the file has no such column."""
        if stored_name not in self.cells:
            return ""
        return self.cells[stored_name][int(np.searchsorted(self.lines, line))]

    def row(self, line: int) -> list[str] | None:
        """The texts of the row on that line, as its file has the columns; None where no row stands there."""
        at = int(np.searchsorted(self.lines, line))
        if at == len(self.lines) or self.lines[at] != line:
            return None
        return [cells[at] for cells in self.cells.values()]


@dataclass(frozen=True, slots=True)
class Folder:
    """The sheets of a fleet folder by file name; `unread` names the files whose keys could not be read."""

    sheets: dict[str, Sheet]
    unread: frozenset[str]


def read_folder(path: Path, findings: Findings) -> Folder:
    """What the fleet folder, zip or workbook at `path` holds; what cannot be read is in `findings`."""
    try:
        sources = find_sources(path)
    except Unreadable as refusal:
        findings.error("folder", path.name, None, "", "", refusal.wrong, refusal.right)
        return Folder({}, frozenset())
    return _read_sources(sources, findings)


def read_file(path: Path, name: str, findings: Findings) -> Folder:
    """What the one table at `path` holds, taken for the fleet folder's file `name` whatever it is called."""
    try:
        sources = find_sources(path)
    except Unreadable as refusal:
        findings.error("file", path.name, None, "", "", refusal.wrong, refusal.right)
        return Folder({}, frozenset({name}))
    return _read_sources([replace(source, name=name) for source in sources], findings)


def read_rows(tables: Mapping[str, list[list[str]]], label: str, findings: Findings) -> Folder:
    """What tables that came in no file hold, each as its header and its rows, taken for a fleet folder.

    `label` calls them in findings: `{}` in it stands for a table's name.
    """
    return _read_sources(
        [Source(name, label.format(name), partial(iter, rows), even=False) for name, rows in tables.items()],
        findings,
    )


def _read_sources(sources: Iterable[Source], findings: Findings) -> Folder:
    sheets: dict[str, Sheet] = {}
    unread: set[str] = set()
    meant: set[str] = set()
    for source in sources:
        file = FILES_BY_NAME.get(source.name)
        if file is None or source.rows is None:
            suffix = ".csv" if source.even else ""
            wrong = _("%(label)s is not a file of a fleet folder.") % {"label": source.label}
            names = Names(f"{name}{suffix}" for name in FILES_BY_NAME)
            name = PurePath(source.name).stem + suffix
            right = names.suggest(name, _("the files of a fleet folder"))
            meant.add(names.nearest(name).removesuffix(suffix))
            findings.error("unknown file", source.label, None, "", source.name, wrong, right)
            continue
        if file.name in sheets:
            wrong = _("%(file)s stands in %(label)s too.") % {
                "file": file.name,
                "label": sheets[file.name].label,
            }
            findings.error("file twice", source.label, None, "", file.name, wrong, _("Keep one of them."))
            continue
        sheet = _read_sheet(source, source.rows, file, findings)
        if sheet is not None:
            sheets[file.name] = sheet
        if sheet is None or any(one not in sheet.cells for one in file.key if one not in file.may_be_empty):
            unread.add(file.name)
    # Who wrote Parts.csv for parts.csv is told that, and not of each row that names a part besides.
    return Folder(sheets, frozenset(unread | meant & FILES_BY_NAME.keys() - sheets.keys()))


def _read_sheet(
    source: Source, open_rows: Callable[[], Iterator[list[str]]], file: File, findings: Findings
) -> Sheet | None:
    try:
        rows = open_rows()
        header = [as_seen(cell) for cell in next(rows, [])]
        while header and not header[-1]:
            header.pop()
        if not header:
            raise Unreadable(
                _("The file has no header row."),
                _("Begin it with %(names)s.") % {"names": ", ".join(_example(file))},
                1,
            )
        _refuse_other_separators(header)
        places = _place_columns(header, file, source.label, findings)
        return _gather(rows, header, places, source, file, findings)
    except Unreadable as refusal:
        findings.error("unreadable", source.label, refusal.line, "", "", refusal.wrong, refusal.right)
        return None


def _example(file: File) -> list[str]:
    return [column.file_names[0] for column in file.columns if column.must_be_filled]


def _refuse_other_separators(header: list[str]) -> None:
    for separator, name in ((";", _("semicolons")), ("\t", _("tabs")), ("|", _("bars"))):
        if len(header) == 1 and separator in header[0]:
            raise Unreadable(
                _("The columns are separated by %(name)s.") % {"name": name},
                _("Save the file with commas between them."),
                1,
            )


def _place_columns(header: list[str], file: File, label: str, findings: Findings) -> dict[int, Column]:
    """Which column of `file` stands at which place of the header."""
    places: dict[int, Column] = {}
    names = Names(file.by_header)
    bare_names = {column.name: column for column in file.measures}
    for place, name in enumerate(header):
        column = file.by_header.get(name)
        if column is None:
            if not name:
                continue  # a column without a name is an error only where it holds something
            measured = bare_names.get(name) or _with_unit_cut_off(name, bare_names)
            right = (
                _("Enter %(names)s.") % {"names": either(measured.file_names)}
                if measured
                else names.suggest(name, f"{file.name}")
            )
            wrong = _("%(file)s has no column %(name)s.") % {"file": file.name, "name": name}
            findings.error("unknown column", label, 1, name, name, wrong, right)
            continue
        twin = next((header[at] for at, one in places.items() if one is column), None)
        if twin == name:
            wrong = _("%(name)s stands twice.") % {"name": name}
            findings.error("column twice", label, 1, name, name, wrong, _("Keep one of them."))
        elif twin:
            wrong = _("%(twin)s and %(name)s are one column in two units.") % {"twin": twin, "name": name}
            findings.error("two units", label, 1, name, name, wrong, _("Keep one of them."))
        else:
            places[place] = column
    for column in file.columns:
        if column.must_be_filled and column not in places.values():
            if column.stored_name in file.may_be_empty:
                continue
            wrong = _("%(file)s must have a column %(names)s.") % {
                "file": file.name,
                "names": either(column.file_names),
            }
            findings.error("missing column", label, 1, column.file_names[0], "", wrong, _("Add it."))
    return places


def _with_unit_cut_off(name: str, bare_names: dict[str, Column]) -> Column | None:
    """The measured column meant by a header whose unit is none of its own: rated_pressure_kpa."""
    return bare_names.get(name.rpartition("_")[0])


def _gather(
    rows: Iterator[list[str]],
    header: list[str],
    places: dict[int, Column],
    source: Source,
    file: File,
    findings: Findings,
) -> Sheet:
    width = len(header)
    seen: dict[int, dict[str, int]] = {place: {} for place in places}
    codes: dict[int, list[np.ndarray]] = {place: [] for place in places}
    lines: list[np.ndarray] = []
    numbered = enumerate(rows, start=2)
    while batch := list(itertools.islice(numbered, ROWS_AT_ONCE)):
        batch = [(line, row) for line, row in batch if any(cell and not cell.isspace() for cell in row)]
        findings.add(
            Severity.ERROR,
            "ragged row",
            source.label,
            "",
            [(line, len(row)) for line, row in batch if not _fits(row, width, source.even)],
            lambda one: (
                one[0],
                "",
                _("The row has %(cells)s cells, the header %(width)s.") % {"cells": one[1], "width": width},
                _("Give each column its cell."),
            ),
        )
        if not batch:
            continue
        even = [(row + [""] * (width - len(row)))[:width] for _line, row in batch]
        lines.append(np.fromiter((line for line, _row in batch), dtype=np.int64, count=len(batch)))
        columns = list(zip(*even, strict=True))
        for place, texts in enumerate(columns):
            if place in places:
                codes[place].append(_encode(texts, seen[place]))
            elif not header[place] and any(texts):
                raise Unreadable(_("A column holds cells but has no name."), _("Name it or empty it."), 1)
    cells = {
        column.stored_name: Cells(
            header[place],
            list(seen[place]),
            np.concatenate(codes[place]) if codes[place] else np.empty(0, dtype=np.int64),
        )
        for place, column in places.items()
    }
    return Sheet(file, source.label, np.concatenate(lines) if lines else np.empty(0, dtype=np.int64), cells)


def _fits(row: list[str], width: int, even: bool) -> bool:
    """Whether each cell has its column: empty ones may stand behind, and lack where rows need not be even."""
    return not any(row[width:]) and (len(row) >= width or not even)


def _encode(texts: tuple[str, ...], seen: dict[str, int]) -> np.ndarray:
    """Each text's number in `seen`, which learns the new ones."""
    numbers = {text: seen.setdefault(as_seen(text), len(seen)) for text in dict.fromkeys(texts)}
    return np.fromiter((numbers[text] for text in texts), dtype=np.int64, count=len(texts))


def as_seen(text: str) -> str:
    """The text without what nobody sees: blanks around it, and how its accents are put together.

    Two keys that look alike would else be two, or one not found.
    """
    if text.isascii():
        return text.strip()
    return unicodedata.normalize("NFC", _UNSEEN_AROUND.sub("", text))
