"""What a plan says in ten lines, for a person who has not seen it yet."""

from datetime import date, timedelta

import pandas as pd
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from fleet.frames.plans import plan_tables
from fleet.frames.register import core_settings
from fleet.models import Part, Plan

DAYS_AHEAD = 30
FAILURE_HORIZON_DAYS = 90
NAMED = 3

REASONS = {
    "unfit": gettext_lazy("rated too low or unfit"),
    "inspection": gettext_lazy("found worn"),
    "age_limit": gettext_lazy("too old"),
    "hours_limit": gettext_lazy("over their hours"),
    "risk": gettext_lazy("too likely to fail"),
    "economy": gettext_lazy("cheaper changed than left"),
}


def tell_plan(plan: Plan) -> list[str]:
    """The ten lines of a finished plan, true to what is stored of it."""
    costs = Part.objects.of(plan.organization).exclude(unit_cost=None).values_list("key", "unit_cost")
    return ten_lines(
        plan_tables(plan),
        plan.report.get("yearly_cost", {}),
        plan.as_of,
        {key: float(cost) for key, cost in costs},
        core_settings(plan.organization).currency,
    )


def ten_lines(
    tables: dict[str, pd.DataFrame],
    yearly_cost: dict[str, float],
    as_of: date,
    unit_costs: dict[str, float],
    currency: str,
) -> list[str]:
    """The lines from the plan's `tables` (OUTPUTS), its costs a year and what a unit of each part costs."""
    return [
        _installed(tables["forecasts"], as_of),
        _due_now(tables["forecasts"], tables["changeouts"], as_of),
        _soon(tables["changeouts"], as_of),
        _margins(tables["margins"]),
        _failures(tables["failures_ahead"]),
        _likeliest(tables["forecasts"]),
        _suspects(tables["suspects"]),
        _kits(tables["kits"], tables["kit_lines"]),
        _orders(tables["stock_advice"], tables["transfers"], unit_costs, currency),
        _cost(yearly_cost, currency),
    ]


def _installed(forecasts: pd.DataFrame, as_of: date) -> str:
    machines = forecasts["machine"].nunique()
    return _("As of %(as_of)s: %(installed)s assemblies installed on %(machines)s machines.") % {
        "as_of": as_of,
        "installed": f"{len(forecasts):,}",
        "machines": f"{machines:,}",
    }


def _due_now(forecasts: pd.DataFrame, changeouts: pd.DataFrame, as_of: date) -> str:
    due = forecasts[forecasts["due_on"] <= pd.Timestamp(as_of)]
    if due.empty:
        return _("Due now: none.")
    reasons = due["due_reason"].value_counts()
    told = ", ".join(f"{count} {REASONS.get(reason, reason)}" for reason, count in reasons.items())
    left = int((~due["assembly"].isin(changeouts["assembly"])).sum())
    words = (
        _("Due now: %(assemblies)s (%(reasons)s); the plan leaves %(left)s of them in place.")
        if left
        else _("Due now: %(assemblies)s (%(reasons)s).")
    )
    return words % {"assemblies": _assemblies(due), "reasons": told, "left": left}


def _soon(changeouts: pd.DataFrame, as_of: date) -> str:
    soon = changeouts[changeouts["planned_on"] <= pd.Timestamp(as_of + timedelta(days=DAYS_AHEAD))]
    if soon.empty:
        return _("Changeouts in the next %(days)s days: none.") % {"days": DAYS_AHEAD}
    stops = soon.drop_duplicates("changeout")
    special = int(stops["special_stop"].sum())
    return _(
        "Changeouts in the next %(days)s days: %(assemblies)s in %(stops)s, %(special)s of them outside the "
        "service windows; %(hours)s hours of work."
    ) % {
        "days": DAYS_AHEAD,
        "assemblies": _assemblies(soon),
        "stops": _some(ngettext("%(n)s stop", "%(n)s stops", len(stops)), len(stops)),
        "special": special,
        "hours": f"{soon['minutes'].sum() / 60:.0f}",
    }


def _margins(margins: pd.DataFrame) -> str:
    found = margins["verdict"].value_counts()
    counts = {verdict: found.get(verdict, 0) for verdict in ("short", "thin", "unknown")}
    short = margins[margins["verdict"] == "short"].sort_values("margin_percent")
    if short.empty:
        return (
            _("Pressure margins: none over its rating, %(thin)s thin, %(unknown)s that cannot be judged.")
            % counts
        )
    worst = short.iloc[0]
    return _(
        "Pressure margins: %(short)s over the rating, %(thin)s thin, %(unknown)s that cannot be judged; the "
        "worst is %(place)s: %(reason)s"
    ) % {**counts, "place": _place(worst), "reason": _sentence(worst["reason"])}


