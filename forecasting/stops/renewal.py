"""When it pays to change: survival followed over the days to come, and the cheapest age of a successor.

With planned cost cp, failure cost cf and survival S, a successor changed at age T costs
[cp·S(T) + cf·(1 − S(T))] / ∫₀ᵀS a day in the long run (renewal reward); g* is the least of it. Leaving an
assembly until day τ and renewing it then costs V(τ) = cp·S(τ) + cf·(1 − S(τ)) − g*·∫₀^τ S against the long
run.

Source: Barlow & Proschan, Mathematical Theory of Reliability (1965), age replacement; the relative value V
is that of a renewal-reward decision process.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy.special import gamma, gammaincc

# Forty years ahead, each day one seventh further than the last: a Weibull law is followed exactly between.
FARTHEST_DAYS = 14_610.0
DAYS = np.concatenate([[0.0], np.geomspace(1.0, FARTHEST_DAYS, 72)])
GOLDEN = (np.sqrt(5.0) - 1.0) / 2.0
BLOCK = 20_000  # lives computed together: what is computed on the way takes many times their curves
NARROWINGS = 20  # golden sections: a bracket shrinks to 6.6e-5 of itself


@dataclass(frozen=True, slots=True)
class Curves:
    """Survival of n lives on m days: `survival` and `served` (expected days in service so far) are (n, m)."""

    days: np.ndarray
    survival: np.ndarray
    served: np.ndarray

    @classmethod
    def follow(cls, survival: Callable[[np.ndarray], np.ndarray], days: np.ndarray = DAYS) -> "Curves":
        """The curves of `survival`, a function of (m,) days that gives (n, m) chances; day 0 comes first."""
        at_day = np.clip(survival(days), 0.0, 1.0)
        served = np.zeros_like(at_day)
        for block in _blocks(len(at_day)):
            before, after = at_day[block, :-1], at_day[block, 1:]
            middle = _between(before, after, days[:-1], days[1:], (days[:-1] + days[1:]) / 2)
            pieces = np.diff(days) * (before + 4 * middle + after) / 6  # Simpson
            np.cumsum(pieces, axis=1, out=served[block, 1:])
        return cls(days, at_day, served)

    def of_lives(self, lives: slice | np.ndarray) -> "Curves":
        """The curves of some of the lives."""
        return Curves(self.days, self.survival[lives], self.served[lives])

    def at(self, rows: np.ndarray, day: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Survival and expected days in service of the lives `rows` on `day` (broadcast together)."""
        rows, day = np.broadcast_arrays(rows, np.clip(day, 0.0, self.days[-1]))
        left = np.clip(np.searchsorted(self.days, day, side="right") - 1, 0, len(self.days) - 2)
        began, ended = self.days[left], self.days[left + 1]
        high, low = self.survival[rows, left], self.survival[rows, left + 1]
        survival = _between(high, low, began, ended, day)
        middle = _between(high, low, began, ended, (began + day) / 2)
        served = self.served[rows, left] + (day - began) * (high + 4 * middle + survival) / 6
        return survival, served

    def mean_life(self) -> np.ndarray:
        """Expected days to failure (n,); beyond the last day the cumulative hazard H goes on as a power.

        ∫ exp(−H·(t/T)^k) dt from T on is T/k · H^(−1/k) · Γ(1/k, H); inf where no hazard is left.
        """
        with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
            before, end = -np.log(self.survival[:, -2]), -np.log(self.survival[:, -1])
            inverse = np.log(self.days[-1] / self.days[-2]) / np.log(end / before)  # 1/k
            tail = self.days[-1] * inverse * end**-inverse * gamma(inverse) * gammaincc(inverse, end)
        tail = np.where(np.isnan(tail), np.inf, tail)
        return self.served[:, -1] + np.where(np.isinf(end), 0.0, tail)


