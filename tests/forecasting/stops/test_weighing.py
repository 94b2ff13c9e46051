"""What another day would cost and risk, read off what a plan stored."""

import numpy as np
import pytest

from forecasting.policies import Settings
from forecasting.stops.candidates import stop_costs
from forecasting.stops.prospects import look_ahead
from forecasting.stops.weighing import Outlook
from tests.forecasting.builders import KnownLaw, a_window, build_fleet

HORIZONS = (30, 90, 180, 365)
MONTHLY = [a_window(starts_on=f"2027-{month:02d}-10") for month in range(1, 13)]
USUAL = Settings()


def outlook(law, row=0, **interval):
    chances = 1 - law.survival(np.array(HORIZONS))[row]
    return Outlook.read(HORIZONS, tuple(chances), interval.get("low", 0.05), interval.get("high", 0.3))


@pytest.mark.parametrize("shape", [1.3, 2.5, 4.0])
def test_the_cost_of_another_day_is_the_one_the_plan_would_have_reckoned(shape):
    tables = build_fleet(service_windows=MONTHLY)
    law = KnownLaw(tables, scale_days=1_700, shape=shape)
    prospects = look_ahead(law, tables, USUAL)
    days = np.array([[0.0, 37.0, 96.0, 158.0, 280.0, 365.0]])
    long_run = prospects.renewal.rate[0] * USUAL.horizon_days
    true = stop_costs(prospects, np.array([0]), days)[0] + long_run
    stored = {
        "planned_days": 96.0,
        "cost_now": true[2],
        "cost_if_left": true[-1],
        "failure_cost": 2_000.0,
        "horizon_days": 365.0,
    }
    told = [outlook(law).cost(day, **stored) for day in days[0]]
    assert told == pytest.approx(true, rel=0.02)
    assert told[2] == pytest.approx(true[2])


def test_the_chance_meets_the_stored_horizons_and_grows_between_them():
    tables = build_fleet()
    law = KnownLaw(tables, scale_days=1_700, shape=2.5)
    found = outlook(law)
    true = 1 - law.survival(np.array([30, 60, 90, 250, 365]))[0]
    assert [found.chance(day)[0] for day in (30, 60, 90, 250, 365)] == pytest.approx(true, rel=0.01)
    assert found.chance(0) == (0.0, 0.0, 0.0)
    assert found.chance(366) is None


def test_the_interval_is_the_stored_one_at_the_last_horizon_and_narrower_before():
    tables = build_fleet()
    found = outlook(KnownLaw(tables, scale_days=1_700, shape=2.5), low=0.1, high=0.4)
    assert found.chance(365)[1:] == pytest.approx((0.1, 0.4))
    low, high = found.chance(90)[1:]
    assert 0 < low < found.chance(90)[0] < high < 0.4


def test_what_cannot_fail_has_no_chance_and_no_interval():
    assert Outlook.read(HORIZONS, (0.0, 0.0, 0.0, 0.0), 0.0, 0.0).chance(200) == (0.0, 0.0, 0.0)


@pytest.mark.parametrize(("days", "planned", "horizon"), [(100, 365, 365), (400, 50, 365), (100, 50, 700)])
def test_a_day_that_the_plan_does_not_reach_has_no_cost(days, planned, horizon):
    tables = build_fleet()
    stored = {"cost_now": 100.0, "cost_if_left": 120.0, "failure_cost": 2_000.0}
    found = outlook(KnownLaw(tables, scale_days=1_700, shape=2.5))
    assert found.cost(days, planned_days=planned, horizon_days=horizon, **stored) is None


def test_what_is_as_good_as_sure_to_fail_keeps_the_ends_of_its_interval():
    sure = Outlook.read(HORIZONS, (0.9, 0.99, 0.9999, 1.0), 0.95, 1.0)
    assert sure.chance(365) == pytest.approx((1.0, 0.95, 1.0))
    chance, low, high = sure.chance(30)
    assert 0 < low < chance == pytest.approx(0.9) and chance <= high
