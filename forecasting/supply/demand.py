"""Demand for one part at one site: its whole distribution, mixed over all that is uncertain in common.

Given a scenario (a draw of the parameters and a lead time), each assembly fails or not, independently, and
takes its quantity; the demand is the sum. Where all take alike it follows the count of failures; else its
transform is a product over assemblies, the mixture over scenarios the mean of the transforms, and one inverse
transform gives the distribution.
"""

from dataclasses import dataclass

import numpy as np
from scipy.fft import irfft, next_fast_len, rfft
from scipy.stats import norm

from ..ahead.counts import poisson_binomial

FEW = 24  # assemblies that are followed one by one where they take different amounts
REACH_SDS = 8.0  # demand is followed so many standard deviations beyond its mean, and as many takings
MOST_STEPS = 4096
FINEST_STEP = 0.001  # a millimetre of hose
EVEN = 1e-9


@dataclass(frozen=True, slots=True)
class Demand:
    """The chance of demanding start + k·step, k = 0, 1, … (`chances`), in units of the part."""

    start: float
    step: float
    chances: np.ndarray

    @property
    def levels(self) -> np.ndarray:
        return self.start + self.step * np.arange(len(self.chances))

    @property
    def mean(self) -> float:
        return float(self.levels @ self.chances)

    def least_level(self, chance: float) -> float:
        """The least level that demand does not pass with at least this chance."""
        reached = int(np.searchsorted(self.chances.cumsum(), chance - 1e-12))
        return float(self.start + self.step * min(reached, len(self.chances) - 1))

    def expected_short(self, level: float) -> float:
        """E[(demand − level)⁺]: how much is expected to be short of a stock at this level."""
        return float(np.maximum(self.levels - level, 0.0) @ self.chances)

    def fill_rate(self, order_at: float, order_up_to: float) -> float:
        """The share of demand met from stock when an order up to one level is placed at or below the other.

        1 − [E(D − s)⁺ − E(D − S)⁺] ÷ (S − s), the position lying evenly between the two: the exact (r, Q)
        answer for Poisson demand, r = s and Q = S − s.
        Source: Snyder & Shen, Fundamentals of Supply Chain Theory, section 5 (the loss function's form).
        """
        met = 1 - (self.expected_short(order_at) - self.expected_short(order_up_to)) / (
            order_up_to - order_at
        )
        return float(np.clip(met, 0.0, 1.0))


def mix_demand(chances: np.ndarray, takes: np.ndarray, planned: np.ndarray | float = 0.0) -> Demand:
    """The demand of assemblies that fail with `chances` and take `takes` each, scenarios equally likely.

    `chances` is (scenarios, assemblies), `takes` (assemblies,) in units of the part, `planned` what each
    scenario demands for certain. Where all takings are multiples of the least (or whole) the distribution
    stands on them exactly; else each is rounded up to a step, a millimetre or some 4096th of the most demand.
    """
    planned = np.broadcast_to(np.asarray(planned, float), len(chances))
    start, more = float(planned.min()), planned - planned.min()
    wanting = (takes > 0) & (chances > 0).any(axis=0)
    chances, takes = chances[:, wanting], takes[wanting]
    if not len(takes) and not more.any():
        return Demand(start, 1.0, np.ones(1))
    if not more.any() and (takes == takes[0]).all():
        return Demand(start, float(takes[0]), poisson_binomial(chances).mean(axis=0))
    step = _step(np.concatenate([takes, more[more > 0]]), _reach(chances, takes) + more.max())
    steps, more_steps = _in_steps(takes, step), _in_steps(more, step)
    points = next_fast_len(int(np.ceil(_reach(chances, steps))) + int(more_steps.max()) + 1, real=True)
    angle = -2j * np.pi * np.arange(points // 2 + 1) / points
    transform = _transform_few if len(takes) <= FEW else _transform_many
    pmf = np.clip(irfft(transform(chances, steps, more_steps, angle, points), points), 0.0, 1.0)
    return Demand(start, step, pmf / pmf.sum())


def _reach(chances: np.ndarray, takes: np.ndarray) -> float:
    """A demand that is hardly ever passed."""
    mean, variance = chances @ takes, chances @ takes**2
    most = (mean + REACH_SDS * np.sqrt(variance)).max() + REACH_SDS * takes.max(initial=0.0)
    return float(min(most, takes.sum()))


def _step(amounts: np.ndarray, reach: float) -> float:
    """The least amount or 1 where all amounts are multiples of it, else a millimetre, doubled as needed.

    Doubling keeps the steps of a longer reach on those of a shorter one: more demand never rounds to less.
    """
    for step in (float(amounts.min()), 1.0):
        steps = amounts / step
        if reach / step <= MOST_STEPS and np.allclose(steps, np.round(steps), rtol=0, atol=EVEN):
            return step
    return FINEST_STEP * 2 ** max(0, int(np.ceil(np.log2(reach / FINEST_STEP / MOST_STEPS))))


def _in_steps(amounts: np.ndarray, step: float) -> np.ndarray:
    return np.ceil(amounts / step - EVEN).astype(int)


def _transform_few(
    chances: np.ndarray, steps: np.ndarray, more_steps: np.ndarray, angle: np.ndarray, points: int
) -> np.ndarray:
    """The mean transform over the scenarios, each assembly with its own chance and taking."""
    transform = np.exp(more_steps[:, None] * angle)
    for chance, taking in zip(chances.T, steps, strict=True):
        transform *= 1 + chance[:, None] * np.expm1(taking * angle)
    return transform.mean(axis=0)


def _transform_many(
    chances: np.ndarray, steps: np.ndarray, more_steps: np.ndarray, angle: np.ndarray, points: int
) -> np.ndarray:
    """The same with the takings of the failed drawn from those of all, in proportion to their chances.

    The number of failures keeps its law; that failures differ in their taking is kept on average. The mean is
    exact, the variance a little high where the likely ones all take alike.
    """
    counts = poisson_binomial(chances)
    weights = chances.sum(axis=0)
    taking = rfft(np.bincount(steps, weights=weights / weights.sum(), minlength=points)[:points])
    shifts, which = np.unique(more_steps, return_inverse=True)
    of_shift = np.zeros((len(shifts), counts.shape[1]))
    np.add.at(of_shift, which, counts / len(counts))
    transform = np.zeros((len(shifts), len(angle)), dtype=complex)
    for chance in of_shift.T[::-1]:  # Horner: the sum of P(count) · taking^count
        transform *= taking
        transform += chance[:, None]
    return (transform * np.exp(shifts[:, None] * angle)).sum(axis=0)


def spread_lead_times(mean_days: float, sd_days: float, scenarios: int) -> np.ndarray:
    """Equally likely lead times, one a scenario, shortest first: middles of as many strata of a normal law.

    Longer means give longer times in every scenario. No lead time is shorter than none.
    """
    strata = norm.ppf((np.arange(scenarios) + 0.5) / scenarios)
    strata /= np.sqrt((strata**2).mean()) if scenarios > 1 else 1.0
    return np.maximum(mean_days + sd_days * strata, 0.0)


def economic_quantity(order_cost: float, demand_per_year: float, holding_cost_per_year: float) -> float:
    """The quantity that costs least to order and hold in the long run, √(2·K·λ ÷ h); 0 where not known.

    Source: Snyder & Shen, Fundamentals of Supply Chain Theory, section 3.2 (Harris 1913).
    """
    if not order_cost * demand_per_year > 0 or not holding_cost_per_year > 0:
        return 0.0
    return float(np.sqrt(2 * order_cost * demand_per_year / holding_cost_per_year))