@dataclass(frozen=True, slots=True)
class Renewal:
    """The cheapest way to renew a position for ever, one element per life; NaN where a cost is not known.

    `rate` is g* in money a day, `age_days` the age to change at (inf: never on cost alone) and
    `run_to_failure_rate` what it costs a day never to change ahead of failure.
    """

    rate: np.ndarray
    age_days: np.ndarray
    run_to_failure_rate: np.ndarray


def best_renewal(fresh: Curves, planned_cost: np.ndarray, failure_cost: np.ndarray) -> Renewal:
    """The cheapest age of successors with `fresh` lives; costs in money, one element per life."""
    return Renewal(*_block_by_block(_renew_block, fresh, planned_cost, failure_cost))


def _renew_block(
    fresh: Curves, planned_cost: np.ndarray, failure_cost: np.ndarray
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """What `Renewal` holds, of a block of lives."""
    count = len(fresh.survival)
    every = np.arange(count)
    run_to_failure = failure_cost / fresh.mean_life()

    def rate_at(age: np.ndarray) -> np.ndarray:
        survival, served = fresh.at(every, age)
        return (failure_cost - (failure_cost - planned_cost) * survival) / served

    planned, failure = planned_cost[:, None], failure_cost[:, None]
    rates = (failure - (failure - planned) * fresh.survival[:, 1:]) / fresh.served[:, 1:]
    rates = np.where(np.isnan(rates), np.inf, rates)
    age, rate = _least(rate_at, fresh.days[1:], rates)
    never = ~(rate < run_to_failure * (1 - 1e-9)) | (rates.argmin(axis=1) == rates.shape[1] - 1)
    known = ~np.isnan(run_to_failure) & ~np.isnan(planned_cost)
    best = np.where(never, np.fmin(rate, run_to_failure), rate)
    age = np.where(known, np.where(never, np.inf, age), np.nan)
    return np.where(known, best, np.nan), age, run_to_failure


def cost_of_leaving(
    now: Curves,
    rows: np.ndarray,
    day: np.ndarray,
    planned_cost: np.ndarray,
    failure_cost: np.ndarray,
    rate: np.ndarray,
) -> np.ndarray:
    """V(day) of the lives `rows`: the cost of leaving them until that day against the long run's."""
    survival, served = now.at(rows, day)
    return failure_cost - (failure_cost - planned_cost) * survival - rate * served


def economic_day(
    now: Curves, planned_cost: np.ndarray, failure_cost: np.ndarray, rate: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """The days from now (n,) when V is least, from where leaving costs more than a successor, and that V.

    The day is inf where it never pays to change ahead of failure, NaN where a cost is not known.
    """
    day, value = _block_by_block(_economic_block, now, planned_cost, failure_cost, rate)
    return day, value


def _economic_block(
    now: Curves, planned_cost: np.ndarray, failure_cost: np.ndarray, rate: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """What `economic_day` says of a block of lives."""
    every = np.arange(len(now.survival))
    grid = cost_of_leaving(
        now, every[:, None], now.days, planned_cost[:, None], failure_cost[:, None], rate[:, None]
    )
    known = ~np.isnan(grid[:, 0])
    grid = np.where(known[:, None], grid, np.inf)
    day, value = _least(
        lambda at: cost_of_leaving(now, every, at, planned_cost, failure_cost, rate), now.days, grid
    )
    with np.errstate(invalid="ignore"):  # no failing, no cost: 0 · inf
        until_failure = np.nan_to_num(failure_cost - rate * now.mean_life(), nan=-np.inf)
    never = (until_failure <= value) | (grid.argmin(axis=1) == grid.shape[1] - 1)
    day = np.where(known, np.where(never, np.inf, day), np.nan)
    return day, np.where(known, np.where(never, until_failure, value), np.nan)


def first_risky_day(now: Curves, limit: np.ndarray, horizon_days: np.ndarray) -> np.ndarray:
    """The first day (n,) from which the chance to fail within `horizon_days` would pass `limit`.

    The chance on a day is that of an assembly that has come so far: 1 − S(day + horizon) ÷ S(day). inf where
    it is not passed within forty years, or no limit is set.
    """
    (day,) = _block_by_block(_risky_block, now, limit, horizon_days)
    return day


def _risky_block(now: Curves, limit: np.ndarray, horizon_days: np.ndarray) -> tuple[np.ndarray]:
    """What `first_risky_day` says of a block of lives."""
    found = np.full(len(now.survival), np.inf)
    rows = np.flatnonzero(~np.isnan(limit))
    if not len(rows):
        return (found,)
    limit, ahead = limit[rows, None], horizon_days[rows, None]
    survival = now.survival[rows]
    later, _ = now.at(rows[:, None], now.days + ahead)
    with np.errstate(divide="ignore", invalid="ignore"):
        chance = np.where(survival > 0, 1 - later / survival, 1.0)
    passed = (chance > limit) & (now.days + ahead <= now.days[-1])
    first = passed.argmax(axis=1)
    line = np.arange(len(rows))
    before, after = chance[line, np.maximum(first - 1, 0)], chance[line, first]
    with np.errstate(divide="ignore", invalid="ignore"):
        share = np.where(first > 0, (limit[:, 0] - before) / (after - before), 1.0)
    began = now.days[np.maximum(first - 1, 0)]
    day = began + share * (now.days[first] - began)
    found[rows] = np.where(passed.any(axis=1), np.floor(day), np.inf)
    return (found,)


def _blocks(count: int) -> list[slice]:
    return [slice(first, first + BLOCK) for first in range(0, max(count, 1), BLOCK)]


def _block_by_block(
    function: Callable[..., tuple[np.ndarray, ...]], curves: Curves, *of_each: np.ndarray
) -> tuple[np.ndarray, ...]:
    """What `function` says of all `curves` and of what is known `of_each` life, some lives at a time."""
    found = [
        function(curves.of_lives(block), *(one[block] for one in of_each))
        for block in _blocks(len(curves.survival))
    ]
    return tuple(np.concatenate(parts) for parts in zip(*found, strict=True))


def _between(
    high: np.ndarray, low: np.ndarray, began: np.ndarray, ended: np.ndarray, day: np.ndarray
) -> np.ndarray:
    """Survival on `day` between the days `began` (survival `high`) and `ended` (`low`).

    The cumulative hazard is a power of time in between, which a Weibull law is; where it begins at nothing
    or ends beyond all bounds, it or the survival runs straight.
    """
    with np.errstate(divide="ignore", invalid="ignore"):
        straight = (day - began) / (ended - began)
        bent = np.where(began > 0, np.log(day / began) / np.log(ended / began), straight)
        start, end = -np.log(high), -np.log(low)
        power = np.exp(-start * (end / start) ** bent)
        ramp = np.exp(-end * straight)
        fall = high + (low - high) * straight
    return np.where(np.isinf(end), fall, np.where((start > 0) & (began > 0), power, ramp))


def _least(
    function: Callable[[np.ndarray], np.ndarray], days: np.ndarray, grid: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Day and value (n,) of the least of `function` near the least of its values `grid` (n, m) on `days`.

    Golden sections between the neighbours of the least grid day, all lives at once.
    """
    least = grid.argmin(axis=1)
    low, high = days[np.maximum(least - 1, 0)], days[np.minimum(least + 1, len(days) - 1)]
    for _ in range(NARROWINGS):
        width = (high - low) * GOLDEN
        left, right = high - width, low + width
        nearer = function(left) <= function(right)
        low, high = np.where(nearer, low, left), np.where(nearer, right, high)
    day = (low + high) / 2
    value, on_grid = function(day), grid[np.arange(len(grid)), least]
    kept = on_grid <= value
    return np.where(kept, days[least], day), np.where(kept, on_grid, value)
