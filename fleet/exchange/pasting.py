"""Rows pasted from a spreadsheet, headers on the first line, as a fleet folder of one file."""

import io

from forecasting.wording import gettext as _

from .findings import Findings
from .reading import Folder, read_rows
from .schema import FILES_BY_NAME
from .sources import Unreadable, parsed_lines

# What is recorded day by day; whoever sends more sends a fleet folder.
PASTED = ("installations", "inspections", "meter_readings")
MOST_ROWS = 5_000


def pasted_rows(text: str) -> list[list[str]]:
    """The cells of each line: separated by tabs, as spreadsheets copy them, else by commas.

    Raises Unreadable.
    """
    separator = "\t" if "\t" in text.partition("\n")[0] else ","
    rows = list(parsed_lines(io.StringIO(text.lstrip("\ufeff"), newline=""), separator))
    while rows and not any(cell.strip() for cell in rows[-1]):
        rows.pop()
    return rows


def read_pasted(text: str, findings: Findings) -> Folder:
    """The folder of the one file whose columns the first line names; what cannot be read is in `findings`."""
    try:
        rows = pasted_rows(text)
    except Unreadable as error:
        wrong = _("Line %(line)s: %(wrong)s") % {"line": error.line, "wrong": error.wrong}
        findings.error("quotes", _("pasted rows"), error.line, "", "", wrong, error.right)
        return Folder({}, frozenset())
    header = [cell.strip() for cell in rows[0]] if rows else []
    named = {name: sum(cell in FILES_BY_NAME[name].by_header for cell in header) for name in PASTED}
    name = max(named, key=lambda one: named[one])
    if not named[name]:
        *most, last = (f"{one}.csv" for one in PASTED)
        right = _("Begin with the headers of %(most)s or %(last)s.") % {"most": ", ".join(most), "last": last}
        findings.error(
            "no headers", _("pasted rows"), 1, "", "", _("The first line names no known column."), right
        )
    elif len(rows) - 1 > MOST_ROWS:
        wrong = _("%(count)s rows were pasted, and %(most)s are taken at once.") % {
            "count": f"{len(rows) - 1:,}",
            "most": f"{MOST_ROWS:,}",
        }
        findings.error("too many", _("pasted rows"), None, "", "", wrong, _("Send them as a fleet folder."))
    else:
        return read_rows({name: rows}, "pasted {}", findings)
    return Folder({}, frozenset())
