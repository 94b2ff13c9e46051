"""Slopes by the law of each row made slopes by the parameters: one place for every likelihood."""

import numpy as np

from .parameters import Layout
from .rows import Rows


def add_wear(
    gradient: np.ndarray, theta: np.ndarray, layout: Layout, rows: Rows, by_life, by_shape, by_bend
) -> None:
    """Adds to `gradient` what slopes by each row's log life, log shape and log bend amount to."""
    gradient[layout.blocks["log_life"]] += by_life.sum()
    gradient[layout.blocks["log_shape"]] += by_shape.sum()
    gradient[layout.blocks["effects"]] -= np.exp(layout.block(theta, "effects")) * (by_life @ rows.stress)
    _add_groups(gradient[layout.blocks["population_life"]], rows.population, by_life)
    _add_groups(gradient[layout.blocks["population_shape"]], rows.population, by_shape)
    if layout.parts.bend:
        gradient[layout.blocks["log_bend"]] += by_bend.sum()


def add_age(gradient: np.ndarray, theta: np.ndarray, layout: Layout, rows: Rows, by_life, by_shape) -> None:
    """The same of slopes by log life and log shape of ageing."""
    heat = np.exp(layout.value(theta, "log_age_heat"))
    gradient[layout.blocks["log_age_life"]] += by_life.sum()
    gradient[layout.blocks["log_age_shape"]] += by_shape.sum()
    gradient[layout.blocks["log_age_heat"]] -= heat * (by_life @ rows.heat)


def add_early(gradient: np.ndarray, theta: np.ndarray, layout: Layout, rows: Rows, by_odds, by_hours) -> None:
    """The same of slopes by the log odds of an early failure and the log of its mean time."""
    gradient[layout.blocks["early"]] += by_odds.sum()
    gradient[layout.blocks["log_early_hours"]] += by_hours.sum()
    faults = np.exp(layout.block(theta, "early_faults"))
    gradient[layout.blocks["early_faults"]] += faults * (by_odds @ rows.faults)
    _add_groups(gradient[layout.blocks["crimper"]], rows.crimper, by_odds)
    _add_groups(gradient[layout.blocks["lot"]], rows.lot, by_odds)


def _add_groups(gradient: np.ndarray, group: np.ndarray, by_row: np.ndarray) -> None:
    gradient += np.bincount(group, weights=by_row, minlength=len(gradient) + 1)[: len(gradient)]
