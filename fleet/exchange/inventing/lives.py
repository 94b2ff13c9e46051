"""How the invented hoses live and end: a law with known truth, lived through position by position.

Cumulative hazard of one hose after h machine hours and s days from its building:

    Z · [(h / η₁)^k₁ + (s / η₂)^k₂] + q · (1 − exp(−h / τ))

η₁ falls with pressure over rating and with exposure, η₂ with temperature, Z is the luck of the position, and
q is workmanship: small for most, large for a poor crimping bench and for a bad lot of hose. Damage from
outside comes at any time. What is planned ahead, and what an inspection finds, comes before the failure that
it forestalls.
"""

from dataclasses import dataclass

import numpy as np
import pandas as pd

from .calendar import DAYS_PER_YEAR
from .machines import Hours
from .workshops import Workshops

WEAR_HOURS = 17_000.0
WEAR_SHAPE = 2.3
WEAR_BY_PRESSURE = 2.2
ORDINARY_PRESSURE_RATIO = 0.75
LEAST_PRESSURE_RATIO = 0.3
AGEING_DAYS = 9.5 * DAYS_PER_YEAR
AGEING_SHAPE = 3.5
ORDINARY_FLUID_C = 70.0
AGEING_HALVES_EVERY_C = 22.0
EARLY_HOURS = 350.0
LUCK_VARIANCE = 0.2
WEAR_BY_EXPOSURE = {"sheltered": 1.35, "normal": 1.0, "abrasive": 0.62, "hot": 0.85, "flexing": 0.75}
AGEING_BY_EXPOSURE = {"hot": 0.75}
DAMAGE_PER_YEAR = {"abrasive": 0.035, "sheltered": 0.003}
ORDINARY_DAMAGE_PER_YEAR = 0.012
CHANGED_AHEAD_SHARE = 0.5
CHANGED_AHEAD_YEARS = 2.2
AGE_LIMIT_DAYS = 2190
AGE_LIMIT_KEPT_SHARE = 0.93
FOUND_WORN_SHARE = 0.4
CAUSE_LOST_SHARE = 0.02

WEAR, AGEING, EARLY = 0, 1, 2


@dataclass(frozen=True, slots=True)
class Law:
    """The truth for each position: wear scale in hours, ageing scale in days, luck, damage a day."""

    wear_hours: np.ndarray
    ageing_days: np.ndarray
    luck: np.ndarray
    damage_per_day: np.ndarray


def make_law(positions: pd.DataFrame, places: pd.DataFrame, rng: np.random.Generator) -> Law:
    """The law that each row of `positions` lives by."""
    place = positions["place"].to_numpy()
    wear_exposure = np.ones(len(places))
    ageing_exposure = np.ones(len(places))
    damage = np.full(len(places), ORDINARY_DAMAGE_PER_YEAR)
    for row, exposure in enumerate(places["exposure"].str.split("+")):
        wear_exposure[row] = np.prod([WEAR_BY_EXPOSURE[one] for one in exposure])
        ageing_exposure[row] = np.prod([AGEING_BY_EXPOSURE.get(one, 1.0) for one in exposure])
        damage[row] = max(DAMAGE_PER_YEAR.get(one, ORDINARY_DAMAGE_PER_YEAR) for one in exposure)
    population = places["hose"] + "-" + places["dash"].astype(str)
    effects = rng.lognormal(0, 0.12, population.nunique())[pd.factorize(population)[0]]
    ratio = (positions["peak_bar"] / positions["rated_bar"]).to_numpy()
    ratio = np.maximum(ratio, LEAST_PRESSURE_RATIO) / ORDINARY_PRESSURE_RATIO
    warmth = (positions["fluid_c"].to_numpy() - ORDINARY_FLUID_C) / AGEING_HALVES_EVERY_C
    return Law(
        wear_hours=WEAR_HOURS * ratio**-WEAR_BY_PRESSURE * (wear_exposure * effects)[place],
        ageing_days=AGEING_DAYS * 2.0**-warmth * ageing_exposure[place],
        luck=rng.gamma(1 / LUCK_VARIANCE, LUCK_VARIANCE, len(positions)),
        damage_per_day=damage[place] / DAYS_PER_YEAR,
    )


