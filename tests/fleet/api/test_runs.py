"""Jobs that go on behind the API: how each of the four kinds says that nobody waits for it any more."""

from datetime import timedelta

import pytest
from django.utils import timezone

from fleet.models import Backtest, FolderReading, Plan, RunState, WhatIf
from fleet.services.runs import GIVEN_UP, NOT_BEGUN

from .conftest import DAY

KINDS = {
    "plans": (Plan, {"as_of": DAY}),
    "backtests": (Backtest, {"from_day": DAY, "every_days": 30}),
    "what-ifs": (WhatIf, {"as_of": DAY}),
    "folders": (FolderReading, {}),
}


@pytest.mark.parametrize("kind", KINDS)
def test_a_job_that_was_lost_says_so_in_its_list_and_alone(kind, gravel, planner):
    model, columns = KINDS[kind]
    run = model.objects.create(organization=gravel, **columns)

    def told(state: RunState, seen_at) -> str:
        rows = model.objects.filter(pk=run.pk)
        rows.update(state=state, seen_at=seen_at, requested_at=seen_at or timezone.now() - timedelta(hours=2))
        alone = planner.get(f"/api/v1/{kind}/{run.pk}/").json()["loss"]
        assert planner.get(f"/api/v1/{kind}/").json()["results"][0]["loss"] == alone
        return alone

    long_ago = timezone.now() - timedelta(hours=2)
    assert told(RunState.RUNNING, timezone.now()) == ""
    assert told(RunState.RUNNING, long_ago) == str(GIVEN_UP)
    assert told(RunState.REQUESTED, None) == str(NOT_BEGUN)
    assert told(RunState.DONE, long_ago) == told(RunState.FAILED, long_ago) == ""


@pytest.mark.parametrize(("kind", "minutes"), [("plans", 0.5), ("what-ifs", 20), ("backtests", 50)])
def test_a_job_behind_others_is_not_lost_as_long_as_it_may_still_be_begun(kind, minutes, gravel, planner):
    model, columns = KINDS[kind]
    run = model.objects.create(organization=gravel, **columns)

    def told(waited: timedelta) -> str:
        model.objects.update(requested_at=timezone.now() - waited)
        return planner.get(f"/api/v1/{kind}/{run.pk}/").json()["loss"]

    assert told(timedelta(minutes=minutes)) == ""
    assert told(timedelta(minutes=minutes * 2)) == str(NOT_BEGUN)
