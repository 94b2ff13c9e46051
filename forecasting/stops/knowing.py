"""What it is worth to know an assembly's failure rate better: the expected value of perfect information.

The rate of failing is the forecast's times an unknown factor, lognormal about it with a given spread. Without
knowing, one age serves every factor; knowing it, each has its own best age. The difference in long-run cost
is what knowing could save.

Source: Raiffa & Schlaifer, Applied Statistical Decision Theory (1961), expected value of perfect information.
"""

from functools import partial

import numpy as np

from .renewal import Curves

DAYS_A_YEAR = 365.0
BLOCK = 20_000  # lives looked at together
# Five-point Gauss-Hermite rule for a standard normal.
NODES, WEIGHTS = np.polynomial.hermite_e.hermegauss(5)
WEIGHTS = WEIGHTS / WEIGHTS.sum()


def value_of_knowing(
    fresh: Curves, rows: np.ndarray, planned_cost: np.ndarray, failure_cost: np.ndarray, spread: np.ndarray
) -> np.ndarray:
    """Money a year (k,) that knowing the rate of the lives `rows` (k,) of `fresh` could save.

    Costs and `spread`, the standard deviation of the factor's logarithm, are (k,). NaN where a cost is not
    known.
    """
    worth = np.full(len(rows), np.nan)
    known = np.flatnonzero(~np.isnan(planned_cost + failure_cost))
    for began in range(0, len(known), BLOCK):
        block = known[began : began + BLOCK]
        worth[block] = DAYS_A_YEAR * _regret(
            fresh.days, fresh.survival[rows[block]], planned_cost[block], failure_cost[block], spread[block]
        )
    return worth


def _with_factor(survival: np.ndarray, factor: np.ndarray, days: np.ndarray) -> np.ndarray:
    """The survival at the same days of hoses whose rate of failing is `factor` times as high."""
    return survival**factor


def _regret(
    days: np.ndarray, survival: np.ndarray, planned: np.ndarray, failure: np.ndarray, spread: np.ndarray
) -> np.ndarray:
    """By how much the best one age costs more a day than the best age for each factor, on average."""
    blind = np.zeros((len(survival), len(days) - 1))
    knowing = np.zeros(len(survival))
    for node, weight in zip(NODES, WEIGHTS, strict=True):
        factor = np.exp(node * spread - spread**2 / 2)[:, None]
        curves = Curves.follow(partial(_with_factor, survival, factor), days)
        cost = failure[:, None] - (failure - planned)[:, None] * curves.survival[:, 1:]
        rate = cost / curves.served[:, 1:]
        blind += weight * rate
        knowing += weight * _least_rate(rate)
    return np.maximum(_least_rate(blind) - knowing, 0.0)


def _least_rate(rate: np.ndarray) -> np.ndarray:
    """The least (k,) of each row, by the parabola through it and its neighbours: the ages stand far apart."""
    every = np.arange(len(rate))
    least = rate.argmin(axis=1)
    inner = np.clip(least, 1, rate.shape[1] - 2)
    before, at, after = (rate[every, inner + step] for step in (-1, 0, 1))
    bend = before - 2 * at + after
    dip = np.divide((before - after) ** 2, 8 * bend, out=np.zeros(len(rate)), where=bend > 0)
    return np.where(least == inner, at - dip, rate[every, least])
