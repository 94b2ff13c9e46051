"""Hour meters: they run forward, no faster than the day is long, and somebody reads them."""

import pandas as pd

from forecasting.wording import gettext as _
from forecasting.wording import ngettext

from ..findings import Findings, Severity
from ..merging import Fleet
from ..numerals import rounded
from .places import Place, report

HOURS_A_DAY = 24.0
ROUNDING_HOURS = 0.1  # meters show tenths
LONGEST_GAP = pd.Timedelta(days=365)


def check_meters(fleet: Fleet, findings: Findings) -> None:
    """Errors for hours that cannot be; warnings for machines that nobody read for a year."""
    readings = fleet["meter_readings"].sort_values(["machine", "read_on"], ignore_index=True)
    before = readings.groupby("machine")[["read_on", "hours", "file_line"]].shift()
    steps = readings.assign(
        read_before=before["read_on"],
        hours_before=before["hours"],
        line_before=before["file_line"].fillna(0).astype("int64"),
        days=(readings["read_on"] - before["read_on"]).dt.days,
        run=readings["hours"] - before["hours"],
    )
    same_meter = ~readings["meter_replaced"].fillna(False).astype(bool)
    places = [Place("meter_readings", "file_line", "hours"), Place("meter_readings", "line_before", "hours")]
    report(
        findings,
        fleet,
        Severity.ERROR,
        "hours backward",
        steps[same_meter & (steps["run"] < 0)],
        places,
        lambda row: (
            _(
                "The meter of %(machine)s showed %(hours_before)s h on %(read_before)s and "
                "%(hours)s h on %(read_on)s."
            )
            % {
                "machine": row.machine,
                "hours_before": findings.figure(row.hours_before),
                "read_before": findings.day(row.read_before),
                "hours": findings.figure(row.hours),
                "read_on": findings.day(row.read_on),
            },
            _("Mend the hours, or say that a new meter starts with them.")
            if findings.of_a_form
            else _("Mend the hours, or enter yes in the column meter_replaced where a new meter starts."),
        ),
    )
    report(
        findings,
        fleet,
        Severity.ERROR,
        "days too short",
        steps[same_meter & (steps["run"] > HOURS_A_DAY * steps["days"] + ROUNDING_HOURS)],
        places,
        lambda row: (
            _("%(machine)s cannot have run %(run)s h in the %(days)s from %(read_before)s to %(read_on)s.")
            % {
                "machine": row.machine,
                "run": rounded(row.run),
                "days": _days(row.days),
                "read_before": findings.day(row.read_before),
                "read_on": findings.day(row.read_on),
            },
            _("A day has 24 hours: enter %(hours_before)s at most, or mend the reading before.")
            % {"hours_before": findings.figure(row.hours_before + HOURS_A_DAY * row.days)},
        ),
    )
    _check_stays(fleet, readings, findings)
    _check_gaps(fleet, steps, findings)


def _check_stays(fleet: Fleet, readings: pd.DataFrame, findings: Findings) -> None:
    """The meter as shown at installation and removal of one assembly."""
    stays = fleet["installations"].dropna(subset=["installed_hours", "removed_hours", "removed_on"])
    new_meters = readings[readings["meter_replaced"].fillna(False).astype(bool)]
    changed = stays[["assembly", "machine", "installed_on", "removed_on"]].merge(
        new_meters[["machine", "read_on"]], on="machine"
    )
    changed = changed[changed["read_on"].between(changed["installed_on"], changed["removed_on"])]
    stays = stays[~stays["assembly"].isin(changed["assembly"])]
    stays = stays.assign(
        run=stays["removed_hours"] - stays["installed_hours"],
        days=(stays["removed_on"] - stays["installed_on"]).dt.days,
    )
    report(
        findings,
        fleet,
        Severity.ERROR,
        "hours backward",
        stays[stays["run"] < 0],
        [Place("installations", "file_line", "removed_hours")],
        lambda row: (
            _(
                "The meter of %(machine)s showed %(installed_hours)s h when %(assembly)s "
                "went on and %(removed_hours)s h when it came off."
            )
            % {
                "machine": row.machine,
                "installed_hours": findings.figure(row.installed_hours),
                "assembly": row.assembly,
                "removed_hours": findings.figure(row.removed_hours),
            },
            _("Mend the hours, or say with which reading a new meter starts.")
            if findings.of_a_form
            else _(
                "Mend the hours, or enter the reading at which a new meter starts, with yes in the column "
                "meter_replaced."
            ),
        ),
    )
    # A stay of days counted from morning to evening may last a day longer than the days between its dates.
    report(
        findings,
        fleet,
        Severity.ERROR,
        "days too short",
        stays[(stays["days"] >= 0) & (stays["run"] > HOURS_A_DAY * (stays["days"] + 1))],
        [Place("installations", "file_line", "removed_hours")],
        lambda row: (
            _("%(machine)s cannot have run %(run)s h in the %(days)s that %(assembly)s was on it.")
            % {
                "machine": row.machine,
                "run": rounded(row.run),
                "days": _days(row.days),
                "assembly": row.assembly,
            },
            _("A day has 24 hours: mend those at which it went on or came off, or the days.")
            if findings.of_a_form
            else _("A day has 24 hours: mend installed_hours, removed_hours or the days."),
        ),
    )


