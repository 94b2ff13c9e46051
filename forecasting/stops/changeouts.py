"""Which assemblies to change in which stop of their machine, and what that costs against leaving them.

An assembly changed on day τ costs V(τ) against the long run (`renewal`), one that is left the least V beyond
the horizon. Stops are chosen at the least ΣV + set-up of each used stop, within the labour of windows and
sites and no sooner than its parts can be there, which may be while a window is open. A limit (unfit,
inspection, age, hours, risk; any due date where the position is critical) forbids later stops: what has no
window in time gets a special stop, as does what its windows have no labour for or come before its parts, and
what cannot wait for these goes with its kit short.
"""

from datetime import date

import numpy as np
import pandas as pd

from ..outputs import CHANGEOUTS
from ..policies import Settings
from ..tables import make_table
from ..wording import gettext as _
from ..wording import gettext_noop, tell_days
from .candidates import Candidates, find_candidates, stop_costs
from .choice import Choice, choose_stops
from .decisions import heed_decisions, miss_crowded, name_decisions
from .due import days_after
from .parts import days_awaited
from .paths import cheapest_stops
from .prospects import Prospects


def plan_changeouts(
    due: pd.DataFrame,
    prospects: Prospects,
    tables: dict[str, pd.DataFrame],
    settings: Settings,
    as_of: date,
    announced: pd.DataFrame | None = None,
) -> tuple[pd.DataFrame, float]:
    """CHANGEOUTS, one row per assembly to change, and the optimality gap in per cent.

    `due` comes from `find_due`. The gap is what the plan may cost above the cheapest, at most, as a share of
    what its assemblies are expected to cost within the horizon. Costs of a row are those expected to the end
    of the horizon, the successor at its long-run rate: `expected_cost_now` where it is changed as planned,
    `expected_cost_if_left` where it is left till the horizon ends and changed then.

    `announced` are the CHANGEOUTS of the last plan. A machine keeps to them unless moving saves more than
    `least_saving_to_move`; the gap is that of the plan that keeps to them.
    """
    heeded = heed_decisions(due, prospects.assemblies, tables, settings.horizon_days, as_of)
    candidates = find_candidates(heeded, prospects, tables, settings, as_of, announced)
    choice = _choose(candidates, settings.least_saving_to_move)
    told = _list_changed(candidates, choice, due, as_of)
    for column in ("limit_on", "limit_reason"):
        told[column] = heeded.due[column].iloc[told["row"]].to_numpy()
    horizon, rows = np.full(len(told), settings.horizon_days), told["row"].to_numpy()
    long_run = prospects.renewal.rate[rows] * settings.horizon_days
    for column, day in (("now", told["day"].to_numpy()), ("if_left", horizon)):
        value = stop_costs(prospects, rows, day[:, None])[:, 0]
        told[f"expected_cost_{column}"] = np.where(np.isnan(long_run), np.nan, value + long_run)
    assemblies = prospects.assemblies.iloc[rows].reset_index(drop=True)
    for column in ("assembly", "machine", "position", "design", "minutes"):
        told[column] = assemblies[column]
    told = _with_reasons(told, settings, told["due_on"] <= pd.Timestamp(as_of))
    told["reason"] = name_decisions(told, miss_crowded(heeded.standing, told))
    stop_day = told["window_starts_on"].fillna(told["planned_on"]).dt.strftime("%Y-%m-%d")
    told["changeout"] = told["machine"] + " " + stop_day + np.where(told["special_stop"], " special", "")
    told = told.sort_values(["planned_on", "changeout", "position"], ignore_index=True)
    return make_table(told, CHANGEOUTS), _gap_percent(candidates, choice, prospects, settings.horizon_days)


def _choose(candidates: Candidates, least_saving: float) -> Choice:
    """The stops of all candidates, those announced kept on machines where moving saves too little.

    What a person kept is kept whatever moving saves.
    """
    problem, announced, decided = candidates.problem, candidates.announced, candidates.kept
    held = announced >= 0
    if not held.any():
        return choose_stops(problem)
    kept = problem.hold(held, announced, candidates.penalty)
    freely = problem.machine_costs(cheapest_stops(problem))
    keeping = kept.machine_costs(cheapest_stops(kept))
    held &= (keeping - freely <= least_saving)[problem.machine] | decided
    while True:
        choice = choose_stops(problem.hold(held, announced, candidates.penalty))
        crowded_out = held & (problem.windows_of(choice.stop) != problem.windows_of(announced))
        if not crowded_out.any():
            return choice
        # No labour left where announced: its machine is planned anew, at last without what people kept.
        crowded = held & np.isin(problem.machine, problem.machine[crowded_out])
        yields = crowded & ~decided
        stuck = crowded_out & ~np.isin(problem.machine, problem.machine[yields])
        held &= ~(yields | stuck)


