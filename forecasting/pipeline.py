"""The main job: the register's tables in, a plan out. The order of the calls, nothing else."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date

import numpy as np
import pandas as pd

from .ahead.counts import count_failures
from .ahead.forecasts import HORIZONS, Forecaster
from .ahead.suspects import find_suspects
from .designs.successors import warn_of_unfit_designs
from .hindsight.past_counts import look_back
from .hindsight.trends import tell_trends
from .inputs import INPUTS
from .life.life_model import describe_populations, fit_life_model
from .life.standing import Standing
from .outputs import FORECASTS, OUTPUTS
from .policies import Settings, service_levels
from .report import report_plan
from .shelves import find_due_orders
from .stops.changeouts import plan_changeouts
from .stops.changes import tell_changes
from .stops.costs import compare_policies
from .stops.decisions import heed_decisions, tell_decisions
from .stops.due import find_due
from .stops.gaps import find_gaps
from .stops.parts import find_unbuyable
from .stops.prospects import look_ahead
from .supply.cutting import cut_hoses
from .supply.holdings import value_stock
from .supply.kits import build_kits
from .supply.stocking import advise_stock
from .tables import check_table
from .wording import gettext as _


@dataclass(frozen=True, slots=True)
class Plan:
    """What the job says: `tables` holds one frame per OUTPUTS name, `report` the figures of the whole.

    `forecaster` is what it was said with.
    """

    tables: dict[str, pd.DataFrame]
    report: dict
    forecaster: Forecaster


def make_plan(
    tables: dict[str, pd.DataFrame],
    settings: Settings,
    as_of: date,
    rng: np.random.Generator,
    previous: dict[str, pd.DataFrame] | None = None,
    progress: Callable[[str], None] = lambda step: None,
    previous_on: date | None = None,
) -> Plan:
    """The plan for `as_of` from the register's `tables` (one frame per INPUTS name).

    `previous` holds the tables of the plan in force: its changeouts are kept where moving saves too little,
    and `changes` tells what this plan says otherwise; `previous_on` is the day of which it
    speaks. `progress` is told each step in words.

    Raises BadTable where a table is not as declared.
    """
    tables = {name: check_table(tables[name], table) for name, table in INPUTS.items()}
    standing = Standing.on(tables, as_of, progress)
    known, lives, margins = standing.tables, standing.lives, standing.margins

    progress(_("Fitting the life model"))
    model = fit_life_model(lives, rng)

    progress(_("Forecasting"))
    forecaster = Forecaster(model, lives)
    past = look_back(known, lives, model, as_of)
    failures_ahead = count_failures(forecaster, HORIZONS, past.variances)
    suspects = find_suspects(lives, model)
    trends = tell_trends(lives, standing.usage)

    progress(_("Planning changeouts"))
    prospects = look_ahead(forecaster, known, settings)
    due = find_due(prospects, margins, standing.limits, known["inspections"], as_of)
    announced = previous["changeouts"] if previous else None
    changeouts, gap_percent = plan_changeouts(due, prospects, known, settings, as_of, announced)
    changeouts = warn_of_unfit_designs(changeouts, known, standing.limits)
    horizon = settings.horizon_days
    heeded = heed_decisions(due, prospects.assemblies, known, horizon, as_of)
    decided = tell_decisions(heeded, changeouts, known)
    unbuyable = find_unbuyable(heeded.due, prospects.assemblies, changeouts, known, horizon, as_of)

    progress(_("Building kits and cut lists"))
    kits, kit_lines = build_kits(changeouts, known, settings, as_of, forecaster)
    cut_list = cut_hoses(kit_lines, kits, known, settings, as_of)

    progress(_("Reckoning stock"))
    levels = service_levels(known)
    stock_advice, transfers, value_curve = advise_stock(
        kits, kit_lines, changeouts, forecaster, known, settings, levels, as_of, rng
    )

    progress(_("Weighing what is not known"))
    made = {
        "margins": margins,
        "forecasts": check_table(forecaster.table().merge(due, on="assembly", how="left"), FORECASTS),
        "factors": forecaster.factors(),
        "failures_ahead": failures_ahead,
        "changeouts": changeouts,
        "kits": kits,
        "kit_lines": kit_lines,
        "cut_list": cut_list,
        "stock_advice": stock_advice,
        "transfers": transfers,
        "suspects": suspects,
        "gaps": find_gaps(known, prospects, margins),
    }
    orders = find_due_orders(known, as_of)
    made["changes"] = tell_changes(previous, made, as_of, decided, previous_on, orders)
    plan = {name: check_table(made[name], table) for name, table in OUTPUTS.items()}
    costs = compare_policies(changeouts, prospects, forecaster, known, settings)
    worth = value_stock(stock_advice, known["parts"], settings.review_days)
    costs["plan_stock_value"] = None if np.isnan(worth) else worth
    populations = describe_populations(model, lives)
    report = report_plan(
        as_of,
        plan,
        populations,
        costs,
        gap_percent,
        standing.usage,
        past.report(),
        trends,
        decided,
        value_curve,
        standing.places_without_hose,
        orders,
        unbuyable,
        previous_on,
    )
    return Plan(plan, report, forecaster)
