"""Days that cannot be: an end before its beginning, an event that has yet to happen."""

import datetime

import pandas as pd

from forecasting.wording import gettext as _

from ..findings import Findings, Severity
from ..merging import Fleet
from .places import Place, report

# Which day may not be before which other day of the same row.
ORDER = (
    ("machines", "commissioned_on", "retired_on"),
    ("assemblies", "hose_made_on", "built_on"),
    ("assemblies", "hose_made_on", "installed_on"),
    ("assemblies", "built_on", "installed_on"),
    ("assemblies", "installed_on", "removed_on"),
    ("service_windows", "starts_on", "ends_on"),
    ("site_labour", "starts_on", "ends_on"),
)
# Days on which something was seen or done. Orders, windows and labour lie ahead by their nature.
EVENTS = (
    ("sites", "register_began_on"),
    ("meter_readings", "read_on"),
    ("installations", "hose_made_on"),
    ("installations", "built_on"),
    ("installations", "installed_on"),
    ("installations", "removed_on"),
    ("builds", "built_on"),
    ("inspections", "inspected_on"),
    ("stock", "made_on"),
)
# A clock may be wrong and a demonstration may run ahead of it; a year ahead is a slip of the pen.
FAR_AHEAD = datetime.timedelta(days=366)


def check_days(fleet: Fleet, today: datetime.date, findings: Findings) -> None:
    """Errors for days out of order or over a year ahead of `today`; warnings for events still to come."""
    for file, earlier, later in ORDER:
        _check_order(file, earlier, later, fleet, findings)
    for file, column in EVENTS:
        _check_event(file, column, today, fleet, findings)
    _check_inspections(fleet, findings)


def _check_order(file: str, earlier: str, later: str, fleet: Fleet, findings: Findings) -> None:
    rows = fleet[file]
    report(
        findings,
        fleet,
        Severity.ERROR,
        f"before {earlier}",
        rows[rows[later] < rows[earlier]],
        _places(file, later),
        lambda row: (
            _("%(later)s %(later_day)s is before %(earlier)s %(earlier_day)s.")
            % {
                "later": findings.column(later),
                "later_day": findings.day(getattr(row, later)),
                "earlier": findings.column(earlier),
                "earlier_day": findings.day(getattr(row, earlier)),
            },
            _("Enter %(day)s or later, or mend %(earlier)s.")
            % {"day": findings.day(getattr(row, earlier)), "earlier": findings.column(earlier)},
        ),
    )


def _check_event(file: str, column: str, today: datetime.date, fleet: Fleet, findings: Findings) -> None:
    rows = fleet[file]
    place = [Place(file, "file_line", column)]
    ahead = rows[column] > pd.Timestamp(today)
    far = rows[column] > pd.Timestamp(today + FAR_AHEAD)
    report(
        findings,
        fleet,
        Severity.ERROR,
        "in the future",
        rows[far],
        place,
        lambda row: (
            _("%(day)s is after today, %(today)s.")
            % {"day": findings.day(getattr(row, column)), "today": findings.day(today)},
            _("Enter the day on which it happened."),
        ),
    )
    report(
        findings,
        fleet,
        Severity.WARNING,
        "in the future",
        rows[ahead & ~far],
        place,
        lambda row: (
            _("%(day)s is after today, %(today)s.")
            % {"day": findings.day(getattr(row, column)), "today": findings.day(today)},
            _("Until that day it counts as not yet happened."),
        ),
    )


def _places(file: str, column: str) -> list[Place]:
    if file != "assemblies":
        return [Place(file, "file_line", column)]
    return [Place("installations", "installation_line", column), Place("builds", "build_line", "built_on")]


def _check_inspections(fleet: Fleet, findings: Findings) -> None:
    stays = fleet["assemblies"][["assembly", "built_on", "installed_on", "removed_on"]]
    rows = fleet["inspections"].merge(stays, on="assembly")
    day = rows["inspected_on"]
    place = [Place("inspections", "file_line", "inspected_on")]
    report(
        findings,
        fleet,
        Severity.ERROR,
        "before its build",
        rows[day < rows["built_on"]],
        place,
        lambda row: (
            _("%(assembly)s was built on %(built_on)s, after this inspection.")
            % {"assembly": row.assembly, "built_on": findings.day(row.built_on)},
            _("Enter %(built_on)s or later.") % {"built_on": findings.day(row.built_on)},
        ),
    )
    report(
        findings,
        fleet,
        Severity.WARNING,
        "not installed then",
        rows[(day < rows["installed_on"]) & ~(day < rows["built_on"]) | (day > rows["removed_on"])],
        place,
        lambda row: (
            _("%(assembly)s was not installed on that day.") % {"assembly": row.assembly},
            _("Look up the day or the assembly."),
        ),
    )
