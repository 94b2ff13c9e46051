"""What another day would cost and risk, read off what a plan said of one assembly.

A plan stores the chance to fail within a few horizons and two costs: changed as planned, and left till the
horizon H ends. With failure cost cf, survival S and expected days in service I,

    cost(t) = cf − a·S(t) + g·(H − I(t)),

two costs give a = cf − cp and the successor's long-run rate g, and so the cost on every other day. Set-ups,
which stops share, are in none of them. See `renewal` for V(t) = cost(t) − g·H.
"""

from dataclasses import dataclass

import numpy as np

from .renewal import Curves

MOST_CHANCE = 1 - 1e-12  # of a chance stored as 1 no share could be taken


@dataclass(frozen=True, slots=True)
class Outlook:
    """The chance of one assembly to fail over the days ahead, between the horizons that a plan stored.

    Between horizons the cumulative hazard is a power of time. `low_share` and `high_share` are what the ends
    of the interval at the last horizon have of its cumulative hazard; the same share is taken on every day.
    """

    curves: Curves
    low_share: float
    high_share: float

    @classmethod
    def read(
        cls, horizons: tuple[int, ...], chances: tuple[float, ...], low: float, high: float
    ) -> "Outlook":
        """From the chances within `horizons` (days, rising) and the interval at the last of them."""
        rising = np.minimum(np.maximum.accumulate(chances), MOST_CHANCE)
        survival = 1.0 - np.concatenate([[0.0], rising])[None, :]
        curves = Curves.follow(lambda days: survival, np.concatenate([[0.0], horizons]).astype(float))
        with np.errstate(divide="ignore", invalid="ignore"):
            shares = np.log1p(-np.minimum([low, high], MOST_CHANCE)) / np.log1p(-rising[-1])
        low_share, high_share = np.where(np.isfinite(shares), shares, 1.0)
        return cls(curves, float(low_share), float(high_share))

    @property
    def farthest_days(self) -> float:
        return float(self.curves.days[-1])

    def chance(self, days: float) -> tuple[float, float, float] | None:
        """The chance to fail within `days`, and the ends of its interval; None beyond the last horizon."""
        if not 0 <= days <= self.farthest_days:
            return None
        survival = float(self.curves.at(np.array([0]), np.array([days]))[0][0])
        return 1.0 - survival, 1.0 - survival**self.low_share, 1.0 - survival**self.high_share

    def cost(
        self,
        days: float,
        *,
        planned_days: float,
        cost_now: float,
        cost_if_left: float,
        failure_cost: float,
        horizon_days: float,
    ) -> float | None:
        """What is expected to be spent until the horizon ends where it is changed after `days`.

        None where what the plan stored does not tell it: a day or a horizon beyond the last chance, or a
        changeout planned for the end of the horizon.
        """
        asked = np.array([planned_days, horizon_days, days])
        if asked.min() < 0 or asked.max() > self.farthest_days or planned_days >= horizon_days:
            return None
        survival, served = self.curves.at(np.zeros(3, int), asked)
        terms = np.column_stack([-survival, horizon_days - served])
        spent = np.array([cost_now, cost_if_left]) - failure_cost
        if abs(np.linalg.det(terms[:2])) < 1e-9 * horizon_days:
            return None
        saved_and_rate = np.linalg.solve(terms[:2], spent)
        return float(failure_cost + terms[2] @ saved_and_rate)
