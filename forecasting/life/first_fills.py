"""Whether a place still held its machine's first hose when the register began: what that tells of the law.

Of a machine whose age is known, each place either had its first hose still, which had then outlived all of
the machine's life T, or had lost it, nobody knows when or why. The first hose was there with chance

    P = Σ p(z) exp(−z·[wear + ageing](T) − early(T) − κ·C(T))

z the luck of the place, C the cumulative rate of removals that are no failure, read off those on record at
each age, and κ how much likelier they were before anybody wrote them down. A place adds log P, or
log(1 − P). It needs no record of the past: by it a young register, which has seen few failures, knows how
long its hoses last. What came after the first hose is left aside; `beginnings` has what its age tells.
Source: Turnbull, "The empirical distribution function with arbitrarily grouped, censored and truncated data",
Journal of the Royal Statistical Society B 38 (1976): a state seen once.
"""

from dataclasses import dataclass

import numpy as np

from . import slopes
from .hazards import log_of
from .laws import Laws
from .luck import Luck, log_sum
from .parameters import Layout
from .priors import YEAR_DAYS
from .rows import Rows

BANDS = np.arange(41) * YEAR_DAYS  # ages within which removals that are no failure come at one rate
BLOCK = 8192
LEAST_LOST = 1e-12


@dataclass(frozen=True)
class FirstFills:
    """Places whose machine's age was known when the register began.

    `rows` end with the machine's age on that day; nothing else of them is used. `held`: the first hose was
    still there. `removals`: C of that age.
    """

    rows: Rows
    held: np.ndarray
    removals: np.ndarray

    def of_places(self, taken: np.ndarray) -> "FirstFills":
        here = taken[self.rows.place]
        return FirstFills(self.rows.of_places(taken), self.held[here], self.removals[here])

    def blocks(self):
        for first in range(0, len(self.rows), BLOCK):
            part = slice(first, first + BLOCK)
            yield FirstFills(self.rows.some(part), self.held[part], self.removals[part])

    def values(self, theta: np.ndarray, layout: Layout) -> np.ndarray:
        """What each row adds to the log-likelihood."""
        told = []
        for block in self.blocks():
            rows, luck, laws = block.rows, Luck.of(theta, layout), Laws.of(theta, layout, block.rows)
            lasting = laws.lasting(rows.exit_hours, rows.exit_days)
            mixed, _ = log_sum(luck.log_chances[:, None] - luck.values[:, None] * lasting)
            log_held = mixed - laws.of_early(rows.exit_hours) - block.removed_before(theta, layout)
            told.append(np.where(block.held, log_held, np.log(_lost(log_held))))
        return np.concatenate(told) if told else np.zeros(0)

    def add_slopes(self, theta: np.ndarray, layout: Layout, gradient: np.ndarray) -> float:
        """The sum of `values`; its slopes are added to `gradient`."""
        return sum(block._add_slopes(theta, layout, gradient) for block in self.blocks())

    def removed_before(self, theta: np.ndarray, layout: Layout) -> np.ndarray:
        return np.exp(layout.value(theta, "log_removals_before")) * self.removals

    def _add_slopes(self, theta: np.ndarray, layout: Layout, gradient: np.ndarray) -> float:
        rows = self.rows
        luck, laws = Luck.of(theta, layout), Laws.of(theta, layout, rows)
        wear = laws.wear.hazard_slopes(log_of(rows.exit_hours))
        age = laws.age.hazard_slopes(log_of(rows.exit_days)) if laws.age else None
        early = laws.early.hazard_slopes(rows.exit_hours) if laws.early else None
        lasting = wear[0] + age[0] if age else wear[0]
        mixed, share = log_sum(luck.log_chances[:, None] - luck.values[:, None] * lasting)
        removed = self.removed_before(theta, layout)
        log_held = mixed - removed - (early[0] if early else 0.0)
        lost = _lost(log_held)

        by_held = np.where(self.held, 1.0, -np.exp(log_held) / lost)
        share = share * by_held
        luck.add_slopes(gradient, layout, -(share @ lasting), share.sum(axis=1))
        by_lasting = -(luck.values @ share)
        slopes.add_wear(gradient, theta, layout, rows, *(by_lasting * one for one in wear[1:]))
        if age:
            slopes.add_age(gradient, theta, layout, rows, *(by_lasting * one for one in age[1:3]))
        if early:
            slopes.add_early(gradient, theta, layout, rows, *(-by_held * one for one in early[1:]))
        gradient[layout.blocks["log_removals_before"]] -= by_held @ removed
        return float(np.where(self.held, log_held, np.log(lost)).sum())


def _lost(log_held: np.ndarray) -> np.ndarray:
    return np.maximum(-np.expm1(log_held), LEAST_LOST)


def removals_by_age(
    entry_days: np.ndarray, exit_days: np.ndarray, removed: np.ndarray, usual_rate: float
) -> np.ndarray:
    """The cumulative rate of removals that are no failure at each age of BANDS.

    `removed` is the chance that a life ended so. Within each year of age the rate is that on record, a
    `usual_rate` a day weighing as one removal.
    """
    watched = np.diff(_days_until(exit_days) - _days_until(entry_days))
    year = np.minimum((exit_days / YEAR_DAYS).astype(int), len(watched) - 1)
    many = np.bincount(year, weights=removed, minlength=len(watched))
    return np.append(0.0, np.cumsum((many + 1) / (watched + 1 / usual_rate) * YEAR_DAYS))


def _days_until(days: np.ndarray) -> np.ndarray:
    """The sum of `days`, each counted no further than each age of BANDS."""
    ordered = np.sort(days)
    below = np.searchsorted(ordered, BANDS)
    return np.append(0.0, np.cumsum(ordered))[below] + BANDS * (len(days) - below)
