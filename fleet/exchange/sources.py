"""Where the rows of a fleet folder come from: a folder or zip of CSV files, or an XLSX workbook.

Whatever the source, a row comes out as a list of texts, one a cell, so that everything after reads alike.
"""

import codecs
import contextlib
import csv
import datetime
import io
import re
import zipfile
import zlib
from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from functools import partial
from pathlib import Path, PurePosixPath
from typing import IO

import openpyxl

from forecasting.wording import gettext as _

from .numerals import shortest

# What an archive or a workbook may unpack to. With a million assemblies in place a folder of five years has
# 510 MB, one of ten 770; a workbook has six times as much a row, and its sheets are full at 1.4 GB.
MOST_UNPACKED_BYTES = 2 * 1024**3
MOST_FILES = 1_000
UNPACKED_AT_ONCE = 1024**2
# OSError: where a damaged directory leads beyond the file.
NOT_UNPACKED = (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, RuntimeError, OSError)
csv.field_size_limit(1_000_000)


class Unreadable(Exception):
    """A source that cannot be read: `line` as far as known, what is wrong and what would be right."""

    def __init__(self, wrong: str, right: str, line: int | None = None) -> None:
        self.wrong, self.right, self.line = wrong, right, line
        super().__init__(f"{wrong} {right}")


@dataclass(frozen=True, slots=True)
class Source:
    """One table of a fleet folder: `name` as a file of the schema may be called, `label` as people see it.

    `rows` is None where the file is no table in any form that is read. `even` says that every row must have
    as many cells as the header: a CSV file does, a sheet need not.
    """

    name: str
    label: str
    rows: Callable[[], Iterator[list[str]]] | None
    even: bool = True


def find_sources(path: Path) -> list[Source]:
    """The tables in the folder, zip or workbook at `path`, in no promised order.

    README files and what operating systems leave behind are passed over. Raises Unreadable where there is
    nothing to read.
    """
    if path.is_dir():
        files = (file for file in sorted(path.iterdir()) if not passed_over(file.name))
        sources = [source for file in files for source in _in_file(file)]
    elif not path.exists():
        raise Unreadable(
            _("%(path)s does not exist.") % {"path": path},
            _("Name a folder of CSV files, a zip of them or an .xlsx."),
        )
    elif path.suffix == ".zip" or zipfile.is_zipfile(path):
        sources = list(_in_archive(path))
    else:
        sources = list(_in_file(path))
    if not sources:
        raise Unreadable(
            _("%(path)s holds no files.") % {"path": path.name},
            _("Put the CSV files of a fleet folder into it."),
        )
    return sources


def passed_over(name: str) -> bool:
    """Whether a file of that name is none of the fleet's: a README, or what systems and programs leave."""
    return name.startswith((".", "~$", "README")) or name in {"Thumbs.db", "desktop.ini"}


def _in_file(path: Path) -> Iterator[Source]:
    if path.suffix == ".csv":
        yield Source(path.stem, path.name, partial(_csv_rows, lambda: _open(path)))
    elif path.suffix == ".xlsx" and path.is_file():
        yield from _in_workbook(path)
    else:
        yield Source(path.name, path.name, None)


def _open(path: Path) -> IO[bytes]:
    if not path.is_file():
        raise Unreadable(
            _("%(path)s is no file, or leads to none.") % {"path": path.name},
            _("Put the file itself there."),
        )
    return path.open("rb")


def _in_archive(path: Path) -> Iterator[Source]:
    """One source a file in the archive, in whatever folder of it; or what is in the workbook that it is."""
    with _unpacked(), zipfile.ZipFile(path) as archive:
        entries = [entry for entry in archive.infolist() if not entry.is_dir()]
    if any(entry.filename == "xl/workbook.xml" for entry in entries):
        yield from _in_workbook(path)
        return
    _refuse_too_much(path, entries)
    files = {entry.filename: PurePosixPath(entry.filename) for entry in entries}
    often = Counter(inside.name for inside in files.values())
    for filename, inside in files.items():
        if "__MACOSX" in inside.parts or passed_over(inside.name):
            continue
        label = inside.name if often[inside.name] == 1 else filename
        if inside.suffix == ".csv":
            yield Source(inside.stem, label, partial(_packed_rows, path, filename))
        else:
            yield Source(inside.name, label, None)


def _packed_rows(path: Path, name: str) -> Iterator[list[str]]:
    with _unpacked(), zipfile.ZipFile(path) as archive:
        yield from _csv_rows(partial(archive.open, name))


@contextlib.contextmanager
def _unpacked() -> Iterator[None]:
    """While it lasts, what an archive raises that is damaged, exotic or encrypted is Unreadable."""
    try:
        yield
    except NOT_UNPACKED as error:
        raise Unreadable(
            _("It cannot be unpacked: %(error)s.") % {"error": error},
            _("Pack the folder anew, without a password."),
        ) from error


def _refuse_too_much(path: Path, entries: list[zipfile.ZipInfo]) -> None:
    """Raises Unreadable where there is more in an archive than any fleet has.

    By what its directory says, which may be a lie: tables are unpacked as they are read, a piece at a time,
    and no further than to the size that is told there.
    """
    size = sum(entry.file_size for entry in entries)
    if size > MOST_UNPACKED_BYTES:
        raise Unreadable(
            _("%(path)s unpacks to %(size)s MB, and %(most)s MB are read.")
            % {
                "path": path.name,
                "size": f"{size / 1024**2:,.0f}",
                "most": f"{MOST_UNPACKED_BYTES / 1024**2:,.0f}",
            },
            _("Send a fleet folder and nothing else, a large one as a zip of CSV files."),
        )
    if len(entries) > MOST_FILES:
        raise Unreadable(
            _("%(path)s holds %(count)s files, and %(most)s are read.")
            % {"path": path.name, "count": f"{len(entries):,}", "most": f"{MOST_FILES:,}"},
            _("Send a fleet folder and nothing else."),
        )