def _list_changed(candidates: Candidates, choice: Choice, due: pd.DataFrame, as_of: date) -> pd.DataFrame:
    """What is changed, one row each: row (among the installed), day, stop, and what the reason depends on."""
    problem, stops = candidates.problem, candidates.stops
    alone = problem.must & (choice.stop == problem.width)
    changed = np.flatnonzero((choice.stop < problem.width) | alone)
    at = np.minimum(choice.stop, problem.width - 1)
    told = pd.DataFrame(
        {
            "row": candidates.rows[changed],
            "machine": candidates.machines[problem.machine[changed]],
            "column": choice.stop[changed],
            "crowded_out": alone[changed],
            "kept": (
                (candidates.announced >= 0)
                & (problem.windows_of(candidates.announced) == problem.windows_of(choice.stop))
            )[changed],
        }
    )
    awaited = days_awaited(candidates.parts, candidates.if_had, candidates.days, choice.stop)[changed]
    short_to = candidates.parts.short_to[changed]
    told["parts_on"] = days_after(as_of, np.where(np.isnan(short_to), awaited, short_to))
    told["short"] = ~np.isnan(short_to)
    told["awaited"] = ~np.isnan(awaited)
    sooner = candidates.days[changed] < candidates.days[changed, at[changed]][:, None]
    with_parts = candidates.days[changed] >= awaited[:, None]
    told["first_with_parts"] = ~(sooner & with_parts).any(axis=1)
    told["none_with_parts"] = ~(with_parts & np.isfinite(candidates.days[changed])).any(axis=1)
    told = told.merge(
        stops[["machine", "column", "window", "day", "window_starts_on", "special"]],
        on=["machine", "column"],
        how="left",
    )
    told["inside"] = told["column"] > told["window"]
    told["windowless"] = ~told["machine"].isin(stops.loc[~stops["special"], "machine"])
    told["too_long"] = candidates.fits_none[changed] & ~told["windowless"]
    told["day"] = told["day"].where(~told["crowded_out"], candidates.limit[changed])
    told["planned_on"] = days_after(as_of, told["day"].to_numpy(float))
    told["special_stop"] = told["special"].astype("boolean").fillna(True).astype(bool)
    for column in ("due_on", "due_reason"):
        told[column] = due[column].iloc[told["row"]].to_numpy()
    return told


DUE_IN_WORDS = {
    "unfit": gettext_noop("It does not bear what its position asks of it"),
    "inspection": gettext_noop("Its last inspection says replace"),
    "age_limit": gettext_noop("It reaches its age limit on %(due)s"),
    "hours_limit": gettext_noop("It reaches its hours limit about %(due)s"),
    "risk": gettext_noop("Its chance of failing passes the limit on %(due)s"),
    "economy": gettext_noop("From %(due)s on leaving it costs more than changing it"),
    "none": gettext_noop("Changing it in this stop costs less than leaving it"),
}
REACHED_IN_WORDS = DUE_IN_WORDS | {  # by the plan's day: since when, nobody reckoned
    "age_limit": gettext_noop("It has reached its age limit"),
    "hours_limit": gettext_noop("It has reached its hours limit"),
    "risk": gettext_noop("Its chance of failing is over the limit"),
    "economy": gettext_noop("Leaving it costs more than changing it"),
}


