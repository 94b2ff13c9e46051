"""Stays: an assembly goes onto a position, stays, and comes off for a cause; one at a time."""

import pandas as pd

from forecasting.wording import gettext as _
from forecasting.wording import gettext_noop

from ..assemblies import SHARED
from ..findings import Findings, Severity
from ..merging import Fleet
from ..schema import REMOVAL_CAUSES
from .places import Place, report

FOREVER = pd.Timestamp("2262-01-01")


def check_stays(fleet: Fleet, findings: Findings) -> None:
    """Errors for stays that cannot be; warnings for those that do not tell enough."""
    _check_overlaps(fleet, findings)
    _check_removals(fleet, findings)
    _check_machines(fleet, findings)
    for column, twin in SHARED.items():
        _check_agreement(column, twin, fleet, findings)


def _check_overlaps(fleet: Fleet, findings: Findings) -> None:
    """One assembly in a position at a time; the next may enter on the day the last one leaves."""
    stays = fleet["installations"].dropna(subset=["machine", "position", "installed_on"])
    stays = stays.assign(until=stays["removed_on"].fillna(FOREVER))
    stays = stays[stays["until"] > stays["installed_on"]]
    stays = stays.sort_values(["machine", "position", "installed_on", "until", "assembly"], ignore_index=True)
    place = stays.groupby(["machine", "position"], sort=False).ngroup()
    longest = stays["until"].groupby(place).cummax()
    # The stay that lasted longest so far is the last row at which the running longest was its own.
    holder = pd.Series(stays.index, dtype="float64").where(stays["until"] == longest).ffill().astype("int64")
    first = place != place.shift()
    before = holder.shift().fillna(0).astype("int64")
    other = stays.loc[before, ["assembly", "installed_on", "removed_on", "file_line"]].add_prefix("other_")
    pairs = pd.concat([stays, other.reset_index(drop=True).assign(other_until=longest.shift())], axis=1)
    report(
        findings,
        fleet,
        Severity.ERROR,
        "two at once",
        pairs[~first & (pairs["installed_on"] < pairs["other_until"])],
        [
            Place("installations", "file_line", "installed_on"),
            Place("installations", "other_file_line", "removed_on"),
        ],
        lambda row: (
            _tell_two_at_once(row, findings),
            _("Enter when %(other_assembly)s came off, or mend the position or a day.")
            % {"other_assembly": row.other_assembly},
        ),
    )


def _tell_two_at_once(row, findings: Findings) -> str:
    told = (
        _(
            "%(assembly)s went onto %(machine)s %(position)s on %(installed_on)s while %(other)s, installed "
            "on %(other_installed_on)s, was there."
        )
        if pd.isna(row.other_removed_on)
        else _(
            "%(assembly)s went onto %(machine)s %(position)s on %(installed_on)s while %(other)s, installed "
            "on %(other_installed_on)s, was there until %(other_removed_on)s."
        )
    )
    return told % {
        "assembly": row.assembly,
        "machine": row.machine,
        "position": row.position,
        "installed_on": _shown(row.installed_on, findings),
        "other": row.other_assembly,
        "other_installed_on": _shown(row.other_installed_on, findings),
        "other_removed_on": _shown(row.other_removed_on, findings),
    }


def _check_removals(fleet: Fleet, findings: Findings) -> None:
    for column in ("removed_hours", "removal_cause", "failure_mode"):
        _check_still_there(column, fleet, findings)
    stays = fleet["installations"]
    report(
        findings,
        fleet,
        Severity.WARNING,
        "no cause",
        stays[stays["removed_on"].notna() & stays["removal_cause"].isna()],
        [
            Place("installations", "file_line", "removal_cause"),
            Place("installations", "file_line", "removed_on"),
        ],
        lambda row: (
            _("%(assembly)s was removed without a cause.") % {"assembly": row.assembly},
            _("Enter %(causes)s; without one it counts as unknown.") % {"causes": ", ".join(REMOVAL_CAUSES)},
        ),
    )


def _check_still_there(column: str, fleet: Fleet, findings: Findings) -> None:
    stays = fleet["installations"]
    report(
        findings,
        fleet,
        Severity.ERROR,
        "not removed",
        stays[stays["removed_on"].isna() & stays[column].notna()],
        [Place("installations", "file_line", column)],
        lambda row: (
            _("%(assembly)s has a %(column)s but no removed_on.")
            % {"assembly": row.assembly, "column": column},
            _("Enter the day it came off, or empty the cell."),
        ),
    )


def _check_machines(fleet: Fleet, findings: Findings) -> None:
    machines = fleet["machines"][["machine", "commissioned_on", "retired_on", "file_line"]]
    stays = fleet["installations"].merge(machines.rename(columns={"file_line": "machine_line"}), on="machine")
    early = stays["installed_on"] < stays["commissioned_on"]
    late = stays["installed_on"] > stays["retired_on"]
    before = gettext_noop(
        "%(assembly)s went onto %(machine)s on %(installed_on)s, before the machine was commissioned on "
        "%(day)s."
    )
    after = gettext_noop(
        "%(assembly)s went onto %(machine)s on %(installed_on)s, after the machine was retired on %(day)s."
    )
    _tell_machines_time(stays[early], "commissioned_on", before, fleet, findings)
    _tell_machines_time(stays[late], "retired_on", after, fleet, findings)


def _tell_machines_time(
    stays: pd.DataFrame, column: str, wrong: str, fleet: Fleet, findings: Findings
) -> None:
    report(
        findings,
        fleet,
        Severity.WARNING,
        "outside the machine's time",
        stays,
        [Place("installations", "file_line", "installed_on"), Place("machines", "machine_line", column)],
        lambda row: (
            _(wrong)
            % {
                "assembly": row.assembly,
                "machine": row.machine,
                "installed_on": _shown(row.installed_on, findings),
                "day": _shown(getattr(row, column), findings),
            },
            _("Mend %(installed_on)s or %(column)s.")
            % {"installed_on": findings.column("installed_on"), "column": findings.column(column)},
        ),
    )


def _check_agreement(column: str, twin: str, fleet: Fleet, findings: Findings) -> None:
    """What both files say must be the same; an installation without a design says its position's."""
    builds = fleet["builds"][["assembly", twin, "file_line"]].rename(
        columns={twin: "built", "file_line": "build_line"}
    )
    rows = fleet["installations"].merge(builds, on="assembly")
    said = rows.assign(said=rows[column])
    report(
        findings,
        fleet,
        Severity.ERROR,
        "files disagree",
        said[said["said"].notna() & said["built"].notna() & (said["said"] != said["built"])],
        [Place("builds", "build_line", twin), Place("installations", "file_line", column)],
        lambda row: (
            _(
                "builds.csv says %(twin)s %(built)s of %(assembly)s, installations.csv says %(column)s "
                "%(said)s."
            )
            % {
                "twin": twin,
                "built": _shown(row.built, findings),
                "assembly": row.assembly,
                "column": column,
                "said": _shown(row.said, findings),
            },
            _("Both must say the same: mend the one that is wrong."),
        ),
    )


def _shown(value: object, findings: Findings) -> str:
    return findings.day(value) if isinstance(value, pd.Timestamp) else str(value)
