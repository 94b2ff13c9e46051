"""Findings as a person reads them on a terminal."""

import shutil
import textwrap
from collections.abc import Sequence

from django.utils.translation import gettext as _

from fleet.exchange.findings import Finding

MOST_SHOWN = 100


def findings_lines(findings: Sequence[Finding], for_more: str) -> list[str]:
    """A compact table: severity, place, and what is wrong and right beside it; where to look for_more."""
    shown = _table(findings[:MOST_SHOWN])
    if len(findings) > MOST_SHOWN:
        shown.append(
            _("… and %(count)s more: %(for_more)s.")
            % {"count": f"{len(findings) - MOST_SHOWN:,}", "for_more": for_more}
        )
    return shown


def _table(findings: Sequence[Finding]) -> list[str]:
    rows = [
        (
            finding.severity,
            f"{finding.file}:{finding.line}" if finding.line else finding.file,
            finding.column,
            f"{finding.wrong} {finding.right}".rstrip(),
        )
        for finding in findings
    ]
    widths = [max((len(row[place]) for row in rows), default=0) for place in range(3)]
    room = max(shutil.get_terminal_size().columns - sum(widths) - 6, 60)
    lines = []
    for *cells, told in rows:
        start = "  ".join(cell.ljust(width) for cell, width in zip(cells, widths, strict=True))
        for place, part in enumerate(textwrap.wrap(told, room)):
            lines.append(f"{start if place == 0 else ' ' * len(start)}  {part}")
    return lines
