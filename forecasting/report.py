"""The figures of a whole plan, and the warnings that go with them: what stands in `report.json`."""

from datetime import date

import pandas as pd

from .hours.usage import Usage
from .stops.decisions import tell_missed
from .wording import gettext as _
from .wording import ngettext, tell_day

PLACES_NAMED = 8
ORDERS_NAMED = 8
PARTS_NAMED = 8


def report_plan(
    as_of: date,
    made: dict[str, pd.DataFrame],
    populations: list[dict],
    costs: dict[str, float | None],
    gap_percent: float,
    usage: Usage,
    interval_basis: dict,
    trends: list[dict],
    decided: pd.DataFrame,
    value_curve: list[dict],
    without_hose: pd.DataFrame,
    orders: pd.DataFrame,
    unbuyable: pd.DataFrame,
    previous_on: date | None,
) -> dict:
    """The report of a plan: counts by table, populations, yearly costs, optimality gap, warnings in words.

    `made` has one frame per OUTPUTS name; `populations` comes from `describe_populations`, `costs` from
    `compare_policies`. `interval_basis`, from `PastCounts.report`, says what the intervals of failures ahead
    rest on: past dates, a bootstrap, or the parameter draws alone. `trends`, from `tell_trends`, says whether
    failures come closer together, `decided`, from `tell_decisions`, what people decided, `value_curve` what
    all stock is worth by service level (`curve_of_value`), `without_hose` the places that lost theirs,
    `orders`, from `find_due_orders`, what is to come, `unbuyable`, from `find_unbuyable`, what is due and
    stays, `previous_on` is the day of the plan that `changes` tells from.
    """
    return {
        "as_of": as_of.isoformat(),
        "changes_since": previous_on and previous_on.isoformat(),
        "counts": {name: len(frame) for name, frame in made.items()},
        "failures_ahead": interval_basis,
        "failure_trends": trends,
        "populations": populations,
        "optimality_gap_percent": gap_percent,
        "yearly_cost": costs,
        "places_without_hose": {
            "number": len(without_hose),
            "last": without_hose.head(PLACES_NAMED).to_dict("records"),
        },
        "stock_value_by_service_level": value_curve,
        "warnings": list(_warnings(as_of, made, populations, costs, usage, decided, orders, unbuyable)),
    }


def _warnings(as_of, made, populations, costs, usage, decided, orders, unbuyable):
    if made["forecasts"].empty:
        yield _("No assembly is installed on %(day)s: there is nothing to forecast or to change.") % {
            "day": tell_day(as_of)
        }
    for one in decided[decided["risk"] != ""].itertuples():
        yield _("%(assembly)s stays past a limit in a person's name: %(decision)s; %(risk)s.") % {
            "assembly": one.assembly,
            "decision": one.words,
            "risk": one.risk,
        }
    for one in decided[decided["why_not"] != ""].itertuples():
        yield f"{one.assembly}: {tell_missed(one.words, one.why_not)}."
    unknown = int((made["margins"]["verdict"] == "unknown").sum())
    if unknown:
        yield ngettext(
            "%(n)s assembly of unknown margin: rating or pressure not known.",
            "%(n)s assemblies of unknown margin: rating or pressure not known.",
            unknown,
        ) % {"n": f"{unknown:g}"}
    failures = sum(one["failures"] for one in populations)
    if populations and not failures:
        yield _(
            "No failure is recorded: every chance rests on the stated priors and on hoses that are not known "
            "to have failed."
        )
    estimated = int((usage.rates["basis"] != "readings").sum())
    if estimated:
        yield ngettext(
            "%(n)s machine with too few readings: hours a day are estimated.",
            "%(n)s machines with too few readings: hours a day are estimated.",
            estimated,
        ) % {"n": f"{estimated:g}"}
    without_costs = costs.get("assemblies_without_costs")
    if without_costs:
        yield ngettext(
            "%(n)s assembly without costs: planned by limits only.",
            "%(n)s assemblies without costs: planned by limits only.",
            int(without_costs),
        ) % {"n": f"{without_costs:g}"}
    if len(unbuyable):
        left = unbuyable["assembly"].nunique()
        yield ngettext(
            "%(n)s hose falls due in the time that the plan looks ahead and stays; of its parts these are no "
            "longer made, and nothing may stand in for them: %(parts)s.",
            "%(n)s hoses fall due in the time that the plan looks ahead and stay; of their parts these are "
            "no longer made, and nothing may stand in for them: %(parts)s.",
            left,
        ) % {"n": f"{left:g}", "parts": _named(unbuyable["part"].sort_values(), PARTS_NAMED)}
    unpromised = orders.loc[~orders["promised"], "order"].drop_duplicates()
    if len(unpromised):
        yield ngettext(
            "%(n)s open order is overdue or names no day and counts as if placed today: %(orders)s.",
            "%(n)s open orders are overdue or name no day and count as if placed today: %(orders)s.",
            len(unpromised),
        ) % {"n": f"{len(unpromised):g}", "orders": _named(unpromised, ORDERS_NAMED)}


def _named(keys: pd.Series, most: int) -> str:
    """The first of the `keys`, each once."""
    keys = keys.drop_duplicates()
    return ", ".join(keys.head(most)) + (", …" if len(keys) > most else "")
