"""The age at which a hose is cheapest to change, against published and exact figures."""

import numpy as np
import pytest

from forecasting.stops import renewal as renewals
from forecasting.stops.renewal import (
    Curves,
    best_renewal,
    cost_of_leaving,
    economic_day,
    first_risky_day,
)


def weibull(scale, shape, age=0.0):
    """Survival of lives of `age` (one per scale) under Weibull laws, as a function of days."""
    scale, shape, age = (np.atleast_1d(np.asarray(x, float))[:, None] for x in (scale, shape, age))
    return lambda days: np.exp((age / scale) ** shape - ((age + days) / scale) ** shape)


def costs(*values):
    return np.array(values, dtype=float)


def test_weibull_age_replacement_meets_the_published_condition():
    # Barlow & Proschan: h(T)·∫₀ᵀS − F(T) = planned/(failure − planned); figures computed independently.
    renewal = best_renewal(Curves.follow(weibull(1000, 2.5)), costs(1), costs(5))
    assert renewal.age_days == pytest.approx([493.05], rel=1e-4)
    assert renewal.rate == pytest.approx([0.003462043], rel=1e-4)


def test_age_replacement_at_a_cost_ratio_of_ten():
    # Barlow & Proschan's condition, scale 1, failure ten times planned: shape 2 and 3.
    fresh = Curves.follow(weibull([1, 1], [2, 3]), np.linspace(0, 4, 401))
    renewal = best_renewal(fresh, costs(1, 1), costs(10, 10))
    assert renewal.age_days == pytest.approx([0.33645, 0.38246], rel=1e-4)
    assert renewal.rate == pytest.approx([6.05612, 3.94935], rel=1e-4)


def test_uniform_lives_are_changed_where_tsang_says():
    # Tsang et al., ch. 2, problem 2: life uniform on 0–40000 km, planned 100, failure 200.
    fresh = Curves.follow(lambda km: 1 - km[None, :] / 40_000, np.linspace(0, 40_000, 40_001))
    renewal = best_renewal(fresh, costs(100), costs(200))
    assert renewal.age_days == pytest.approx([29_282.03], rel=1e-4)
    survival, served = fresh.at(np.zeros(4, int), costs(10_000, 20_000, 30_000, 40_000))
    rates = (200 - 100 * survival) / served
    assert rates == pytest.approx([0.0143, 0.01, 0.0093, 0.01], abs=5e-5)


@pytest.mark.parametrize("shape", [1.0, 0.8, 0.5])
def test_a_hazard_that_does_not_rise_is_never_changed_on_cost(shape):
    # Barlow & Proschan: shape 1 or less → never.
    fresh = Curves.follow(weibull(1000, shape))
    renewal = best_renewal(fresh, costs(1), costs(10))
    assert renewal.age_days[0] == np.inf
    assert renewal.rate == pytest.approx(renewal.run_to_failure_rate)
    day, _ = economic_day(Curves.follow(weibull(1000, shape, age=700)), costs(1), costs(10), renewal.rate)
    assert day[0] == np.inf


@pytest.mark.parametrize("failure_cost", [50.0, 100.0])
def test_a_failure_no_dearer_than_a_changeout_is_awaited(failure_cost):
    renewal = best_renewal(Curves.follow(weibull(1000, 3)), costs(100), costs(failure_cost))
    day, _ = economic_day(
        Curves.follow(weibull(1000, 3, age=900)), costs(100), costs(failure_cost), renewal.rate
    )
    assert renewal.age_days[0] == np.inf
    assert day[0] == np.inf


def test_run_to_failure_costs_one_failure_a_mean_life():
    renewal = best_renewal(Curves.follow(weibull(1000, 2)), costs(1), costs(5))
    mean_life = 1000 * np.sqrt(np.pi) / 2  # Γ(1 + 1/2)
    assert renewal.run_to_failure_rate == pytest.approx([5 / mean_life], rel=1e-4)


