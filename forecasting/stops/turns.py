"""Machines take in turn of what they share: each the best stops found within what the others left.

What is left of a site's labour in a span of days is labour of the one stop that a machine has in it. So its
sets of stops are searched as if it were alone (`sets`), and their best filling is taken: what it could still
gain is less than what hangs on the order of the machines. Where a part binds, or a span holds several of its
stops, those assemblies stand back that lose least by it.
"""

from dataclasses import replace

import numpy as np

from .paths import EXACT, cheapest_stops
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
        rows, one = priced.rows(machine), _one_machine(priced, machine, left)
        taken: np.ndarray | None = wished[rows]
        if (one.work(wished[rows]) > one.labour + SLACK).any() or one.shared.exceeded(wished[rows]).any():
            taken = _choose_within(one)
        if taken is not None:
            stop[rows] = taken
            left = np.maximum(left - one.shared.asked(taken), 0.0)
    return stop


def take_what_is_left(together: StopProblem, stop: np.ndarray) -> np.ndarray:
    """The choice (n,) after each machine that is kept from its best has looked at what nobody took."""
    stop = stop.copy()
    left = np.maximum(together.shared.most - together.shared.asked(stop), 0.0)
    freely = together.machine_costs(cheapest_stops(together))
    dearer = together.machine_costs(stop) > freely + EXACT * (1 + np.abs(freely))
    for machine in np.flatnonzero(dearer).tolist():
        rows, one = together.rows(machine), _one_machine(together, machine, left)
        own = one.shared.asked(stop[rows])
        one = _one_machine(together, machine, left + own)
        taken = _choose_within(one)
        if taken is not None and one.machine_costs(taken)[0] < one.machine_costs(stop[rows])[0]:
            left = np.maximum(left + own - one.shared.asked(taken), 0.0)
            stop[rows] = taken
    return stop


def _one_machine(together: StopProblem, machine: int, left: np.ndarray) -> StopProblem:
    """The problem of one machine with what is left of what is shared."""
    one = together.of_machines(np.array([machine]))
    return replace(one, shared=replace(one.shared, most=left))


def _choose_within(one: StopProblem) -> np.ndarray | None:
    """The choice (n,) of one machine within what is left of what it shares; None where none was found.

    While it takes too much of a span, the assembly that loses least for what it frees is kept out of it.
    """
    labour, shared = _labour_left(one)
    cost, too_much = one.cost.copy(), shared.too_much()
    cost[shared.row[too_much], shared.stop[too_much]] = np.inf
    while True:
        taken = _choose_alone(replace(one, cost=cost, shared=shared), labour)
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


def _labour_left(one: StopProblem) -> tuple[np.ndarray, Shared]:
    """The labour (W,) of each stop of one machine, with what is left of the spans that no other of its stops
    draws on; and the other spans."""
    shared = one.shared
    draws = np.zeros((len(shared.most), one.width), dtype=bool)
    draws[shared.span, shared.stop] = True
    is_labour = np.isnan(shared.more_on) & (draws.sum(axis=1) == 1)
    labour, drawn = one.labour[0].copy(), is_labour[shared.span]
    np.minimum.at(labour, shared.stop[drawn], shared.most[shared.span[drawn]])
    return labour, shared.of_spans(~is_labour)


def _choose_alone(one: StopProblem, labour: np.ndarray) -> np.ndarray | None:
    """A good choice (n,) of one machine within this `labour` (W,), what it shares left aside; None where none
    was found. Where even the cheapest takes too much of what it shares, that one, with no heed to labour."""
    least = np.where(np.isfinite(one.cost), one.minutes[:, None], np.inf).min(axis=0)
    open_stops = np.flatnonzero(np.isfinite(one.setup[0]) & (least <= labour + SLACK))
    if not len(open_stops):
        return np.full(len(one.machine), one.width)
    number = np.append(open_stops, one.width)
    alone = replace(
        one,
        cost=one.cost[:, open_stops],
        setup=one.setup[:, open_stops],
        labour=labour[None, open_stops],
        shared=Shared.nothing(),
    )
    wished = cheapest_stops(alone)
    fits = (alone.work(wished) <= alone.labour + SLACK).all()
    if fits or one.shared.exceeded(number[wished]).any():
        return number[wished]
    narrowed = narrow_stops(alone, wished, GAP)
    if narrowed.listed[0]:
        return number[narrowed.stop]
    found = solve_stops(alone, GAP, NODES)[0]
    return None if found is None else number[found]
