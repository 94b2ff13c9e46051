"""What was found in a folder that a spreadsheet made, told by the spreadsheet's own rows and columns.

Nobody has seen the files in between. What of the sheet stands where in them is kept with the reading
(`FolderReading.made_of`): `title` of the sheet in its workbook, `lines` of it by file, `headers` of it by
file and column; and for who looks at it `told`, how its days and sizes are read, `left_out`, the headers
that nothing was matched to, and `without_design`, the lines of which no design is made.
"""

import dataclasses
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any

from django.utils.translation import gettext as _

from fleet.exchange.findings import Finding, Severity
from fleet.exchange.foreign import Table, read_table
from fleet.exchange.mapping import Made, Match, told_manners
from fleet.exchange.schema import FILES_BY_NAME
from fleet.models import FolderReading

from .importing import MOST_ROWS_BESIDE

FIRST_LINE = 2  # of the rows in a file of the folder: the header stands above them


def made_of(table: Table, match: Match, made: Made) -> dict[str, Any]:
    """What the reading keeps of how its folder was made."""
    return {
        "title": table.title if len(table.titles) > 1 else "",
        "lines": made.lines,
        "headers": {
            file: {
                header: own
                for header in rows[0]
                if (own := match.header_of(file, FILES_BY_NAME[file].by_header[header].name))
            }
            for file, rows in made.files.items()
        },
        "told": list(told_manners(table, match).items()),
        "left_out": [one for one in table.header if one not in match.columns and table.texts(one)],
        "without_design": list(made.without_design),
    }


def tell_by_sheet(
    reading: FolderReading, findings: Sequence[Finding], beside: dict[str, dict]
) -> tuple[list[Finding], dict[str, dict]]:
    """The findings, and the rows that they are about by the file's label.

    Those of a fleet folder are left as they are; of one that a sheet made they are the sheet's, row by row,
    and what two files made of one cell is said once.
    """
    if not reading.sheet or not findings:
        return list(findings), beside
    # A sheet that came before names were kept has only that of its file.
    name = reading.sent_names[0] if reading.sent_names else Path(str(reading.sheet.name)).name
    title = reading.made_of["title"]
    label = _("%(path)s sheet %(title)s") % {"path": name, "title": title} if title else name
    told = list(dict.fromkeys(_of_sheet(one, label, reading.made_of) for one in findings))
    told.sort(key=lambda one: (one.severity != Severity.ERROR, one.line or 0, one.column))
    return told, {label: _rows_of(reading, told)}


def _of_sheet(finding: Finding, label: str, made: dict[str, Any]) -> Finding:
    file = finding.file.removesuffix(".csv")
    lines = made["lines"].get(file, [])
    at = finding.line - FIRST_LINE if finding.line else -1
    return dataclasses.replace(
        finding,
        file=label,
        line=lines[at] if 0 <= at < len(lines) else None,
        column=made["headers"].get(file, {}).get(finding.column, finding.column),
    )


def _rows_of(reading: FolderReading, findings: Iterable[Finding]) -> dict[str, Any]:
    """The sheet's header, and its rows that the findings are about."""
    table = read_table(Path(reading.sheet.path), reading.made_of["title"])
    lines = dict.fromkeys(one.line for one in findings if one.line)
    shown = list(lines)[:MOST_ROWS_BESIDE]
    return {
        "header": table.header,
        "rows": {str(line): table.rows[line - table.first_line] for line in shown},
    }
