"""How many failures lie ahead, by scope and horizon, with intervals of whole numbers.

Given the parameters, failures are independent and their count is Poisson-binomial; what is not known of the
parameters and the usage is shared by all, so the count's law is the mixture of those of the draws. Where past
dates told how far whole scopes swing together, each draw's hazards are multiplied by a gamma of that spread
too. With few failures no past tells it: the draws alone are mixed, a bootstrap with the prior in it.
"""

from collections.abc import Iterator, Mapping

import numpy as np
import pandas as pd
from scipy import special, stats

from ..outputs import FAILURES_AHEAD
from ..tables import make_table
from .forecasts import Forecaster

NORMAL_FROM = 25.0  # variance from which a count is as good as (refined) normal: no chance off by .001
ONE_BY_ONE = 600  # assemblies whose counts are convolved one by one
BANDS = 128  # beyond that, chances within so narrow a band count as one binomial
TAIL_SDS = 9.0
INTERVALS = {80: 0.1, 95: 0.025}
SCOPE_KINDS = ("all", "site", "population", "construction")
LEAST_MULTIPLES = 64  # values of the multiplier that a scope's hazards share; fewer leave the tails coarse


def count_failures(
    forecaster: Forecaster, horizons: tuple[int, ...], variances: Mapping[str, float] | None = None
) -> pd.DataFrame:
    """FAILURES_AHEAD, one row per scope and horizon; `expected` is the sum of the assemblies' chances.

    `variances`: of the multiplier, mean one, that hazards of a scope share, by kind of scope (see
    `hindsight.past_counts`); a kind without one is counted by the parameter draws alone.
    """
    counted = []
    for horizon in horizons:
        chances = forecaster.chance_draws(float(horizon), forecaster.draws)
        for kind, scope, rows in _scopes(forecaster.installed):
            of_scope = chances[:, rows]
            variance = (variances or {}).get(kind, 0.0)
            mixed = poisson_binomial(multiplied(of_scope, variance)).mean(axis=0)
            counted.append(
                {"scope": scope, "horizon_days": horizon, "expected": float(of_scope.mean(axis=0).sum())}
                | count_limits(mixed)
            )
    told = pd.DataFrame(counted)
    if not told.empty:
        told = told.sort_values(["scope", "horizon_days"], key=_all_first, kind="stable")
    return make_table(told, FAILURES_AHEAD)


def count_limits(pmf: np.ndarray) -> dict[str, int]:
    """The whole numbers, both ends in, between which a count of this law falls in 80 and 95 % of cases.

    The 95 % never hold less. The 80 % hold more of one count and less of another, and 80 on average: had
    they to hold 80 of every count, small ones would be held 90 times of 100, and the planner told too little.
    Source: Lancaster, "Significance tests in discrete distributions", JASA 56 (1961): the mid-p value.
    """
    below = np.cumsum(pmf)
    middle = below - pmf / 2
    tail = INTERVALS[80]
    low_80 = int(np.searchsorted(middle, tail))
    limits = {
        "low_80": low_80,
        "high_80": max(int(np.searchsorted(middle, 1 - tail, side="right")) - 1, low_80),
    }
    tail = INTERVALS[95]
    low_95 = int(np.searchsorted(below, tail, side="right"))
    return limits | {
        "low_95": low_95,
        "high_95": min(int(np.searchsorted(below, 1 - tail - 1e-12)), len(pmf) - 1),
    }


def poisson_binomial(chances: np.ndarray) -> np.ndarray:
    """The law of a count: row for row of `chances` (draw × assembly), column x is that of x failures.

    By the refined normal where the variance is large; else convolved one by one, or, of many assemblies, by
    the discrete Fourier transform of the generating function. Counts further than TAIL_SDS standard
    deviations above every mean are left out.
    Source: Hong, "On computing the distribution function for the Poisson binomial distribution",
    Computational Statistics & Data Analysis 59 (2013).
    """
    mean, variance = chances.sum(axis=1), (chances * (1 - chances)).sum(axis=1)
    size = chances.shape[1]
    support = int(min(np.ceil((mean + TAIL_SDS * np.sqrt(variance)).max(initial=0.0) + 20), size)) + 1
    pmf = np.empty((len(chances), support))
    large = variance >= NORMAL_FROM
    pmf[large] = _refined_normal(chances[large], support)
    pmf[~large] = (_convolved if size <= ONE_BY_ONE else _transformed)(chances[~large], support)
    return pmf


