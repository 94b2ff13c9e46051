"""Which stop each assembly is changed in, at least cost within all limits, and how low that could be.

Shortest paths settle every machine whose labour suffices and whose costs have one valley; of the others the
solver sees what is still open. Where they take more than there is of what machines share, those that share it
are looked at together: the linear relaxation puts a price on it, machines take from what is left in turn, and
the solver looks once more at whatever could still be better.
"""

from dataclasses import dataclass, replace

import numpy as np
from scipy import sparse
from scipy.sparse.csgraph import connected_components

from .exchanges import exchange_plans
from .paths import EXACT, cheapest_paths
from .problem import SLACK, StopProblem
from .sets import narrow_stops
from .solver import price_spans, solve_stops, write_program
from .turns import take_in_turn, take_what_is_left

MACHINE_GAP, MACHINE_NODES = 1e-4, 2_000
MACHINES = 200  # whose sets of stops are looked at together
# Above this gap, where so many columns of the program are still open, machines are solved together.
TOGETHER_GAP, TOGETHER_NODES, TOGETHER_SIZE = 3e-3, 5, 1_500


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
    stop, bounds = _choose_apart(problem)
    # What binds somewhere is shared out in all its days; what nowhere binds costs no time.
    binding = np.zeros(len(problem.shared.most), dtype=bool)
    while (over := problem.shared.exceeded(stop)).any():
        binding |= np.isin(problem.shared.group, problem.shared.group[over])
        limited = replace(problem, shared=problem.shared.of_spans(binding))
        for machines in _sharing_machines(limited, over[binding]):
            of_them = np.isin(problem.machine, machines)
            stop[of_them], least = _share(_sharing_problem(limited, machines))
            # What they cost more together than apart is kept with the first of them.
            bounds[machines[0]] += max(least - bounds[machines].sum(), 0.0)
    bound = bounds.sum()
    cost = problem.machine_costs(stop).sum()
    return Choice(stop, float(cost), float(min(bound, cost)))


def _choose_apart(problem: StopProblem) -> tuple[np.ndarray, np.ndarray]:
    """The choice (n,) of each machine as if it shared nothing, and a lower bound (M,) of what it costs."""
    stop, bounds = cheapest_paths(problem)
    costs = problem.machine_costs(stop)
    short = np.any(problem.work(stop) > problem.labour + SLACK, axis=1)
    unproved = costs - bounds > EXACT * (1 + np.abs(costs))
    apart = replace(problem, shared=problem.shared.nothing())
    for machines in _some_at_a_time(np.flatnonzero(short | unproved)):
        some = apart.of_machines(machines)
        of_them = np.isin(problem.machine, machines)
        stop[of_them], least = _solve_narrowed(some, stop[of_them])
        bounds[machines] = np.maximum(bounds[machines], least)
    return stop, bounds


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
    program = write_program(together)
    prices = price_spans(program)
    stop = take_in_turn(together.priced(prices.price))
    stop = exchange_plans(together, prices.price, stop)
    stop = take_what_is_left(together, stop)
    cost, bound = together.machine_costs(stop).sum(), prices.bound
    # Columns that cannot be in anything cheaper stay as the relaxation has them.
    room = cost - bound
    least, most = (prices.at_zero > room).astype(float), (prices.at_one <= room).astype(float)
    open_columns = np.count_nonzero(least < most)
    if room > TOGETHER_GAP * abs(program.outside - bound) and open_columns <= TOGETHER_SIZE:
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
