"""The price of what machines share against that of a mix of every plan there is, on small problems."""

from dataclasses import replace
from itertools import product

import numpy as np
import pytest
from scipy.optimize import linprog

from forecasting.stops import choice
from forecasting.stops.prices import STEPS, price_spans
from forecasting.stops.solver import relax, write_program

from .test_choice import a_problem, least_of_all


def cheapest_mix(problem):
    """What the cheapest mix of all plans costs that keeps within what is shared."""
    costs, uses, of = [], [], []
    for machine in range(len(problem.setup)):
        one = problem.of_machines(np.array([machine]))
        for tried in product(range(problem.width + 1), repeat=len(one.machine)):
            stop = np.array(tried)
            if (one.work(stop) <= one.labour).all() and np.isfinite(cost := one.machine_costs(stop)[0]):
                costs, uses, of = [*costs, cost], [*uses, one.shared.asked(stop)], [*of, machine]
    one_each = (np.arange(len(problem.setup))[:, None] == np.array(of)).astype(float)
    found = linprog(
        costs,
        A_ub=np.array(uses).T,
        b_ub=problem.shared.most,
        A_eq=one_each,
        b_eq=np.ones(len(problem.setup)),
    )
    return found.fun


@pytest.mark.parametrize("labour", [np.inf, 95])
@pytest.mark.parametrize("seed", range(4))
def test_at_the_price_machines_by_themselves_cost_what_the_cheapest_mix_of_all_plans_costs(seed, labour):
    problem = a_problem(seed, machines=4, labour=labour, span_minutes=130.0)
    found, mix = price_spans(problem), cheapest_mix(problem)
    assert (found.price >= 0).all() and found.price.any(), "nothing is short: no price to be found"
    bound = choice._bound_at(problem, found.price)
    assert 0.99 * mix <= bound <= mix + 1e-6
    assert bound >= 0.99 * relax(write_program(problem)).bound


@pytest.mark.parametrize("one_valley", [True, False])
@pytest.mark.parametrize("seed", range(4))
def test_a_choice_at_mixed_prices_keeps_to_what_is_shared_and_its_bound_holds(seed, one_valley, monkeypatch):
    monkeypatch.setattr(choice, "PROGRAM_SIZE", 0)
    problem = a_problem(seed, one_valley=one_valley, labour=95, span_minutes=110.0)
    chosen, least = choice.choose_stops(problem), least_of_all(problem)
    assert not problem.shared.exceeded(chosen.stop).any()
    assert (problem.work(chosen.stop) <= 95).all()
    assert chosen.bound <= least + 1e-6 <= chosen.cost + 2e-6


@pytest.mark.parametrize("seed", range(3))
def test_a_price_that_a_filled_valley_repeats_ends_the_search(seed):
    problem = a_problem(seed, one_valley=False, machines=40, width=6, span_minutes=1.0)
    shared = replace(problem.shared, most=np.full(2, 0.15 * problem.minutes.sum()))
    tried = price_spans(replace(problem, shared=shared)).tried
    assert 2 < len(tried) == len({stop.tobytes() for stop in tried}) < STEPS - 1


def test_nothing_is_asked_for_what_is_not_short():
    problem = a_problem(1, machines=4, span_minutes=10_000.0)
    assert not price_spans(problem).price.any()
