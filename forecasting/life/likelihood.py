"""The likelihood of a fleet's lives under the life model, position by position, with its gradient.

    Λ = z · (wear + ageing) + early

A position's luck z is shared by all its lives and is summed out over the values it may have. What ended a
life for no known cause ended it by this hazard or by the rate of other removals. A life adds
d · log λ(exit) − [Λ(exit) − Λ(entry)], λ a day. Linear in lives: rows stand sorted by position and are taken
in blocks of whole positions, which keeps what is computed in the cache.
"""

from dataclasses import dataclass, field, replace
from itertools import pairwise
from typing import NamedTuple

import numpy as np

from . import slopes
from .first_fills import FirstFills
from .hazards import TINY, Clock, Early, log_of
from .laws import Laws
from .luck import Luck, log_sum
from .parameters import Layout
from .rows import Rows

BLOCK = 8192  # rows computed at once


@dataclass(frozen=True)
class Likelihood:
    """The likelihood of `rows` under vectors theta ordered by `layout`.

    `beginnings` (value of luck × place) is the log weight of each value of luck, for what the age reached by
    the first life of each place tells (see `beginnings`); None: nothing is made of that. `first_fills` adds
    what is known of the machines' first hoses.
    """

    rows: Rows
    layout: Layout
    beginnings: np.ndarray | None = None
    first_fills: FirstFills | None = None
    blocks: list["PlaceBlock"] = field(init=False, repr=False)

    def __post_init__(self) -> None:
        first_of_place = np.flatnonzero(np.diff(self.rows.place, prepend=-1))
        cuts = [0]
        while cuts[-1] < len(first_of_place):
            last_row = first_of_place[cuts[-1]] + BLOCK
            cuts.append(max(int(np.searchsorted(first_of_place, last_row)), cuts[-1] + 1))
        ends = np.append(first_of_place, len(self.rows))
        blocks = [
            PlaceBlock(self.rows.some(slice(ends[low], ends[high])), self.layout, slice(low, high))
            for low, high in pairwise(cuts)
        ]
        object.__setattr__(self, "blocks", blocks)

    def with_beginnings(self, beginnings: np.ndarray | None) -> "Likelihood":
        return replace(self, beginnings=beginnings)

    def of_block(self, block: "PlaceBlock") -> np.ndarray | None:
        return None if self.beginnings is None else self.beginnings[:, block.places]

    def value(self, theta: np.ndarray) -> float:
        return float(self.by_place(theta).sum())

    def by_place(self, theta: np.ndarray) -> np.ndarray:
        """The log-likelihood of each place."""
        told = [block.by_place(theta, self.of_block(block)) for block in self.blocks]
        by_place = np.concatenate(told) if told else np.zeros(0)
        if self.first_fills is not None:  # at most one of a place
            by_place[self.first_fills.rows.place] += self.first_fills.values(theta, self.layout)
        return by_place

    def posterior(self, theta: np.ndarray) -> np.ndarray:
        """The chance of each value of luck (row) at each place (column), given all its lives."""
        told = [block.posterior(theta, self.of_block(block)) for block in self.blocks]
        return (
            np.concatenate(told, axis=1) if told else np.zeros((len(Luck.of(theta, self.layout).values), 0))
        )

    def expected(self, theta: np.ndarray, within_hours: float = np.inf) -> np.ndarray:
        """Failures to be expected of each row while watched: see `PlaceBlock.expected`."""
        told = [block.expected(theta, self.of_block(block), within_hours) for block in self.blocks]
        return np.concatenate(told) if told else np.zeros(0)

    def value_and_gradient(self, theta: np.ndarray) -> tuple[float, np.ndarray]:
        value, gradient = 0.0, np.zeros(len(theta))
        for block in self.blocks:
            value += block.add_slopes(theta, self.of_block(block), gradient)
        if self.first_fills is not None:
            value += self.first_fills.add_slopes(theta, self.layout, gradient)
        return value, gradient


class Times(NamedTuple):
    """On one clock: the exit of all rows, the entry of those entered late, the exit of those that ended."""

    exit: np.ndarray
    entry: np.ndarray
    end: np.ndarray


class Slopes(NamedTuple):
    """A hazard and its slopes by the parameters of its rows: at exit, at late entry; its rate at the end."""

    exit: tuple[np.ndarray, ...]
    entry: tuple[np.ndarray, ...]
    rate: tuple[np.ndarray, ...]


