"""What machines share has a price: the one at which plans of all machines, mixed as is cheapest, use it up.

A machine's cheapest plan at a price is a shortest path. It joins the plans that a small program mixes, and
what that says of a unit of each span is the next price, until no plan would better the mix by much. The
program of every assembly in every stop has much the same prices, and takes several times as long.

Source: decomposition by Dantzig & Wolfe (1960), prices smoothed after Wentges (1997); both from memory.
"""

from dataclasses import dataclass

import numpy as np
from scipy import sparse
from scipy.optimize import linprog

from .paths import cheapest_paths
from .problem import SLACK, StopProblem

STEPS = 30  # a price that is a little off costs little
ENOUGH = 1e-4  # of what is gained, by which the mix may lie above what it costs at least
KEPT = 0.5  # of the best price so far in the next one: bare prices of a mix leap from end to end


@dataclass(frozen=True, slots=True)
class Priced:
    """The `price` (S,) of each span, and the choices (n,) of cheapest plans by which it was found."""

    price: np.ndarray
    tried: list[np.ndarray]


@dataclass(frozen=True, slots=True)
class _Plans:
    """One plan of every machine: what each costs (M,) and uses (S, M)."""

    cost: np.ndarray
    use: sparse.csc_array


def price_spans(together: StopProblem) -> Priced:
    """What a unit of each span is worth, where a machine may do parts of several plans."""
    most, opened = together.shared.most, together.opened()
    plans = [_plans(opened, np.full(len(opened.machine), opened.width))]
    best, bound = np.zeros(len(most)), -np.inf
    tried: list[np.ndarray] = []
    for _ in range(STEPS):
        mixed = _mix(plans, most)
        if mixed is None:  # out of memory or time: what is known of the price so far
            break
        cost, dual = mixed
        price = KEPT * best + (1 - KEPT) * dual
        stop, least = cheapest_paths(opened.priced(price))
        proved = least.sum() - price @ (most + SLACK)
        known = any((stop == one).all() for one in tried)
        if known and proved <= bound:  # a filled valley: the next price would be this one again
            break
        if proved > bound:
            best, bound = price, proved
        if cost - bound <= ENOUGH * (opened.outside.sum() - bound):
            break
        if not known:
            plans.append(_plans(opened, stop))
            tried.append(stop)
    return Priced(best, tried)


def _plans(problem: StopProblem, stop: np.ndarray) -> _Plans:
    shared = problem.shared
    taken = stop[shared.row] == shared.stop
    at = shared.span[taken], problem.machine[shared.row[taken]]
    size = len(shared.most), len(problem.setup)
    return _Plans(problem.machine_costs(stop), sparse.coo_array((shared.amount[taken], at), size).tocsc())


def _mix(plans: list[_Plans], most: np.ndarray) -> tuple[float, np.ndarray] | None:
    """What the cheapest mix costs that keeps within `most` (S,), and what a unit more of each span would
    save; None where there is no answer. The first plans use nothing, so that there is a mix."""
    machines = len(plans[0].cost)
    one_each = sparse.hstack([sparse.eye_array(machines)] * len(plans), format="csr")
    found = linprog(
        np.concatenate([each.cost for each in plans]),
        A_ub=sparse.hstack([each.use for each in plans], format="csr"),
        b_ub=most,
        A_eq=one_each,
        b_eq=np.ones(machines),
        method="highs",
    )
    return (float(found.fun), np.maximum(-found.ineqlin.marginals, 0.0)) if found.success else None
