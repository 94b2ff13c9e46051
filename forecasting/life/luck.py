"""The luck of a position: what multiplies the hazard of wear and ageing of every assembly put there.

Most positions' luck is lognormal with mean one, on nine Gauss-Hermite nodes; a small part are lemons, whose
hazard is a multiple held above LEMON_LEAST, so that the two cannot change names.
Source of the quadrature: Abramowitz & Stegun (1964), 25.4.46.
"""

from dataclasses import dataclass

import numpy as np
from scipy import special

from .hazards import TINY
from .parameters import Layout

NODES, _WEIGHTS = np.polynomial.hermite_e.hermegauss(9)
WEIGHTS = _WEIGHTS / _WEIGHTS.sum()
LEMON_LEAST = 1.5
LEAST_CHANCE = 1e-12


@dataclass(frozen=True, slots=True)
class Luck:
    """The values that luck may have (the last that of a lemon) and the log of the chance of each."""

    values: np.ndarray
    log_chances: np.ndarray
    sd: float = 0.0
    lemon_share: float = 0.0

    @classmethod
    def of(cls, theta: np.ndarray, layout: Layout) -> "Luck":
        if not layout.parts.luck:
            return cls(np.ones(1), np.zeros(1))
        sd = float(np.exp(layout.value(theta, "log_luck_sd")))
        lemon_odds = layout.value(theta, "lemon_odds")
        lemon = LEMON_LEAST + np.exp(layout.value(theta, "log_lemon"))
        log_chances = np.append(
            np.log(WEIGHTS) + special.log_expit(-lemon_odds), special.log_expit(lemon_odds)
        )
        values = np.append(np.exp(sd * NODES - sd**2 / 2), lemon)
        return cls(values, log_chances, sd, float(special.expit(lemon_odds)))

    def add_slopes(
        self, gradient: np.ndarray, layout: Layout, by_value: np.ndarray, by_log_chance: np.ndarray
    ) -> None:
        """Adds to `gradient` what its slopes by each value and each log chance amount to."""
        if not layout.parts.luck:
            return
        spread = self.values[:-1] * (NODES - self.sd) * self.sd
        gradient[layout.blocks["log_luck_sd"]] += by_value[:-1] @ spread
        gradient[layout.blocks["log_lemon"]] += by_value[-1] * (self.values[-1] - LEMON_LEAST)
        gradient[layout.blocks["lemon_odds"]] += (
            by_log_chance[-1] * (1 - self.lemon_share) - by_log_chance[:-1].sum() * self.lemon_share
        )

    def quantile(self, posterior: np.ndarray, level: float) -> np.ndarray:
        """The luck that a share `level` of each column of `posterior` (value × column) lies below.

        Between the nodes log luck is taken as normal; the lemons stand above all of them.
        """
        if len(self.values) == 1:
            return np.ones(posterior.shape[1])
        usual = 1 - posterior[-1]
        below = (np.cumsum(posterior[:-1], axis=0) - posterior[:-1] / 2) / np.maximum(usual, TINY)
        below = special.ndtri(np.clip(below, LEAST_CHANCE, 1 - LEAST_CHANCE))
        wanted = special.ndtri(np.minimum(level / np.maximum(usual, level), 1 - LEAST_CHANCE))
        at = (below < wanted).sum(axis=0)
        low, high = np.clip(at - 1, 0, len(NODES) - 1), np.clip(at, 0, len(NODES) - 1)
        column = np.arange(posterior.shape[1])
        span = below[high, column] - below[low, column]
        share = np.where(span > 0, (wanted - below[low, column]) / np.where(span > 0, span, 1.0), 0.0)
        logs = np.log(self.values[:-1])
        log_value = logs[low] + share * (logs[high] - logs[low])
        return np.where(level > usual, self.values[-1], np.exp(log_value))


def log_sum(log_terms: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """log Σ exp down the columns, and the share of each term."""
    most = log_terms.max(axis=0)
    shares = np.exp(log_terms - most)
    total = shares.sum(axis=0)
    shares /= total
    return most + np.log(total), shares
