"""An empty fleet folder to be filled in: the headers of every file, and a workbook that explains each.

What is said of a column comes from the schema alone; a blank is read back as a folder without a row.
"""

from collections.abc import Mapping

from openpyxl import Workbook
from openpyxl.comments import Comment
from openpyxl.styles import Alignment, Font
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.datavalidation import DataValidation
from openpyxl.worksheet.worksheet import Worksheet

from forecasting.wording import gettext as _

from .columns import Column, File, Kind
from .names import either
from .schema import FILES

# The reader passes over a sheet of this name, as it does over a README beside CSV files.
EXPLAINED = "README"
ROWS_CHECKED = 5_000
COMMENT_WIDTH, COMMENT_HEIGHT = 320, 120


def blank_header(file: File, units: Mapping[str, str]) -> list[str]:
    """The headers of the file's columns; `units` has the suffix in which each measure is to be entered."""
    return [
        f"{column.name}_{units[column.measure]}" if column.measure in units else column.stored_name
        for column in file.columns
    ]


def column_help(column: Column, file: File) -> str:
    """What the column says, what may stand in it and whether it must be filled, in a few sentences."""
    told = _(column.help)
    said = [f"{told[:1].upper()}{told[1:]}."]
    if column.choices:
        several = (
            _("One or several, joined with +: %(choices)s.")
            if column.kind is Kind.CHOICES
            else _("One of: %(choices)s.")
        )
        said.append(several % {"choices": ", ".join(column.choices)})
    if column.kind is Kind.YES_NO:
        said.append(_("yes or no."))
    if column.kind is Kind.DATE:
        said.append(_("A day, such as 2026-05-31."))
    if column.measure:
        said.append(_("The header names the unit: %(names)s.") % {"names": either(column.file_names)})
    must = column.must_be_filled and column.stored_name not in file.may_be_empty
    said.append(_("Must be filled.") if must else _("May stay empty: then it is not known."))
    return " ".join(said)


def blank_workbook(units: Mapping[str, str]) -> Workbook:
    """A sheet for every file with its headers, each explained in a comment, and one that explains all."""
    book = Workbook()
    explained = book.worksheets[0]
    explained.title = EXPLAINED
    _explain(explained, units)
    for file in FILES:
        _add_sheet(book.create_sheet(file.name), file, units)
    return book


def _explain(sheet: Worksheet, units: Mapping[str, str]) -> None:
    sheet.append([_("sheet"), _("column"), _("what it says")])
    for cell in sheet[1]:
        cell.font = Font(bold=True)
    for file in FILES:
        for header, column in zip(blank_header(file, units), file.columns, strict=True):
            sheet.append([file.name, header, column_help(column, file)])
    sheet.freeze_panes = "A2"
    for letter, width in zip("ABC", (18, 26, 100), strict=True):
        sheet.column_dimensions[letter].width = width
    for (cell,) in sheet.iter_rows(min_row=2, min_col=3, max_col=3):
        cell.alignment = Alignment(wrap_text=True, vertical="top")


def _add_sheet(sheet: Worksheet, file: File, units: Mapping[str, str]) -> None:
    headers = blank_header(file, units)
    sheet.append(headers)
    sheet.freeze_panes = "A2"
    for place, (header, column) in enumerate(zip(headers, file.columns, strict=True), start=1):
        cell, letter = sheet.cell(1, place), get_column_letter(place)
        cell.font = Font(bold=column.must_be_filled)
        cell.comment = Comment(column_help(column, file), "", COMMENT_HEIGHT, COMMENT_WIDTH)
        width = sheet.column_dimensions[letter]
        width.width = max(len(header) + 3, 12)
        if column.kind in (Kind.TEXT, Kind.CHOICE, Kind.CHOICES, Kind.YES_NO):
            width.number_format = "@"  # a spreadsheet would make a number of the key 007
        elif column.kind is Kind.DATE:
            width.number_format = "yyyy-mm-dd"
        choices = ("yes", "no") if column.kind is Kind.YES_NO else column.choices
        if choices and column.kind is not Kind.CHOICES:
            offered = DataValidation("list", formula1=f'"{",".join(choices)}"', allow_blank=True)
            offered.add(f"{letter}2:{letter}{ROWS_CHECKED}")
            sheet.add_data_validation(offered)
