"""How right forecasts of a past day were, held against what then happened.

An assembly taken out ahead, struck, or not watched long enough neither failed nor lasted. Those whose fate is
known stand for it by inverse probability of censoring: each weighs 1 / G, with G the Kaplan-Meier chance that
one like it was still watched when its fate was settled.
Source: Graf, Schmoor, Sauerbrei & Schumacher, Statistics in Medicine 18 (1999), section 3.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd
from statsmodels.duration.survfunc import SurvfuncRight

from ..ahead.counts import count_limits, multiplied, poisson_binomial
from ..errors import BadTable
from ..tables import Table, make_table, number, table, text, yes_no
from ..wording import gettext as _
from .calibration import regress

OUTCOMES: Table = table(
    "outcomes",
    "one row per assembly that was installed and watched on the day of the forecast",
    ("assembly",),
    text("assembly"),
    number("watched_days", "from that day until it failed or was lost from sight", "d", may_be_empty=False),
    yes_no("failed", "failed or found worn at the end of them", may_be_empty=False),
)

# Dates are whole days: of one day, a failure counts as seen before another assembly was taken out.
BEFORE_OTHERS = 0.5
LEAST = 1e-9  # a chance of 0 that failed would outweigh all other rows


def outcomes_after(lives: pd.DataFrame, as_of: pd.Timestamp) -> pd.DataFrame:
    """OUTCOMES of the assemblies installed and watched on `as_of`, by `lives`: LIVES as they are known now.

    Where a register began later, only what lasted until then is on record. Such an assembly tells nothing of
    those beside it that did not, and is left out.
    """
    watched_from = lives["ended_on"] - pd.to_timedelta(lives["age_days"] - lives["entry_days"], unit="D")
    here = lives[(lives["installed_on"] <= as_of) & (watched_from <= as_of) & (lives["ended_on"] > as_of)]
    return make_table(
        {
            "assembly": here["assembly"],
            "watched_days": (here["ended_on"] - as_of) / pd.Timedelta(days=1),
            "failed": here["end"] != "watched",
        },
        OUTCOMES,
    )


@dataclass(frozen=True)
class Watching:
    """How long assemblies stay watched where they do not fail: the chance beyond each of `days` (rising)."""

    days: np.ndarray
    chances: np.ndarray

    @classmethod
    def of(cls, watched_days: np.ndarray, failed: np.ndarray, horizon_days: float) -> "Watching":
        """The Kaplan-Meier curve of being lost from sight before the horizon; a failure hides it."""
        lost = ~failed & (watched_days < horizon_days)
        if not lost.any():
            return cls(np.empty(0), np.empty(0))
        curve = SurvfuncRight(np.where(failed, watched_days - BEFORE_OTHERS, watched_days), lost.astype(int))
        return cls(curve.surv_times, curve.surv_prob)

    def until(self, days: np.ndarray) -> np.ndarray:
        """The chance to be watched up to each of `days`, what is lost on that day not yet counted."""
        return np.append(1.0, self.chances)[np.searchsorted(self.days, days, side="left")]

    def mean_end(self, days: np.ndarray, horizon_days: float) -> np.ndarray:
        """The mean day, at most the horizon, on which one still watched on each of `days` would be lost."""
        knots = np.concatenate([[0.0], self.days, [horizon_days]])
        steps = np.append(1.0, self.chances)
        area = np.concatenate([[0.0], np.cumsum(steps * np.diff(knots))])
        ahead = area[-1] - np.interp(days, knots, area)
        return np.minimum(days + ahead / self.until(days), horizon_days)


@dataclass(frozen=True)
class Fates:
    """What became of each assembly within a horizon: `weights` are 0 where that is not known."""

    horizon_days: int
    failed: np.ndarray  # within the horizon, while watched
    known: np.ndarray
    weights: np.ndarray
    watched_days: np.ndarray  # at most the horizon; of a failed one, as long as it would have been watched

    @classmethod
    def within(cls, outcomes: pd.DataFrame, horizon_days: int) -> "Fates":
        watched_days = outcomes["watched_days"].to_numpy(float)
        failed = outcomes["failed"].to_numpy(bool) & (watched_days <= horizon_days)
        known = failed | (watched_days >= horizon_days)
        settled = np.minimum(watched_days, horizon_days)
        watching = Watching.of(settled, failed, horizon_days)
        return cls(
            horizon_days,
            failed,
            known,
            np.where(known, 1 / watching.until(settled), 0.0),
            np.where(failed, watching.mean_end(settled, horizon_days), settled),
        )


def score(
    chances: pd.DataFrame,
    outcomes: pd.DataFrame,
    horizon_days: int,
    draws: np.ndarray | None = None,
    swing: float = 0.0,
) -> dict:
    """What the columns of SCORES from `installed` on say of one forecast at one horizon.

    `chances`: a column for each horizon in days, rows in the order of `outcomes`. `draws`: of this horizon,
    one row a draw of what is not known for sure; without them the chances are taken as sure. `swing`: the
    variance of the multiplier that all hazards share. Counts are of failures while watched: each assembly has
    its chance of failing by the day on which it was lost from sight. Where too few failed for a calibration
    line, its cells are empty (`regress` says why).

    Raises BadTable where a chance is empty or none: a row dropped is a row won.
    """
    fates = Fates.within(outcomes, horizon_days)
    chance = _checked(chances)[horizon_days].to_numpy()
    line = regress(np.clip(chance, LEAST, 1 - LEAST), fates.failed, fates.weights)
    seen = chance_while_watched(chances, fates)
    told = _of_share(draws if draws is not None else chance[None], chance, seen)
    law = poisson_binomial(multiplied(told, swing)).mean(axis=0)
    return {
        "installed": len(outcomes),
        "expected": float(seen.sum()),
        "observed": int(fates.failed.sum()),
        **count_limits(law),
        "log_loss": log_loss(chance, fates),
        "brier": brier(chance, fates),
        "calibration_slope": line.slope,
        "calibration_intercept": line.intercept,
    }


def log_loss(chance: np.ndarray, fates: Fates) -> float:
    """Mean −log of the chance given to what then happened; NaN where no fate is known."""
    sure = np.clip(chance, LEAST, 1 - LEAST)
    return _weighted_mean(-np.where(fates.failed, np.log(sure), np.log1p(-sure)), fates.weights)


def brier(chance: np.ndarray, fates: Fates) -> float:
    """Mean squared distance between the chance and what then happened; NaN where no fate is known."""
    return _weighted_mean((fates.failed - chance) ** 2, fates.weights)


def chance_while_watched(chances: pd.DataFrame, fates: Fates) -> np.ndarray:
    """The chance of each assembly to fail while it was watched, its hazard even between horizons."""
    days = np.concatenate([[0.0], chances.columns.to_numpy(float)])
    hazard = -np.log1p(-np.clip(chances.to_numpy(float), 0.0, 1 - LEAST))
    hazard = np.maximum.accumulate(np.column_stack([np.zeros(len(hazard)), hazard]), axis=1)
    after = np.clip(np.searchsorted(days, fates.watched_days), 1, len(days) - 1)
    row = np.arange(len(hazard))
    share = (fates.watched_days - days[after - 1]) / (days[after] - days[after - 1])
    reached = hazard[row, after - 1] + share * (hazard[row, after] - hazard[row, after - 1])
    return -np.expm1(-reached)


def _of_share(draws: np.ndarray, chance: np.ndarray, seen: np.ndarray) -> np.ndarray:
    """Each draw's chances by the day of which `seen` is the chance, those by the horizon being `chance`."""
    whole, part = (np.log1p(-np.clip(one, 0.0, 1 - LEAST)) for one in (chance, seen))
    share = np.where(whole < 0, part / np.where(whole < 0, whole, -1.0), 0.0)
    return -np.expm1(share * np.log1p(-np.clip(draws, 0.0, 1 - LEAST)))


def _weighted_mean(values: np.ndarray, weights: np.ndarray) -> float:
    total = weights.sum()
    return float(values @ weights / total) if total > 0 else float("nan")


def _checked(chances: pd.DataFrame) -> pd.DataFrame:
    is_none = ~((chances >= 0) & (chances <= 1)).all(axis=1).to_numpy(bool)
    if is_none.any():
        raise BadTable(
            _(
                "Forecast, row %(row)s: a chance is empty or not between 0 and 1. Every installed assembly "
                "needs one."
            )
            % {"row": int(is_none.argmax())}
        )
    return chances


def chances_by_horizon(told: pd.DataFrame, horizons: tuple[int, ...]) -> pd.DataFrame:
    """The columns p_fail_…d of a forecast, named by their days."""
    columns: Mapping[str, int] = {f"p_fail_{days}d": days for days in horizons}
    return told[list(columns)].rename(columns=columns)
