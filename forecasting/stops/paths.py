"""The cheapest set of stops of every machine at once, as a shortest path.

A machine's stops stand in the order of time. Where an assembly's cost falls towards its best stop and rises
after it, its cheapest used stop is one of the two used stops around its best. The cost of a set of stops is
then a sum over neighbours in it, and the cheapest set a shortest path: exact without a solver, in W² steps
for any number of machines. Costs with more than one valley are filled in from below, so that what a path
costs is never more than what is done along it. Who uses a window may use all its days: a path goes through
all of them.
"""

from collections.abc import Iterator

import numpy as np

from .problem import StopProblem

BLOCK = 100_000  # assemblies looked at together
EXACT = 1e-9  # what rounding may make of a cost, as a share of it


def cheapest_stops(problem: StopProblem) -> np.ndarray:
    """The choice (n,) on the shortest paths, labour left aside; what must go goes in a stop if it has one."""
    return cheapest_paths(problem)[0]


def cheapest_paths(problem: StopProblem) -> tuple[np.ndarray, np.ndarray]:
    """That choice (n,), and what each machine (M,) costs at least: as much if it has one valley."""
    stop, if_in_none = np.empty(len(problem.machine), dtype=int), problem.if_in_none
    least = np.empty(len(problem.setup))
    began = 0
    while began < len(stop):  # whole machines, some BLOCK assemblies at a time
        last = problem.machine[min(began + BLOCK, len(stop)) - 1]
        ended = int(np.searchsorted(problem.machine, last, side="right"))
        first = problem.machine[began]
        stop[began:ended], least[first : last + 1] = _shortest_paths(
            problem.machine[began:ended] - first,
            np.column_stack([problem.cost[began:ended], if_in_none[began:ended]]),
            problem.setup[first : last + 1],
            problem.window[first : last + 1],
        )
        began = ended
    return stop, least


def _shortest_paths(
    machine: np.ndarray, cost: np.ndarray, setup: np.ndarray, window: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """The choice (n,) of each machine's shortest path, and how long that is (M,); the last column of `cost`
    (n, W + 1) is no stop.

    `least[:, k]` is the least cost of all assemblies whose best stop is among the first k, the last of these
    used; the path begins before the first stop, where nothing can be done.
    """
    machines, width = setup.shape
    least = np.full((machines, width + 2), np.inf)
    least[:, 0] = 0.0
    came_from = np.zeros((machines, width + 2), dtype=int)
    for to, step in enumerate(_steps(machine, fill_valleys(cost), setup, window), start=1):
        paths = least[:, :to] + step
        came_from[:, to] = paths.argmin(axis=1)
        least[:, to] = paths.min(axis=1)
    used = np.zeros((machines, width + 1), dtype=bool)
    used[:, width] = True
    every, at = np.arange(machines), came_from[:, width + 1]
    while (at > 0).any():
        used[every[at > 0], at[at > 0] - 1] = True
        at = came_from[every, at]
    reached = np.where(used[machine], cost, np.inf)
    # A valley that was filled may have led past the only stops where it may go: then it goes in its best.
    missed = np.isinf(reached.min(axis=1))
    reached[missed] = cost[missed]
    return reached.argmin(axis=1), least[:, width + 1]


def fill_valleys(cost: np.ndarray) -> np.ndarray:
    """The highest costs below `cost` (n, K) that fall to the best of each row and rise after it."""
    falling = np.minimum.accumulate(cost, axis=1)
    rising = np.minimum.accumulate(cost[:, ::-1], axis=1)[:, ::-1]
    return np.maximum(falling, rising)


def step_costs(problem: StopProblem) -> np.ndarray:
    """What each step of a path costs (M, W + 2, W + 2), from a used stop to the next one, labour left aside.

    The first place is before all stops and the last after them; a step back is inf. What must go may also go
    in a special stop, so that a path through any set of stops costs what is done in that set costs at least.
    """
    width, machines = problem.width, len(problem.setup)
    outside = problem.outside[:, None]
    cost = np.column_stack([np.minimum(problem.cost, outside), outside])
    steps = np.full((machines, width + 2, width + 2), np.inf)
    every_step = _steps(problem.machine, fill_valleys(cost), problem.setup, problem.window)
    for to, step in enumerate(every_step, start=1):
        steps[:, :to, to] = step
    return steps


def _steps(
    machine: np.ndarray, cost: np.ndarray, setup: np.ndarray, window: np.ndarray
) -> Iterator[np.ndarray]:
    """The cost (M, to) of the steps to each place 1 .. W + 1: what lies best between both, and a set-up.

    A step into a window is to its first day and one out of it from its last, else inf.
    """
    width = setup.shape[1]
    ends = np.ones((len(setup), 1), dtype=bool)
    begins = np.hstack([ends, window == np.arange(width), ends])
    starts = np.flatnonzero(np.diff(machine, prepend=-1))
    best = cost.argmin(axis=1)[:, None]
    reached = np.column_stack([np.full(len(cost), np.inf), cost])
    for to in range(1, width + 2):
        after_from = (best >= np.arange(to)) & (best < to)
        nearer = np.minimum(reached[:, :to], reached[:, to : to + 1])
        between = np.add.reduceat(np.where(after_from, nearer, 0.0), starts, axis=0)
        goes_on = ~begins[:, to : to + 1] & (np.arange(to) == to - 1)
        leaps = begins[:, to : to + 1] & begins[:, 1 : to + 1]
        cost_of_step = between + (setup[:, to - 1 : to] if to <= width else 0.0)
        yield np.where(goes_on | leaps, cost_of_step, np.inf)
