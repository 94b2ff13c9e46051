"""The most likely parameters of a likelihood, how far groups differ, and how uncertain all of it is.

Parameters are measured in standard deviations of what is believed of them, so that all move alike. How far
populations, crimpers and lots lie apart is read from themselves by Laplace's approximation (empirical Bayes).
Source: Laird & Ware, "Random-effects models for longitudinal data", Biometrics 38 (1982): the EM step.
"""

from dataclasses import dataclass

import numpy as np
from scipy import optimize

from .beginnings import Beginnings
from .likelihood import Likelihood
from .parameters import Layout
from .priors import SPREADS, Belief

ROUNDS = 3
SAMPLE_ROWS = 40_000  # of a larger fleet, so many lives give the start, the spreads and the curvature
# The search begins so many standard deviations above what is believed of heat's part in ageing: where it adds
# next to nothing the likelihood is flat, and a search that begins there misses a better fit beyond.
HEAT_FROM = 2.0
STEP = 0.01  # of a standard deviation of the belief, for curvatures
UNTOLD = 1e-6  # of its spread: a group that no life has told anything of
LEAST_CURVATURE = 0.3  # of the belief's own, however crooked the likelihood
FAR = 10.0  # times the first value: how bad a step is taken for, if it is worse
LOOSE = {"maxiter": 120, "maxcor": 20, "ftol": 1e-6}  # of rounds whose spreads are not yet the last
CLOSE = {"maxiter": 120, "maxcor": 20, "ftol": 1e-8}
LAST = {"maxiter": 15, "maxcor": 10, "ftol": 1e-8}  # of a large fleet, from the fit of a sample of it
TIGHT = {"maxiter": 500, "maxcor": 20, "ftol": 1e-15, "gtol": 1e-8}


@dataclass(frozen=True)
class Directions:
    """Steps of like size in every direction: `core` parameters mixed by `matrix`, the others by `widths`."""

    widths: np.ndarray
    core: np.ndarray
    matrix: np.ndarray

    @classmethod
    def straight(cls, widths: np.ndarray) -> "Directions":
        return cls(widths, np.zeros(0, dtype=int), np.zeros((0, 0)))

    def apart(self, steps: np.ndarray) -> np.ndarray:
        """The change of theta for steps in these directions; one vector, or one a row."""
        moved = steps * self.widths
        moved[..., self.core] = steps[..., self.core] @ self.matrix.T
        return moved

    def steps_to(self, changes: np.ndarray) -> np.ndarray:
        """The steps, one vector a row, that change theta so: `apart` the other way round."""
        steps = changes / self.widths
        steps[:, self.core] = np.linalg.solve(self.matrix, changes[:, self.core].T).T
        return steps

    def back(self, gradient: np.ndarray) -> np.ndarray:
        """The slopes in these directions for slopes by theta."""
        turned = gradient * self.widths
        turned[self.core] = self.matrix.T @ gradient[self.core]
        return turned


