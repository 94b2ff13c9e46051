"""Two simpler forecasts to hold the service's own against: a life table of each population, and one by age.

Both are the plain law of `likelihood` with everything else switched off, by maximum likelihood and a weak
belief that keeps a population without failures finite.
"""

import numpy as np
import pandas as pd

from .fitting import TIGHT, Directions, maximise
from .hazards import AT_LIFE, Clock
from .likelihood import Likelihood
from .parameters import PLAIN, Layout
from .priors import Belief
from .rows import Rows

USUAL_SHAPE = 1.5
HALF_FAILURE = 0.5  # more than were seen, so that a start is finite without any


def fit_plain(entry: np.ndarray, exit: np.ndarray, event: np.ndarray, weak: bool = False) -> np.ndarray:
    """(log life, log shape) of greatest likelihood of lives on one clock; `weak`: with hardly a belief,
    log life and log shape within factors e³ and e of a start read from the lives.

    The life is the time that 1 − exp(−AT_LIFE) do not reach.
    """
    rows = Rows.plain(entry, exit, event)
    likelihood = Likelihood(rows, Layout.of(PLAIN, effects=0, populations=0))
    start = np.array([_life_at_shape(rows, USUAL_SHAPE), np.log(USUAL_SHAPE)])
    belief = Belief(start, np.array([3.0, 1.0])) if weak else None
    return maximise(likelihood, belief, start, Directions.straight(np.ones(2)), TIGHT)


def _life_at_shape(rows: Rows, shape: float) -> float:
    """The log life of greatest likelihood where the shape is known: Σ(exit^k − entry^k) is exact there."""
    longest = rows.exit_hours.max()
    watched = np.sum((rows.exit_hours / longest) ** shape - (rows.entry_hours / longest) ** shape)
    failures = rows.event.sum() + HALF_FAILURE
    return float(np.log(longest) + np.log(AT_LIFE * max(watched, 1e-9) / failures) / shape)


def one_life_table(lives: pd.DataFrame, horizons: tuple[int, ...]) -> pd.DataFrame:
    """p_fail_…d of each installed assembly by one Weibull law a population on machine hours."""
    return _by_plain_law(lives, horizons, lives["population"], "hours", lives["hours_per_day"])


def age_only(lives: pd.DataFrame, horizons: tuple[int, ...]) -> pd.DataFrame:
    """p_fail_…d of each installed assembly by one Weibull law of all on calendar age."""
    return _by_plain_law(lives, horizons, pd.Series("all", lives.index), "days", pd.Series(1.0, lives.index))


def _by_plain_law(lives, horizons, group: pd.Series, clock: str, rate: pd.Series) -> pd.DataFrame:
    """One row per installed assembly in the order of `lives`: assembly and its chances."""
    chances = np.full((len(lives), len(horizons)), np.nan)
    event = (lives["end"] != "watched").to_numpy()
    entry, exit, age = (lives[f"{one}_{clock}"].to_numpy() for one in ("entry", "exit", "age"))
    for rows in lives.groupby(group, sort=True).indices.values():
        log_life, log_shape = fit_plain(entry[rows], exit[rows], event[rows], weak=True)
        law = Clock(np.full(len(rows), log_life)[:, None], np.full((len(rows), 1), np.exp(log_shape)))
        now = age[rows, None]
        ahead = law.hazard(now + rate.to_numpy()[rows, None] * np.array(horizons)) - law.hazard(now)
        chances[rows] = -np.expm1(-ahead)
    told = pd.DataFrame(chances, columns=[f"p_fail_{horizon}d" for horizon in horizons])
    told.insert(0, "assembly", lives["assembly"].to_numpy())
    return told[lives["installed"].to_numpy(bool)].reset_index(drop=True)
