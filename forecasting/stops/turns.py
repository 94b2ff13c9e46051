"""Machines take in turn of what they share: each the best stops found within what the others left.

What is left of a site's labour in a span of days is labour of the one window that a machine has in it. So its
sets of stops are searched as if it were alone (`sets`), and their best filling is taken: what it could still
gain is less than what hangs on the order of the machines. Where a part binds, or a span holds several of its
stops, those assemblies stand back that lose least by it.
"""

from dataclasses import replace

import numpy as np

from .paths import EXACT, cheapest_paths, cheapest_stops
from .problem import SLACK, Shared, StopProblem
from .sets import narrow_stops
from .solver import solve_stops

GAP, NODES = 1e-3, 200  # of one machine's choice; how it fits the others' matters more


def take_in_turn(priced: StopProblem) -> np.ndarray:
    """The choice (n,) where machines take one by one at its price what is shared.

    Those go first whose changeouts gain most a minute.
    """
    wished = cheapest_stops(priced)
    stop, left = np.full(len(wished), priced.width), priced.shared.most.copy()
    gain = (priced.outside - priced.cost.min(axis=1)) / priced.minutes
    most_gain = np.full(len(priced.setup), -np.inf)
    np.maximum.at(most_gain, priced.machine, gain)
    for machine in np.argsort(-most_gain, kind="stable").tolist():
        rows, one = priced.rows(machine), _one_machine(priced, machine, np.maximum(left, 0.0))
        taken: np.ndarray | None = wished[rows]
        if (one.work(wished[rows]) > one.labour + SLACK).any() or one.shared.exceeded(wished[rows]).any():
            taken = _choose_within(one)
        if taken is not None:
            stop[rows] = taken
            left -= one.shared.asked(taken)
    return stop


def take_what_is_left(together: StopProblem, stop: np.ndarray) -> np.ndarray:
    """The choice (n,) after each machine that could gain by it has looked at what nobody took."""
    stop = stop.copy()
    left = together.shared.most - together.shared.asked(stop)
    for machine in np.flatnonzero(_could_gain(together, stop, np.maximum(left, 0.0))).tolist():
        rows, one = together.rows(machine), _one_machine(together, machine, left)
        own = one.shared.asked(stop[rows])
        one = _one_machine(together, machine, np.maximum(left + own, 0.0))
        taken = _choose_within(one)
        if taken is not None and one.machine_costs(taken)[0] < one.machine_costs(stop[rows])[0]:
            left += own - one.shared.asked(taken)
            stop[rows] = taken
    return stop


def _could_gain(together: StopProblem, stop: np.ndarray, left: np.ndarray) -> np.ndarray:
    """Which machines (M,) find a cheaper choice in their own and in what is left, each as if it were the only
    one to look, and with no heed to what several of its stops share."""
    shared, machines = together.shared, len(together.setup)
    machine = together.machine[shared.row]
    taken = stop[shared.row] == shared.stop
    most = np.tile(left, (machines, 1))
    np.add.at(most, (machine[taken], shared.span[taken]), shared.amount[taken])
    alone, _ = _apart(together, most)
    wished, least = cheapest_paths(alone)
    short = np.flatnonzero(np.any(alone.work(wished) > alone.labour + SLACK, axis=1))
    if len(short):
        narrowed = narrow_stops(alone.of_machines(short), wished[np.isin(together.machine, short)], GAP)
        least[short] = np.where(narrowed.listed, narrowed.cost, -np.inf)
    now = together.machine_costs(stop)
    return least < now - EXACT * (1 + np.abs(now))


def _one_machine(together: StopProblem, machine: int, left: np.ndarray) -> StopProblem:
    """The problem of one machine with what is left of what is shared."""
    one = together.of_machines(np.array([machine]))
    return replace(one, shared=replace(one.shared, most=left))


def _choose_within(one: StopProblem) -> np.ndarray | None:
    """The choice (n,) of one machine within what is left of what it shares; None where none was found.

    While it takes too much of a span, the assembly that loses least for what it frees is kept out of it.
    """
    alone, is_labour = _apart(one, one.shared.most[None])
    shared, cost = one.shared.of_spans(~is_labour[0]), alone.cost.copy()
    while True:
        taken = _choose_alone(replace(alone, cost=cost), shared)
        if taken is None or not (over := shared.exceeded(taken)).any():
            return taken
        span = np.flatnonzero(over)[0]
        drawn = shared.span == span
        without = cost.copy()
        without[shared.row[drawn], shared.stop[drawn]] = np.inf
        takes = np.flatnonzero(drawn & (taken[shared.row] == shared.stop))
        row = shared.row[takes]
        loss = np.minimum(without[row].min(axis=1), one.outside[row]) - cost[row, taken[row]]
        excess = shared.asked(taken)[span] - shared.most[span]
        kept_out = row[(loss / np.minimum(shared.amount[takes], excess)).argmin()]
        cost[kept_out] = without[kept_out]


def _apart(together: StopProblem, most: np.ndarray) -> tuple[StopProblem, np.ndarray]:
    """Each machine by itself with no more than `most` (M, S) of each span for any one changeout, and which
    spans (M, S) are labour that it draws on in one window only, on all its days: that window has no more
    labour than they."""
    shared = together.shared
    machine = together.machine[shared.row]
    limit = most[machine, shared.span]
    cost, too_much = together.cost.copy(), shared.amount > limit + SLACK
    cost[shared.row[too_much], shared.stop[too_much]] = np.inf
    drawn = np.unique((machine * most.shape[1] + shared.span) * together.width + shared.stop)
    stops = np.bincount(drawn // together.width, minlength=most.size).reshape(most.shape)
    first, last = np.full(most.shape, together.width), np.full(most.shape, -1)
    window, place = together.window[machine, shared.stop], (machine, shared.span)
    np.minimum.at(first, place, window)
    np.maximum.at(last, place, window)
    days = np.array([np.bincount(one, minlength=together.width + 1) for one in together.window])
    all_days = stops == np.take_along_axis(days, first, axis=1)
    is_labour = np.isnan(shared.more_on) & (first == last) & all_days
    labour, of_stop = together.labour.copy(), is_labour[machine, shared.span]
    np.minimum.at(labour, (machine[of_stop], shared.stop[of_stop]), limit[of_stop])
    return replace(together, cost=cost, labour=labour, shared=Shared.nothing()), is_labour


def _choose_alone(one: StopProblem, shared: Shared) -> np.ndarray | None:
    """A good choice (n,) of one machine within its labour; None where none was found. Where even the cheapest
    takes too much of what is `shared`, that one, with no heed to labour."""
    least = np.where(np.isfinite(one.cost), one.minutes[:, None], np.inf).min(axis=0)
    fitting = np.isfinite(one.setup[0]) & (least <= one.labour[0] + SLACK)
    open_stops = np.flatnonzero(np.isin(one.window[0], one.window[0, fitting]))
    if not len(open_stops):
        return np.full(len(one.machine), one.width)
    number, alone = np.append(open_stops, one.width), one.of_stops(open_stops)
    wished = cheapest_stops(alone)
    fits = (alone.work(wished) <= alone.labour + SLACK).all()
    if fits or shared.exceeded(number[wished]).any():
        return number[wished]
    narrowed = narrow_stops(alone, wished, GAP)
    if narrowed.listed[0]:
        return number[narrowed.stop]
    found = solve_stops(alone, GAP, NODES)[0]
    return None if found is None else number[found]
