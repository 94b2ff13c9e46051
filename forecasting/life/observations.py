"""LIVES made rows: sorted by position, groups as numbers, causes and beginnings told apart."""

from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from ..errors import TooFewLives
from ..wording import gettext
from .beginnings import Beginnings
from .covariates import HEAT, Covariates, known_faults, told_faults
from .first_fills import BANDS, FirstFills, removals_by_age
from .priors import YEAR_DAYS
from .rows import Rows

HALF_A_DAY = 0.5  # a failure is dated by the day that it ended on: on average half a day too late
OTHER_REMOVALS_A_YEAR = 0.05  # planned, damaged: weighs as one removal. Common practice, no source
LEAST_HOURS_PER_DAY = 0.02  # a hose that failed while its machine stood


@dataclass(frozen=True)
class Groups:
    """The names behind the numbers of populations, crimpers and lots, and what makes the columns."""

    populations: pd.Index
    crimpers: pd.Index
    lots: pd.Index
    covariates: Covariates
    faults: np.ndarray  # which are told of by enough builds

    @classmethod
    def learn(cls, lives: pd.DataFrame) -> "Groups":
        populations, crimpers, lots = (
            pd.Index(np.sort(lives[name].dropna().unique()), name=name)
            for name in ("population", "crimped_by", "hose_lot")
        )
        watched = lives[lives["exit_days"] > lives["entry_days"]]
        numbers = populations.get_indexer(watched["population"])
        covariates = Covariates.learn(watched, numbers, len(populations))
        return cls(populations, crimpers, lots, covariates, told_faults(watched))

    def population_numbers(self, lives: pd.DataFrame) -> np.ndarray:
        """Raises TooFewLives for a population that was not in the fit."""
        numbers = self.populations.get_indexer(lives["population"])
        if (numbers < 0).any():
            name = lives["population"].iloc[int((numbers < 0).argmax())]
            told = gettext("No life of population %(name)s was in the fit. Fit the model again with it.")
            raise TooFewLives(told % {"name": name})
        return numbers


@dataclass(frozen=True)
class Observations:
    """`rows` sorted by position; row i is life `order[i]`, and life i is row `row[i]`."""

    rows: Rows
    order: np.ndarray
    row: np.ndarray
    beginnings: Beginnings
    first_fills: FirstFills


def observe(lives: pd.DataFrame, groups: Groups) -> Observations:
    """The observations in LIVES, one row per life."""
    name = lives["machine"] + "\n" + lives["position"]
    place, _ = pd.factorize(name, sort=True)
    # In the order of time within a position; the same sums, bit for bit, in whatever order the lives came.
    order = np.lexsort(
        (lives["assembly"].argsort().argsort(), lives["exit_days"], lives["installed_on"], place)
    )
    lives, place_of_row = lives.iloc[order], place[order]

    entry_days, entry_hours = (lives[f"entry_{clock}"].to_numpy() for clock in ("days", "hours"))
    watched_days = lives["exit_days"].to_numpy() - entry_days
    watched_hours = lives["exit_hours"].to_numpy() - entry_hours
    watched = watched_days > 0
    failed = (lives["end"] != "watched").to_numpy() & watched
    unknown = (lives["removal_cause"] == "unknown").to_numpy() & watched
    other = lives["removal_cause"].isin(["planned", "damaged"]).to_numpy() & watched
    # Of the other removals too, a part hides among those of unknown cause.
    known_part = (failed.sum() + other.sum() + 1) / (failed.sum() + other.sum() + unknown.sum() + 1)
    other_rate = (other.sum() + 1) / (watched_days.sum() + YEAR_DAYS / OTHER_REMOVALS_A_YEAR) / known_part

    event = failed | unknown
    used = np.maximum(lives["end_hours_per_day"].to_numpy(), LEAST_HOURS_PER_DAY)
    earlier = np.where(event, np.minimum(HALF_A_DAY, watched_days / 2), 0.0)
    earlier_hours = np.minimum(earlier * used, watched_hours / 2)
    stress = groups.covariates.stress(lives, groups.population_numbers(lives))
    found = lives["found"].to_numpy(bool) & watched
    found &= ~pd.Series(np.where(found, place_of_row, -1 - np.arange(len(lives)))).duplicated().to_numpy()
    rows = Rows(
        entry_hours=entry_hours,
        exit_hours=entry_hours + watched_hours - earlier_hours,
        entry_days=entry_days,
        exit_days=entry_days + watched_days - earlier,
        event=event.astype(float),
        other_rate=np.where(unknown, other_rate, 0.0),
        hours_per_day=used,
        place=place_of_row,
        population=groups.population_numbers(lives),
        crimper=_numbers(groups.crimpers, lives["crimped_by"]),
        lot=_numbers(groups.lots, lives["hose_lot"]),
        stress=stress,
        heat=stress[:, HEAT],
        faults=known_faults(lives) * groups.faults,
        found=found,
    )
    # Of unknown causes, as many are no failure as of those known.
    no_failure = other + unknown * (other.sum() + 1) / (failed.sum() + other.sum() + 2)
    removals = removals_by_age(entry_days, lives["exit_days"].to_numpy(), no_failure, other_rate)
    beginnings = _beginnings(rows, lives, found, other_rate)
    return Observations(rows, order, order.argsort(), beginnings, _first_fills(rows, lives, removals))


def _numbers(names: pd.Index, values: pd.Series) -> np.ndarray:
    numbers = names.get_indexer(values)
    return np.where(numbers < 0, len(names), numbers)


def _beginnings(rows: Rows, lives: pd.DataFrame, found: np.ndarray, other_rate: float) -> Beginnings:
    following = np.flatnonzero(found & ~lives["with_machine"].to_numpy(bool))
    of_following = lives.iloc[following]
    usual = np.maximum(of_following["hours_per_day"].to_numpy(), LEAST_HOURS_PER_DAY)
    return Beginnings(
        replace(rows.some(following), hours_per_day=usual),
        of_following["place_hours"].to_numpy(),
        of_following["place_days"].to_numpy(),
        other_rate,
        rows.places,
    )


def _first_fills(rows: Rows, lives: pd.DataFrame, removals: np.ndarray) -> FirstFills:
    here = np.flatnonzero(rows.found & lives["place_days"].notna().to_numpy())
    of_here = lives.iloc[here]
    held = of_here["with_machine"].to_numpy(bool)
    hours, days = (
        rows_entry[here] + np.where(held, 0.0, of_here[f"place_{clock}"])
        for rows_entry, clock in ((rows.entry_hours, "hours"), (rows.entry_days, "days"))
    )
    first = replace(rows.some(here).of_unknown_build(), exit_hours=hours, exit_days=days)
    return FirstFills(first, held, np.interp(days, BANDS, removals))
