"""Machines that share something exchange plans, two at a time, where both together then cost less.

Each machine's plans are the cheapest ones at prices of what is shared: those by which the best price was
found, and that one raised and lowered by chance, of one fixed seed. So near the best price a machine finds
the plans that are worth nearly as much as its best and take of other days.
"""

from dataclasses import dataclass

import numpy as np

from .paths import cheapest_stops
from .prices import Priced
from .problem import SLACK, StopProblem

SEED = 4
PRICES, SPREAD = 60, (0.15, 0.3, 0.45)  # how many prices are tried, and how far they lie from the best
ROUNDS, PARTNERS = 3, 15


@dataclass(frozen=True, slots=True)
class Plans:
    """The k plans of one machine: `stop` (k, its assemblies), `cost` (k,) and what they `use` (k, S)."""

    stop: np.ndarray
    cost: np.ndarray
    use: np.ndarray


def exchange_plans(together: StopProblem, priced: Priced, stop: np.ndarray) -> np.ndarray:
    """A choice (n,) that costs no more than `stop`, within the same limits; `priced` has the best price."""
    rng = np.random.default_rng(SEED)
    plans = _list_plans(together, priced, stop, rng)
    left = together.shared.most - together.shared.asked(stop)
    now = np.zeros(len(plans), dtype=int)  # the first of each is the one it has
    for _ in range(ROUNDS):
        partners = rng.integers(0, len(plans), (len(plans), PARTNERS))
        for one, others in enumerate(partners.tolist()):
            for other in others:
                if other != one:
                    _exchange(plans, now, one, other, left)
    return np.concatenate([mine.stop[at] for mine, at in zip(plans, now, strict=True)])


def _list_plans(
    together: StopProblem, priced: Priced, stop: np.ndarray, rng: np.random.Generator
) -> list[Plans]:
    """The plans of each machine that keep to its own labour, first the one in `stop`."""
    shared, machines = together.shared, len(together.setup)
    price, tried = priced.price, [stop, np.full(len(stop), together.width), *priced.tried]
    for number in range(PRICES):
        moved = rng.normal(0.0, SPREAD[number % len(SPREAD)], len(price))
        tried.append(cheapest_stops(together.priced(price * np.exp(moved))))
    costs = np.array([together.machine_costs(one) for one in tried])
    keeps = np.array([(together.work(one) <= together.labour + SLACK).all(axis=1) for one in tried])
    stops, spans = np.array(tried), len(shared.most)
    plans = []
    for machine in range(machines):
        rows = together.rows(machine)
        mine = stops[:, rows]
        _, first = np.unique(mine, axis=0, return_index=True)
        kept = np.sort(first[keeps[first, machine] | (first == 0)])
        pairs = slice(*np.searchsorted(shared.row, [rows.start, rows.stop]))
        taken = mine[kept][:, shared.row[pairs] - rows.start] == shared.stop[pairs]
        plan, pair = np.nonzero(taken)
        use = np.zeros((len(kept), spans))
        np.add.at(use, (plan, shared.span[pairs][pair]), shared.amount[pairs][pair])
        plans.append(Plans(mine[kept], costs[kept, machine], use))
    return plans


def _exchange(plans: list[Plans], now: np.ndarray, one: int, other: int, left: np.ndarray) -> None:
    """Gives two machines their cheapest plans that fit together, and keeps `now` and what is `left`."""
    mine, theirs = plans[one], plans[other]
    cost = mine.cost[:, None] + theirs.cost
    better = np.nonzero(cost < cost[now[one], now[other]] - SLACK)
    if not len(better[0]):
        return
    room = left + mine.use[now[one]] + theirs.use[now[other]]
    tight = np.flatnonzero(mine.use.max(axis=0) + theirs.use.max(axis=0) > room + SLACK)
    use = mine.use[better[0]][:, tight] + theirs.use[better[1]][:, tight]
    fits = np.flatnonzero((use <= room[tight] + SLACK).all(axis=1))
    if len(fits):
        best = fits[cost[better][fits].argmin()]
        now[one], now[other] = better[0][best], better[1][best]
        left[:] = room - mine.use[now[one]] - theirs.use[now[other]]