@dataclass(frozen=True)
class Fit:
    """The most likely `theta`, what was believed, and the directions of Laplace's posterior about it."""

    theta: np.ndarray
    belief: Belief
    spreads: dict[str, float]
    posterior: Directions

    def draw(self, draws: int, layout: Layout, rng: np.random.Generator) -> np.ndarray:
        """Parameter vectors of the posterior, in pairs about its middle so that their mean is its own.

        Each block has a chance of its own, which its parameters take in turn: else the first hose of a new
        lot would have all others drawn anew.
        """
        apart = np.empty((len(self.theta), draws // 2))
        for block, own in zip(layout.blocks.values(), rng.spawn(len(layout.blocks)), strict=True):
            apart[block] = own.standard_normal((block.stop - block.start, draws // 2))
        steps = self.posterior.apart(apart.T)
        return self.theta + np.stack([steps, -steps], axis=1).reshape(-1, len(self.theta))

    def bootstrap(self, draws: np.ndarray, likelihood: Likelihood, rng: np.random.Generator) -> np.ndarray:
        """As many of `draws` (of `draw`), each taken as often as likelihood and belief bear it out.

        A few failures leave a posterior that is lopsided, which a normal one cuts short on one side and draws
        out on the other. No draw is taken for more than 1 in √n of them, lest one stand for all.
        Sources: Smith & Gelfand, "Bayesian statistics without tears", American Statistician 46 (1992): the
        weighted bootstrap; Ionides, "Truncated importance sampling", JCGS 17 (2008): the most for one.
        """
        log_weights = self._borne_out(draws, likelihood)
        weights = np.exp(log_weights - log_weights.max())
        weights = np.minimum(weights, weights.mean() * np.sqrt(len(draws)))
        levels = (np.arange(len(draws)) + rng.random()) / len(draws)
        taken = np.searchsorted(np.cumsum(weights / weights.sum()), levels)
        return draws[rng.permutation(np.minimum(taken, len(draws) - 1))]

    def keep_likely(self, draws: np.ndarray, likelihood: Likelihood, rng: np.random.Generator) -> np.ndarray:
        """`draws` (of `draw`), others in the place of those that likelihood and belief bear out too little.

        A normal posterior reaches beyond where the true one falls off as a cliff does, into laws by which
        most of the fleet were gone. What is borne out less than the middle one is kept with the chance that
        the two are to each other; each has a number of its own, so that what is kept stays where it is.
        Source: von Neumann, "Various techniques used in connection with random digits" (1951): rejection.
        """
        log_weights = self._borne_out(draws, likelihood)
        order = rng.permutation(len(draws))
        chance = np.exp(np.minimum(log_weights - np.median(log_weights), 0.0))[order]
        kept = np.flatnonzero(rng.random(len(draws)) < chance)
        instead = kept[np.searchsorted(kept, np.arange(len(draws))) % len(kept)]  # itself, or the next kept
        likely = draws.copy()
        likely[order] = draws[order[instead]]
        return likely

    def _borne_out(self, draws: np.ndarray, likelihood: Likelihood) -> np.ndarray:
        """The log of how far likelihood and belief bear out each of `draws`, beside how often it is drawn."""
        steps = self.posterior.steps_to(draws - self.theta)
        return np.array(
            [
                likelihood.value(theta) + self.belief.value(theta) + np.sum(own**2) / 2
                for theta, own in zip(draws, steps, strict=True)
            ]
        )


def maximise(
    likelihood: Likelihood, belief: Belief | None, start: np.ndarray, directions: Directions, options: dict
) -> np.ndarray:
    """The theta of greatest likelihood, and belief where there is one, from `start`."""

    worst = np.inf

    def falling(steps: np.ndarray) -> tuple[float, np.ndarray]:
        nonlocal worst
        theta = start + directions.apart(steps)
        with np.errstate(all="ignore"):  # a step too far is refused by its value
            value, gradient = likelihood.value_and_gradient(theta)
        if belief is not None:
            value, gradient = value + belief.value(theta), gradient + belief.gradient(theta)
        if not (-value <= worst and np.isfinite(gradient).all()):
            return worst, np.zeros(len(start))
        if worst == np.inf:  # a wilder value than this would have the line search stop where it stands
            worst = abs(value) * FAR + FAR
        return -value, -directions.back(gradient)

    # The slope that ends the search: what it would still gain is small against the noise of the data.
    options = {"gtol": 1e-4 * np.sqrt(len(likelihood.rows) + 1)} | options
    steps = optimize.minimize(falling, np.zeros(len(start)), jac=True, method="L-BFGS-B", options=options).x
    return start + directions.apart(steps)


def fit(likelihood: Likelihood, beginnings: Beginnings, rng: np.random.Generator) -> tuple[Fit, Likelihood]:
    """The fit, and the likelihood with what the beginnings of its positions tell under it.

    A fleet of more than SAMPLE_ROWS lives is fitted to a random part of its positions first.
    """
    layout = likelihood.layout
    part, part_beginnings = _sample(likelihood, beginnings, rng)
    share = (len(part.rows) + 1) / (len(likelihood.rows) + 1)
    spreads = {name: prior.sd for name, prior in SPREADS.items() if name in layout.blocks}
    theta = _beginning(layout, Belief.of(layout, spreads))
    for number in range(ROUNDS):
        belief = Belief.of(layout, spreads)
        if number:
            part = part.with_beginnings(part_beginnings.weights(theta, layout))
        last = number == ROUNDS - 1
        theta = maximise(part, belief, theta, Directions.straight(belief.sd), CLOSE if last else LOOSE)
        if not last:
            spreads = _spreads(part, belief, theta, spreads)
    posterior = _posterior(part, belief, theta, share)
    if part.rows is likelihood.rows:
        whole = part
    else:
        whole = likelihood.with_beginnings(beginnings.weights(theta, layout))
        theta = maximise(whole, belief, theta, posterior, LAST)
    posterior.widths[:] = _alone(whole, belief, theta, "lot", posterior.widths)
    return Fit(theta, belief, spreads, posterior), whole


def _beginning(layout: Layout, belief: Belief) -> np.ndarray:
    """Where the search begins."""
    theta, heat = belief.mean.copy(), layout.blocks.get("log_age_heat", slice(0, 0))
    theta[heat] += HEAT_FROM * belief.sd[heat]
    return theta


def _sample(likelihood: Likelihood, beginnings: Beginnings, rng) -> tuple[Likelihood, Beginnings]:
    rows = likelihood.rows
    if len(rows) <= SAMPLE_ROWS:
        return likelihood, beginnings
    taken = rng.spawn(1)[0].random(rows.places) < SAMPLE_ROWS / len(rows)
    first_fills = likelihood.first_fills and likelihood.first_fills.of_places(taken)
    part = Likelihood(rows.of_places(taken), likelihood.layout, first_fills=first_fills)
    return part, beginnings.of_places(taken)


def _curvature(likelihood: Likelihood, theta: np.ndarray, here: np.ndarray, step: np.ndarray) -> np.ndarray:
    """How much the log-likelihood's gradient, `here` at theta, falls over `step`."""
    return here - likelihood.value_and_gradient(theta + step)[1]


def _alone(likelihood: Likelihood, belief: Belief, theta: np.ndarray, name: str, widths) -> np.ndarray:
    """`widths` with the standard deviations of one block of groups, each taken by itself.

    All groups are moved at once: rows belong to one group each, so they hardly bear on each other.
    """
    block = likelihood.layout.blocks.get(name, slice(0, 0))
    if block.start == block.stop:
        return widths
    step = np.zeros(len(theta))
    step[block] = STEP * belief.sd[block]
    here = likelihood.value_and_gradient(theta)[1]
    curvature = _curvature(likelihood, theta, here, step)[block] / step[block]
    told = widths.copy()
    told[block] = 1 / np.sqrt(np.maximum(curvature, 0.0) + belief.sd[block] ** -2)
    return told


def _spreads(likelihood: Likelihood, belief: Belief, theta: np.ndarray, spreads: dict) -> dict[str, float]:
    """How far the groups of each kind lie apart: their deviations and how uncertain these are, squared."""
    told = {}
    for name, spread in spreads.items():
        block, prior = likelihood.layout.blocks[name], SPREADS[name]
        if block.stop - block.start < 2:
            told[name] = spread
            continue
        sd = _alone(likelihood, belief, theta, name, belief.sd)[block]
        told_of = sd < spread * (1 - UNTOLD)  # of the other groups nothing was seen
        squares = np.sum((theta[block] ** 2 + sd**2)[told_of]) + prior.weight * prior.sd**2
        told[name] = float(max(np.sqrt(squares / (told_of.sum() + prior.weight)), prior.least))
    return told


def _posterior(likelihood: Likelihood, belief: Belief, theta: np.ndarray, share: float) -> Directions:
    """Directions of unit posterior spread; lots, which may be many, each by itself.

    `share` of the whole likelihood's rows is what `likelihood` holds: its curvature counts so much more.
    """
    lots = likelihood.layout.blocks.get("lot", slice(0, 0))
    core = np.setdiff1d(np.arange(len(theta)), np.arange(lots.start, lots.stop))
    hessian = np.empty((len(core), len(core)))
    here = likelihood.value_and_gradient(theta)[1]
    for place, one in enumerate(core):
        step = np.zeros(len(theta))
        step[one] = STEP * belief.sd[one]
        hessian[place] = (_curvature(likelihood, theta, here, step) * belief.sd)[core] / STEP
    hessian = (hessian + hessian.T) / (2 * share) + np.eye(len(core))
    size, direction = np.linalg.eigh(hessian)
    # The root that is symmetric: others turn round, or change places, at the least change of the lives.
    root = (direction / np.sqrt(np.maximum(size, LEAST_CURVATURE))) @ direction.T
    matrix = belief.sd[core][:, None] * root
    return Directions(belief.sd.copy(), core, matrix)