def live(
    positions: pd.DataFrame,
    machines: pd.DataFrame,
    hours: Hours,
    law: Law,
    workshops: Workshops,
    rng: np.random.Generator,
    until: float,
) -> pd.DataFrame:
    """One row per hose that ever was in a position, from a machine's first day to `until`.

    Columns: position (number), built, installed, removed (inf while in place), cause, mode, bench and lot
    (numbers, -1 not known) and `fails`, the day on which it fails if it is left in place.
    """
    machine = positions["machine"].to_numpy()
    commissioned = machines["commissioned"].to_numpy()[machine]
    retired = machines["retired"].to_numpy()[machine]
    living = np.arange(len(positions))
    installed = np.maximum(commissioned, np.ceil(hours.start))
    as_delivered = commissioned >= hours.start
    lives = []
    while len(living):
        made = workshops.build(positions.iloc[living], installed, as_delivered[living], rng)
        fails, mode = _failure(machine[living], installed, made, hours, _rows(law, living), rng)
        removed, cause = _removal(installed, fails, mode, retired[living], law.damage_per_day[living], rng)
        gone = removed <= until
        lives.append(
            made.assign(
                position=living,
                installed=installed,
                removed=np.where(gone, removed, np.inf),
                cause=np.where(gone, cause, ""),
                mode=mode,
                fails=fails,
            )
        )
        goes_on = gone & (removed < retired[living])
        living, installed = living[goes_on], removed[goes_on]
        as_delivered = np.zeros(len(positions), dtype=bool)
    every = pd.concat(lives, ignore_index=True)
    return every.sort_values(["installed", "position"], kind="stable", ignore_index=True)


def _rows(law: Law, rows: np.ndarray) -> Law:
    return Law(law.wear_hours[rows], law.ageing_days[rows], law.luck[rows], law.damage_per_day[rows])


def _failure(machine, installed, made, hours, law, rng) -> tuple[np.ndarray, np.ndarray]:
    """The day each hose fails if left in place, and which of wear, ageing and early failure comes first."""
    size = len(installed)
    wear = law.wear_hours * (rng.exponential(size=size) / law.luck) ** (1 / WEAR_SHAPE)
    ageing = law.ageing_days * (rng.exponential(size=size) / law.luck) ** (1 / AGEING_SHAPE)
    spent = rng.exponential(size=size) / made["early"].to_numpy()
    early = np.where(spent < 1, -EARLY_HOURS * np.log1p(-np.minimum(spent, 1 - 1e-12)), np.inf)
    at_first = hours.at(machine, installed)
    days = np.stack(
        [
            hours.day_of(machine, at_first + wear),
            made["built"].to_numpy() + ageing,
            hours.day_of(machine, at_first + early),
        ]
    )
    days = np.maximum(np.ceil(days), installed + 1)
    mode = days.argmin(axis=0)
    return days[mode, np.arange(size)], mode


def _removal(installed, fails, mode, retired, damage_per_day, rng) -> tuple[np.ndarray, np.ndarray]:
    """The day each hose comes off and the cause as the register says it."""
    size = len(installed)
    found = (mode != EARLY) & (rng.random(size) < FOUND_WORN_SHARE)
    seen = fails - rng.integers(3, 75, size)
    found &= seen > installed + 30
    ends = np.where(found, seen, fails)
    struck = installed + 1 + np.floor(rng.exponential(size=size) / damage_per_day)
    ahead = installed + np.ceil(rng.lognormal(np.log(CHANGED_AHEAD_YEARS), 0.35, size) * DAYS_PER_YEAR)
    ahead = np.where(rng.random(size) < CHANGED_AHEAD_SHARE, ahead, np.inf)
    too_old = np.where(rng.random(size) < AGE_LIMIT_KEPT_SHARE, AGE_LIMIT_DAYS, np.inf)
    ahead = np.minimum(ahead, installed + too_old - rng.integers(0, 150, size))
    days = np.stack([ends, struck, ahead, np.maximum(retired, installed)])
    first = days.argmin(axis=0)
    causes = np.array(["failed", "damaged", "planned", "machine_retired"], dtype=object)[first]
    causes = np.where((first == 0) & found, "worn", causes)
    lost = (rng.random(size) < CAUSE_LOST_SHARE) & (causes != "machine_retired")
    return days[first, np.arange(size)], np.where(lost, "unknown", causes)