def _failures(failures_ahead: pd.DataFrame) -> str:
    everywhere = failures_ahead[
        (failures_ahead["scope"] == "all") & (failures_ahead["horizon_days"] == FAILURE_HORIZON_DAYS)
    ]
    if everywhere.empty:
        return _("Failures in %(days)s days: not told by this plan.") % {"days": FAILURE_HORIZON_DAYS}
    told = everywhere.iloc[0]
    return _(
        "Failures in %(days)s days if nothing is changed ahead: %(expected)s expected, %(low)s to %(high)s "
        "in four cases of five."
    ) % {
        "days": FAILURE_HORIZON_DAYS,
        "expected": f"{told['expected']:.1f}",
        "low": told["low_80"],
        "high": told["high_80"],
    }


def _likeliest(forecasts: pd.DataFrame) -> str:
    worst = forecasts.nlargest(NAMED, "p_fail_90d")
    told = ", ".join(f"{_place(row)} {row['p_fail_90d'] * 100:.0f} %" for _row, row in worst.iterrows())
    return _("Likeliest to fail in 90 days: %(places)s.") % {"places": told or _("none installed")}


def _suspects(suspects: pd.DataFrame) -> str:
    """The groups with the most failures beyond the expected; one that another explains is left out."""
    own = suspects[suspects["explained_by"].isna()]
    worst = own.loc[(own["failures"] - own["expected"]).sort_values(ascending=False).index].head(NAMED)
    if worst.empty:
        return _("Groups that fail more than expected: none.")
    told = "; ".join(
        _("%(kind)s %(name)s %(failures)s against %(expected)s, %(installed)s still in place")
        % {
            "kind": row["kind"].replace("_", " "),
            "name": row["name"],
            "failures": row["failures"],
            "expected": f"{row['expected']:.1f}",
            "installed": row["installed_now"],
        }
        for _row, row in worst.iterrows()
    )
    return _("Groups that fail more than expected: %(groups)s.") % {"groups": told}


def _kits(kits: pd.DataFrame, kit_lines: pd.DataFrame) -> str:
    waiting = int((~kits["ready"].astype(bool)).sum())
    counts = {"ready": len(kits) - waiting, "of": len(kits)}
    short = kit_lines[kit_lines["short_by"] > 0]
    if short.empty:
        return _("Kits: %(ready)s of %(of)s ready; no part is short.") % counts
    often = short.groupby("part")["kit"].nunique().sort_values(ascending=False, kind="stable").head(NAMED)
    parts = ", ".join(f"{part} ({kits})" for part, kits in often.items())
    return _("Kits: %(ready)s of %(of)s ready; most often short: %(parts)s.") % {**counts, "parts": parts}


def _orders(
    advice: pd.DataFrame, transfers: pd.DataFrame, unit_costs: dict[str, float], currency: str
) -> str:
    ordered = advice[advice["order_now"] > 0]
    moved = ngettext("%(n)s transfer between sites", "%(n)s transfers between sites", len(transfers))
    moved = _some(moved, len(transfers))
    if ordered.empty:
        return _("To order now: nothing; %(moved)s.") % {"moved": moved}
    costs = ordered["order_now"] * ordered["part"].map(unit_costs)
    unpriced = int(costs.isna().sum())
    dearest = costs.dropna().groupby(ordered["part"]).sum().nlargest(NAMED)
    told = (
        _(
            "To order now: %(lines)s for %(cost)s, %(unpriced)s of them without a price, the dearest "
            "%(parts)s; %(moved)s."
        )
        if unpriced
        else _("To order now: %(lines)s for %(cost)s, the dearest %(parts)s; %(moved)s.")
    )
    return told % {
        "lines": _some(ngettext("%(n)s line", "%(n)s lines", len(ordered)), len(ordered)),
        "cost": f"{costs.sum():,.0f} {currency}",
        "unpriced": unpriced,
        "parts": ", ".join(dearest.index),
        "moved": moved,
    }


def _cost(yearly_cost: dict[str, float], currency: str) -> str:
    names = {
        "plan": _("this plan"),
        "run_to_failure": _("run to failure"),
        "best_fixed_age": _("the best fixed age"),
    }
    told = [
        f"{words} {yearly_cost[name]:,.0f} {currency}"
        for name, words in names.items()
        if yearly_cost.get(name) is not None
    ]
    if not told:
        return _("What a year costs is not known.")
    low, high = (yearly_cost.get(f"plan_{end}") for end in ("low", "high"))
    if low is not None and high is not None:
        told[0] += _(" (%(low)s to %(high)s in four cases of five)") % {
            "low": f"{low:,.0f}",
            "high": f"{high:,.0f}",
        }
    return _("A year costs by %(costs)s.") % {"costs": _(", by ").join(told)}


def _place(row: pd.Series) -> str:
    return f"{row['machine']} {row['position']}"


def _assemblies(rows: pd.DataFrame) -> str:
    return _some(ngettext("%(n)s assembly", "%(n)s assemblies", len(rows)), len(rows))


def _some(told: str, count: int) -> str:
    return told % {"n": f"{count:,}"}


def _sentence(text: object) -> str:
    return _("no reason given.") if pd.isna(text) else f"{str(text).rstrip('.')}."