def _refined_normal(chances: np.ndarray, support: int) -> np.ndarray:
    spread = chances * (1 - chances)
    mean, sd = chances.sum(axis=1)[:, None], np.sqrt(spread.sum(axis=1))[:, None]
    skewness = (spread * (1 - 2 * chances)).sum(axis=1)[:, None] / sd**3
    off = (np.arange(support) + 0.5 - mean) / sd
    density = np.exp(-(off**2) / 2) / np.sqrt(2 * np.pi)
    below = np.clip(special.ndtr(off) + skewness * (1 - off**2) * density / 6, 0.0, 1.0)
    return np.diff(np.maximum.accumulate(below, axis=1), axis=1, prepend=0.0)


def _convolved(chances: np.ndarray, support: int) -> np.ndarray:
    pmf = np.zeros((len(chances), support))
    pmf[:, 0] = 1.0
    for reached, one in enumerate(chances.T, start=1):
        top = min(reached, support - 1)
        fails = one[:, None]
        pmf[:, 1 : top + 1] = pmf[:, 1 : top + 1] * (1 - fails) + pmf[:, :top] * fails
        pmf[:, 0] *= 1 - one
    return pmf


def _transformed(chances: np.ndarray, support: int) -> np.ndarray:
    """Each draw's chances in bands equal in their square root, every band a binomial of its mean chance."""
    points = 1 << int(support).bit_length()
    root = np.exp(-2j * np.pi * np.arange(points // 2 + 1) / points) - 1
    pmf = np.empty((len(chances), support))
    for draw, of_draw in enumerate(chances):
        band = np.minimum((np.sqrt(of_draw) * BANDS).astype(int), BANDS - 1)
        many = np.bincount(band, minlength=BANDS)
        chance = np.bincount(band, weights=of_draw, minlength=BANDS)[many > 0] / many[many > 0]
        with np.errstate(divide="ignore"):
            transform = np.exp(np.log(1 + np.outer(root, chance)) @ many[many > 0])
        pmf[draw] = np.clip(np.fft.irfft(transform, points)[:support], 0.0, 1.0)
    return pmf / pmf.sum(axis=1, keepdims=True)


def multiplied(chances: np.ndarray, variance: float) -> np.ndarray:
    """`chances` by draw, the hazards of each draw multiplied by a value of a gamma of mean one.

    The values are its quantiles at even levels, in an order that no draw's place foretells.
    """
    if variance <= 0:
        return chances
    hazards = -np.log1p(-np.minimum(chances, 1 - 1e-12))
    hazards = np.tile(hazards, (-(-LEAST_MULTIPLES // len(hazards)), 1))
    levels = (np.random.default_rng(len(hazards)).permutation(len(hazards)) + 0.5) / len(hazards)
    multiples = stats.gamma.ppf(levels, 1 / variance, scale=variance)
    return -np.expm1(-hazards * (multiples / multiples.mean())[:, None])


def _scopes(installed: pd.DataFrame) -> Iterator[tuple[str, str, np.ndarray]]:
    """Kind, name and rows of each scope."""
    yield "all", "all", np.arange(len(installed))
    for kind in SCOPE_KINDS[1:]:
        for name, rows in installed.groupby(kind, sort=True).indices.items():
            yield kind, f"{kind}:{name}", rows


def _all_first(column: pd.Series) -> pd.Series:
    return column if column.name == "horizon_days" else (column != "all").astype(int)
