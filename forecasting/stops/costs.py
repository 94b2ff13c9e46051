"""What a year costs under the plan, under run to failure and under the best single age for the whole fleet.

All are long-run costs by renewal reward (`renewal`), as if each position were renewed for ever with
successors like its next one: what the policies share, the present ages of the fleet, cancels out.

Every policy bears the same stops. A changeout that falls due at an age waits for the next window of its
machine, so it comes anywhere between that age and that age and the machine's days between windows; and each
pays the set-up as it is shared in the plan.

What is told is the mean over the draws of the forecast, with its range: the same ages lived through under one
law and one usage to come after another, as likely as the fleet's record leaves them. The law mixed of all
draws would tell too little of run to failure: by it the next hose of a place forgets the law that this one
showed. By the same mean ages are chosen. So where no limit is set, the plan costs no more than the best fixed
age, and that no more than run to failure: each may choose what the next one does. That holds of the positions
followed; of a fleet of more than FOLLOWED the rest is told by their share, to a few tenths of a per cent.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import pandas as pd

from ..ahead.forecasts import INTERVAL
from ..policies import Settings, position_limits
from .due import USUAL_RISK_HORIZON_DAYS
from .prospects import Forecasts, Prospects
from .renewal import Curves, first_risky_day

POLICIES = ("plan", "run_to_failure", "best_fixed_age")
DAYS_A_YEAR = 365.0
EARLIEST_DAYS = 1.0  # no changeout on the day of another
# Gauss and Legendre: the mean over a span from two points of it, exact for a cubic.
POINTS_OF_A_SPAN = (0.5 - np.sqrt(1 / 12), 0.5 + np.sqrt(1 / 12))
EVERY_NTH_DAY = 2  # of the days on which lives are followed: ages tried first, each a third above the last
NARROWINGS, AGES_BETWEEN = 2, 9
FOLLOWED = 1_000  # positions lived through under each draw: what draws share moves all positions alike
Age = np.ndarray | float  # one age for each of n positions, or one for all


@dataclass(frozen=True, slots=True)
class Years:
    """Years of n positions under one policy: failures, planned changeouts and cost (money) of each, (n,)."""

    failures: np.ndarray
    planned: np.ndarray
    cost: np.ndarray


@dataclass(frozen=True, slots=True)
class Renewals:
    """What n positions cost when their assemblies are changed at one age or another.

    `fresh` follows successors and `mean_life` (n,) is theirs in days; `wait_days` (n,) is the time between
    windows of their machines; of the money, (n,) each, `planned_cost` holds a changeout's share of a stop.
    """

    fresh: Curves
    mean_life: np.ndarray
    wait_days: np.ndarray
    planned_cost: np.ndarray
    failure_cost: np.ndarray

    def at(self, age: Age, wait_days: np.ndarray | None = None) -> Years:
        """A year in which a changeout falls due at `age` (n,) or one for all; inf: left to fail."""
        wait = self.wait_days if wait_days is None else wait_days
        age = np.broadcast_to(np.asarray(age, float), len(wait))
        ahead, every = np.isfinite(age), np.arange(len(age))
        due = np.where(ahead, age, 0.0)
        points = [self.fresh.at(every, due + point * wait) for point in POINTS_OF_A_SPAN]
        survival = np.where(ahead, sum(point[0] for point in points) / 2, 0.0)
        served = np.where(ahead, sum(point[1] for point in points) / 2, self.mean_life)
        failures, planned = DAYS_A_YEAR * (1 - survival) / served, DAYS_A_YEAR * survival / served
        return Years(failures, planned, failures * self.failure_cost + planned * self.planned_cost)

    def under(self, fresh: Curves, rows: np.ndarray) -> "Renewals":
        """The same of the positions `rows` alone, had their successors the lives `fresh`."""
        return Renewals(
            fresh,
            fresh.mean_life(),
            self.wait_days[rows],
            self.planned_cost[rows],
            self.failure_cost[rows],
        )


@dataclass(frozen=True, slots=True)
class AgePolicy:
    """The `age` (n,) at which successors fall due and their `wait_days` (n,) for a window then."""

    age: np.ndarray
    wait_days: np.ndarray


def compare_policies(
    changeouts: pd.DataFrame,
    prospects: Prospects,
    forecaster: Forecasts,
    tables: dict[str, pd.DataFrame],
    settings: Settings,
) -> dict[str, float | None]:
    """Money a year by policy (`plan`, `run_to_failure`, `best_fixed_age`) and what stands behind it.

    Besides, with the policy's name in front: `…_failures` and `…_planned_changeouts` a year, and with `_low`
    and `_high` behind a name the limits of 80 % for the money and the failures; `saved_against_…_low` and
    `…_high` for what the plan saves against each of the others; `best_fixed_age_days` (None: never ahead of
    failure) and `assemblies_without_costs`, which no figure counts. All money is None, and no limit is told,
    where no assembly has costs.

    plan             each successor falls due at its own best age, or in time for a limit before it
    run_to_failure   nothing changed ahead of failure
    best_fixed_age   the calendar age that costs least if every assembly falls due at it, limits aside
    """
    known = np.flatnonzero(~np.isnan(prospects.planned_cost) & ~np.isnan(prospects.failure_cost))
    count, stops = len(prospects.assemblies), changeouts["changeout"].nunique()
    counts = [f"{name}_{what}" for name in POLICIES for what in ("failures", "planned_changeouts")]
    told: dict[str, float | None] = dict.fromkeys(POLICIES) | dict.fromkeys(counts, 0.0)
    told |= {"best_fixed_age_days": None, "assemblies_without_costs": count - len(known)}
    if not len(known):
        return told
    setup = settings.stop_setup_cost * (stops / len(changeouts) if len(changeouts) else 1.0)
    wait = days_between_windows(tables["service_windows"], settings.horizon_days)
    wait_days = prospects.assemblies["machine"].map(wait).fillna(0.0).to_numpy(float)
    fresh, setups = prospects.fresh, prospects.planned_cost + setup
    renewals = Renewals(fresh, fresh.mean_life(), wait_days, setups, prospects.failure_cost)
    rows = known[np.unique(np.linspace(0, len(known) - 1, FOLLOWED).round().astype(int))]
    of_all, followed = (renewals.under(fresh.of_lives(some), some) for some in (known, rows))
    draws = list(forecaster.fresh_draws(rows))
    lives = Curves.follow(lambda days: np.concatenate([draw(days) for draw in draws]))
    rows_drawn = np.tile(rows, len(draws))  # draw by draw
    drawn = renewals.under(lives, rows_drawn)

    def mean_cost(age: Age) -> np.ndarray:
        cost = drawn.at(np.tile(np.broadcast_to(age, len(rows)), len(draws))).cost
        return cost.reshape(len(draws), -1).mean(axis=0)

    by_mixed_law = np.full(count, np.inf)
    by_mixed_law[known], _ = _best_ages(lambda age: of_all.at(age).cost, fresh.days)
    own_ages = by_mixed_law.copy()
    own_ages[rows], fixed_age = _best_ages(mean_cost, fresh.days)

    def policies(own_ages: np.ndarray) -> dict[str, AgePolicy]:
        ages = {"run_to_failure": np.inf, "best_fixed_age": fixed_age}
        same = {name: AgePolicy(np.full(count, age), wait_days) for name, age in ages.items()}
        return {"plan": _within_limits(own_ages, wait_days, prospects, tables)} | same

    # A draw moves a figure of all by the share by which it moves that of those followed.
    mixed = policies(by_mixed_law)
    whole, part = (_live(one, mixed, some).iloc[0] for one, some in ((of_all, known), (followed, rows)))
    share = (whole / part).where(part > 0, len(known) / len(rows))
    told |= _tell_draws(_live(drawn, policies(own_ages), rows_drawn, len(draws)) * share)
    if np.isfinite(fixed_age):
        told["best_fixed_age_days"] = fixed_age
    return told


def _live(
    lives: Renewals, policies: dict[str, AgePolicy], positions: np.ndarray, draws: int = 1
) -> pd.DataFrame:
    """A year of the `positions` with these `lives`, one row a draw; columns as `compare_policies` tells."""
    years = {}
    for name, policy in policies.items():
        year = lives.at(policy.age[positions], policy.wait_days[positions])
        figures = {"": year.cost, "_failures": year.failures, "_planned_changeouts": year.planned}
        for end, of_each in figures.items():
            years[name + end] = of_each.reshape(draws, -1).sum(axis=1)
    return pd.DataFrame(years)


def _tell_draws(drawn: pd.DataFrame) -> dict[str, float]:
    """The mean of each figure and its limits of 80 %; of what is changed ahead the mean alone."""
    ranged = drawn.loc[:, ~drawn.columns.str.endswith("_planned_changeouts")].copy()
    for other in ("run_to_failure", "best_fixed_age"):
        ranged[f"saved_against_{other}"] = drawn[other] - drawn["plan"]
    middle = ranged.mean()
    low, high = (ranged.quantile(level) for level in INTERVAL)
    limits = {"low": np.minimum(low, middle), "high": np.maximum(high, middle)}
    told = {f"{name}_{end}": limit for end, of_end in limits.items() for name, limit in of_end.items()}
    return drawn.mean().to_dict() | told


def days_between_windows(windows: pd.DataFrame, horizon_days: float) -> pd.Series:
    """The mean days from one service window to the next, by machine; the horizon where it has only one.

    A machine without windows is not listed: its hoses are changed in special stops, on the day they are due.
    """
    starts = windows.groupby("machine")["starts_on"].agg(["min", "max", "nunique"])
    span = (starts["max"] - starts["min"]).dt.days
    return (span / (starts["nunique"] - 1)).where(starts["nunique"] > 1, horizon_days)


def _within_limits(
    age: np.ndarray,
    wait_days: np.ndarray,
    prospects: Prospects,
    tables: dict[str, pd.DataFrame],
) -> AgePolicy:
    """The plan, had it `age` (n,) for the best: no limit is waited past."""
    installed = prospects.installed
    limits = installed[["machine", "position"]].merge(
        position_limits(tables), on=["machine", "position"], how="left"
    )
    rate = installed["hours_per_day"].to_numpy(float)
    hours_limit = limits["hours_limit"].to_numpy(float)
    by_hours = np.divide(hours_limit, rate, out=np.full(len(rate), np.inf), where=rate > 0)
    horizon = limits["risk_horizon_days"].fillna(USUAL_RISK_HORIZON_DAYS).to_numpy(float)
    by_risk = first_risky_day(prospects.fresh, limits["risk_limit"].to_numpy(float), horizon)
    by_risk[by_risk < EARLIEST_DAYS] = (
        np.inf
    )  # new hose breaks the limit too: changing it sooner helps nothing
    by_age = limits["age_limit_days"].to_numpy(float)
    last = np.fmin.reduce([np.where(np.isnan(one), np.inf, one) for one in (by_age, by_hours, by_risk)])
    last = np.maximum(last, EARLIEST_DAYS)
    wait = np.minimum(wait_days, last - EARLIEST_DAYS)
    return AgePolicy(np.minimum(age, last - wait), wait)


def _best_ages(cost_at: Callable[[Age], np.ndarray], days: np.ndarray) -> tuple[np.ndarray, float]:
    """The age (n,) that costs each position least, and the one that costs all of them least; inf: never.

    `cost_at` tells what an age costs each of them a year; `days` are those on which lives are followed.
    """
    days = days[1::EVERY_NTH_DAY]
    least = cost_at(np.inf)
    own, fixed, least_in_all = np.full(len(least), np.inf), np.inf, least.sum()

    def try_ages(age: Age) -> float:
        cost = cost_at(age)
        better = cost < least * (1 - 1e-12)
        own[better], least[better] = np.broadcast_to(age, len(own))[better], cost[better]
        return float(cost.sum())

    for age in days:
        in_all = try_ages(age)
        if in_all < least_in_all * (1 - 1e-12):
            fixed, least_in_all = float(age), in_all
    ratio = days[-1] / days[-2]
    for _ in range(NARROWINGS):
        factors, around, around_own = np.geomspace(1 / ratio, ratio, AGES_BETWEEN), fixed, own.copy()
        for factor in factors:
            try_ages(np.maximum(around_own * factor, EARLIEST_DAYS))
            if np.isfinite(around):
                in_all = try_ages(max(around * factor, EARLIEST_DAYS))
                if in_all < least_in_all:
                    fixed, least_in_all = max(around * factor, EARLIEST_DAYS), in_all
        ratio = factors[-1] / factors[-2]
    return own, float(fixed)
