"""What if: one day planned under other policies and held against the plan, run to failure and a fixed age."""

from collections.abc import Callable
from datetime import date

import numpy as np
import pandas as pd

from .ahead.forecasts import Forecaster
from .history import known_on
from .outputs import CHANGEOUTS, COMPARISON
from .pipeline import make_plan
from .policies import Settings, service_levels
from .stops.due import days_after
from .stops.prospects import Forecasts, price_changeouts
from .supply.holdings import value_stock
from .supply.kits import build_kits
from .supply.stocking import advise_stock
from .tables import make_table
from .wording import gettext as _

USUAL_POLICIES = ("plan", "run_to_failure", "best_fixed_age")
NOTHING_PLANNED = make_table(None, CHANGEOUTS)


def compare_what_if(
    tables: dict[str, pd.DataFrame],
    policies: pd.DataFrame,
    settings: Settings,
    as_of: date,
    begin_chance: Callable[[], np.random.Generator],
    previous: dict[str, pd.DataFrame] | None = None,
    progress: Callable[[str], None] = lambda step: None,
) -> pd.DataFrame:
    """COMPARISON, one row a policy: `plan`, `run_to_failure`, `best_fixed_age` and `what_if`.

    `tables` are those of `make_plan`; `what_if` is the plan with POLICIES `policies` in the place of theirs.
    Chance comes anew from `begin_chance()` for each plan, so that like policies compare as like. Yearly
    figures are those of `stops.costs`, of assemblies whose costs are known; the value of stock is that of
    the order-up-to levels which each way of working asks for (`supply.holdings`).

    Raises BadTable where a table is not as declared.
    """
    plan = make_plan(tables, settings, as_of, begin_chance(), previous, progress)
    other_tables = tables | {"policies": policies}

    def say(step: str) -> None:
        progress(_("What if: %(step)s") % {"step": step})

    what_if = make_plan(other_tables, settings, as_of, begin_chance(), previous, say)
    progress(_("Reckoning stock without a plan"))
    known = known_on(tables, as_of)
    fixed_age = plan.report["yearly_cost"]["best_fixed_age_days"]
    at_fixed_age = changeouts_at_age(fixed_age, plan.forecaster, known, settings, as_of)
    stock = {
        "plan": plan.tables["stock_advice"],
        "run_to_failure": _stock_for(
            NOTHING_PLANNED, plan.forecaster, known, settings, as_of, begin_chance()
        ),
        "best_fixed_age": _stock_for(at_fixed_age, plan.forecaster, known, settings, as_of, begin_chance()),
        "what_if": what_if.tables["stock_advice"],
    }
    values = {name: value_stock(one, tables["parts"], settings.review_days) for name, one in stock.items()}
    rows = [
        *(tell_year(plan.report["yearly_cost"], name, name) for name in USUAL_POLICIES),
        tell_year(what_if.report["yearly_cost"], "plan", "what_if"),
    ]
    return make_table([row | {"stock_value": values[row["policy"]]} for row in rows], COMPARISON)


def changeouts_at_age(
    age_days: float | None,
    forecaster: Forecasts,
    tables: dict[str, pd.DataFrame],
    settings: Settings,
    as_of: date,
) -> pd.DataFrame:
    """CHANGEOUTS of every assembly that reaches the age within the horizon, on that day or at once.

    None plans nothing. What falls on one day of a machine is one changeout.
    """
    if age_days is None:
        return NOTHING_PLANNED
    installed = forecaster.installed
    day = np.floor(np.maximum(age_days - installed["age_days"].to_numpy(float), 0.0))
    due = day <= settings.horizon_days
    told = price_changeouts(installed, tables, settings)[["assembly", "machine", "position", "design"]][due]
    told["planned_on"] = told["due_on"] = days_after(as_of, day[due])
    told["changeout"] = told["machine"] + " " + told["planned_on"].dt.strftime("%Y-%m-%d")
    told = told.assign(special_stop=True, due_reason="age_limit", reason=_("It reaches the fixed age."))
    return make_table(
        told.sort_values(["planned_on", "changeout", "position"], ignore_index=True), CHANGEOUTS
    )


def _stock_for(
    changeouts: pd.DataFrame,
    forecaster: Forecaster,
    tables: dict[str, pd.DataFrame],
    settings: Settings,
    as_of: date,
    rng: np.random.Generator,
) -> pd.DataFrame:
    """STOCK_ADVICE where these changeouts and no others are planned."""
    kits, kit_lines = build_kits(changeouts, tables, settings, as_of, forecaster)
    levels = service_levels(tables)
    advice, _, _ = advise_stock(kits, kit_lines, changeouts, forecaster, tables, settings, levels, as_of, rng)
    return advice


def tell_year(costs: dict[str, float | None], told_as: str, policy: str) -> dict:
    """A row of COMPARISON for `policy`, stock aside: what `costs.compare_policies` gave of `told_as`."""
    return {
        "policy": policy,
        "yearly_cost": costs.get(told_as),
        "failures": costs.get(f"{told_as}_failures"),
        "planned_changeouts": costs.get(f"{told_as}_planned_changeouts"),
        "yearly_cost_low": costs.get(f"{told_as}_low"),
        "yearly_cost_high": costs.get(f"{told_as}_high"),
        "failures_low": costs.get(f"{told_as}_failures_low"),
        "failures_high": costs.get(f"{told_as}_failures_high"),
    }
