"""The days of one window are one stop: they share its set-up and its labour, whoever chooses among them."""

from dataclasses import replace

import numpy as np
import pytest

from forecasting.stops.choice import MACHINE_GAP, choose_stops
from forecasting.stops.paths import cheapest_paths
from forecasting.stops.problem import Shared
from tests.forecasting.stops.test_choice import a_problem, least_of_all

WINDOW = [0, 0, 2, 3, 3, 3]  # of six stops: two days, one day, three days


def of_days(problem, *, setup=60.0, labour=np.inf):
    """The same, its six stops the days of three windows, of which each costs and has the same."""
    machines = len(problem.setup)
    window = np.tile(WINDOW, (machines, 1))
    begins = window == np.arange(problem.width)
    return replace(
        problem,
        window=window,
        setup=np.where(begins, setup, 0.0),
        labour=np.full((machines, problem.width), float(labour)),
    )


def counted(problem, stop):
    """The cost of a choice and whether it keeps to the labour, counted window by window."""
    cost, keeps = 0.0, True
    for row, at in enumerate(stop):
        cost += problem.outside[row] if at == problem.width else problem.cost[row, at]
    for machine in range(len(problem.setup)):
        for first in set(WINDOW):
            days = [number for number, window in enumerate(WINDOW) if window == first]
            there = (problem.machine == machine) & np.isin(stop, days)
            cost += problem.setup[machine, first] * there.any()
            keeps &= problem.minutes[there].sum() <= problem.labour[machine, first] + 1e-6
    return cost, keeps


@pytest.mark.parametrize("seed", range(5))
def test_a_window_that_is_used_on_two_days_pays_one_set_up(seed):
    problem = of_days(a_problem(seed, one_valley=False, machines=1, width=6, each=4), setup=30.0)
    stop, at_least = cheapest_paths(problem)
    choice, least = choose_stops(problem), least_of_all(problem)
    assert counted(problem, choice.stop)[0] == pytest.approx(choice.cost)
    assert at_least.sum() <= least + 1e-6
    assert choice.bound - 1e-6 <= least <= choice.cost + 1e-6
    assert choice.cost <= least + MACHINE_GAP * (problem.outside.sum() - least) + 1e-6
    assert counted(problem, stop)[0] == pytest.approx(problem.machine_costs(stop).sum())


def test_with_one_valley_the_path_through_the_days_of_windows_is_exact():
    problem = of_days(a_problem(2, width=6, each=2))
    stop, at_least = cheapest_paths(problem)
    assert problem.machine_costs(stop) == pytest.approx(at_least)
    assert at_least.sum() == pytest.approx(least_of_all(problem))


@pytest.mark.parametrize("setup", [0.0, 40.0])
@pytest.mark.parametrize("seed", range(5))
def test_the_days_of_a_window_have_its_labour_once(seed, setup):
    problem = a_problem(seed, one_valley=False, machines=1, width=6, each=4)
    problem = of_days(problem, setup=setup, labour=75)
    choice, least = choose_stops(problem), least_of_all(problem)
    cost, keeps = counted(problem, choice.stop)
    assert keeps
    assert cost == pytest.approx(choice.cost)
    assert choice.bound - 1e-6 <= least <= choice.cost + 1e-6
    assert choice.cost <= least + MACHINE_GAP * (problem.outside.sum() - least) + 1e-6


@pytest.mark.parametrize("labour", [np.inf, 75])
@pytest.mark.parametrize("seed", range(4))
def test_what_is_shared_is_kept_to_on_every_day(seed, labour):
    problem = of_days(a_problem(seed, one_valley=False, width=6, each=2), labour=labour)
    row, stop = np.nonzero(np.isfinite(problem.cost))
    span = np.array([0, 0, 0, 0, 1, 1])[stop]  # the last window lies in both
    shared = Shared(
        row, stop, span, problem.minutes[row], np.zeros(2, int), np.array([80.0, 60.0]), np.full(2, np.nan)
    )
    problem = replace(problem, shared=shared)
    choice, least = choose_stops(problem), least_of_all(problem)
    assert counted(problem, choice.stop)[1]
    assert not shared.exceeded(choice.stop).any()
    assert choice.bound <= least + 1e-6
    assert least - 1e-6 <= choice.cost <= least * 1.01
