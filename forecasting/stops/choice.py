"""Which stop each assembly is changed in, at least cost within all limits, and how low that could be.

Shortest paths settle every machine whose labour suffices and whose costs have one valley. Where they take
more than there is of what machines share, those that share it are looked at together: it is given a price,
machines take from what is left in turn, and where few are in question the solver looks once more at whatever
could still be better. Of machines that share nothing short the solver sees what paths leave open.
"""

from dataclasses import dataclass, replace

import numpy as np
from scipy import sparse
from scipy.sparse.csgraph import connected_components

from .exchanges import exchange_plans
from .paths import EXACT, cheapest_paths
from .prices import price_spans
from .problem import SLACK, StopProblem
from .sets import narrow_stops
from .solver import relax, solve_stops, write_program
from .turns import take_in_turn, take_what_is_left

MACHINE_GAP, MACHINE_NODES = 1e-4, 2_000
MACHINES = 200  # whose sets of stops are looked at together
# Above this gap, where so many columns of a program of so many are still open, machines are solved together.
TOGETHER_GAP, TOGETHER_NODES, TOGETHER_SIZE, PROGRAM_SIZE = 3e-3, 5, 1_500, 3_000


@dataclass(frozen=True, slots=True)
class Choice:
    """`stop` (n,) is each assembly's stop, W where none; `cost` is the whole's and `bound` a lower one."""

    stop: np.ndarray
    cost: float
    bound: float


def choose_stops(problem: StopProblem) -> Choice:
    """The cheapest stops found for `problem`."""
    if not len(problem.machine):
        return Choice(np.empty(0, int), 0.0, 0.0)
    stop, bounds = cheapest_paths(problem)
    open_still = _unsettled(problem, stop, bounds)
    # What binds somewhere is shared out in all its days; what nowhere binds costs no time.
    binding = np.zeros(len(problem.shared.most), dtype=bool)
    while (over := problem.shared.exceeded(stop)).any() or open_still.any():
        if not over.any():
            _settle(problem, stop, bounds, np.flatnonzero(open_still))
            open_still[:] = False
            continue
        binding |= np.isin(problem.shared.group, problem.shared.group[over])
        limited = replace(problem, shared=problem.shared.of_spans(binding))
        for machines in _sharing_machines(limited, over[binding]):
            of_them = np.isin(problem.machine, machines)
            stop[of_them], least = _share(_sharing_problem(limited, machines))
            # What they cost more together than apart is kept with the first of them.
            bounds[machines[0]] += max(least - bounds[machines].sum(), 0.0)
            open_still[machines] = False
    bound = bounds.sum()
    cost = problem.machine_costs(stop).sum()
    return Choice(stop, float(cost), float(min(bound, cost)))


def _unsettled(problem: StopProblem, stop: np.ndarray, bounds: np.ndarray) -> np.ndarray:
    """Which machines (M,) have too little labour of their own for their shortest path, or costs of more than
    one valley, by which it may not be the cheapest."""
    costs = problem.machine_costs(stop)
    short = np.any(problem.work(stop) > problem.labour + SLACK, axis=1)
    return short | (costs - bounds > EXACT * (1 + np.abs(costs)))


def _settle(problem: StopProblem, stop: np.ndarray, bounds: np.ndarray, machines: np.ndarray) -> None:
    """Puts the choice of these machines, as if they shared nothing, in `stop`, and what it proves in
    `bounds`."""
    apart = replace(problem, shared=problem.shared.nothing())
    for some in _some_at_a_time(machines):
        of_them = np.isin(problem.machine, some)
        stop[of_them], least = _solve_narrowed(apart.of_machines(some), stop[of_them])
        bounds[some] = np.maximum(bounds[some], least)


def _some_at_a_time(machines: np.ndarray) -> list[np.ndarray]:
    return [machines[began : began + MACHINES] for began in range(0, len(machines), MACHINES)]


