"""Tables to take away: any list as CSV or a workbook, all its rows, as the address filters and sorts them."""

import csv
import datetime
from collections.abc import Iterator
from io import BytesIO, StringIO

from django.db.models import QuerySet
from django.http import FileResponse, HttpRequest, StreamingHttpResponse
from django.http.response import HttpResponseBase
from django.utils import timezone
from openpyxl import Workbook
from openpyxl.cell import WriteOnlyCell
from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE
from openpyxl.styles import Font

from fleet.exchange.numerals import shortest

ROWS_AT_ONCE = 2000
# A spreadsheet takes a cell that starts like this for a formula, and runs it.
FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n")


def plain_cell(value):
    """The value as a spreadsheet may open it: an apostrophe before what would run as a formula."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"'{value}" if isinstance(value, str) and value.lstrip(" ").startswith(FORMULA_STARTS) else value


def sheet_asked(request: HttpRequest) -> bool:
    return request.GET.get("save") in SHEETS


def sheet_of(request: HttpRequest, name: str, rows: QuerySet, columns: dict[str, str]) -> HttpResponseBase:
    """The rows in their order as a file called `name`, of the kind that the address asks for.

    `columns` names a header and its path for each column. Measures stand in the stored units, as the headers
    say.
    """
    return SHEETS[request.GET["save"]](name, rows.values_list(*columns.values()), list(columns))


def plan_sheet(request: HttpRequest, name: str, rows: QuerySet) -> HttpResponseBase:
    """Lines of a plan in the columns of their file out: all of the line's own but its place in the plan."""
    names = [field.name for field in rows.model._meta.concrete_fields]
    return sheet_of(request, name, rows, {one: one for one in names if one not in ("id", "plan", "row")})


def _csv(name: str, rows: QuerySet, headers: list[str]) -> HttpResponseBase:
    answer = StreamingHttpResponse(_lines(rows, headers), content_type="text/csv; charset=utf-8")
    answer["Content-Disposition"] = f'attachment; filename="{name}.csv"'
    return answer


def _lines(rows: QuerySet, headers: list[str]) -> Iterator[str]:
    out = StringIO(newline="")
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(headers)
    for number, row in enumerate(rows.iterator(ROWS_AT_ONCE), start=1):
        writer.writerow([_csv_cell(value) for value in row])
        if number % ROWS_AT_ONCE == 0:
            yield out.getvalue()
            out.seek(0)
            out.truncate()
    yield out.getvalue()


def _csv_cell(value):
    """The value as the files out have it: a number without exponent."""
    return shortest(value) if isinstance(value, float) else plain_cell(value)


def _workbook(name: str, rows: QuerySet, headers: list[str]) -> HttpResponseBase:
    """One sheet; its first row stays in sight. Written row by row: a list may be long."""
    book = Workbook(write_only=True)
    sheet = book.create_sheet(name)
    sheet.freeze_panes = "A2"
    heads = [WriteOnlyCell(sheet, value=header) for header in headers]
    for head in heads:
        head.font = Font(bold=True)
    sheet.append(heads)
    for row in rows.iterator(ROWS_AT_ONCE):
        sheet.append([_workbook_cell(value) for value in row])
    kept = BytesIO()
    book.save(kept)
    kept.seek(0)
    return FileResponse(kept, as_attachment=True, filename=f"{name}.xlsx")


def _workbook_cell(value):
    """The value as a workbook holds it; it knows no time zones and takes no control characters."""
    if isinstance(value, datetime.datetime):
        return timezone.make_naive(value, datetime.UTC)
    return plain_cell(ILLEGAL_CHARACTERS_RE.sub("", value) if isinstance(value, str) else value)


SHEETS = {"csv": _csv, "xlsx": _workbook}
