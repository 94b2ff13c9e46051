"""What a job shows while it is made, and what becomes of one whose process died."""

import datetime
import time

import pytest
from django.utils import timezone

from fleet.models import Backtest, Organization, RunState
from fleet.services import runs
from fleet.services.errors import BacktestRuns
from fleet.services.plans.backtesting import request_backtest
from fleet.services.runs import claim_run, end_run, making

DAY = datetime.date(2024, 3, 1)
LONG_AGO = datetime.timedelta(minutes=5)

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def gravel() -> Organization:
    return Organization.objects.create(name="Gravel Works", slug="gravel-works")


def a_run(gravel, **values) -> Backtest:
    return Backtest.objects.create(organization=gravel, from_day=DAY, every_days=30, **values)


def a_silent_run(gravel) -> Backtest:
    then = timezone.now() - LONG_AGO
    return a_run(gravel, state=RunState.RUNNING, started_at=then, seen_at=then)


def requested(gravel) -> Backtest:
    return request_backtest(organization=gravel, user=None, from_day=DAY, every_days=30)


def test_a_job_that_is_long_between_two_steps_shows_that_it_lives(gravel, monkeypatch):
    monkeypatch.setattr(runs, "SIGN_OF_LIFE_SECONDS", 0.01)
    run = a_silent_run(gravel)
    with making(run, name="backtest", refusals=(), stopped="Stopped."):
        until = time.monotonic() + 20
        while Backtest.objects.get().seen_at == run.seen_at and time.monotonic() < until:
            time.sleep(0.01)
    assert Backtest.objects.get().seen_at > run.seen_at
    with pytest.raises(BacktestRuns):
        requested(gravel)


def test_a_job_whose_process_died_is_waited_for_a_minute_and_given_up_by_the_next(gravel):
    dead = a_silent_run(gravel)
    following = claim_run(Backtest, requested(gravel).pk)
    assert following is not None and following.state == RunState.RUNNING
    dead.refresh_from_db()
    assert (dead.state, dead.failure) == (RunState.FAILED, runs.GIVEN_UP)
    assert end_run(dead, state=RunState.DONE) is False
    assert claim_run(Backtest, dead.pk) is None


@pytest.mark.parametrize(
    ("error", "told"),
    [
        (LookupError("nothing to replay"), "nothing to replay"),
        (ZeroDivisionError(), "it stands in the server's log as backtest 7"),
        (KeyboardInterrupt(), "Stopped before it was done."),
    ],
)
def test_whatever_ends_a_job_early_stands_in_its_row_and_is_raised_on(gravel, error, told):
    run = claim_run(Backtest, requested(gravel).pk)
    assert run is not None
    with (
        pytest.raises(type(error)),
        making(run, name="backtest 7", refusals=(LookupError,), stopped="Stopped before it was done."),
    ):
        raise error
    run.refresh_from_db()
    assert run.state == RunState.FAILED and told in run.failure


def test_a_request_that_was_never_begun_is_waited_for_as_its_service_says(gravel):
    requested(gravel)
    Backtest.objects.update(requested_at=timezone.now() - LONG_AGO)
    with pytest.raises(BacktestRuns):
        requested(gravel)
    Backtest.objects.update(requested_at=timezone.now() - datetime.timedelta(hours=2))
    assert requested(gravel).state == RunState.REQUESTED