def _solve_narrowed(problem: StopProblem, wished: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """The choice (n,) of machines that paths do not settle and a lower bound (M,); the solver sees what is
    open."""
    narrowed = narrow_stops(problem, wished, MACHINE_GAP)
    stop, bounds = narrowed.stop.copy(), np.where(narrowed.listed, narrowed.below, np.inf)
    rest = replace(problem, cost=np.where(narrowed.open, problem.cost, np.inf))
    unsolved = np.bincount(problem.machine, narrowed.open.any(axis=1), len(bounds)) > 0
    for machine in np.flatnonzero(unsolved).tolist():
        one, rows = rest.of_machines(np.array([machine])), problem.rows(machine)
        found, bound = solve_stops(one, MACHINE_GAP, MACHINE_NODES)
        bounds[machine] = min(bounds[machine], bound)
        if found is not None and one.machine_costs(found)[0] < narrowed.cost[machine]:
            stop[rows] = found
    return stop, bounds


def _sharing_machines(problem: StopProblem, over: np.ndarray) -> list[np.ndarray]:
    """The machines that share something with one another, each set in rising order, of which too much is
    taken somewhere: `over` (S,) says of which spans."""
    shared, machines = problem.shared, len(problem.setup)
    size = machines + len(shared.most)
    ends = problem.machine[shared.row], machines + shared.span
    _, part = connected_components(sparse.coo_array((np.ones(len(shared.row)), ends), (size, size)))
    sharing = np.unique(problem.machine[shared.row])
    sharing = sharing[np.isin(part[sharing], part[machines:][over])]
    order = sharing[np.argsort(part[sharing], kind="stable")]
    return np.split(order, np.flatnonzero(np.diff(part[order])) + 1) if len(order) else []


def _sharing_problem(problem: StopProblem, machines: np.ndarray) -> StopProblem:
    """The problem of some machines, with the spans that they take from alone."""
    theirs = problem.of_machines(machines)
    taken = np.bincount(theirs.shared.span, minlength=len(theirs.shared.most)) > 0
    return replace(theirs, shared=theirs.shared.of_spans(taken))


def _share(together: StopProblem) -> tuple[np.ndarray, float]:
    """The choice (n,) of machines within what they share, and a lower bound of their cost."""
    found = price_spans(together)
    stop = take_in_turn(together.priced(found.price))
    stop = exchange_plans(together, found, stop)
    stop = take_what_is_left(together, stop)
    return _solve_together(together, stop, _bound_at(together, found.price))


def _bound_at(together: StopProblem, price: np.ndarray) -> float:
    """What all cost at least: each machine by itself, at the `price` (S,) of what it shares."""
    # What is shared may shut out what must go: a special stop stands open to it.
    free = replace(together.priced(price), must=np.zeros_like(together.must))
    stop, bounds = cheapest_paths(free)
    _settle(free, stop, bounds, np.flatnonzero(_unsettled(free, stop, bounds)))
    return float(bounds.sum() - price @ together.shared.most)


def _solve_together(together: StopProblem, stop: np.ndarray, bound: float) -> tuple[np.ndarray, float]:
    """Both once the solver has seen what could still be better, where that is not much."""
    cost = together.machine_costs(stop).sum()
    enough = TOGETHER_GAP * (together.outside.sum() - bound)
    program = write_program(together) if cost - bound > enough else None
    if program is None or len(program.gain) > PROGRAM_SIZE:
        return stop, bound
    relaxed = relax(program)
    # Columns that cannot be in anything cheaper stay as the relaxation has them.
    room = cost - relaxed.bound
    least, most = (relaxed.at_zero > room).astype(float), (relaxed.at_one <= room).astype(float)
    bound = max(bound, relaxed.bound)
    if cost - bound <= enough or np.count_nonzero(least < most) > TOGETHER_SIZE:
        return stop, bound
    found, proved = solve_stops(
        together, TOGETHER_GAP, TOGETHER_NODES, program=program, least=least, most=most
    )
    bound = max(bound, min(proved, cost))
    if (
        found is not None
        and together.machine_costs(found).sum() < cost
        and not together.shared.exceeded(found).any()  # the solver rounds in its own way
    ):
        stop = found
    return stop, bound