def _check_gaps(fleet: Fleet, steps: pd.DataFrame, findings: Findings) -> None:
    """Machines at work whose meter nobody read for a year, up to the last day the register tells of."""
    machines = fleet["machines"]
    working = machines[machines["retired_on"].isna()]
    gaps = steps[steps["machine"].isin(working["machine"]) & (steps["days"] > LONGEST_GAP.days)]
    report(
        findings,
        fleet,
        Severity.WARNING,
        "meter not read",
        gaps,
        [Place("meter_readings", "file_line", "read_on"), Place("meter_readings", "line_before", "read_on")],
        lambda row: (
            _("Nobody read the meter of %(machine)s for %(days)s days, from %(read_before)s to %(read_on)s.")
            % {
                "machine": row.machine,
                "days": f"{row.days:g}",
                "read_before": findings.day(row.read_before),
                "read_on": findings.day(row.read_on),
            },
            _("Enter a reading between them if there is one."),
        ),
    )
    stays = fleet["installations"]
    last_day = max(
        (day for day in (steps["read_on"].max(), stays["installed_on"].max(), stays["removed_on"].max())),
        key=lambda day: pd.Timestamp.min if pd.isna(day) else day,
    )
    last = steps.groupby("machine").agg(last_read=("read_on", "max"), last_line=("file_line", "last"))
    seen = working.merge(last, how="left", left_on="machine", right_index=True)
    began = stays.groupby("machine")["installed_on"].min().reindex(seen["machine"]).set_axis(seen.index)
    since = seen["last_read"].fillna(seen["commissioned_on"]).fillna(began)
    unread = seen.assign(
        since=since, last_day=last_day, last_line=seen["last_line"].fillna(0).astype("int64")
    )
    report(
        findings,
        fleet,
        Severity.WARNING,
        "meter not read",
        unread[(unread["last_day"] - unread["since"]) > LONGEST_GAP],
        [Place("machines", "file_line", "machine"), Place("meter_readings", "last_line", "read_on")],
        lambda row: (
            _tell_unread(row, findings),
            _("Read the meter, or enter its last day in the column retired_on if the machine is gone."),
        ),
    )


def _tell_unread(row, findings: Findings) -> str:
    if pd.isna(row.last_read):
        told = _(
            "The meter of %(machine)s was never read, over a year before %(last_day)s, the last day the "
            "register tells of."
        )
        return told % {"machine": row.machine, "last_day": findings.day(row.last_day)}
    return _(
        "The meter of %(machine)s was last read on %(last_read)s, over a year before %(last_day)s, the last "
        "day the register tells of."
    ) % {
        "machine": row.machine,
        "last_read": findings.day(row.last_read),
        "last_day": findings.day(row.last_day),
    }


def _days(days: float) -> str:
    # A part of a day is told as several: 0.5 days, 1 day, 1.5 days.
    return ngettext("%(n)s day", "%(n)s days", 1 if days == 1 else 2) % {"n": f"{days:g}"}
