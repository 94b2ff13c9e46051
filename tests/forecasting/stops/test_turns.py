"""Machines that take in turn: within every limit, and near the best of every choice there is."""

from dataclasses import replace

import numpy as np
import pytest

from forecasting.stops.choice import TOGETHER_GAP, choose_stops
from forecasting.stops.problem import Shared, StopProblem
from forecasting.stops.turns import take_in_turn, take_what_is_left
from tests.forecasting.stops.test_choice import a_problem, least_of_all

LABOUR = np.nan  # of a span's `more_on`


def on_spans(problem, span_of_stop, most, more_on=LABOUR):
    """The problem whose stops draw by the minute on these spans."""
    row, stop = np.nonzero(np.isfinite(problem.cost))
    spans = len(most)
    shared = Shared(
        row,
        stop,
        np.asarray(span_of_stop)[stop],
        problem.minutes[row],
        np.zeros(spans, int),
        np.asarray(most, float),
        np.full(spans, more_on),
    )
    return replace(problem, shared=shared)


def chosen(problem):
    stop = take_what_is_left(problem, take_in_turn(problem))
    assert not problem.shared.exceeded(stop).any()
    assert (problem.work(stop) <= problem.labour + 1e-6).all()
    return problem.machine_costs(stop).sum()


@pytest.mark.parametrize("seed", range(6))
def test_what_is_left_of_a_span_is_labour_of_the_one_stop_in_it(seed):
    problem = on_spans(a_problem(seed, machines=1, each=5, labour=120), [0, 1, 2], [90, 0, 60])
    least = least_of_all(problem)
    assert least - 1e-6 <= chosen(problem) <= least * 1.02


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize(
    "span_of_stop, most, more_on",
    [([0, 0, 1], [90, 60], LABOUR), ([0, 1, 0], [90, 60], LABOUR), ([0, 1, 2], [90, 60, 60], 30.0)],
)
def test_what_several_stops_share_and_parts_are_kept_to_and_what_that_costs_is_looked_at_together(
    seed, span_of_stop, most, more_on
):
    problem = on_spans(a_problem(seed, machines=1, each=5), span_of_stop, most, more_on)
    choice, least = choose_stops(problem), least_of_all(problem)
    gained = problem.outside.sum() - least
    assert chosen(problem) <= problem.outside.sum() - 0.4 * gained
    assert not problem.shared.exceeded(choice.stop).any()
    assert choice.bound - 1e-6 <= least <= choice.cost + 1e-6
    assert choice.cost <= choice.bound + TOGETHER_GAP * gained + 1e-6


@pytest.mark.parametrize("seed", range(6))
def test_looking_once_more_at_what_is_left_costs_no_more(seed):
    problem = on_spans(a_problem(seed, machines=4, labour=100), [0, 1, 2], [120, 120, 120])
    at_first = take_in_turn(problem)
    assert not problem.shared.exceeded(at_first).any()
    assert chosen(problem) <= problem.machine_costs(at_first).sum() + 1e-6


def test_where_nothing_is_left_nothing_is_done():
    problem = on_spans(a_problem(1), [0, 1, 2], [0, 0, 0])
    assert (take_in_turn(problem) == problem.width).all()


@pytest.mark.parametrize("seed", range(3))
def test_a_machine_that_has_nothing_takes_what_nobody_took(seed):
    problem = on_spans(a_problem(seed, labour=100), [0, 1, 2], [500, 500, 500])
    nothing = np.full(len(problem.machine), problem.width)
    found = take_what_is_left(problem, nothing)
    least = least_of_all(problem)
    assert least - 1e-6 <= problem.machine_costs(found).sum() <= least * 1.01


def test_those_that_stand_back_from_stops_of_one_span_end_in_others_or_in_none():
    problem = StopProblem(
        machine=np.zeros(3, int),
        cost=np.array([[96.0, 58, 20, 58], [49, 45, 41, 37], [93, 75, 57, 39]]),
        outside=np.array([300.0, 10_000, 300]),
        must=np.array([False, True, False]),
        minutes=np.array([60.0, 30, 60]),
        setup=np.full((1, 4), 50.0),
        labour=np.full((1, 4), np.inf),
        window=np.arange(4)[None],
    )
    problem = on_spans(problem, [0, 1, 0, 1], [60, 60])
    choice = choose_stops(problem)
    assert not problem.shared.exceeded(choice.stop).any()
    assert choice.cost == pytest.approx(least_of_all(problem))
    assert np.isfinite(chosen(problem))
