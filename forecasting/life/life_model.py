"""The law of life fitted to the fleet: wear, ageing, workmanship, and the luck of each position.

    Λ = z · [wear(machine hours) + ageing(calendar days)] + early failure of a share of assemblies

Life is divided by exp(effect · covariate) for pressure, heat, exposure, bend and velocity; each population
(construction and dash) has a life and a shape of its own, each bench and each lot its own share of early
failures, drawn to the fleet's by as much as they prove alike. Weak priors keep a fleet without failures
finite (`priors`); `likelihood` has the formula, `fitting` how it is fitted.
"""

from dataclasses import dataclass

import numpy as np
import pandas as pd

from ..wording import gettext as _
from .fitting import SAMPLE_ROWS, Fit, fit
from .hazards import AT_LIFE
from .laws import Laws
from .likelihood import Likelihood
from .observations import Groups, Observations, observe
from .parameters import WHOLE, Layout, Parts
from .priors import EFFECTS, FAULTS
from .rows import Rows

DRAWS = 400
FEW_FAILURES = 20  # fewer leave a posterior far from normal, and tell nothing of how counts swing
OWN_HISTORY = 5  # failures from which a population's answer is mostly its own


@dataclass(frozen=True)
class LifeModel:
    """A fitted law: what it says of any LIVES whose populations it knows.

    `draws`: one parameter vector a row, of the posterior; `bootstrapped`: of its own shape, since failures
    were few, and not of the normal one about its middle. `seed` makes what else is drawn (the usage to come)
    the same in every place that asks.
    """

    fit: Fit
    layout: Layout
    groups: Groups
    draws: np.ndarray
    seed: int
    bootstrapped: bool = False

    @property
    def early_hours(self) -> float:
        """The mean time to an early failure."""
        return float(np.exp(self.layout.value(self.fit.theta, "log_early_hours")))

    def theta_without_groups(self, rows: Rows) -> np.ndarray:
        """The fitted parameters, each crimper and lot given the mean effect of the others (by lives)."""
        theta = self.fit.theta.copy()
        for kind in ("crimper", "lot"):
            block = self.layout.blocks[kind]
            number = getattr(rows, kind)
            size = block.stop - block.start
            lives = np.bincount(number[number < size], minlength=size)
            own = lives * theta[block]
            theta[block] = (own.sum() - own) / np.maximum(lives.sum() - lives, 1)
        return theta

    def observe(self, lives: pd.DataFrame) -> tuple[Likelihood, Observations]:
        """The likelihood of these lives under this model, and how its rows go back to them."""
        seen = observe(lives, self.groups)
        beginnings = seen.beginnings.weights(self.fit.theta, self.layout)
        return Likelihood(seen.rows, self.layout, beginnings, seen.first_fills), seen


def fit_life_model(lives: pd.DataFrame, rng: np.random.Generator, parts: Parts = WHOLE) -> LifeModel:
    """The law of LIVES, with posterior draws made by `rng`.

    Few lives, no failures or no life at all lead to the priors, and `describe_populations` says so.
    """
    groups = Groups.learn(lives)
    layout = Layout.of(
        parts,
        effects=len(EFFECTS),
        populations=len(groups.populations),
        faults=len(FAULTS),
        crimpers=len(groups.crimpers),
        lots=len(groups.lots),
    )
    seen = observe(lives, groups)
    likelihood = Likelihood(seen.rows, layout, first_fills=seen.first_fills)
    found, whole = fit(likelihood, seen.beginnings, rng)
    draws = found.draw(DRAWS, layout, rng)
    weighed = len(lives) <= SAMPLE_ROWS  # the likelihood of more lives takes too long to ask for each draw
    few = weighed and (lives["end"] != "watched").sum() < FEW_FAILURES
    if few:
        draws = found.bootstrap(draws, whole, rng)
    elif weighed:
        draws = found.keep_likely(draws, whole, rng.spawn(1)[0])
    return LifeModel(found, layout, groups, draws, int(rng.integers(2**62)), bootstrapped=few)


def describe_populations(model: LifeModel, lives: pd.DataFrame) -> list[dict]:
    """One entry a population for the report: what was watched of it, its law with 80 % limits, its basis.

    `shape` and `scale` (hours that 63 % do not reach) are those of wear at the population's usual pressure,
    heat and exposure, of ordinary luck.
    """
    likelihood, seen = model.observe(lives)
    rows, layout, theta = likelihood.rows, model.layout, model.fit.theta
    size = len(model.groups.populations)

    def by_population(of_row: np.ndarray) -> np.ndarray:
        return np.bincount(rows.population, weights=of_row, minlength=size)

    failures = by_population((lives["end"] != "watched").to_numpy(float)[seen.order])
    installed = by_population(lives["installed"].to_numpy(float)[seen.order])
    hours = by_population(rows.exit_hours - rows.entry_hours)
    first_of_place = np.flatnonzero(np.diff(rows.place, prepend=-1))
    gained = np.bincount(rows.population[first_of_place], weights=likelihood.by_place(theta), minlength=size)

    log_shapes = model.draws[:, layout.blocks["population_shape"]]
    low, high = np.exp(
        np.quantile(model.draws[:, layout.blocks["log_shape"]] + log_shapes, [0.1, 0.9], axis=0)
    )
    wear = Laws.of(theta, layout, rows).wear
    counts = np.maximum(by_population(np.ones(len(rows))), 1)
    shape = by_population(wear.shape) / counts
    scale = np.exp(by_population(wear.log_life) / counts - np.log(AT_LIFE) / np.maximum(shape, 1e-9))
    some = failures.sum() > 0
    return [
        {
            "name": str(name),
            "installed": int(installed[i]),
            "failures": int(failures[i]),
            "exposure_hours": float(hours[i]),
            "clock": _("machine hours and calendar"),
            "model": _("Weibull wear and ageing, early failures, luck of the position"),
            "shape": float(shape[i]),
            "shape_low": float(low[i]),
            "shape_high": float(high[i]),
            "scale": float(scale[i]),
            "log_likelihood": float(gained[i]),
            "basis": "own_history" if failures[i] >= OWN_HISTORY else "pooled" if some else "prior_only",
        }
        for i, name in enumerate(model.groups.populations)
    ]
