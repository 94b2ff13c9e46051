"""Of two who make a plan at once one does, and a process that is stopped midway leaves what stood."""

import datetime
import signal
import threading
from functools import partial
from pathlib import Path

import pytest
from django.utils import timezone

from fleet.models import LINES, Organization, Plan, RunState
from fleet.services.errors import PlanRuns
from fleet.services.plans.replanning import request_plan, run_plan

from .at_once import at_once
from .builders import take_small_fleet
from .processes import PATIENCE_SECONDS, manage, wait_until

AS_OF = datetime.date(2024, 1, 15)

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def gravel(tmp_path) -> Organization:
    """An organization with a small fleet."""
    return take_small_fleet(tmp_path / "fleet", "Gravel Works")


def planned(organization: Organization) -> Plan:
    return run_plan(request_plan(organization=organization, user=None, as_of=AS_OF).pk)


def stored(organization: Organization) -> Plan:
    """A plan in force with a line."""
    plan = Plan.objects.create(
        organization=organization, as_of=AS_OF, state=RunState.DONE, finished_at=timezone.now()
    )
    LINES["margins"].objects.create(
        plan=plan, row=0, assembly="A-2", machine="EX-01", position="boom left", verdict="sound"
    )
    return plan


def test_of_two_at_once_one_is_made_and_the_other_says_that_one_runs():
    quarry = Organization.objects.create(name="Quarry", slug="quarry")
    plans = [Plan.objects.create(organization=quarry, as_of=AS_OF) for _ in range(2)]
    refused, refusals = threading.Event(), []

    def run(plan: Plan) -> None:
        try:
            run_plan(plan.pk, progress=lambda step: refused.wait(PATIENCE_SECONDS))
        except PlanRuns as refusal:
            refusals.append(str(refusal))
            refused.set()

    at_once(*[partial(run, plan) for plan in plans])

    states = sorted(Plan.objects.values_list("state", "failure"))
    assert states == [(RunState.DONE, ""), (RunState.FAILED, refusals[0])]
    assert "is being made since" in refusals[0]


def stopped_midway(organization: Organization, out: Path, signal_number: int) -> tuple[int, str, Plan]:
    """What a process that makes a plan returned and said when it was stopped in the midst, and its plan."""
    before = set(Plan.objects.values_list("pk", flat=True))
    process = manage(
        "replan", "--organization", organization.name, "--as-of", "2024-01-15", "--out", str(out)
    )
    running = Plan.objects.exclude(pk__in=before).filter(state=RunState.RUNNING).exclude(progress="")
    wait_until(lambda: running.exists() or process.poll() is not None, "the plan is being made", 0.01)
    process.send_signal(signal_number)
    said, _ = process.communicate()
    return process.returncode, said, Plan.objects.exclude(pk__in=before).get()


def test_killing_the_process_leaves_the_old_plan_in_force_and_a_later_run_succeeds(gravel, tmp_path):
    before = stored(gravel)
    margins = LINES["margins"].objects.count()

    code, _, killed = stopped_midway(gravel, tmp_path / "out", signal.SIGKILL)

    assert (code, killed.state) == (-signal.SIGKILL, RunState.RUNNING)
    assert Plan.objects.in_force(gravel) == before
    assert LINES["margins"].objects.count() == margins
    assert not (tmp_path / "out").exists()
    with pytest.raises(PlanRuns):
        planned(gravel)
    a_while_later = killed.seen_at - datetime.timedelta(minutes=2)
    Plan.objects.filter(pk=killed.pk).update(seen_at=a_while_later)
    assert planned(gravel) == Plan.objects.in_force(gravel) != before


def test_ctrl_c_leaves_what_stood_and_frees_the_way_at_once(gravel, tmp_path):
    before = stored(gravel)

    code, said, stopped = stopped_midway(gravel, tmp_path / "out", signal.SIGINT)

    assert (code, said.splitlines()[-1]) == (130, "CommandError: Stopped. What stood before still stands.")
    assert (stopped.state, stopped.failure) == (
        RunState.FAILED,
        "Stopped before it was done. The plan in force stands as it was.",
    )
    assert Plan.objects.in_force(gravel) == before
    assert not (tmp_path / "out").exists()
    assert planned(gravel).state == RunState.DONE
