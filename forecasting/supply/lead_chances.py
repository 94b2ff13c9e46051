"""Chances of failing within any lead time, in scenarios: equally likely draws of what assemblies share."""

from typing import Protocol

import numpy as np
import pandas as pd

SURE = 1 - 1e-6  # a chance this near to 1 is one; single precision tells no more apart
MOST_DAYS = 24  # chances are computed on so many days, and by an even hazard between them


class Chances(Protocol):
    """What is asked of `forecasts.Forecaster`."""

    installed: pd.DataFrame

    def survival(self, days: np.ndarray) -> np.ndarray: ...

    def chance_draws(self, days: float, draws: int) -> np.ndarray: ...


class LeadChances:
    """Chances of the installed assemblies within the days that stock is asked about.

    How the chance grows with days is taken from the mean law; by how much a scenario differs from it, from
    the draws at the middle of the days. So memory grows with assemblies × (days + scenarios), not with all
    three multiplied.
    """

    def __init__(self, forecaster: Chances, days: np.ndarray, scenarios: int):
        asked = np.unique(days[days > 0])
        if len(asked) > MOST_DAYS:
            asked = np.unique(np.quantile(asked, np.linspace(0, 1, MOST_DAYS)))
        self.days = np.concatenate([[0.0], asked])
        self._hazard = np.zeros((len(forecaster.installed), len(self.days)), dtype=np.float32)
        self._hazard[:, 1:] = _hazard(1.0 - forecaster.survival(asked))
        middle = len(self.days) // 2
        self._ratio = _hazard(forecaster.chance_draws(float(self.days[middle]), scenarios))
        mean = self._hazard[:, middle]
        np.divide(self._ratio, mean, out=self._ratio, where=mean > 0)

    def within(self, assemblies: np.ndarray, days: np.ndarray) -> np.ndarray:
        """Chance of failing within `days` (one a scenario), one row a scenario and one column an assembly."""
        days = np.clip(days, 0.0, self.days[-1])
        after = np.clip(np.searchsorted(self.days, days), 1, len(self.days) - 1)
        share = (days - self.days[after - 1]) / (self.days[after] - self.days[after - 1])
        hazard = self._hazard[assemblies].T.astype(float)
        ahead = hazard[after - 1] * (1 - share)[:, None] + hazard[after] * share[:, None]
        return -np.expm1(-ahead * self._ratio[:, assemblies])


def _hazard(chances: np.ndarray) -> np.ndarray:
    """Cumulative hazards, in place and in single precision: a fleet's draws are large."""
    hazard = np.clip(chances, 0.0, SURE).astype(np.float32)
    np.negative(hazard, out=hazard)
    np.log1p(hazard, out=hazard)
    return np.negative(hazard, out=hazard)
