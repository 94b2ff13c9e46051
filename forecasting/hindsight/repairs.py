"""Failures of machines that run on repaired: how many a mean machine has, and whether ever closer together.

Machines are watched over different spans of their hours, and may differ in how often they fail.

The mean count adds 1 / (machines watched then) at each failure; its standard error takes each machine as one
draw, so that failures of a machine may come in clusters. Sources: Nelson, "Confidence limits for recurrence
data", Technometrics 37 (1995); the variance as Lawless & Nadeau, Technometrics 37 (1995), have it, which is
never negative and stands late entry.

The trend is the generalised Laplace test, z = ΣU / √ΣU² with U = Σ (hours of a failure − middle of the hours
its machine was watched): without a trend U is as often above zero as below, by whatever law a machine fails.
Sources: Lawless, Çiğşar & Cook, Technometrics 54 (2012); Kvaløy & Lindqvist, Technometrics 62 (2020).
"""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import pandas as pd
from scipy import stats

FEWEST_FAILURES = 8  # of fewer nobody should speak of a trend: our judgment, no source
FEWEST_MACHINES = 4  # z is √machines at most: of three, no failures whatever would show a trend


@dataclass(frozen=True)
class Watch:
    """Machines watched from `begin` until `end`, in machine hours, one entry each; of their failures in
    which `machine` (its place there) and at which `hours`.

    What opens or ends the watching came there by no chance and is left out.
    """

    begin: np.ndarray
    end: np.ndarray
    machine: np.ndarray
    hours: np.ndarray

    @classmethod
    def through(cls, begin: np.ndarray, end: np.ndarray, machine: np.ndarray, hours: np.ndarray) -> "Watch":
        """With those failures alone that came while their machine was watched."""
        within = (begin[machine] < hours) & (hours < end[machine])
        return cls(begin, end, machine[within], hours[within])

    def of(self, machines: np.ndarray) -> "Watch":
        """Those alone for which `machines` is true."""
        here = machines[self.machine]
        place = np.cumsum(machines) - 1
        return Watch(self.begin[machines], self.end[machines], place[self.machine[here]], self.hours[here])

    def mean_count(self, edges: np.ndarray) -> pd.DataFrame:
        """What befell a mean machine between successive `edges` of machine hours, one row per span.

        from_hours, until_hours (still in it), watched_hours during which anyone watched, machines, failures,
        at_once (machines watched when one failed, their harmonic mean, 0 where none did), mean (failures),
        its standard error se, and what that were if failures knew nothing of each other, se_poisson.
        """
        times, at, many = np.unique(self.hours, return_inverse=True, return_counts=True)
        at_risk = np.searchsorted(np.sort(self.begin), times) - np.searchsorted(np.sort(self.end), times)
        usual = np.append(0.0, np.cumsum(many / at_risk**2))  # its share, had it been watched all the while
        spans = []
        for low, high in pairwise(edges):
            inside = (low < self.hours) & (self.hours <= high)
            first, last = (np.clip(one, low, high) for one in (self.begin, self.end))
            own = np.bincount(self.machine[inside], 1 / at_risk[at[inside]], minlength=len(first))
            until_first, until_last = (usual[np.searchsorted(times, one, "right")] for one in (first, last))
            in_order = np.argsort(first)
            reached = np.append(low, np.maximum.accumulate(last[in_order]))
            newly = reached[1:] - np.maximum(first[in_order], reached[:-1])
            spans.append(
                {
                    "from_hours": float(low),
                    "until_hours": float(high),
                    "watched_hours": float(newly.clip(min=0.0).sum()),
                    "machines": int((last > first).sum()),
                    "failures": int(inside.sum()),
                    "at_once": float(inside.sum() / own.sum()) if inside.any() else 0.0,
                    "mean": float(own.sum()),
                    "se": float(np.sqrt(np.square(own - (until_last - until_first)).sum())),
                    "se_poisson": float(np.sqrt(np.square(1 / at_risk[at[inside]]).sum())),
                }
            )
        return pd.DataFrame(spans)

    def trend(self) -> dict:
        """machines, failures, how many of them came in the earlier and the later half of what their machine
        was watched, trend (closer | apart, by chance or not; untold), p_value, and why_none
        (too_few_failures | too_few_machines) where that is None.
        """
        after = self.hours - (self.begin + self.end)[self.machine] / 2
        failures, later = len(after), int((after > 0).sum())
        told = {
            "machines": len(self.begin),
            "failures": failures,
            "earlier": failures - later,
            "later": later,
            "trend": "untold",
            "p_value": None,
            "why_none": "",
        }
        by_machine = np.bincount(self.machine, after)
        if failures < FEWEST_FAILURES:
            return told | {"why_none": "too_few_failures"}
        if np.count_nonzero(by_machine) < FEWEST_MACHINES:
            return told | {"why_none": "too_few_machines"}
        z = by_machine.sum() / np.sqrt(np.square(by_machine).sum())
        return told | {"trend": "closer" if z > 0 else "apart", "p_value": float(2 * stats.norm.sf(abs(z)))}
