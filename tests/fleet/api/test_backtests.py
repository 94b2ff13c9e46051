"""Backtests through the API: ask for one, follow it, read what it says."""

import pytest
from rest_framework.test import APIClient

from fleet.models import Backtest, RunState

from .conftest import DAY

SCORE = {
    "as_of": "2024-03-01",
    "horizon_days": 90,
    "model": "service",
    "installed": 40,
    "expected": 9.5,
    "observed": 11,
    "low_80": 6,
    "high_80": 13,
    "low_95": 4,
    "high_95": 16,
    "log_loss": 0.31,
    "brier": 0.09,
    "calibration_slope": None,
    "calibration_intercept": None,
}
WORDS = ["Of 40 assemblies given 20–30 %, 11 failed; 10.0 were expected."]


def a_backtest(organization, **values) -> Backtest:
    return Backtest.objects.create(organization=organization, from_day=DAY, every_days=30, **values)


def test_a_backtest_that_is_asked_for_can_be_followed(planner: APIClient, gravel):
    response = planner.post("/api/v1/backtests/", {"from_day": "2024-03-01", "every_days": 30}, format="json")

    assert response.status_code == 202
    followed = planner.get(response["Location"]).json()
    assert (followed["state"], followed["from_day"], followed["scores"]) == ("requested", "2024-03-01", [])


def test_a_finished_one_gives_its_scores_and_what_they_say(planner: APIClient, gravel):
    made = a_backtest(gravel, state=RunState.DONE, until=DAY, scores=[SCORE], words=WORDS)

    answer = planner.get(f"/api/v1/backtests/{made.pk}/").json()

    assert answer["scores"] == [SCORE]
    assert answer["words"] == WORDS


def test_nobody_else_sees_it(planner: APIClient, gravel, quarry):
    other = a_backtest(quarry)

    assert planner.get(f"/api/v1/backtests/{other.pk}/").status_code == 404
    assert planner.get("/api/v1/backtests/").json()["results"] == []


def test_while_one_is_being_made_another_is_refused(planner: APIClient, gravel):
    a_backtest(gravel)

    response = planner.post("/api/v1/backtests/", {"from_day": "2024-03-01", "every_days": 30}, format="json")

    assert (response.status_code, response.json()["code"]) == (409, "backtest_runs")


@pytest.mark.parametrize("every_days", [0, -7, "often"])
def test_days_between_dates_that_are_none_are_refused(planner: APIClient, gravel, every_days):
    asked = {"from_day": "2024-03-01", "every_days": every_days}
    response = planner.post("/api/v1/backtests/", asked, format="json")

    assert response.status_code == 400
    assert [wrong["field"] for wrong in response.json()["fields_wrong"]] == ["every_days"]
    assert not Backtest.objects.exists()
