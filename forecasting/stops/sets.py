"""Machines that paths do not settle: the sets of stops that could be cheapest, and what is left to solve.

A machine uses few of its stops at once. Every set of stops that could cost less than a choice at hand is
found along the paths. A price on the labour of its stops raises what a set costs at least, and filling its
stops at that price finds better choices; what then could still be cheaper is little.

Source: Lagrangian relaxation with the step of Held, Wolfe & Crowder (1974).
"""

from dataclasses import dataclass

import numpy as np

from .paths import step_costs
from .problem import SLACK, StopProblem, stretches

ROUNDS, FILL_EVERY = 20, 5  # how often a price is moved, and how often the stops are filled at it
GLANCE = 6  # how often it is moved to see whether a set is worth more
MOST_SETS = 1_000  # of one machine; with more of them the solver is as fast
BLOCK = 200_000  # assemblies in sets looked at together


@dataclass(frozen=True, slots=True)
class Narrowed:
    """What is known of each machine after its sets of stops were looked at.

    `stop` (n,) is the best choice found within the labour, at `cost` (M,), and `open` (n, W) says which stop
    of an assembly could be in one that costs less than `below` (M,); None is open where all were listed and
    nothing could. Where `listed` (M,) is false there were too many sets, and everything is open.
    """

    stop: np.ndarray
    cost: np.ndarray
    below: np.ndarray
    open: np.ndarray
    listed: np.ndarray


def narrow_stops(problem: StopProblem, wished: np.ndarray, gap: float) -> Narrowed:
    """What of `problem` is left to solve to a relative `gap` of what is gained.

    `problem` shares nothing; `wished` (n,) is the choice with no heed to labour.
    """
    search = _Search(problem)
    used = problem.used(wished)
    machine, more = np.nonzero(np.isfinite(problem.setup) & (problem.window == np.arange(problem.width)))
    beside = used[machine] | (problem.window[machine] == more[:, None])
    for one in search.sets_of(machine, beside):
        one.find_prices(gap, ROUNDS, FILL_EVERY)
    machine, sets, listed = _list_sets(problem, search.below(gap))
    least = [one.find_prices(gap, GLANCE, ROUNDS) for one in search.sets_of(machine, sets)]
    kept = np.concatenate([np.empty(0), *least]) < search.below(gap)[machine]
    priced = search.sets_of(machine[kept], sets[kept])
    for one in priced:
        one.find_prices(gap, ROUNDS, FILL_EVERY)
    open_stops = np.repeat(~listed[problem.machine, None], problem.width, axis=1)
    for one in priced:
        one.open(open_stops, search.below(gap))
    return Narrowed(search.stop, search.cost, search.below(gap), open_stops, listed)


