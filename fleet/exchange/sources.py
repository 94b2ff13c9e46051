"""Where the rows of a fleet folder come from: a folder or zip of CSV files, or an XLSX workbook.

Whatever the source, a row comes out as a list of texts, one a cell, so that everything after reads alike.
"""

import csv
import datetime
import io
import re
import zipfile
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import partial
from pathlib import Path, PurePosixPath

import openpyxl
from openpyxl.utils.exceptions import InvalidFileException

from forecasting.wording import gettext as _

from .numerals import shortest

# A fleet of a million assemblies takes some 300 MB; anything far above is no fleet folder.
MOST_UNPACKED_BYTES = 4 * 1024**3
MARKS_OF_OTHER_ENCODINGS = {b"\xff\xfe": "UTF-16", b"\xfe\xff": "UTF-16"}
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
    elif zipfile.is_zipfile(path):
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
    if path.suffix == ".csv" and path.is_file():
        yield Source(path.stem, path.name, lambda: _csv_rows(path.read_bytes()))
    elif path.suffix == ".xlsx" and path.is_file():
        yield from _in_workbook(path)
    else:
        yield Source(path.name, path.name, None)


def _in_archive(path: Path) -> Iterator[Source]:
    """One source a file in the archive, in whatever folder of it; or what is in the workbook that it is."""
    with zipfile.ZipFile(path) as archive:
        entries = [entry for entry in archive.infolist() if not entry.is_dir()]
    if any(entry.filename == "xl/workbook.xml" for entry in entries):
        yield from _in_workbook(path)
        return
    _refuse_bombs(path, entries)
    for entry in entries:
        inside = PurePosixPath(entry.filename)
        if "__MACOSX" in inside.parts or passed_over(inside.name):
            continue
        if inside.suffix == ".csv":
            yield Source(inside.stem, inside.name, partial(_packed_rows, path, entry.filename))
        else:
            yield Source(inside.name, inside.name, None)


def _packed_rows(path: Path, name: str) -> Iterator[list[str]]:
    try:
        with zipfile.ZipFile(path) as archive:
            return _csv_rows(archive.read(name))
    except (zipfile.BadZipFile, NotImplementedError, RuntimeError) as error:  # damaged, exotic or encrypted
        raise Unreadable(
            _("It cannot be unpacked: %(error)s.") % {"error": error},
            _("Pack the folder anew, without a password."),
        ) from error


def _refuse_bombs(path: Path, entries: list[zipfile.ZipInfo]) -> None:
    if sum(entry.file_size for entry in entries) > MOST_UNPACKED_BYTES:
        raise Unreadable(
            _("%(path)s unpacks to more than 4 GB.") % {"path": path.name},
            _("Send a fleet folder and nothing else."),
        )


def _csv_rows(data: bytes) -> Iterator[list[str]]:
    encoding = MARKS_OF_OTHER_ENCODINGS.get(data[:2])
    if encoding:
        raise Unreadable(
            _("The file is %(encoding)s.") % {"encoding": encoding}, _("Save it as CSV in UTF-8."), 1
        )
    try:
        decoded = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise Unreadable(
            _("The byte %(byte)s is not UTF-8.") % {"byte": f"{data[error.start]:#04x}"},
            _("Save the file as CSV in UTF-8."),
            line,
        ) from error
    return parsed_lines(decoded)


def parsed_lines(text: str, separator: str = ",") -> Iterator[list[str]]:
    """The cells of each line. Raises Unreadable where a quote is not closed: it would swallow lines."""
    lines_read = 0
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
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
    workbook = _open_workbook(path)
    try:
        titles = [
            sheet.title
            for sheet in workbook.worksheets
            if not passed_over(sheet.title)
            and any(cell is not None for row in sheet.iter_rows(values_only=True, max_row=5) for cell in row)
        ]
    finally:
        workbook.close()
    for title in titles:
        yield Source(
            title,
            _("%(path)s sheet %(title)s") % {"path": path.name, "title": title},
            partial(_sheet_rows, path, title),
            even=False,
        )


def _open_workbook(path: Path, **how) -> openpyxl.Workbook:
    try:
        with zipfile.ZipFile(path) as archive:
            _refuse_bombs(path, archive.infolist())
        workbook = openpyxl.load_workbook(path, read_only=True, **how)
        for sheet in workbook.worksheets:
            sheet.reset_dimensions()  # some programs write a wrong extent, which would cut rows off
    except (zipfile.BadZipFile, InvalidFileException, KeyError, ValueError) as error:
        raise Unreadable(
            _("%(path)s is not a workbook that can be read: %(error)s.")
            % {"path": path.name, "error": error},
            _("Save it anew as .xlsx."),
        ) from error
    return workbook


def _sheet_rows(path: Path, title: str) -> Iterator[list[str]]:
    workbook = _open_workbook(path, data_only=True)
    formulas = _open_workbook(path) if _has_formulas(path) else None
    try:
        beside = formulas[title].iter_rows(values_only=True) if formulas else None
        for line, row in enumerate(workbook[title].iter_rows(values_only=True), start=1):
            if beside is not None:
                _refuse_unreckoned(next(beside), row, line)
            yield [_cell_text(cell) for cell in row]
    finally:
        workbook.close()
        if formulas:
            formulas.close()


def _has_formulas(path: Path) -> bool:
    with zipfile.ZipFile(path) as archive:
        sheets = [name for name in archive.namelist() if name.startswith("xl/worksheets/")]
        return any(re.search(rb"<f[ >]", archive.read(name)) for name in sheets)


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
