"""What it tells of a position's luck that a hose of some age was found there when the register began.

A hose that came with the machine had outlived everything until then: a lucky position is the likelier. One
that had followed others says little for luck by its age: an unlucky position has had many. With z the luck,
the weight of finding an assembly installed on day t of the machine's life is

    u(t | z) = 1                                     where it came with the machine
    u(t | z) = f(t | z) + (1 − S(t | z)) / μ(z)      the second hose, or a later one by the renewal theorem
    u(t | z) = 1 / μ(z)                              where the machine's age is not known

times the chance to have reached its age, which the likelihood adds. Early failures are left out: they do not
depend on luck. Source of the renewal density: Cox, Renewal Theory (1962), chapter 5 (its limit 1 / μ).
"""

from dataclasses import dataclass

import numpy as np

from .laws import Laws
from .luck import Luck
from .parameters import Layout
from .rows import Rows

LONGEST_DAYS = 20 * 365.25  # of a life in its place, for its mean
# The mean is taken over steps even in the cube root of age: of hours near zero, of a year at the end.
EVEN_STEPS = (np.arange(48) + 0.5) / 48
AGES, STEPS = LONGEST_DAYS * EVEN_STEPS**3, LONGEST_DAYS * 3 * EVEN_STEPS**2 / len(EVEN_STEPS)
BLOCK = 4096
LEAST_WEIGHT = 1e-12
LEAST_MEAN_DAYS = 1.0  # days are whole


@dataclass(frozen=True)
class Beginnings:
    """The hoses that had followed others when the register found them, as rows with no time watched.

    `since_hours`, `since_days`: from the machine's commissioning to the installation, NaN where not known.
    `removal_rate`: of removals that are no failure, a day.
    """

    rows: Rows
    since_hours: np.ndarray
    since_days: np.ndarray
    removal_rate: float
    places: int

    def of_places(self, taken: np.ndarray) -> "Beginnings":
        here = taken[self.rows.place]
        return Beginnings(
            self.rows.of_places(taken),
            self.since_hours[here],
            self.since_days[here],
            self.removal_rate,
            int(taken.sum()),
        )

    def weights(self, theta: np.ndarray, layout: Layout) -> np.ndarray:
        """log u by value of luck (row) and place (column); 0 at places without such a hose."""
        luck = Luck.of(theta, layout)
        weights = np.zeros((len(luck.values), self.places))
        for first in range(0, len(self.rows), BLOCK):
            part = slice(first, first + BLOCK)
            rows = self.rows.some(part)
            since = self.since_hours[part], self.since_days[part]
            weights[:, rows.place] = self._of(luck, Laws.of(theta, layout, rows), rows, *since)
        return weights

    def _of(self, luck: Luck, laws: Laws, rows: Rows, since_hours, since_days) -> np.ndarray:
        value = luck.values[:, None]
        known = np.isfinite(since_days)
        hours, days = (np.where(known, np.maximum(since, 1.0), 1.0) for since in (since_hours, since_days))
        survival = np.exp(-value * laws.lasting(hours, days) - self.removal_rate * days)
        failing = value * laws.lasting_rate(hours, days, rows.hours_per_day) + self.removal_rate
        density = np.where(known, failing * survival, 0.0)
        later = np.where(known, 1 - survival, 1.0) / self._mean_life(luck, laws, rows)
        return np.log(density + later + LEAST_WEIGHT)

    def _mean_life(self, luck: Luck, laws: Laws, rows: Rows) -> np.ndarray:
        """μ: mean days in place by value of luck and row; removals and early failures shorten it too."""
        mean = np.zeros((len(luck.values), len(rows)))
        for age, step in zip(AGES, STEPS, strict=True):
            hours = rows.hours_per_day * age
            lasting = laws.lasting(hours, np.full(len(rows), age))
            rest = laws.of_early(hours) + self.removal_rate * age
            mean += np.exp(-luck.values[:, None] * lasting - rest) * step
        return np.maximum(mean, LEAST_MEAN_DAYS)
