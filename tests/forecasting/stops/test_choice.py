"""The choice of stops against every choice there is, on problems small enough to try them all."""

from dataclasses import replace
from itertools import product

import numpy as np
import pytest

from forecasting.stops.choice import MACHINE_GAP, TOGETHER_GAP, choose_stops
from forecasting.stops.exchanges import exchange_plans
from forecasting.stops.paths import cheapest_paths, fill_valleys
from forecasting.stops.prices import Priced
from forecasting.stops.problem import Shared, StopProblem

PENALTY = 10_000.0


def a_problem(seed, *, one_valley=True, labour=np.inf, span_minutes=None, machines=2, width=3, each=3):
    """Assemblies with costs that fall to their best stop and rise after it, or any costs; some must go."""
    rng = np.random.default_rng(seed)
    count = machines * each
    days = np.sort(rng.uniform(0, 100, (machines, width)), axis=1)
    machine = np.repeat(np.arange(machines), each)
    best = rng.uniform(-20, 120, count)
    slope = rng.uniform(0.5, 3, count)
    cost = 100 + np.abs(days[machine] - best[:, None]) * slope[:, None]
    if not one_valley:
        cost = rng.uniform(100, 300, (count, width))
    must = rng.random(count) < 0.3
    limit = rng.integers(1, width + 1, count)
    cost[must[:, None] & (np.arange(width) >= limit[:, None])] = np.inf
    outside = np.where(must, PENALTY, 100 + np.abs(110 - best) * slope)
    minutes = rng.integers(20, 60, count).astype(float)
    setup = rng.uniform(0, 80, (machines, width))
    shared = Shared.nothing()
    if span_minutes is not None:  # the first half of all stops draws on one span, the second on another
        row, stop = np.nonzero(np.isfinite(cost))
        spans = (stop >= width // 2).astype(int)
        most, labour_only = np.full(2, span_minutes), np.full(2, np.nan)
        shared = Shared(row, stop, spans, minutes[row], np.zeros(2, int), most, labour_only)
    return StopProblem(
        machine=machine,
        cost=cost,
        outside=outside,
        must=must,
        minutes=minutes,
        setup=setup,
        labour=np.full((machines, width), float(labour)),
        window=np.tile(np.arange(width), (machines, 1)),
        shared=shared,
    )


def least_of_all(problem):
    """The cost of the cheapest choice, every choice within labour tried."""
    shared, least = problem.shared, np.inf
    for tried in product(range(problem.width + 1), repeat=len(problem.machine)):
        stop = np.array(tried)
        work = problem.work(stop)
        if (work > problem.labour).any() or (shared.asked(stop) > shared.most).any():
            continue
        least = min(least, problem.machine_costs(stop).sum())
    return least


@pytest.mark.parametrize("seed", range(6))
def test_shortest_paths_find_the_cheapest_stops(seed):
    problem = a_problem(seed)
    stop, least = cheapest_paths(problem)
    assert problem.machine_costs(stop) == pytest.approx(least)
    assert least.sum() == pytest.approx(least_of_all(problem))
    choice = choose_stops(problem)
    assert choice.bound == pytest.approx(choice.cost)


@pytest.mark.parametrize("labour", [np.inf, 95])
@pytest.mark.parametrize("seed", [1, 3, 5, 14, 16, 17, 21])  # in these one stop is not enough for all
def test_costs_with_two_valleys_are_solved_to_the_gap_that_is_promised(seed, labour):
    problem = a_problem(seed, one_valley=False, labour=labour, machines=1, width=5, each=4)
    outside = np.where(problem.must, PENALTY, 300.0)
    problem = replace(problem, outside=outside, setup=2 * problem.setup)
    stop, at_least = cheapest_paths(problem)
    assert at_least.sum() < problem.machine_costs(stop).sum(), "the paths do not settle it"
    choice, least = choose_stops(problem), least_of_all(problem)
    gained = problem.outside.sum() - least
    assert at_least.sum() <= least + 1e-6
    assert choice.bound <= least + 1e-6
    assert least - 1e-6 <= choice.cost <= choice.bound + MACHINE_GAP * gained + 1e-6


def test_what_must_go_in_the_only_stops_that_a_filled_valley_leads_past_goes_in_one_of_them():
    # In the other's stop the first may not go: what a site has left there is less than it takes.
    problem = StopProblem(
        machine=np.zeros(2, int),
        cost=np.array([[np.inf, 5.0, 6.0, 7.0], [100.0, 100.0, 0.0, 100.0]]),
        outside=np.array([PENALTY, 1_000.0]),
        must=np.array([True, False]),
        minutes=np.array([60.0, 30.0]),
        setup=np.full((1, 4), 50.0),
        labour=np.full((1, 4), np.inf),
        window=np.arange(4)[None],
    )
    problem = replace(
        problem, cost=np.where([[False, False, True, False], [False] * 4], np.inf, problem.cost)
    )
    choice = choose_stops(problem)
    assert choice.stop.tolist() == [1, 2]
    assert choice.cost == pytest.approx(105)
    assert 105 - MACHINE_GAP * (problem.outside.sum() - 105) - 1e-6 <= choice.bound <= 105 + 1e-6


@pytest.mark.parametrize("labour, span_minutes", [(np.inf, None), (95, None), (np.inf, 90.0), (95, 90.0)])
@pytest.mark.parametrize("seed", range(8))
def test_whatever_stops_are_barred_every_choice_has_a_cost_and_a_bound_below_it(seed, labour, span_minutes):
    problem = a_problem(
        seed, one_valley=False, labour=labour, span_minutes=span_minutes, machines=1, width=4, each=5
    )
    rng = np.random.default_rng([seed, 2])
    barred = rng.random(problem.cost.shape) < 0.4
    problem = replace(
        problem, cost=np.where(barred, np.inf, problem.cost), must=rng.random(len(problem.must)) < 0.5
    )
    problem = replace(problem, outside=np.where(problem.must, PENALTY, 300.0))
    choice, least = choose_stops(problem), least_of_all(problem)
    assert (problem.work(choice.stop) <= problem.labour + 1e-6).all()
    assert not problem.shared.exceeded(choice.stop).any()
    assert choice.bound - 1e-6 <= least <= choice.cost + 1e-6
    assert choice.cost <= choice.bound + TOGETHER_GAP * (problem.outside.sum() - least) + 1e-6


def test_valleys_are_filled_from_below_and_no_more_than_they_must_be():
    cost = np.array([[5.0, 3, 4, 1, 2, 6, 4], [1, 2, 3, 4, 5, 6, 7], [np.inf, 2, np.inf, 1, 3, np.inf, 4]])
    filled = [[5, 3, 3, 1, 2, 4, 4], [1, 2, 3, 4, 5, 6, 7], [np.inf, 2, 2, 1, 3, 4, 4]]
    assert fill_valleys(cost).tolist() == filled


@pytest.mark.parametrize("seed", range(3))
def test_labour_of_a_stop_is_kept_at_least_cost(seed):
    problem = a_problem(seed, labour=60)
    choice = choose_stops(problem)
    assert (problem.work(choice.stop) <= 60).all()
    assert choice.cost == pytest.approx(least_of_all(problem), rel=1e-3)


@pytest.mark.parametrize("seed", range(3))
def test_labour_of_a_site_is_kept_and_the_bound_holds(seed):
    problem = a_problem(seed, span_minutes=90.0)
    choice, least = choose_stops(problem), least_of_all(problem)
    assert (problem.shared.asked(choice.stop) <= 90 + 1e-6).all()
    assert choice.bound <= least + 1e-6
    assert least - 1e-6 <= choice.cost <= least * 1.02


@pytest.mark.parametrize("one_valley", [True, False])
def test_what_must_go_and_has_no_stop_left_leaves_the_others_theirs(one_valley):
    problem = a_problem(3, one_valley=one_valley)
    cost, must, outside = problem.cost.copy(), problem.must.copy(), problem.outside.copy()
    cost[0], must[0], outside[0] = np.inf, True, PENALTY
    problem = replace(problem, cost=cost, must=must, outside=outside)
    choice = choose_stops(problem)
    assert choice.stop[0] == problem.width
    assert choice.cost == pytest.approx(least_of_all(problem), rel=1e-3)
    assert choice.bound <= choice.cost


def test_nothing_to_decide_costs_nothing():
    problem = a_problem(0)
    nobody = problem.of_machines(np.array([0, 1]))
    empty = StopProblem(
        machine=nobody.machine[:0],
        cost=nobody.cost[:0],
        outside=nobody.outside[:0],
        must=nobody.must[:0],
        minutes=nobody.minutes[:0],
        setup=nobody.setup[:0],
        labour=nobody.labour[:0],
        window=nobody.window[:0],
    )
    choice = choose_stops(empty)
    assert (len(choice.stop), choice.cost, choice.bound) == (0, 0.0, 0.0)


@pytest.mark.parametrize("seed", range(3))
def test_an_exchange_of_plans_costs_no_more_and_keeps_to_every_limit(seed):
    problem = a_problem(seed, machines=6, labour=120, span_minutes=300.0)
    nothing = np.full(len(problem.machine), problem.width)
    found = exchange_plans(problem, Priced(np.ones(2), []), nothing)
    assert problem.machine_costs(found).sum() < problem.machine_costs(nothing).sum()
    assert not problem.shared.exceeded(found).any()
    assert (problem.work(found) <= 120).all()
    again = exchange_plans(problem, Priced(np.ones(2), []), found)
    assert problem.machine_costs(again).sum() <= problem.machine_costs(found).sum() + 1e-6
