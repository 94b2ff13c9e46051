"""Which installed assemblies a stop could pay for, or that must go, and what each stop would cost them."""

from dataclasses import dataclass
from datetime import date

import numpy as np
import pandas as pd

from ..policies import Settings
from .decisions import Heeded
from .parts import Parts, days_to_buy, share_parts
from .problem import StopProblem
from .prospects import Prospects
from .renewal import cost_of_leaving
from .windows import find_stops, share_labour, work_done

WEAR_PER_DAY = 1e-3  # money: where costs are not known, a day more in service is worth just something
BLOCK = 100_000  # assemblies whose costs are computed together


@dataclass(frozen=True, slots=True)
class Candidates:
    """The n assemblies to decide about, by machine.

    rows       (n,) their places among the installed
    machines   (M,) names of their machines
    stops      the stops of all machines, and
    fits_none  (n,) what fits no window of its machine, see `find_stops`
    limit      (n,) the last day each may stay, inf: any
    announced  (n,) the stop that a person kept or the last plan announced, where it stands; −1: none
    kept       (n,) bool, a person decided that it stays with the announced stop
    penalty    (n,) what makes a special stop of its own the last choice
    if_had     (n, W) the cost of each stop if the parts were there; inf where it may not go
    days       (n, W) the days of these stops
    parts      what they find of their parts
    problem    what is to be chosen
    """

    rows: np.ndarray
    machines: np.ndarray
    stops: pd.DataFrame
    fits_none: np.ndarray
    limit: np.ndarray
    announced: np.ndarray
    kept: np.ndarray
    penalty: np.ndarray
    if_had: np.ndarray
    days: np.ndarray
    parts: Parts
    problem: StopProblem


@dataclass(frozen=True, slots=True)
class MachineStops:
    """The stops of the M machines that have any, by machine and column (M, W).

    names       (M,) names of the machines
    day         (M, W) the day of each stop, inf: no such stop
    window_day  (M, W) the same of stops in windows alone
    labour      (M, W) minutes in the window of each stop, inf: any
    window      (M, W) the first stop of the window of each
    begun       (M, W) bool, something was changed in it: its set-up is paid
    """

    names: np.ndarray
    day: np.ndarray
    window_day: np.ndarray
    labour: np.ndarray
    window: np.ndarray
    begun: np.ndarray

    @classmethod
    def of(cls, stops: pd.DataFrame) -> "MachineStops":
        """The `stops` of `find_stops`."""
        names, machine = np.unique(stops["machine"].to_numpy(object).astype(str), return_inverse=True)
        shape = len(names), int(stops["column"].max()) + 1 if len(stops) else 1
        day, labour = np.full(shape, np.inf), np.full(shape, np.inf)
        at = machine, stops["column"].to_numpy(int)
        day[at], labour[at] = stops["day"], stops["labour_minutes"]
        window_day = day.copy()
        window_day[at] = np.where(stops["special"].astype(bool), np.inf, stops["day"])
        window = np.tile(np.arange(shape[1]), (shape[0], 1))
        window[at] = stops["window"]
        begun = np.zeros(shape, dtype=bool)
        begun[at] = stops["begun"].astype(bool)
        return cls(names, day, window_day, labour, window, begun)