def _list_sets(problem: StopProblem, below: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Every set of stops that costs less than `below` (M,), labour left aside: its machine (s,) and stops
    (s, W); and of which machines (M,) all are listed."""
    steps, width = step_costs(problem), problem.width
    onward = np.zeros((len(below), width + 2))  # the least cost from a place to the end
    for by in range(width, -1, -1):
        onward[:, by] = (steps[:, by, by + 1 :] + onward[:, by + 1 :]).min(axis=1)
    listed = np.ones(len(below), dtype=bool)
    machine, place, cost = np.arange(len(below)), np.zeros(len(below), int), np.zeros(len(below))
    sets = np.zeros((len(below), width), dtype=bool)
    machines_done, sets_done = [], []
    while len(machine):
        costs = cost[:, None] + steps[machine, place]
        one, to = np.nonzero(costs + onward[machine] < below[machine][:, None])
        ended = to == width + 1
        machines_done.append(machine[one[ended]])
        sets_done.append(sets[one[ended]])
        one, to = one[~ended], to[~ended]
        machine, place, cost, sets = machine[one], to, costs[one, to], sets[one]
        sets[np.arange(len(one)), to - 1] = True
        listed &= np.bincount(machine, minlength=len(below)) <= MOST_SETS
        kept = listed[machine]
        machine, place, cost, sets = machine[kept], place[kept], cost[kept], sets[kept]
    machine, sets = np.concatenate(machines_done), np.concatenate(sets_done)
    listed &= np.bincount(machine, minlength=len(below)) <= MOST_SETS
    return machine[listed[machine]], sets[listed[machine]], listed


class _Search:
    """The best choice so far of each machine: `stop` (n,) at `cost` (M,); at first nothing is done."""

    def __init__(self, problem: StopProblem) -> None:
        self.problem = problem
        self.stop = np.full(len(problem.machine), problem.width)
        self.left = problem.machine_costs(self.stop)
        self.cost = self.left.copy()

    def below(self, gap: float) -> np.ndarray:
        """What a choice must cost less than (M,) to be worth a search."""
        return self.cost - gap * (self.left - self.cost)

    def sets_of(self, machine: np.ndarray, sets: np.ndarray) -> "list[_Sets]":
        """The sets (s, W) of stops of each `machine` (s,) in their order, some at a time."""
        size = np.bincount(self.problem.machine, minlength=len(self.cost))[machine].cumsum()
        blocks = np.split(np.arange(len(machine)), np.flatnonzero(np.diff(size // BLOCK)) + 1)
        return [_Sets(self, machine[block], sets[block]) for block in blocks if len(block)]


class _Sets:
    """Sets of stops, each with the pairs (p,) of it and its machine's assemblies.

    `stops` (s, K) are the stops of each set, the last ones W where it has fewer, and `window` (s, K + 1) says
    which of them has the set-up, the labour and the price of all of its window; the last column of `cost`
    (p, K + 1) is that of no stop.
    """

    def __init__(self, search: _Search, machine: np.ndarray, sets: np.ndarray) -> None:
        problem = search.problem
        most = max(int(sets.sum(axis=1).max()), 1)
        self.search, self.machine = search, machine
        self.stops = np.sort(np.where(sets, np.arange(problem.width), problem.width), axis=1)[:, :most]
        edges = np.searchsorted(problem.machine, [machine, machine + 1])
        self.row, self.of = stretches(edges), np.repeat(np.arange(len(machine)), edges[1] - edges[0])
        self.starts = np.flatnonzero(np.diff(self.of, prepend=-1))
        self.minutes = problem.minutes[self.row]
        window = np.column_stack([problem.window, np.full(len(problem.setup), problem.width)])
        window, every = window[machine[:, None], self.stops], np.arange(most)
        begins = np.diff(window, axis=1, prepend=-1) > 0
        first = np.maximum.accumulate(np.where(begins, every, 0), axis=1)
        self.window = np.column_stack([first, np.full(len(machine), most)])
        self.setup = np.column_stack([problem.setup, np.zeros(len(problem.setup))])[
            machine[:, None], self.stops
        ]
        labour = (
            SLACK
            + np.column_stack([problem.labour, np.zeros(len(problem.setup))])[machine[:, None], self.stops]
        )
        self.labour = np.where(first == every, labour, 0.0)
        nowhere = np.full(len(problem.machine), np.inf)
        cost = np.column_stack([problem.cost, nowhere])[self.row[:, None], self.stops[self.of]]
        cost[self.minutes[:, None] > labour[self.of]] = np.inf
        self.cost = np.column_stack([cost, problem.outside[self.row]])
        self.least = np.full(len(machine), -np.inf)
        self.best_price = np.zeros(self.stops.shape)

    def priced(self, price: np.ndarray) -> np.ndarray:
        cost = self.cost.copy()
        each_day = np.take_along_axis(price, self.window[:, :-1], axis=1)
        cost[:, :-1] += each_day[self.of] * self.minutes[:, None]
        return cost

    def find_prices(self, gap: float, rounds: int, fill_every: int) -> np.ndarray:
        """What each set (s,) costs at least; its price is moved while it could be below, its stops filled."""
        price, fixed = np.zeros(self.stops.shape), self.setup.sum(axis=1)
        lent = np.where(np.isfinite(self.labour), self.labour, 0.0)
        for number in range(rounds):
            cost = self.priced(price)
            least = np.add.reduceat(cost.min(axis=1), self.starts) + fixed - (price * lent).sum(axis=1)
            better = least > self.least
            self.least = np.where(better, least, self.least)
            self.best_price = np.where(better[:, None], price, self.best_price)
            if number % fill_every == 0:
                self.fill(cost)
            missing = self.search.below(gap)[self.machine] - self.least
            if (missing <= 0).all():
                break
            work = self.work(cost.argmin(axis=1))
            over = np.where((price <= 0) & (work < self.labour), 0.0, work - self.labour)
            far = np.maximum(self.search.cost[self.machine] - least, 0.0)
            moved = far / np.maximum((over**2).sum(axis=1), SLACK)
            price = np.maximum(price + moved[:, None] * over, 0.0)
        return self.least

    def work(self, at: np.ndarray) -> np.ndarray:
        """Minutes of work (s, K) in each window, with each pair in the `at`-th stop of its set."""
        sets, most = self.stops.shape
        flat = np.bincount(self.of * (most + 1) + self.window[self.of, at], self.minutes, sets * (most + 1))
        return flat.reshape(sets, most + 1)[:, :-1]

    def fill(self, cost: np.ndarray) -> None:
        """Fills the stops of each set at a priced `cost`, who gains most a minute first; keeps the best."""
        gain = (cost[:, -1] - cost[:, :-1].min(axis=1)) / np.maximum(self.minutes, SLACK)
        order = np.lexsort([-gain, self.of])
        count = np.diff(np.append(self.starts, len(order)))
        left, at = self.labour.copy(), np.full(len(order), self.stops.shape[1])
        for place in range(count.max()):
            sets = np.flatnonzero(place < count)
            pair = order[self.starts[sets] + place]
            fits = self.minutes[pair, None] <= left[sets[:, None], self.window[sets, :-1]]
            in_stop = np.where(fits, cost[pair, :-1], np.inf)
            at[pair] = np.column_stack([in_stop, cost[pair, -1]]).argmin(axis=1)
            goes = at[pair] < self.stops.shape[1]
            left[sets[goes], self.window[sets[goes], at[pair[goes]]]] -= self.minutes[pair[goes]]
        used = self.work(at) > 0
        own = np.add.reduceat(self.cost[np.arange(len(at)), at], self.starts)
        costs = own + np.where(used, self.setup, 0.0).sum(axis=1)
        order = np.lexsort([costs, self.machine])
        first = order[np.diff(self.machine[order], prepend=-1) > 0]
        better = np.zeros(len(costs), dtype=bool)
        better[first[costs[first] < self.search.cost[self.machine[first]]]] = True
        pairs = better[self.of]
        chosen = np.column_stack([self.stops, np.full(len(costs), self.search.problem.width)])
        self.search.stop[self.row[pairs]] = chosen[self.of, at][pairs]
        self.search.cost[self.machine[better]] = costs[better]

    def open(self, open_stops: np.ndarray, below: np.ndarray) -> None:
        """Marks in `open_stops` (n, W) each stop that could be in a choice below (M,)."""
        cost = self.priced(self.best_price)
        least = self.least[self.of] - cost.min(axis=1)
        pair, at = np.nonzero(least[:, None] + cost[:, :-1] < below[self.machine[self.of]][:, None])
        open_stops[self.row[pair], self.stops[self.of[pair], at]] = True