def test_a_hose_like_its_successor_is_due_at_the_best_age():
    ages = np.array([0.0, 200.0, 490.0, 600.0])
    renewal = best_renewal(Curves.follow(weibull([1000] * 4, [2.5] * 4)), costs(*[1] * 4), costs(*[5] * 4))
    day, value = economic_day(
        Curves.follow(weibull([1000] * 4, [2.5] * 4, ages)), costs(*[1] * 4), costs(*[5] * 4), renewal.rate
    )
    assert day == pytest.approx(np.maximum(493.05 - ages, 0), abs=4)  # days a seventh apart
    assert value[0] == pytest.approx(0, abs=1e-4)  # a fresh one costs just the long run
    assert value[3] == pytest.approx(1)  # one past its age costs its changeout


def test_costs_not_known_give_no_age_and_no_day():
    fresh = Curves.follow(weibull([1000, 1000], [2, 2]))
    renewal = best_renewal(fresh, costs(np.nan, 1), costs(5, 5))
    day, value = economic_day(fresh, costs(np.nan, 1), costs(5, 5), renewal.rate)
    assert np.isnan([renewal.rate[0], renewal.age_days[0], day[0], value[0]]).all()
    assert np.isfinite([renewal.rate[1], renewal.age_days[1], day[1], value[1]]).all()


def test_what_cannot_fail_is_never_changed():
    sound = Curves.follow(lambda days: np.ones((1, len(days))))
    renewal = best_renewal(sound, costs(1), costs(5))
    day, _ = economic_day(sound, costs(1), costs(5), renewal.rate)
    assert renewal.rate[0] == 0
    assert day[0] == np.inf


def test_curves_follow_a_weibull_law_between_their_days():
    survival_of = weibull([1200, 400], [2.2, 3.5], [300, 0])
    days = np.array([0.0, 3.3, 17.0, 91.0, 364.0, 700.0])
    survival, served = Curves.follow(survival_of).at(np.arange(2)[:, None], days)
    assert survival == pytest.approx(survival_of(days), abs=5e-4)
    fine = np.linspace(0, 700, 70_001)
    exact = np.cumsum(survival_of(fine)[:, :-1], axis=1) * 0.01
    assert served[:, -1] == pytest.approx(exact[:, -1], rel=3e-4)


def test_cost_of_leaving_is_the_planned_cost_today_and_the_failure_cost_at_last():
    now = Curves.follow(weibull(1000, 2.5, age=100))
    value = cost_of_leaving(now, np.array([0, 0]), np.array([0.0, 14_000.0]), 1.0, 5.0, 0.0)
    assert value == pytest.approx([1.0, 5.0])


def test_the_risk_limit_is_passed_on_the_day_the_conditional_chance_says():
    # Exact: shape 2, age t: 1 − exp(((t)² − (t + 365)²)/scale²) passes 0.2 at t = (−ln .8·scale² − 365²)/730.
    scale = 1500.0
    exact = (-np.log(0.8) * scale**2 - 365**2) / (2 * 365)
    now = Curves.follow(weibull([scale] * 4, [2] * 4, [0, 300, 2000, 0]))
    day = first_risky_day(now, costs(0.2, 0.2, 0.2, np.nan), costs(365, 365, 365, 365))
    assert day[:3] == pytest.approx([exact, exact - 300, 0], abs=4)
    assert day[3] == np.inf


def test_a_higher_failure_cost_never_makes_a_hose_wait_longer():
    count = 12
    failure = np.linspace(150, 5_000, count)
    renewal = best_renewal(
        Curves.follow(weibull([900] * count, [2.8] * count)), np.full(count, 100.0), failure
    )
    assert (np.diff(renewal.age_days) <= 1e-6 * renewal.age_days[1:]).all()


def test_lives_taken_some_at_a_time_say_the_same_as_all_at_once(monkeypatch):
    rng = np.random.default_rng(3)
    survival = weibull(rng.uniform(500, 3_000, 50), rng.uniform(0.8, 4, 50), rng.uniform(0, 900, 50))
    planned, failure, limit = rng.uniform(100, 300, 50), rng.uniform(400, 5_000, 50), np.full(50, 0.2)

    def everything():
        curves = Curves.follow(survival)
        renewal = best_renewal(curves, planned, failure)
        day, value = economic_day(curves, planned, failure, renewal.rate)
        risky = first_risky_day(curves, limit, np.full(50, 365.0))
        return np.array([*curves.served.T, renewal.rate, renewal.age_days, day, value, risky])

    at_once = everything()
    monkeypatch.setattr(renewals, "BLOCK", 7)
    np.testing.assert_allclose(everything(), at_once, rtol=1e-12)