def _with_reasons(told: pd.DataFrame, settings: Settings, reached: pd.Series) -> pd.DataFrame:
    """`told` with because (why each is changed), then (why in that stop) and lacks (of its kit, or empty).

    What is `reached` is due by the plan's day. Decisions aside: `name_decisions` puts the reason together.
    """
    told = told.copy()
    due, limit, parts = (tell_days(told[column]) for column in ("due_on", "limit_on", "parts_on"))
    late = (told["planned_on"] > told["due_on"]).to_numpy(bool)
    limited = (told["limit_on"] == told["due_on"]).to_numpy(bool)
    stranded = (told["special_stop"] & (told["planned_on"] == told["limit_on"])).to_numpy(bool)
    where = np.select(
        [
            (told["crowded_out"] & told["awaited"] & told["none_with_parts"]).to_numpy(bool),
            (told["crowded_out"] & told["awaited"]).to_numpy(bool),
            told["crowded_out"].to_numpy(bool),
            (told["special_stop"] & told["too_long"]).to_numpy(bool),
            stranded,
            (told["special_stop"] & told["windowless"]).to_numpy(bool),
            told["special_stop"].to_numpy(bool),
            (told["inside"] & told["awaited"]).to_numpy(bool),
            told["inside"].to_numpy(bool),
            told["kept"].to_numpy(bool),
            (told["awaited"] & told["first_with_parts"]).to_numpy(bool),
            told["awaited"].to_numpy(bool),
            told["expected_cost_now"].isna().to_numpy(bool),
            late,
            limited,
        ],
        [
            _(
                "its parts are there from %(parts)s, and no window of this machine begins from then to "
                "%(limit)s: a special stop."
            ),
            _(
                "its parts are there from %(parts)s, and this machine's windows from then to %(limit)s have "
                "no labour left: a special stop."
            ),
            _("the windows of this machine by %(limit)s have no labour left: a special stop."),
            _("no window of this machine has the %(minutes)s minutes that it takes: a special stop."),
            _("no window of this machine by %(limit)s: a special stop."),
            _("no window of this machine within %(horizon)s days: a special stop."),
            _("done in a special stop that this machine needs."),
            _("its parts are there from %(parts)s, while this window is open."),
            _("this window is open on that day, and it cannot be done in it sooner."),
            _("this window was announced, and moving saves too little."),
            _("its parts are there from %(parts)s; this is the first window after."),
            _(
                "its parts are there from %(parts)s; of this machine's windows after that this one costs "
                "least, with all that is done in it."
            ),
            _("its costs are not known, so it waits for the last window by %(limit)s."),
            _(
                "of this machine's windows this one costs least with all that is done in it, though it comes "
                "later."
            ),
            _("of this machine's windows by %(limit)s this one costs least, with all that is done in it."),
        ],
        _("of this machine's windows this one costs least, with all that is done in it."),
    )
    lacks = np.select(
        [~told["short"].to_numpy(bool), told["parts_on"].isna().to_numpy(bool)],
        ["", _("Its kit is short: nobody knows when its parts would be there.")],
        _("Its kit is short: its parts would be there only on %(parts)s."),
    )
    horizon = f"{settings.horizon_days:g}"
    places = [
        {"due": on, "limit": by, "parts": there, "horizon": horizon, "minutes": f"{takes:g}"}
        for on, by, there, takes in zip(due, limit, parts, told["minutes"], strict=True)
    ]
    reasons = told["due_reason"]
    because = reasons.map({why: _(words) for why, words in DUE_IN_WORDS.items()})
    because[reached] = reasons.map({why: _(words) for why, words in REACHED_IN_WORDS.items()})[reached]
    not_put_off = (reasons == "economy") & (told["limit_reason"] == "economy")
    because += np.where(not_put_off, _(", and a critical position is not put off"), "")
    for name, forms in (("because", because), ("then", where), ("lacks", lacks)):
        filled = [form % row for form, row in zip(forms, places, strict=True)]
        told[name] = pd.Series(filled, index=told.index, dtype="str")
    return told


def _gap_percent(candidates: Candidates, choice: Choice, prospects: Prospects, horizon_days: float) -> float:
    """How far above the cheapest the choice may lie, in per cent of the money that its assemblies cost."""
    problem = candidates.problem
    rate = np.nan_to_num(prospects.renewal.rate[candidates.rows])
    known = ~np.isnan(prospects.planned_cost[candidates.rows])
    inside = choice.stop < problem.width
    column = np.minimum(choice.stop, problem.width - 1)
    value = np.where(inside, problem.cost[np.arange(len(column)), column], problem.outside)
    setups = np.where(problem.used(choice.stop), problem.setup, 0.0).sum()
    spent = (value + rate * horizon_days)[known].sum() + setups
    excess = choice.cost - choice.bound
    return float(100 * excess / spent) if spent > 0 else 0.0