class PlaceBlock:
    """The rows of some whole places, computed at once; `places` is which."""

    def __init__(self, rows: Rows, layout: Layout, places: slice) -> None:
        self.rows, self.layout, self.places = rows, layout, places
        self.starts = np.flatnonzero(np.diff(rows.place, prepend=-1))
        self.local = rows.place - places.start
        self.ends = np.flatnonzero(rows.event > 0)
        self.late = np.flatnonzero((rows.entry_hours > 0) | (rows.entry_days > 0))
        self.found = np.flatnonzero(rows.found)
        self.hours = Times(rows.exit_hours, rows.entry_hours[self.late], rows.exit_hours[self.ends])
        self.log_hours = Times(*map(log_of, self.hours))
        exit_days = log_of(rows.exit_days)
        self.log_days = Times(exit_days, log_of(rows.entry_days[self.late]), exit_days[self.ends])

    def posterior(self, theta: np.ndarray, beginnings: np.ndarray | None) -> np.ndarray:
        luck, laws = Luck.of(theta, self.layout), Laws.of(theta, self.layout, self.rows)
        return log_sum(self._by_luck(luck, laws, beginnings)[0])[1]

    def by_place(self, theta: np.ndarray, beginnings: np.ndarray | None) -> np.ndarray:
        rows = self.rows
        luck, laws = Luck.of(theta, self.layout), Laws.of(theta, self.layout, rows)
        by_luck, lasting_entry = self._by_luck(luck, laws, beginnings)
        told = log_sum(by_luck)[0]
        if beginnings is not None:
            chance_found = log_sum(self._when_found(luck, lasting_entry, beginnings))[0]
            np.subtract.at(told, self.local[self.found], chance_found)
        early = laws.of_early(rows.exit_hours)
        early[self.late] -= laws.some(self.late).of_early(rows.entry_hours[self.late])
        return told - np.add.reduceat(early, self.starts)

    def expected(
        self, theta: np.ndarray, beginnings: np.ndarray | None, within_hours: float = np.inf
    ) -> np.ndarray:
        """The hazard that each row was watched through, luck known only from what its place had seen before;
        only of its first `within_hours`.

        Failures less this sum to zero on average in any group of rows, however luck differs: the compensator
        of a counting process. Rows of a place must stand in the order of time.
        Source: Andersen, Borgan, Gill & Keiding, Statistical Models Based on Counting Processes (1993), II.
        """
        rows, late, ends = self.rows, self.late, self.ends
        luck, laws = Luck.of(theta, self.layout), Laws.of(theta, self.layout, rows)
        entry = np.zeros(len(rows))
        entry[late] = laws.some(late).lasting(rows.entry_hours[late], rows.entry_days[late])
        watched = laws.lasting(rows.exit_hours, rows.exit_days) - entry
        of_row = -luck.values[:, None] * watched
        of_row[:, ends] += np.log(np.maximum(self._rates(luck, laws), TINY))
        before = np.cumsum(of_row, axis=1) - of_row
        before -= before[:, self.starts][:, self.local]
        before += luck.log_chances[:, None]
        if beginnings is not None:
            first = np.zeros_like(before)
            first[:, self.found] = -luck.values[:, None] * entry[self.found]
            reached = np.cumsum(first, axis=1)
            before += reached - (reached - first)[:, self.starts][:, self.local]
            before += beginnings[:, self.local]
        told = log_sum(before)[1]
        span = rows.exit_hours - rows.entry_hours
        part = np.clip((within_hours - rows.entry_hours) / np.where(span > 0, span, 1.0), 0.0, 1.0)
        hours = rows.entry_hours + part * span
        days = rows.entry_days + part * (rows.exit_days - rows.entry_days)
        watched = laws.lasting(hours, days) - entry
        early = laws.of_early(hours) - laws.of_early(rows.entry_hours)
        return early - np.log((told * np.exp(-luck.values[:, None] * watched)).sum(axis=0))

    def add_slopes(self, theta: np.ndarray, beginnings: np.ndarray | None, gradient: np.ndarray) -> float:
        """The log-likelihood of the block; its slopes are added to `gradient`."""
        rows, late, ends = self.rows, self.late, self.ends
        luck, laws = Luck.of(theta, self.layout), Laws.of(theta, self.layout, rows)
        used = rows.hours_per_day[ends]
        wear = self._slopes(laws.wear, self.log_hours, used)
        age = self._slopes(laws.age, self.log_days, 1.0) if laws.age else None
        early = self._slopes(laws.early, self.hours, used) if laws.early else None

        lasting_exit, lasting_rate, other = wear.exit[0], wear.rate[0], rows.other_rate[ends]
        lasting_entry = np.zeros(len(rows))
        lasting_entry[late] = wear.entry[0]
        if age:
            lasting_exit, lasting_rate = lasting_exit + age.exit[0], lasting_rate + age.rate[0]
            lasting_entry[late] += age.entry[0]
        if early:
            other = other + early.rate[0]
        rate = luck.values[:, None] * lasting_rate + other
        by_luck, watched = self._summed(luck, rate, lasting_exit, lasting_entry, beginnings)
        told, share = log_sum(by_luck)
        value = told.sum()

        mean_luck = (luck.values @ share)[self.local]
        of_end = share[:, self.local[ends]] / rate
        by_rate = luck.values @ of_end
        by_other = of_end.sum(axis=0)
        by_exit, by_entry = -mean_luck, mean_luck.copy()
        by_value = of_end @ lasting_rate - share @ watched
        by_log_chance = share.sum(axis=1)
        if beginnings is not None:
            log_found, share_found = log_sum(self._when_found(luck, lasting_entry, beginnings))
            value -= log_found.sum()
            by_entry[self.found] = luck.values @ share_found
            by_value += share_found @ lasting_entry[self.found]
            by_log_chance = by_log_chance - share_found.sum(axis=1)
        luck.add_slopes(gradient, self.layout, by_value, by_log_chance)

        by_entry = by_entry[late]
        where = gradient, theta, self.layout, rows
        through = by_exit, by_entry, by_rate
        slopes.add_wear(*where, *(self._of_rows(through, wear, one) for one in (1, 2, 3)))
        if age:
            slopes.add_age(*where, *(self._of_rows(through, age, one) for one in (1, 2)))
        if early:
            value += early.entry[0].sum() - early.exit[0].sum()
            through = np.full(len(rows), -1.0), np.ones(len(late)), by_other
            slopes.add_early(*where, *(self._of_rows(through, early, one) for one in (1, 2)))
        return float(value)

    def _slopes(self, law: Clock | Early, times: "Times", used: np.ndarray | float) -> "Slopes":
        """A law's hazard where it matters; `used` turns its rate into one a day."""
        exit, entry, end = times
        rate = law.some(self.ends).rate_slopes(end)
        return Slopes(
            law.hazard_slopes(exit),
            law.some(self.late).hazard_slopes(entry),
            tuple(used * one for one in rate),
        )

    def _by_luck(
        self, luck: Luck, laws: Laws, beginnings: np.ndarray | None
    ) -> tuple[np.ndarray, np.ndarray]:
        """Log-likelihood of wear and ageing by value of luck and place, and their hazard at entry."""
        rows, late = self.rows, self.late
        entry = np.zeros(len(rows))
        entry[late] = laws.some(late).lasting(rows.entry_hours[late], rows.entry_days[late])
        exit = laws.lasting(rows.exit_hours, rows.exit_days)
        return self._summed(luck, self._rates(luck, laws), exit, entry, beginnings)[0], entry

    def _rates(self, luck: Luck, laws: Laws) -> np.ndarray:
        """The rate a day of what may have ended the rows of `ends`, by value of luck and row."""
        rows, of_ends = self.rows.some(self.ends), laws.some(self.ends)
        lasting = of_ends.lasting_rate(rows.exit_hours, rows.exit_days, rows.hours_per_day)
        other = rows.other_rate + rows.hours_per_day * of_ends.early_rate(rows.exit_hours)
        return luck.values[:, None] * lasting + other

    def _summed(self, luck: Luck, rate, lasting_exit, lasting_entry, beginnings):
        """The log of luck's chance and its lives' likelihood by place, and the hazard watched there.

        The first life of a place that was there when the register began counts from zero here: the weight of
        each luck, given the age reached, is then divided out as a whole (`_when_found`).
        """
        watched = lasting_exit - lasting_entry
        if beginnings is not None:
            watched[self.found] = lasting_exit[self.found]
        watched = np.add.reduceat(watched, self.starts)
        by_luck = -luck.values[:, None] * watched
        of_place = self.local[self.ends]
        log_rate = np.log(np.maximum(rate, TINY))
        for number in range(len(by_luck)):
            by_luck[number] += np.bincount(of_place, weights=log_rate[number], minlength=by_luck.shape[1])
        by_luck += luck.log_chances[:, None]
        if beginnings is not None:
            by_luck += beginnings
        return by_luck, watched

    def _when_found(self, luck: Luck, lasting_entry: np.ndarray, beginnings: np.ndarray) -> np.ndarray:
        """Log weight of each value of luck at the places of `found`: there, and unfailed until then."""
        reached = luck.values[:, None] * lasting_entry[self.found]
        return luck.log_chances[:, None] - reached + beginnings[:, self.local[self.found]]

    def _of_rows(self, through, clocks: Slopes, one: int) -> np.ndarray:
        """Slope of the log-likelihood by one parameter of each row: through exit, entry and rate."""
        by_exit, by_entry, by_rate = through
        total = by_exit * clocks.exit[one]
        total[self.late] += by_entry * clocks.entry[one]
        total[self.ends] += by_rate * clocks.rate[one]
        return total
