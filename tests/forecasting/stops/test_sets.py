"""Machines whose labour binds: what is narrowed keeps the optimum, and what is proved is true."""

from dataclasses import replace

import numpy as np
import pytest

from forecasting.stops.choice import MACHINE_GAP, choose_stops
from forecasting.stops.paths import cheapest_stops
from forecasting.stops.sets import narrow_stops
from forecasting.stops.solver import solve_stops
from tests.forecasting.stops.test_choice import a_problem, least_of_all


def a_busy_machine(seed, *, setup, width=10):
    """Fourteen assemblies, ten stops with one to three hours of labour each."""
    problem = a_problem(seed, machines=1, width=width, each=14)
    rng = np.random.default_rng([seed, 1])
    return replace(
        problem,
        setup=np.full((1, width), float(setup)),
        labour=rng.integers(60, 180, (1, width)).astype(float),
        outside=np.where(problem.must, 2_000.0, problem.outside),
    )


def optimum(problem):
    """The least cost, proved by the solver alone to a gap of nothing."""
    stop, _ = solve_stops(problem, gap=0.0, nodes=100_000)
    return problem.machine_costs(stop).sum()


@pytest.mark.parametrize("labour", [30, 60, 95])
@pytest.mark.parametrize("seed", range(6))
def test_no_bound_lies_above_the_cheapest_of_all_choices(seed, labour):
    problem = a_problem(seed, labour=labour)
    choice, least = choose_stops(problem), least_of_all(problem)
    gained = problem.outside.sum() - least
    assert (problem.work(choice.stop) <= labour).all()
    assert choice.bound <= least + 1e-6
    assert least - 1e-6 <= choice.cost <= choice.bound + MACHINE_GAP * gained + 1e-6


@pytest.mark.parametrize("setup", [0, 15, 60, 200])
@pytest.mark.parametrize("seed", range(4))
def test_a_busy_machine_is_solved_to_the_gap_that_is_promised(seed, setup):
    problem = a_busy_machine(seed, setup=setup)
    choice, least = choose_stops(problem), optimum(problem)
    gained = problem.outside.sum() - least
    assert (problem.work(choice.stop) <= problem.labour + 1e-6).all()
    assert choice.bound <= least + 1e-6
    assert least - 1e-6 <= choice.cost <= choice.bound + MACHINE_GAP * gained + 1e-6


@pytest.mark.parametrize("seed", range(4))
def test_what_is_narrowed_is_less_and_holds_the_optimum(seed):
    problem = a_busy_machine(seed, setup=60)
    narrowed = narrow_stops(problem, cheapest_stops(problem), MACHINE_GAP)
    assert narrowed.listed.all()
    assert narrowed.open.sum() < np.isfinite(problem.cost).sum()
    assert (problem.work(narrowed.stop) <= problem.labour + 1e-6).all()
    assert problem.machine_costs(narrowed.stop) == pytest.approx(narrowed.cost)
    rest = replace(problem, cost=np.where(narrowed.open, problem.cost, np.inf))
    assert min(optimum(rest), narrowed.below[0]) <= optimum(problem) + 1e-6


def test_a_machine_of_too_many_sets_is_left_to_the_solver_whole():
    problem = a_busy_machine(0, setup=0, width=20)
    narrowed = narrow_stops(problem, cheapest_stops(problem), MACHINE_GAP)
    assert not narrowed.listed.any()
    assert narrowed.open.all()
