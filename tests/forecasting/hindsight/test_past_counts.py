"""How counts swung in the past: told by dates that differ beyond chance, and not by the level of a scope."""

import re
from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pandas as pd
import pytest
from scipy import special, stats

from forecasting.ahead.counts import SCOPE_KINDS
from forecasting.hindsight.past_counts import (
    SD_GRID,
    _log_negative_binomial,
    look_back,
    past_origins,
    shared_variance,
)
from forecasting.life.life_model import FEW_FAILURES, fit_life_model
from forecasting.life.standing import Standing
from tests.benchmarks.laws import AS_OF, BAD_YEARS, KINDS, small
from tests.benchmarks.worlds import simulate
from tests.forecasting.life_builders import make_lives


def past_of(law, positions: int, seed: int):
    standing = Standing.on(simulate(small(law, positions), seed).tables, AS_OF)
    model = fit_life_model(standing.lives, np.random.default_rng(seed))
    return look_back(standing.tables, standing.lives, model, AS_OF)


def cells(observed, expected) -> pd.DataFrame:
    """One row per scope and date, of arrays with a row a scope."""
    observed = np.asarray(observed)
    scope = np.repeat(np.arange(len(observed)), observed.shape[1]).astype(str)
    expected = np.broadcast_to(expected, observed.shape).ravel()
    return pd.DataFrame({"scope": scope, "observed": observed.ravel(), "expected": expected.astype(float)})


def test_the_chance_of_a_count_is_negative_binomial():
    observed, mean, variance = np.array([0.0, 3.0, 40.0]), np.array([1.5, 2.0, 30.0]), 0.2
    ours = np.exp(_log_negative_binomial(observed, mean, variance) - special.gammaln(observed + 1))
    exact = stats.nbinom.pmf(observed, 1 / variance, 1 / (1 + variance * mean))
    assert ours == pytest.approx(exact)


def test_counts_that_vary_by_chance_alone_swing_little():
    rng = np.random.default_rng(31)
    told = [shared_variance(cells(rng.poisson(50, (4, 4)), 50)) for _ in range(40)]
    assert np.mean(np.sqrt(told)) < 0.03


def test_a_swing_shared_by_a_scope_is_found():
    rng = np.random.default_rng(32)
    mean = 80 * rng.gamma(1 / 0.09, 0.09, (30, 4))
    assert np.sqrt(shared_variance(cells(rng.poisson(mean), 80))) == pytest.approx(0.3, abs=0.06)


def test_a_scope_that_always_fails_more_than_expected_does_not_swing():
    assert shared_variance(cells([[150, 150, 150, 150], [50, 50, 50, 50]], 100)) == 0.0


def test_few_failures_are_left_to_the_prior_which_believes_in_none():
    assert shared_variance(cells([[1, 0, 3, 0]], 1)) == 0.0
    assert shared_variance(cells(np.zeros((0, 4)), 1)) == 0.0
    assert SD_GRID[0] == 0.0


def test_dates_lie_a_whole_span_apart_within_what_was_watched():
    as_of = date(2025, 1, 1)
    lives = make_lives(3, exit_days=1500.0, ended_on="2025-01-01")
    assert past_origins(lives, as_of) == (365, [as_of - timedelta(days=365 * back) for back in (4, 3, 2, 1)])
    young = make_lives(3, exit_days=400.0, entry_days=100.0, ended_on="2025-01-01")
    assert past_origins(young, as_of) == (90, [as_of - timedelta(days=90 * back) for back in (3, 2, 1)])
    assert past_origins(make_lives(3, exit_days=100.0, ended_on="2025-01-01"), as_of) == (0, [])
    assert past_origins(make_lives(0), as_of) == (0, [])


def test_failures_that_came_agree_with_those_expected_of_each_scope():
    past = past_of(KINDS["gamma_luck"], 400, 3)
    assert set(past.cells["kind"]) == set(SCOPE_KINDS)
    whole = past.cells.groupby("kind")[["observed", "expected"]].sum()
    assert whole["observed"].nunique() == 1
    came, expected = whole.loc["all"]
    assert came == pytest.approx(expected, abs=3 * np.sqrt(expected))
    assert past.report()["basis"] == "past_dates"
    assert len(past.report()["dates"]) == 4


def test_bad_years_are_seen_in_the_past():
    past = past_of(BAD_YEARS, 1000, 1)
    assert all(variance > 0.1**2 for variance in past.variances.values())


def test_fewer_failures_than_enough_leave_the_intervals_to_a_bootstrap_and_say_so():
    past = past_of(KINDS["late_register"], 40, 2)
    failures = int(re.match(r"Only (\d+) failures came", past.report()["reason"])[1])
    assert 0 < failures < FEW_FAILURES
    assert past.variances == {}
    assert past.report()["basis"] == "bootstrap"


def test_many_failures_of_a_young_register_leave_the_intervals_to_the_parameter_draws():
    past = past_of(replace(KINDS["late_register"], register_years=0.35), 600, 2)
    assert past.variances == {}
    assert past.report()["basis"] == "parameter_draws"
    assert "too young" in past.report()["reason"]
