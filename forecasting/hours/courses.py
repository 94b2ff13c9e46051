"""Lines through dated points, one course per group, looked up for many at once."""

from bisect import bisect_right
from dataclasses import dataclass

import numpy as np

# A group's days never reach into the next group's: 2**20 days are 2,800 years, centred on 1970.
_SPAN = 2**20


@dataclass(frozen=True, slots=True)
class Course:
    """A quantity over whole days for groups numbered from 0: straight between points, level before the
    first, and on by the group's `slope_after` behind the last."""

    starts: np.ndarray
    keys: np.ndarray
    days: np.ndarray
    values: np.ndarray
    slopes: np.ndarray

    @classmethod
    def through(
        cls, group: np.ndarray, day: np.ndarray, value: np.ndarray, slope_after: np.ndarray
    ) -> "Course":
        """The course through points sorted by group and day; `slope_after` has one entry per group."""
        starts = np.searchsorted(group, np.arange(len(slope_after) + 1))
        step = np.diff(day)
        inner = (np.diff(group) == 0) & (step > 0)
        slopes = np.zeros(len(day))
        slopes[:-1][inner] = np.diff(value)[inner] / step[inner]
        last = starts[1:] - 1
        there = last >= starts[:-1]
        slopes[last[there]] = slope_after[there]
        return cls(starts, _keys(group, day), np.asarray(day), np.asarray(value), slopes)

    def at(self, group: np.ndarray, day: np.ndarray) -> np.ndarray:
        """The value of each group on each day; 0 for a group without points."""
        group, day = np.broadcast_arrays(group, day)
        first = self.starts[group]
        there = self.starts[group + 1] > first
        if not there.any():
            return np.zeros(group.shape)
        left = np.searchsorted(self.keys, _keys(group, day), side="right") - 1
        point = np.where(there, np.maximum(left, first), 0)
        run = np.maximum(day - self.days[point], 0)  # level before the first point
        return np.where(there, self.values[point] + self.slopes[point] * run, 0.0)

    @property
    def last_days(self) -> np.ndarray:
        """The day of each group's last point; 0 for a group without points."""
        there = np.diff(self.starts) > 0
        days = np.zeros(len(there), dtype=np.int64)
        days[there] = self.days[self.starts[1:][there] - 1]
        return days


def _keys(group: np.ndarray, day: np.ndarray) -> np.ndarray:
    return np.asarray(group, dtype=np.int64) * _SPAN + np.asarray(day, dtype=np.int64) + _SPAN // 2


def in_order(group: np.ndarray, day: np.ndarray, value: np.ndarray, most_per_day: float) -> np.ndarray:
    """Which points to keep so that no group's value falls, or rises by more than `most_per_day`.

    Points are sorted by group and day. Of a group that holds together all are kept; of another the most
    that do, so that one slip of the pen costs itself and not its neighbours.
    """
    keep = np.ones(len(day), dtype=bool)
    rise, room = np.diff(value), most_per_day * np.diff(day)
    broken = (np.diff(group) == 0) & ((rise < 0) | (rise > room))
    for one in np.unique(group[1:][broken]):
        rows = np.arange(np.searchsorted(group, one), np.searchsorted(group, one, side="right"))
        keep[rows] = False
        keep[rows[_longest_chain(value[rows], most_per_day * day[rows] - value[rows])]] = True
    return keep


def _longest_chain(first: np.ndarray, second: np.ndarray) -> list[int]:
    """The rows of a longest run in which neither quantity falls (patience sorting, n log n).

    Value and room left (most_per_day × day − value) both rise exactly where a point may follow another.
    """
    order = np.lexsort((second, first))
    tails: list[float] = []
    tail_rows: list[int] = []
    before = np.full(len(first), -1)
    for row in order:
        place = bisect_right(tails, second[row])
        before[row] = tail_rows[place - 1] if place else -1
        tails[place : place + 1] = [second[row]]
        tail_rows[place : place + 1] = [int(row)]
    chain = [tail_rows[-1]]
    while before[chain[-1]] >= 0:
        chain.append(int(before[chain[-1]]))
    return chain[::-1]
