"""Lives as the likelihood takes them."""

from dataclasses import dataclass, fields, replace

import numpy as np


@dataclass(frozen=True)
class Rows:
    """Lives as the likelihood takes them, one value per life, sorted by `place` (0 … places − 1).

    `other_rate`: of removals that are no failure, a day, where the cause is not known, else 0. `faults` and
    `stress` have a column each effect; `heat` acts on ageing. `found`: in its place already when the register
    began, and the first known there. A population, crimper or lot numbered past the last is not known.
    """

    entry_hours: np.ndarray
    exit_hours: np.ndarray
    entry_days: np.ndarray
    exit_days: np.ndarray
    event: np.ndarray
    other_rate: np.ndarray
    hours_per_day: np.ndarray
    place: np.ndarray
    population: np.ndarray
    crimper: np.ndarray
    lot: np.ndarray
    stress: np.ndarray
    heat: np.ndarray
    faults: np.ndarray
    found: np.ndarray

    def __len__(self) -> int:
        return len(self.place)

    def some(self, rows) -> "Rows":
        return Rows(**{one.name: getattr(self, one.name)[rows] for one in fields(self)})

    def of_places(self, taken: np.ndarray) -> "Rows":
        """The rows of the places that are `taken` (one truth value each), numbered anew."""
        here = taken[self.place]
        return replace(self.some(here), place=(np.cumsum(taken) - 1)[self.place[here]])

    def of_unknown_build(self) -> "Rows":
        """The same places with assemblies of which neither crimper, lot nor record is known."""
        none = np.full(len(self), np.iinfo(np.int32).max)
        return replace(self, crimper=none, lot=none, faults=np.zeros_like(self.faults))

    @property
    def places(self) -> int:
        return int(self.place[-1]) + 1 if len(self) else 0

    @classmethod
    def plain(cls, entry, exit, event, stress=None) -> "Rows":
        """Rows of lives on one clock of which no more is known, each in a place of its own."""
        entry, exit, event = (np.asarray(one, dtype=float) for one in (entry, exit, event))
        size = len(exit)
        none, zero = np.zeros(size, dtype=int), np.zeros(size)
        columns = np.empty((size, 0)) if stress is None else np.asarray(stress, dtype=float)
        return cls(
            entry, exit, entry, exit, event, zero, zero + 1, np.arange(size), none, none, none,
            columns, zero, np.empty((size, 0)), none.astype(bool),
        )  # fmt: skip
