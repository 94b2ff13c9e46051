"""Cumulative hazards of a life, their rates, and the derivatives of both by the parameters of each row.

    wear and ageing   ψ = c₀ · (t / a)^k,  c₀ = 0.3;  H = ψ,  or bent H = log(1 + cψ) / c
    early failure     H = −log(1 − π·(1 − e^(−t/τ))): a share π of assemblies fails after τ on average

With c₀ = 0.3 the life `a` lies where the data are (a quarter fails before it) and is nearly independent of
the shape. The bend is a frailty of each life by itself; with c = 1 the law is log-logistic.
Source of the forms: Meeker & Escobar, Statistical Methods for Reliability Data (1998), chapters 4 and 11.
"""

from dataclasses import dataclass

import numpy as np

AT_LIFE = 0.3  # cumulative hazard at the life `a`
TINY = 1e-300
MOST_LOG_HAZARD = 200.0


def log_of(time: np.ndarray) -> np.ndarray:
    """The log of a time; of 0 so low that no law has a hazard there."""
    return np.log(np.maximum(time, TINY))


@dataclass(frozen=True, slots=True)
class Clock:
    """A Weibull law on one clock, row by row: `log_life` and `shape` an array each, `bend` c or 0."""

    log_life: np.ndarray
    shape: np.ndarray
    bend: float = 0.0

    def some(self, rows) -> "Clock":
        return Clock(self.log_life[rows], self.shape[rows], self.bend)

    def unbent(self, log_time: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """log(ψ / c₀) and ψ."""
        log_ratio = self.shape * (log_time - self.log_life)
        return log_ratio, AT_LIFE * np.exp(np.minimum(log_ratio, MOST_LOG_HAZARD))

    def hazard(self, time: np.ndarray) -> np.ndarray:
        """H at `time`, which may have more axes behind that of the rows' arrays."""
        _, straight = self.unbent(log_of(time))
        return np.log1p(self.bend * straight) / self.bend if self.bend else straight

    def hazard_slopes(self, log_time: np.ndarray) -> tuple[np.ndarray, ...]:
        """H and its derivatives by log a, log k and log c."""
        log_ratio, straight = self.unbent(log_time)
        if not self.bend:
            return straight, -self.shape * straight, log_ratio * straight, np.zeros_like(straight)
        bent = np.log1p(self.bend * straight) / self.bend
        straight = straight / (1 + self.bend * straight)
        return bent, -self.shape * straight, log_ratio * straight, straight - bent

    def rate_slopes(self, log_time: np.ndarray) -> tuple[np.ndarray, ...]:
        """The hazard rate and its derivatives by log a, log k and log c."""
        log_ratio, straight = self.unbent(log_time)
        kept = 1 / (1 + self.bend * straight)
        rate = self.shape * straight * kept / np.exp(log_time)
        return rate, -self.shape * rate * kept, rate * (1 + log_ratio * kept), -rate * (1 - kept)

    def rate(self, time: np.ndarray) -> np.ndarray:
        _, straight = self.unbent(log_of(time))
        return self.shape * straight / (1 + self.bend * straight) / np.maximum(time, TINY)


@dataclass(frozen=True, slots=True)
class Early:
    """Early failure of a share of assemblies, row by row: `share` π, and `hours` τ for all."""

    share: np.ndarray
    hours: float

    def some(self, rows) -> "Early":
        return Early(self.share[rows], self.hours)

    def hazard(self, time: np.ndarray) -> np.ndarray:
        return -np.log1p(self.share * np.expm1(-time / self.hours))

    def hazard_slopes(self, time: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """H and its derivatives by the log odds of π and by log τ."""
        still = np.exp(-time / self.hours)
        sound = 1 - self.share * (1 - still)
        by_odds = self.share * (1 - self.share) * (1 - still) / sound
        return -np.log(sound), by_odds, -self.share * still * time / self.hours / sound

    def rate_slopes(self, time: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """The hazard rate at `time` and its derivatives by the log odds of π and by log τ."""
        still = np.exp(-time / self.hours)
        sound = 1 - self.share * (1 - still)
        rate = self.share / self.hours * still / sound
        by_hours = -1 + time / self.hours * (1 - self.share * still / sound)
        return rate, rate * (1 - self.share) / sound, rate * by_hours
