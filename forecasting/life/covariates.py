"""The model's columns from LIVES: what is known as it is, what is not as the middle of its population."""

from dataclasses import dataclass

import numpy as np
import pandas as pd

from .priors import EFFECTS, ENOUGH_KNOWN, FAULTS

PRESSURE_RATIOS = (0.05, 2.0)  # beyond these a unit was mistaken, and no life can be learned from it
TEMPERATURES_C = (-40.0, 160.0)
BEND_TIGHTNESS = (0.2, 3.0)
VELOCITIES_M_S = (0.1, 50.0)
HEAT = [effect.column for effect in EFFECTS].index("heat_10c")


@dataclass(frozen=True)
class Covariates:
    """What makes the columns of EFFECTS from LIVES, centred on the fleet."""

    centre: np.ndarray
    of_population: np.ndarray  # population × column
    used: np.ndarray  # known of enough lives

    @classmethod
    def learn(cls, lives: pd.DataFrame, population: np.ndarray, populations: int) -> "Covariates":
        raw = _known_stress(lives)
        known = ~np.isnan(raw)
        counts = known.sum(axis=0)
        centre = np.where(counts > 0, np.nansum(raw, axis=0) / np.maximum(counts, 1), 0.0)
        of_population = np.empty((populations, raw.shape[1]))
        for column in range(raw.shape[1]):
            values = np.where(known[:, column], raw[:, column] - centre[column], 0.0)
            total = np.bincount(population, weights=values, minlength=populations)
            seen = np.bincount(population, weights=known[:, column], minlength=populations)
            of_population[:, column] = total / np.maximum(seen, 1)
        seldom = np.isin([effect.column for effect in EFFECTS], ["bend_tightness", "log_velocity"])
        return cls(centre, of_population, ~seldom | (counts >= ENOUGH_KNOWN))

    def stress(self, lives: pd.DataFrame, population: np.ndarray) -> np.ndarray:
        """One column an effect; 0 is the middle of the fleet."""
        centred = _known_stress(lives) - self.centre
        return np.where(np.isnan(centred), self.of_population[population], centred) * self.used


def _known_stress(lives: pd.DataFrame) -> np.ndarray:
    known = {
        "log_pressure_ratio": np.log(lives["pressure_ratio"].clip(*PRESSURE_RATIOS)),
        "heat_10c": lives["temperature_c"].clip(*TEMPERATURES_C) / 10,
        "unsheltered": 1 - lives["sheltered"],
        "abrasive": lives["abrasive"],
        "hot": lives["hot"],
        "flexing": lives["flexing"],
        "bend_tightness": lives["bend_tightness"].clip(*BEND_TIGHTNESS),
        "log_velocity": np.log(lives["velocity_m_s"].clip(*VELOCITIES_M_S)),
    }
    return np.column_stack([known[effect.column].to_numpy(float) for effect in EFFECTS])


def known_faults(lives: pd.DataFrame) -> np.ndarray:
    """One column a fault of the build: 1 where recorded, else 0; all 0 where too few builds tell."""
    columns = [lives[fault.column].to_numpy(float) for fault in FAULTS]
    return np.column_stack([np.nan_to_num(one) for one in columns])


def told_faults(lives: pd.DataFrame) -> np.ndarray:
    """Which faults enough builds tell of, whether they have them or not."""
    return np.array([lives[fault.column].notna().sum() >= ENOUGH_KNOWN for fault in FAULTS])
