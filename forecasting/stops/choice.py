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
from .prices import Priced, price_spans
from .problem import SLACK, StopProblem
from .sets import Narrowed, narrow_stops
from .solver import Program, Relaxed, relax, solve_stops, write_program
from .turns import take_in_turn, take_what_is_left

MACHINE_GAP, MACHINE_NODES = 1e-4, 2_000
MACHINES = 200  # whose sets of stops are looked at together
PROGRAM_SIZE = 4_000  # ways of assemblies to go; from so many on, mixed plans have a price sooner
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
    stop, bounds = cheapest_paths(problem)
    apart = replace(problem, shared=problem.shared.nothing())
    narrowed = _narrow(apart, stop, bounds)
    open_still = np.zeros(len(bounds), dtype=bool)
    for machines, _ in narrowed:
        open_still[machines] = True
    # What binds somewhere is shared out in all its days; what nowhere binds costs no time.
    binding = np.zeros(len(problem.shared.most), dtype=bool)
    while (over := problem.shared.exceeded(stop)).any() or open_still.any():
        if not over.any():
            _solve_narrowed(apart, narrowed, stop, bounds, open_still)
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


def _narrow(problem: StopProblem, stop: np.ndarray, bounds: np.ndarray) -> list[tuple[np.ndarray, Narrowed]]:
    """What is left to solve of the machines that paths do not settle, some at a time.

    What was found for them on the way goes into `stop`, and what it proves into `bounds`. `problem` shares
    nothing.
    """
    costs = problem.machine_costs(stop)
    short = np.any(problem.work(stop) > problem.labour + SLACK, axis=1)
    unsettled = np.flatnonzero(short | (costs - bounds > EXACT * (1 + np.abs(costs))))
    found = []
    for machines in _some_at_a_time(unsettled):
        of_them = np.isin(problem.machine, machines)
        some = problem.of_machines(machines)
        narrowed = narrow_stops(some, stop[of_them], MACHINE_GAP)
        stop[of_them] = narrowed.stop
        proved = np.where(_is_open(some, narrowed), -np.inf, narrowed.below)
        bounds[machines] = np.maximum(bounds[machines], proved)
        found.append((machines, narrowed))
    return found


def _is_open(problem: StopProblem, narrowed: Narrowed) -> np.ndarray:
    """Which machines (M,) have something left to solve."""
    return np.bincount(problem.machine, narrowed.open.any(axis=1), len(problem.setup)) > 0


def _some_at_a_time(machines: np.ndarray) -> list[np.ndarray]:
    return [machines[began : began + MACHINES] for began in range(0, len(machines), MACHINES)]


def _solve_narrowed(
    problem: StopProblem,
    found: list[tuple[np.ndarray, Narrowed]],
    stop: np.ndarray,
    bounds: np.ndarray,
    wanted: np.ndarray,
) -> None:
    """Puts the choice of the `wanted` (M,) machines of `_narrow` into `stop`, and its proof into `bounds`:
    the solver sees what is open."""
    for machines, narrowed in found:
        some = problem.of_machines(machines)
        rest = replace(some, cost=np.where(narrowed.open, some.cost, np.inf))
        for at in np.flatnonzero(_is_open(some, narrowed) & wanted[machines]).tolist():
            machine, one = machines[at], rest.of_machines(np.array([at]))
            better, bound = solve_stops(one, MACHINE_GAP, MACHINE_NODES)
            proved = min(bound, narrowed.below[at] if narrowed.listed[at] else np.inf)
            bounds[machine] = max(bounds[machine], proved)
            if better is not None and one.machine_costs(better)[0] < narrowed.cost[at]:
                stop[problem.rows(machine)] = better


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
    if np.count_nonzero(together.cost < together.outside[:, None]) <= PROGRAM_SIZE:
        program = write_program(together)
        relaxed = relax(program)
        stop = _take_and_exchange(together, Priced(relaxed.price, []))
        return _solve_together(together, program, relaxed, stop)
    found = price_spans(together)
    return _take_and_exchange(together, found), _bound_at(together, found.price)


def _take_and_exchange(together: StopProblem, found: Priced) -> np.ndarray:
    stop = take_in_turn(together.priced(found.price))
    stop = exchange_plans(together, found, stop)
    return take_what_is_left(together, stop)


def _bound_at(together: StopProblem, price: np.ndarray) -> float:
    """What all cost at least: each machine by itself, at the `price` (S,) of what it shares."""
    apart = replace(together.priced(price).opened(), shared=together.shared.nothing())
    stop, bounds = cheapest_paths(apart)
    _solve_narrowed(apart, _narrow(apart, stop, bounds), stop, bounds, np.ones(len(bounds), dtype=bool))
    return float(bounds.sum() - price @ (together.shared.most + SLACK))


def _solve_together(
    together: StopProblem, program: Program, relaxed: Relaxed, stop: np.ndarray
) -> tuple[np.ndarray, float]:
    """Both once the solver has seen what could still be better, where that is not much."""
    cost, bound = together.machine_costs(stop).sum(), relaxed.bound
    # Columns that cannot be in anything cheaper stay as the relaxation has them.
    room = cost - bound
    least, most = (relaxed.at_zero > room).astype(float), (relaxed.at_one <= room).astype(float)
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