def find_candidates(
    heeded: Heeded,
    prospects: Prospects,
    tables: dict[str, pd.DataFrame],
    settings: Settings,
    as_of: date,
    announced: pd.DataFrame | None = None,
) -> Candidates:
    """The assemblies that must go within the horizon, that gain by a stop, or whose stop was announced.

    Decisions are heeded: none goes before its earliest day, and a stop that was kept goes before one that the
    last plan announced.
    """
    machine, horizon = prospects.assemblies["machine"], settings.horizon_days
    due, earliest = heeded.due, heeded.earliest
    limit = (due["limit_on"] - pd.Timestamp(as_of)).dt.days.fillna(np.inf).to_numpy(float)
    bought = days_to_buy(prospects.assemblies, tables, as_of)
    done = work_done(tables, as_of)
    stops, fits_none = find_stops(due, prospects.assemblies, earliest, bought, done, tables, horizon, as_of)
    laid = MachineStops.of(stops)
    before = _announced_stops(announced, due["assembly"], machine, stops)
    kept = np.where(fits_none, -1, _column_of(machine, pd.Series(heeded.kept_on), stops))
    before = np.where(kept >= 0, kept, before)
    index = pd.Series(np.arange(len(laid.names)), index=laid.names)
    of_machine = machine.map(index).fillna(-1).to_numpy(int)

    left = np.where(limit <= horizon, np.inf, cost_if_left(prospects, horizon))
    left = np.where(np.isnan(left) & (kept >= 0), -WEAR_PER_DAY * horizon, left)
    rows, if_had = _worth_a_stop(prospects, of_machine, laid, fits_none, earliest, limit, left, before)
    must, minutes = (
        limit[rows] <= horizon,
        np.maximum(prospects.assemblies["minutes"].to_numpy(float), 1.0)[rows],
    )
    days = np.where(np.isfinite(if_had), laid.day[of_machine[rows]], np.inf)
    by_decision, own_window = kept[rows] >= 0, laid.window[of_machine[rows]]
    open_days = np.where(by_decision[:, None] & (own_window != kept[rows, None]), np.inf, days)
    last_day = np.where(np.isfinite(open_days), open_days, -np.inf).max(axis=1)
    until = np.where(by_decision, last_day, np.where(must, limit[rows], np.inf))
    assemblies = prospects.assemblies.iloc[rows]
    parts = share_parts(assemblies, open_days, until, tables, settings, as_of)
    in_window = np.where(np.isfinite(if_had), laid.window_day[of_machine[rows]], np.inf)
    shared = share_labour(assemblies["site"], minutes, in_window, done, tables, as_of) + parts.shared
    cost = np.where(days < parts.earliest[:, None], np.inf, if_had)
    too_much = shared.too_much()
    cost[shared.row[too_much], shared.stop[too_much]] = np.inf
    cost, if_had = (_without_gain_by_waiting(one, days, own_window) for one in (cost, if_had))
    of_before = np.where(own_window == before[rows, None], cost, np.inf)
    before = np.where(np.isfinite(of_before).any(axis=1), of_before.argmin(axis=1), -1)
    busy, place = np.unique(of_machine[rows], return_inverse=True)
    at_limit = stop_costs(prospects, rows, np.where(must, limit[rows], 0.0)[:, None])[:, 0]
    span = np.where(np.isinf(cost), -np.inf, cost).max(axis=1) - cost.min(axis=1)
    spread = np.where(np.isfinite(cost).any(axis=1), span, 0.0)
    day, window = laid.day[busy], laid.window[busy]
    all_setups = settings.stop_setup_cost * day.shape[1]
    asks_setup = (window == np.arange(day.shape[1])) & ~laid.begun[busy]
    penalty = 1.0 + all_setups + np.bincount(place, spread, len(busy))[place]
    problem = StopProblem(
        machine=place,
        cost=cost,
        outside=np.where(must, at_limit + settings.stop_setup_cost + penalty, left[rows]),
        must=must,
        minutes=minutes,
        setup=np.where(np.isinf(day), np.inf, np.where(asks_setup, settings.stop_setup_cost, 0.0)),
        labour=laid.labour[busy],
        window=window,
        shared=shared.that_bind(),
    )
    kept_stop = by_decision & (before >= 0)
    return Candidates(
        rows,
        laid.names[busy],
        stops,
        fits_none[rows],
        limit[rows],
        before,
        kept_stop,
        penalty,
        if_had,
        days,
        parts,
        problem,
    )


def stop_costs(prospects: Prospects, rows: np.ndarray, day: np.ndarray) -> np.ndarray:
    """V (k, W) of the assemblies `rows` on `day` (k, W); where costs are not known, the later the better."""
    cost = cost_of_leaving(
        prospects.now,
        rows[:, None],
        np.where(np.isinf(day), 0.0, day),
        prospects.planned_cost[rows, None],
        prospects.failure_cost[rows, None],
        prospects.renewal.rate[rows, None],
    )
    return np.where(np.isinf(day), np.inf, np.where(np.isnan(cost), -WEAR_PER_DAY * day, cost))


