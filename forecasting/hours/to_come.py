"""Hours that machines will run, drawn: how far a mean rate to come may lie from the rate of the past year.

    variance of the mean rate of t days = level² + noise² · quarter / t + drift² · t / (3 · quarter)

The noise of single quarters averages out; a level not well known does not; a drift, a rate that wanders from
quarter to quarter, moves the mean of t days by a third of what it moves in t days (the mean of a random
walk). A machine's draw is one, shared by all its assemblies and by all horizons.
"""

from dataclasses import dataclass

import numpy as np

from .meters import HOURS_A_DAY

QUARTER_DAYS = 91
SHORTEST_DAYS = 30  # of less, the noise is taken as that of a month
DRIFTING_DAYS = 8 * QUARTER_DAYS  # as far ahead as drift was watched back; beyond, no wider
FARTHEST = 3.0  # standard deviations
STANDING = 0.01  # hours a day of a machine that hardly works, for shares of its rate


@dataclass(frozen=True)
class UsageToCome:
    """Usage to come of machines, one entry each: hours a day, and standard deviations as shares of them.

    `steps` has a row a draw and a column a machine.
    """

    rate: np.ndarray
    level: np.ndarray
    noise: np.ndarray
    drift: np.ndarray
    steps: np.ndarray

    @classmethod
    def draw(
        cls,
        rate: np.ndarray,
        level: np.ndarray,
        noise: np.ndarray,
        drift: np.ndarray,
        draws: int,
        rng: np.random.Generator,
    ) -> "UsageToCome":
        """All in hours a day, one entry a machine."""
        running = np.maximum(rate, STANDING)
        # Machine by machine, so that one more leaves the draws of those before it as they were.
        steps = np.ascontiguousarray(rng.standard_normal((len(rate), draws)).T)
        steps = np.clip(steps, -FARTHEST, FARTHEST)
        return cls(rate, level / running, noise / running, drift / running, steps)

    def hours(self, draw: int, machine: np.ndarray, days: np.ndarray) -> np.ndarray:
        """Hours that each of `machine` runs within the days under a draw: one row each, a column a day.

        `days` holds days for all, or a column with a row a machine. The rate is lognormal, its mean kept.
        """
        if days.ndim == 1:
            return self._hours(draw, np.arange(len(self.rate)), days)[machine]
        return self._hours(draw, machine, days)

    def variance(self, machine: np.ndarray, days: np.ndarray) -> np.ndarray:
        """Of the mean rate of so many days, as a share of the rate squared."""
        level, noise, drift = (one[machine, None] ** 2 for one in (self.level, self.noise, self.drift))
        quarters = np.clip(days, SHORTEST_DAYS, None) / QUARTER_DAYS
        drifting = np.minimum(days, DRIFTING_DAYS) / QUARTER_DAYS
        return level + noise / quarters + drift * drifting / 3

    def _hours(self, draw: int, machine: np.ndarray, days: np.ndarray) -> np.ndarray:
        of_log = np.log1p(self.variance(machine, days))
        step = self.steps[draw][machine, None]
        multiple = np.exp(np.sqrt(of_log) * step - of_log / 2)
        return np.clip(self.rate[machine, None] * multiple, 0.0, HOURS_A_DAY) * days
