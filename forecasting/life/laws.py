"""The laws of some lives under one vector of parameters: wear, ageing and early failure, row by row."""

from dataclasses import dataclass

import numpy as np
from scipy import special

from .hazards import Clock, Early
from .parameters import Layout
from .rows import Rows


@dataclass(frozen=True, slots=True)
class Laws:
    """The laws of some rows under one theta: clocks of wear and of ageing, and early failure."""

    wear: Clock
    age: Clock | None
    early: Early | None

    @classmethod
    def of(cls, theta: np.ndarray, layout: Layout, rows: Rows) -> "Laws":
        log_life = layout.value(theta, "log_life") - rows.stress @ np.exp(layout.block(theta, "effects"))
        log_life += layout.of_group(theta, "population_life", rows.population)
        log_shape = layout.value(theta, "log_shape") + layout.of_group(
            theta, "population_shape", rows.population
        )
        bend = float(np.exp(layout.value(theta, "log_bend"))) if layout.parts.bend else 0.0
        age = None
        if layout.parts.age:
            heat = np.exp(layout.value(theta, "log_age_heat"))
            age_shape = np.exp(layout.value(theta, "log_age_shape"))
            age = Clock(layout.value(theta, "log_age_life") - heat * rows.heat, np.full(len(rows), age_shape))
        return cls(Clock(log_life, np.exp(log_shape), bend), age, early_of(theta, layout, rows))

    def some(self, rows) -> "Laws":
        return Laws(
            self.wear.some(rows),
            self.age.some(rows) if self.age else None,
            self.early.some(rows) if self.early else None,
        )

    def widened(self) -> "Laws":
        """The same laws for times that have an axis of their own behind the rows."""
        return self.some((slice(None), None))

    def lasting(self, hours: np.ndarray, days: np.ndarray) -> np.ndarray:
        """The cumulative hazard that luck multiplies: wear and ageing."""
        worn = self.wear.hazard(hours)
        return worn + self.age.hazard(days) if self.age else worn

    def lasting_rate(self, hours: np.ndarray, days: np.ndarray, hours_per_day: np.ndarray) -> np.ndarray:
        """Its rate a day."""
        rate = hours_per_day * self.wear.rate(hours)
        return rate + self.age.rate(days) if self.age else rate

    def of_early(self, hours: np.ndarray) -> np.ndarray:
        return self.early.hazard(hours) if self.early else np.zeros(np.shape(hours))

    def early_rate(self, hours: np.ndarray) -> np.ndarray:
        """The rate of early failure an hour run."""
        return self.early.rate_slopes(hours)[0] if self.early else np.zeros(np.shape(hours))


def early_of(theta: np.ndarray, layout: Layout, rows: Rows) -> Early | None:
    """The early failure of some lives, by how, by whom and of which lot each was built."""
    if not layout.parts.early:
        return None
    log_odds = layout.value(theta, "early") + rows.faults @ np.exp(layout.block(theta, "early_faults"))
    log_odds += layout.of_group(theta, "crimper", rows.crimper)
    log_odds += layout.of_group(theta, "lot", rows.lot)
    return Early(special.expit(log_odds), float(np.exp(layout.value(theta, "log_early_hours"))))
