"""The parameters of the life model by name, and which parts of it are switched on."""

from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True, slots=True)
class Parts:
    """What of the model takes part; with all of it off, a plain Weibull on one clock is left."""

    age: bool = True
    early: bool = True
    luck: bool = True
    bend: bool = True
    past: bool = True


WHOLE = Parts()
PLAIN = Parts(age=False, early=False, luck=False, bend=False, past=False)


@dataclass(frozen=True)
class Layout:
    """Where each block of parameters stands in a vector theta.

    log_life, log_shape       wear on machine hours: the life that a quarter does not reach, and the shape
    effects                   logs of what pressure, heat, exposure, bend and velocity take off log life
    population_life, _shape   each population's own deviation of the two
    log_bend                  log of c in wear = log(1 + cψ) / c
    log_age_life, _shape      ageing on the calendar, in days; log_age_heat: what heat takes off its log life
    early, early_faults       log odds of an early failure; logs of what faults of the build add to them
    crimper, lot              what each crimper and each lot of hose adds
    log_early_hours           the mean time to an early failure
    log_luck_sd               spread of the log of a position's luck
    lemon_odds, log_lemon     log odds of a lemon, and log of how far above LEMON_LEAST its failure rate is
    log_removals_before       log of how much likelier removals that are no failure were before the register
    """

    blocks: dict[str, slice]
    parts: Parts

    @classmethod
    def of(
        cls,
        parts: Parts,
        *,
        effects: int,
        populations: int,
        faults: int = 0,
        crimpers: int = 0,
        lots: int = 0,
    ) -> "Layout":
        sizes = {"log_life": 1, "log_shape": 1, "effects": effects}
        sizes |= {"population_life": populations, "population_shape": populations}
        if parts.bend:
            sizes |= {"log_bend": 1}
        if parts.age:
            sizes |= {"log_age_life": 1, "log_age_shape": 1, "log_age_heat": 1}
        if parts.early:
            sizes |= {"early": 1, "early_faults": faults, "crimper": crimpers, "lot": lots}
            sizes |= {"log_early_hours": 1}
        if parts.luck:
            sizes |= {"log_luck_sd": 1, "lemon_odds": 1, "log_lemon": 1}
        if parts.past:
            sizes |= {"log_removals_before": 1}
        ends = np.cumsum(list(sizes.values()))
        return cls(
            {
                name: slice(int(end) - size, int(end))
                for (name, size), end in zip(sizes.items(), ends, strict=True)
            },
            parts,
        )

    @property
    def size(self) -> int:
        return max(block.stop for block in self.blocks.values())

    def block(self, theta: np.ndarray, name: str) -> np.ndarray:
        return theta[self.blocks[name]]

    def value(self, theta: np.ndarray, name: str) -> float:
        """A parameter that stands alone."""
        return float(theta[self.blocks[name].start])

    def of_group(self, theta: np.ndarray, name: str, group: np.ndarray) -> np.ndarray:
        """The deviation of each row's group; a group numbered past the last one (not known) has none."""
        deviations = np.append(theta[self.blocks[name]], 0.0)
        return deviations[np.minimum(group, len(deviations) - 1)]

    def names(self) -> list[str]:
        """The name of each parameter, its number behind it where the block holds several."""
        return [
            name if block.stop - block.start == 1 else f"{name} {i}"
            for name, block in self.blocks.items()
            for i in range(block.stop - block.start)
        ]