def _csv_rows(open_file: Callable[[], IO[bytes]]) -> Iterator[list[str]]:
    with open_file() as file:
        encoding = _other_encoding(file.read(2))
    if encoding:
        raise Unreadable(
            _("The file is %(encoding)s.") % {"encoding": encoding}, _("Save it as CSV in UTF-8."), 1
        )
    try:
        with io.TextIOWrapper(open_file(), "utf-8-sig", newline="") as text:
            yield from parsed_lines(text)
    except UnicodeDecodeError as error:
        with open_file() as file:
            line, strange = _first_strange_byte(file)
        raise Unreadable(
            _("The byte %(byte)s is not UTF-8.") % {"byte": f"{strange:#04x}"},
            _("Save the file as CSV in UTF-8."),
            line,
        ) from error


def _other_encoding(start: bytes) -> str:
    """The encoding that the first two bytes give away, with or without its mark; '' for UTF-8."""
    return "UTF-16" if start in (codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE) or b"\0" in start else ""


def _first_strange_byte(file: Iterable[bytes]) -> tuple[int, int]:
    """The first byte of the file that is not UTF-8, and its line."""
    for line, text in enumerate(file, start=1):
        try:
            text.decode()
        except UnicodeDecodeError as error:
            return line, text[error.start]
    raise ValueError("All of it is UTF-8.")


def parsed_lines(lines: Iterable[str], separator: str = ",") -> Iterator[list[str]]:
    """The cells of each line. Raises Unreadable where a quote is not closed: it would swallow lines."""
    lines_read = 0
    reader = csv.reader(lines, delimiter=separator, strict=True)
    try:
        for row in reader:
            lines_read += 1
            yield row
    except csv.Error as error:
        raise Unreadable(
            _("The quotes cannot be read: %(error)s.") % {"error": error},
            _("Close each quoted cell with a quote and double the quotes inside it."),
            lines_read + 1,
        ) from error


def _in_workbook(path: Path) -> Iterator[Source]:
    """One source a sheet that holds something; a sheet called README is passed over as such a file is."""
    with _read_as_workbook(path), contextlib.closing(_open_workbook(path)) as workbook:
        titles = [
            sheet.title
            for sheet in workbook.worksheets
            if not passed_over(sheet.title)
            and any(cell is not None for row in sheet.iter_rows(values_only=True, max_row=5) for cell in row)
        ]
    for title in titles:
        yield Source(
            title,
            _("%(path)s sheet %(title)s") % {"path": path.name, "title": title},
            partial(_sheet_rows, path, title),
            even=False,
        )


@contextlib.contextmanager
def _read_as_workbook(path: Path) -> Iterator[None]:
    """While it lasts, a workbook that is damaged is Unreadable: then the library raises whatever it meets."""
    try:
        yield
    except Unreadable:
        raise
    except Exception as error:
        raise Unreadable(
            _("%(path)s is not a workbook that can be read: %(error)s.")
            % {"path": path.name, "error": error or type(error).__name__},
            _("Save it anew as .xlsx."),
        ) from error


def _open_workbook(path: Path, **how) -> openpyxl.Workbook:
    with zipfile.ZipFile(path) as archive:
        _refuse_too_much(path, archive.infolist())
    workbook = openpyxl.load_workbook(path, read_only=True, **how)
    for sheet in workbook.worksheets:
        sheet.reset_dimensions()  # some programs write a wrong extent, which would cut rows off
    return workbook


def _sheet_rows(path: Path, title: str) -> Iterator[list[str]]:
    with _read_as_workbook(path), contextlib.ExitStack() as opened:
        workbook = opened.enter_context(contextlib.closing(_open_workbook(path, data_only=True)))
        beside = None
        if _has_formulas(path):
            formulas = opened.enter_context(contextlib.closing(_open_workbook(path)))
            beside = formulas[title].iter_rows(values_only=True)
        for line, row in enumerate(workbook[title].iter_rows(values_only=True), start=1):
            if beside is not None:
                _refuse_unreckoned(next(beside), row, line)
            yield [_cell_text(cell) for cell in row]


def _has_formulas(path: Path) -> bool:
    with zipfile.ZipFile(path) as archive:
        for name in archive.namelist():
            if name.startswith("xl/worksheets/"):
                with archive.open(name) as sheet:
                    before = b""
                    while piece := sheet.read(UNPACKED_AT_ONCE):
                        if re.search(rb"<f[ >]", before + piece):
                            return True
                        before = piece[-2:]
    return False


def _refuse_unreckoned(formulas: tuple, values: tuple, line: int) -> None:
    """A formula that no spreadsheet has worked out yet would read as an empty cell and clear what stood."""
    for formula, value in zip(formulas, values, strict=False):
        if value is None and isinstance(formula, str) and formula.startswith("="):
            raise Unreadable(
                _("The formula %(formula)s has no result.") % {"formula": formula},
                _("Open the workbook in a spreadsheet and save it."),
                line,
            )


def _cell_text(cell: object) -> str:
    match cell:
        case None:
            return ""
        case bool():
            return "yes" if cell else "no"
        case float():
            return shortest(cell)
        case datetime.datetime():
            return cell.date().isoformat() if cell.time() == datetime.time() else cell.isoformat(" ")
        case datetime.date():
            return cell.isoformat()
        case _:
            return str(cell)
