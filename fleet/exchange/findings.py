"""What is wrong in a fleet folder: every finding of one reading, in one table."""

import csv
import datetime
from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import astuple, dataclass, fields
from enum import StrEnum
from io import StringIO
from typing import TypeVar

from forecasting.wording import gettext as _
from forecasting.wording import tell_day

MOST_OF_A_KIND = 1_000

Row = TypeVar("Row")


class Severity(StrEnum):
    ERROR = "error"
    WARNING = "warning"


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing wrong at one place: `line` as a spreadsheet counts, None where it is about no line."""

    severity: Severity
    file: str
    line: int | None
    column: str
    value: str
    wrong: str
    right: str

    def __str__(self) -> str:
        place = ", ".join(
            part
            for part in (self.file, _("row %(line)s") % {"line": self.line} if self.line else "", self.column)
            if part
        )
        return f"{place}: {self.wrong} {self.right}".rstrip()


class Findings:
    """Collects the findings of one reading: each kind is kept a thousand times, the rest counted.

    A kind is one rule at one column of one file. Days and figures are told as the file writes them, unless
    `of_a_form`: then there is no file, and they are told as a page shows them.
    """

    def __init__(self, *, of_a_form: bool = False) -> None:
        self.of_a_form = of_a_form
        self._kept: list[Finding] = []
        self._seen: Counter[tuple] = Counter()

    def day(self, day: datetime.date) -> str:
        """A day for a sentence: 2026-05-04, or of a form 4 May 2026."""
        return tell_day(day) if self.of_a_form else f"{day:%Y-%m-%d}"

    def figure(self, value: float) -> str:
        """A figure for a sentence: 33343, or of a form 33,343."""
        return f"{value:,.10g}" if self.of_a_form else f"{value:g}"

    def column(self, name: str) -> str:
        """A column for a sentence: installed_on, or of a form installed on."""
        return name.replace("_", " ") if self.of_a_form else name

    def add(
        self,
        severity: Severity,
        rule: str,
        file: str,
        column: str,
        rows: Sequence[Row],
        tell: Callable[[Row], tuple[int | None, str, str, str]],
    ) -> None:
        """Adds one finding a row; `tell` gives a row's line, value, what is wrong and what would be right.

        `tell` is asked only for rows that are kept, so that a million bad cells cost no million sentences.
        """
        kind = (severity, rule, file, column)
        room = max(MOST_OF_A_KIND - self._seen[kind], 0)
        self._seen[kind] += len(rows)
        for row in rows[:room]:
            line, value, wrong, right = tell(row)
            self._kept.append(Finding(severity, file, line, column, value, wrong, right))

    def error(
        self, rule: str, file: str, line: int | None, column: str, value: str, wrong: str, right: str
    ) -> None:
        """Adds one error."""
        self.add(Severity.ERROR, rule, file, column, [None], lambda row: (line, value, wrong, right))

    @property
    def errors(self) -> int:
        """How many errors there are, those not kept included."""
        return self._count(Severity.ERROR)

    @property
    def warnings(self) -> int:
        return self._count(Severity.WARNING)

    def _count(self, severity: Severity) -> int:
        return sum(count for kind, count in self._seen.items() if kind[0] == severity)

    def listed(self) -> list[Finding]:
        """Errors first, each by file and line; after them one line a kind for what was only counted."""
        kept = sorted(
            self._kept,
            key=lambda one: (one.severity != Severity.ERROR, one.file, one.line or 0, one.column),
        )
        rest = [
            Finding(
                kind[0],
                kind[2],
                None,
                kind[3],
                "",
                _("%(count)s more findings of this kind are not listed (%(kind)s).")
                % {"count": f"{count - MOST_OF_A_KIND:,}", "kind": kind[1]},
                _("Mend the listed ones and read again."),
            )
            for kind, count in self._seen.items()
            if count > MOST_OF_A_KIND
        ]
        return kept + rest


COLUMNS = tuple(field.name for field in fields(Finding))


def findings_csv(findings: Iterable[Finding]) -> str:
    """The findings as CSV text with a header row."""
    out = StringIO(newline="")
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(COLUMNS)
    writer.writerows(astuple(finding) for finding in findings)
    return out.getvalue()
