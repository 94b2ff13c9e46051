"""Machines that take in turn: within every limit, and near the best of every choice there is."""

from dataclasses import replace

import numpy as np
import pytest

from forecasting.stops.problem import Shared
from forecasting.stops.turns import GAP, take_in_turn, take_what_is_left
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
@pytest.mark.parametrize("span_of_stop", [[0, 0, 1], [0, 1, 0]])
def test_a_span_that_holds_several_stops_is_left_to_the_solver(seed, span_of_stop):
    problem = on_spans(a_problem(seed, machines=1, each=5), span_of_stop, [90, 60])
    least = least_of_all(problem)
    assert least - 1e-6 <= chosen(problem) <= least + GAP * (problem.outside.sum() - least) + 1e-6


@pytest.mark.parametrize("seed", range(4))
def test_a_part_is_no_labour_though_its_numbers_are_alike(seed):
    problem = on_spans(a_problem(seed, machines=1, each=5), [0, 1, 2], [90, 60, 60], more_on=30.0)
    least = least_of_all(problem)
    assert least - 1e-6 <= chosen(problem) <= least + GAP * (problem.outside.sum() - least) + 1e-6


@pytest.mark.parametrize("seed", range(6))
def test_looking_once_more_at_what_is_left_costs_no_more(seed):
    problem = on_spans(a_problem(seed, machines=4, labour=100), [0, 1, 2], [120, 120, 120])
    at_first = take_in_turn(problem)
    assert not problem.shared.exceeded(at_first).any()
    assert chosen(problem) <= problem.machine_costs(at_first).sum() + 1e-6


def test_where_nothing_is_left_nothing_is_done():
    problem = on_spans(a_problem(1), [0, 1, 2], [0, 0, 0])
    assert (take_in_turn(problem) == problem.width).all()