def cost_if_left(prospects: Prospects, horizon_days: float) -> np.ndarray:
    """The least V (n,) from the end of the horizon on, to failure included; NaN where costs are not known."""
    now = prospects.now
    days = np.concatenate([[horizon_days], now.days[now.days > horizon_days]])
    planned, failure, rate = prospects.planned_cost, prospects.failure_cost, prospects.renewal.rate
    least = np.full(len(planned), np.inf)
    every = np.arange(len(planned))
    for day in days:
        least = np.minimum(least, cost_of_leaving(now, every, day, planned, failure, rate))
    with np.errstate(invalid="ignore"):  # nothing fails and nothing costs: 0 · inf
        to_failure = failure - rate * now.mean_life()
    return np.where(np.isnan(to_failure), least, np.minimum(least, to_failure))


def _worth_a_stop(
    prospects: Prospects,
    of_machine: np.ndarray,
    laid: MachineStops,
    fits_none: np.ndarray,
    earliest: np.ndarray,
    limit: np.ndarray,
    left: np.ndarray,
    announced: np.ndarray,
) -> tuple[np.ndarray, np.ndarray]:
    """The rows of candidates by machine, and their costs (n, W) in its stops: inf where they may not go.

    What has a window in time goes in no special stop: these are for what fits nowhere, and are not limited.
    They all lie before the first window that it may use; where it `fits_none` of them, it goes in no other.
    It may go from its `earliest` day to its `limit`.
    """
    special_day = np.where(np.isinf(laid.window_day), laid.day, np.inf)
    order = np.argsort(of_machine, kind="stable")
    order = order[of_machine[order] >= 0]
    found, costs = [np.empty(0, int)], [np.empty((0, laid.day.shape[1]))]
    for began in range(0, len(order), BLOCK):
        rows = order[began : began + BLOCK]
        windows = laid.window_day[of_machine[rows]]
        first_window = np.where(windows >= earliest[rows, None], windows, np.inf).min(axis=1)
        in_time = (first_window <= limit[rows]) & ~fits_none[rows]
        when = np.where(in_time[:, None], windows, special_day[of_machine[rows]])
        may = (when >= earliest[rows, None]) & (when <= limit[rows, None])
        cost = stop_costs(prospects, rows, np.where(may, when, np.inf))
        announced_there = laid.window[of_machine[rows]] == announced[rows, None]
        stands = (np.isfinite(cost) & announced_there).any(axis=1)
        worth = (cost < left[rows, None]).any(axis=1) | (stands & ~np.isnan(left[rows]))
        found.append(rows[worth])
        costs.append(cost[worth])
    return np.concatenate(found), np.concatenate(costs)


def _without_gain_by_waiting(cost: np.ndarray, day: np.ndarray, window: np.ndarray) -> np.ndarray:
    """The `cost` (n, W), on a later `day` of a `window` never less than on a day before that it may have.

    The machine stands already: what can be done is done at once, and a plan of tomorrow says the same.
    """
    cost, floor, since = cost.copy(), np.full(len(cost), -np.inf), np.zeros(len(cost))
    for stop in range(cost.shape[1]):
        floor[window[:, stop] == stop] = -np.inf
        had = np.isfinite(cost[:, stop])
        waited = floor[had] + WEAR_PER_DAY * (day[had, stop] - since[had])
        cost[had, stop] = np.maximum(cost[had, stop], waited)
        floor[had], since[had] = cost[had, stop], day[had, stop]
    return cost


def _announced_stops(
    announced: pd.DataFrame | None, assembly: pd.Series, machine: pd.Series, stops: pd.DataFrame
) -> np.ndarray:
    """The window (n,) in which the last plan announced each assembly, where it stands; else −1."""
    if announced is None:
        return np.full(len(assembly), -1)
    said = announced.loc[~announced["special_stop"].astype(bool), ["assembly", "window_starts_on"]]
    before = pd.DataFrame({"assembly": assembly.to_numpy(), "machine": machine.to_numpy()})
    before = before.merge(said, on="assembly", how="left")
    return _column_of(before["machine"], before["window_starts_on"], stops)


def _column_of(machine: pd.Series, window_starts_on: pd.Series, stops: pd.DataFrame) -> np.ndarray:
    """The first stop (n,) of each window among those of its machine; −1 where there is no such window."""
    first = ~stops["special"] & (stops["column"] == stops["window"])
    windows = stops.loc[first, ["machine", "window_starts_on", "column"]]
    asked = pd.DataFrame({"machine": machine.to_numpy(), "window_starts_on": window_starts_on.to_numpy()})
    found = asked.merge(windows, on=["machine", "window_starts_on"], how="left")
    return found["column"].fillna(-1).to_numpy(int)
