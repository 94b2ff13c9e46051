"""Stops where labour or parts are short: the program of them, its linear relaxation and the solver.

Source: HiGHS (Huangfu & Hall, 2018) through SciPy.
"""

from dataclasses import dataclass

import numpy as np
from scipy import sparse
from scipy.optimize import Bounds, LinearConstraint, linprog, milp

from .problem import SLACK, StopProblem


@dataclass(frozen=True, slots=True)
class Program:
    """min gain·v with matrix·v ≤ most and 0 ≤ v ≤ 1; what is gained is gained against `outside`.

    The first elements of v say that assembly `row` goes in its machine's `stop`, the others that a stop is
    used. The last `spans` lines of the matrix are what is shared.
    """

    row: np.ndarray
    stop: np.ndarray
    gain: np.ndarray
    matrix: sparse.csr_array
    most: np.ndarray
    spans: int
    outside: float


@dataclass(frozen=True, slots=True)
class Relaxed:
    """What the linear relaxation says: the `price` (S,) of each span, a lower `bound` of the cost of all, and
    how much the cost rises at least where a column of the program is other than it is in the relaxation:
    `at_one` where it is one and `at_zero` where it is none.
    """

    price: np.ndarray
    bound: float
    at_one: np.ndarray
    at_zero: np.ndarray


def write_program(problem: StopProblem) -> Program:
    """The program of all machines of `problem`; only stops that gain something have a place in it.

    What is used, and has labour, is the window of a stop, at the place of its first.
    """
    row, stop = np.nonzero(problem.cost < problem.outside[:, None])
    slot = problem.machine[row] * problem.width + problem.window[problem.machine[row], stop]
    setup, labour = problem.setup.ravel(), problem.labour.ravel()
    opened = np.unique(slot[setup[slot] > 0])
    goes, count = np.arange(len(row)), len(row) + len(opened)
    minutes = problem.minutes[row]

    once = _matrix(np.ones(len(row)), row, goes, (len(problem.machine), count))
    needs = np.flatnonzero(setup[slot] > 0)
    asks, line = np.unique(row[needs] * len(setup) + slot[needs], return_inverse=True)
    needs_of = len(row) + np.searchsorted(opened, asks % len(setup))
    opens = _matrix(np.ones(len(needs)), line, needs, (len(asks), count)) - _matrix(
        np.ones(len(asks)), np.arange(len(asks)), needs_of, (len(asks), count)
    )
    short = np.flatnonzero(np.bincount(slot, minutes, len(labour)) > labour)
    in_short = np.flatnonzero(np.isin(slot, short))
    line = np.searchsorted(short, slot[in_short])
    work = _matrix(minutes[in_short], line, in_short, (len(short), count))
    shut = np.flatnonzero(setup[short] > 0)  # a stop that is not used has no labour: a tighter relaxation
    lent = _matrix(
        labour[short[shut]],
        shut,
        len(row) + np.searchsorted(opened, short[shut]),
        (len(short), count),
    )
    shared = _share_lines(problem, row, stop, count)
    return Program(
        row=row,
        stop=stop,
        gain=np.concatenate([problem.cost[row, stop] - problem.outside[row], setup[opened]]),
        matrix=sparse.vstack([once, opens, work - lent, shared], format="csr"),
        most=np.concatenate(
            [
                np.ones(len(problem.machine)),
                np.zeros(len(asks)),
                np.where(setup[short] > 0, 0.0, labour[short]),
                problem.shared.most + SLACK,
            ]
        ),
        spans=len(problem.shared.most),
        outside=float(problem.outside.sum()),
    )


def _share_lines(problem: StopProblem, row: np.ndarray, stop: np.ndarray, count: int) -> sparse.csr_array:
    """What the columns `row`, `stop` take of each span (S, count)."""
    shared = problem.shared
    cell, known = shared.row * problem.width + shared.stop, row * problem.width + stop
    column = np.minimum(np.searchsorted(known, cell), max(len(known) - 1, 0))
    held = known[column] == cell if len(known) else np.zeros(len(cell), dtype=bool)
    return _matrix(shared.amount[held], shared.span[held], column[held], (len(shared.most), count))


def solve_stops(
    problem: StopProblem,
    gap: float,
    nodes: int,
    *,
    program: Program | None = None,
    least: np.ndarray | float = 0.0,
    most: np.ndarray | float = 1.0,
) -> tuple[np.ndarray | None, float]:
    """The choice (n,) for all machines of `problem` within all limits, and a lower bound of its cost.

    Ends within a relative `gap` of what is gained, or after so many branching `nodes` (not seconds: a plan
    must not depend on how busy the computer is) with the best so far, None where there is none. Columns of
    `program` are held between `least` and `most`, and so is what the bound speaks of.
    """
    program = program or write_program(problem)
    chosen = np.full(len(problem.machine), problem.width)
    if not len(program.row):
        return chosen, program.outside
    found = milp(
        program.gain,
        integrality=np.ones(len(program.gain)),
        bounds=Bounds(least, most),
        constraints=LinearConstraint(program.matrix, ub=program.most),
        options={"mip_rel_gap": gap, "node_limit": nodes},
    )
    bound = -np.inf if found.mip_dual_bound is None else program.outside + float(found.mip_dual_bound)
    if found.x is None:
        return None, bound
    goes = found.x[: len(program.row)] > 0.5
    chosen[program.row[goes]] = program.stop[goes]
    return chosen, bound


def relax(program: Program) -> Relaxed:
    """The program where an assembly may go in part."""
    found = linprog(program.gain, A_ub=program.matrix, b_ub=program.most, bounds=(0, 1), method="highs")
    if not found.success:  # out of memory or time: nothing is priced, and nothing is proved
        nothing = np.zeros(len(program.gain))
        return Relaxed(np.zeros(program.spans), -np.inf, nothing, nothing)
    price = -found.ineqlin.marginals[len(program.most) - program.spans :]
    return Relaxed(
        price=np.maximum(price, 0.0),
        bound=float(program.outside + found.fun),
        at_one=np.maximum(found.lower.marginals, 0.0),
        at_zero=np.maximum(-found.upper.marginals, 0.0),
    )


def _matrix(
    values: np.ndarray, rows: np.ndarray, columns: np.ndarray, shape: tuple[int, int]
) -> sparse.csr_array:
    return sparse.coo_array((values, (rows, columns)), shape).tocsr()
