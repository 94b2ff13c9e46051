"""What the organization decided: settings, policies, and what a changeout and a failure cost."""

import re
from dataclasses import fields

import pandas as pd

from forecasting.designs.constructions import normal_construction
from forecasting.policies import SETTING_NAMES, Settings
from forecasting.units import MEASURES
from forecasting.wording import gettext as _

from ..findings import Findings, Severity
from ..merging import Fleet
from ..names import Names, either
from ..numerals import read_number, rounded, shortest
from ..schema import POLICY_SCOPES
from .places import Place, report

UNITS = {
    "pressure_unit": tuple(MEASURES["pressure"]),
    "length_unit": tuple(MEASURES["length"]),
    "temperature_unit": tuple(MEASURES["temperature"]),
}
NUMBERS = frozenset(field.name for field in fields(Settings) if isinstance(field.default, float))
# Greater figures are slips, a rate of 20 for 20 % among them; and no sum of what lies within them overflows.
MOST_MONEY = 10_000_000_000.0
MOST = {
    "kerf_mm": 100.0,
    "keep_length_mm": 100_000.0,
    "review_days": 3_650.0,
    "horizon_days": 3_650.0,
    "holding_rate_per_year": 10.0,
    "standby_budget": 1_000_000_000_000.0,  # of all sites together, in rials too
}


def check_settings(fleet: Fleet, findings: Findings) -> None:
    """Errors for settings that there are not, and for values that are none."""
    rows = fleet["settings"]
    names = Names(SETTING_NAMES)
    known = rows["name"].isin(SETTING_NAMES)
    report(
        findings,
        fleet,
        Severity.ERROR,
        "unknown setting",
        rows[~known],
        [Place("settings", "file_line", "name")],
        lambda row: (
            _("%(name)s is no setting.") % {"name": row.name},
            names.suggest(row.name, _("the settings")),
        ),
    )
    judged = {row.name: _setting_fault(row.name, row.value) for row in rows[known].itertuples()}
    faults = {name: fault for name, fault in judged.items() if fault}
    report(
        findings,
        fleet,
        Severity.ERROR,
        "setting's value",
        rows[rows["name"].isin(faults)],
        [Place("settings", "file_line", "value")],
        lambda row: faults[row.name],
    )


def _setting_fault(name: str, value: str) -> tuple[str, str] | None:
    if pd.isna(value):
        return None
    if name in UNITS:
        if value in UNITS[name]:
            return None
        return _("%(value)s is no %(name)s.") % {
            "value": value,
            "name": name,
        }, _("Enter %(units)s.") % {"units": either(UNITS[name])}
    if name == "currency":
        if re.fullmatch(r"[A-Z]{3}", value):
            return None
        return _("%(value)s is no currency.") % {"value": value}, _(
            "Enter its three letters after ISO 4217, such as EUR."
        )
    number = read_number(value)
    if name in NUMBERS and (number is None or number < 0):
        return _("%(value)s is no %(name)s.") % {"value": value, "name": name}, _(
            "Enter a plain number, 0 or more."
        )
    if number is not None and name in NUMBERS and number > (most := MOST.get(name, MOST_MONEY)):
        return _("%(value)s is above %(most)s, the most that %(name)s may be.") % {
            "value": value,
            "most": rounded(most),
            "name": name,
        }, _("Enter %(most)s at most.") % {"most": rounded(most)}
    if name in ("horizon_days", "review_days") and number == 0:
        return _("%(value)s is no %(name)s.") % {"value": value, "name": name}, _("Enter more than 0.")
    return None


def check_costs(fleet: Fleet, findings: Findings) -> None:
    """Warnings for positions where a failure is said to cost less than a planned changeout."""
    rows = fleet["positions"]
    report(
        findings,
        fleet,
        Severity.WARNING,
        "failure cheaper than planned",
        rows[rows["failure_cost"] < rows["planned_cost"]],
        [Place("positions", "file_line", "failure_cost"), Place("positions", "file_line", "planned_cost")],
        lambda row: (
            _(
                "A failure at %(machine)s %(position)s costs %(failure_cost)s, less than a "
                "planned changeout, %(planned_cost)s."
            )
            % {
                "machine": row.machine,
                "position": row.position,
                "failure_cost": shortest(row.failure_cost),
                "planned_cost": shortest(row.planned_cost),
            },
            _("Enter what one failure costs in all, the new assembly and the standstill included."),
        ),
    )
    report(
        findings,
        fleet,
        Severity.WARNING,
        "peak below working",
        rows[rows["peak_pressure_bar"] < rows["working_pressure_bar"]],
        [
            Place("positions", "file_line", "peak_pressure_bar"),
            Place("positions", "file_line", "working_pressure_bar"),
        ],
        lambda row: (
            _("The peak pressure at %(machine)s %(position)s is below its working pressure.")
            % {"machine": row.machine, "position": row.position},
            _("Enter the highest pressure, surges included."),
        ),
    )


def check_policies(fleet: Fleet, findings: Findings) -> None:
    """Errors for scopes that name nothing in the register."""
    rows = fleet["policies"]
    rows = rows[rows["file_line"] > 0]
    if rows.empty:
        return
    named = _named(fleet)
    kinds = Names(POLICY_SCOPES)
    judged = {scope: _scope_fault(scope, named, kinds) for scope in rows["scope"]}
    faults = {scope: fault for scope, fault in judged.items() if fault}
    report(
        findings,
        fleet,
        Severity.ERROR,
        "scope names nothing",
        rows[rows["scope"].isin(faults)],
        [Place("policies", "file_line", "scope")],
        lambda row: faults[row.scope],
    )


def _named(fleet: Fleet) -> dict[str, dict[str, None]]:
    """What each kind of scope may name."""
    positions = fleet["positions"]
    constructions = fleet["parts"]["construction"].dropna()
    return {
        "site": dict.fromkeys(fleet["sites"]["site"]),
        "construction": dict.fromkeys(constructions) | dict.fromkeys(normal_construction(constructions)),
        "circuit": dict.fromkeys(positions["circuit"].dropna()),
        "machine": dict.fromkeys(fleet["machines"]["machine"]),
        "position": dict.fromkeys(positions["machine"] + "/" + positions["position"]),
        "part": dict.fromkeys(fleet["parts"]["part"]),
        "critical": {"yes": None},
    }


def _scope_fault(scope: str, named: dict, kinds: Names) -> tuple[str, str] | None:
    if scope == "all":
        return None
    kind, colon, name = scope.partition(":")
    if kind not in named or not colon:
        nearest = kinds.nearest(kind)
        meant = nearest if nearest in ("", "all") else f"{nearest}:{name or '…'}"
        return (
            _("%(scope)s is no scope.") % {"scope": scope},
            _("Did you mean %(meant)s?") % {"meant": meant}
            if meant
            else _("Enter all or one of %(named)s.") % {"named": ", ".join(f"{one}:…" for one in named)},
        )
    if name in named[kind]:
        return None
    if kind == "critical":  # the one scope whose name is no name but a word
        right = _("Did you mean %(meant)s?") % {"meant": "critical:yes"}
        return _("%(scope)s is no scope.") % {"scope": scope}, right
    nearest = Names(named[kind]).nearest(name)
    return (
        _("No %(kind)s is named %(name)s.") % {"kind": kind, "name": name},
        _("Did you mean %(kind)s:%(nearest)s?") % {"kind": kind, "nearest": nearest}
        if nearest
        else _("Name a %(kind)s that is in the register.") % {"kind": kind},
    )
