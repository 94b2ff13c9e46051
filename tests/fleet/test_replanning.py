"""The main job is claimed once, computed on one snapshot and published in one step, or not at all."""

import datetime
import json
import signal
import threading
from pathlib import Path

import pandas as pd
import pytest
from django.core.management import CommandError, call_command
from django.db import connections
from django.utils import timezone

from fleet.frames.plans import plan_tables
from fleet.models import LINES, Assembly, Organization, Plan, PlanState, Setting
from fleet.services.errors import PlanGivenUp, PlanRuns
from fleet.services.importing import import_fleet
from fleet.services.replanning import request_plan, run_plan
from forecasting.outputs import OUTPUTS

from .builders import fleet_files, write_fleet_folder
from .processes import manage, wait_until

AS_OF = datetime.date(2024, 1, 15)

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def gravel(tmp_path) -> Organization:
    """An organization with a small fleet."""
    folder = write_fleet_folder(tmp_path / "fleet", fleet_files())
    return import_fleet(folder=folder, organization_name="Gravel Works").organization


def planned(organization: Organization, as_of: datetime.date = AS_OF) -> Plan:
    return run_plan(request_plan(organization=organization, user=None, as_of=as_of).pk)


def requested(organization: Organization, **values) -> Plan:
    return Plan.objects.create(organization=organization, as_of=AS_OF, **values)


def test_a_plan_comes_into_force_with_all_its_lines(gravel):
    plan = planned(gravel)

    assert (plan.state, plan.failure, plan.progress) == (PlanState.DONE, "", "")
    assert Plan.objects.in_force(gravel) == plan
    stored = {name: model.objects.filter(plan=plan).count() for name, model in LINES.items()}
    assert stored == plan.report["counts"]
    installed = Assembly.objects.of(gravel).installed_on(AS_OF).count()
    assert stored["margins"] == stored["forecasts"] == installed > 0


def test_a_plan_keeps_what_it_was_made_from(gravel):
    plan = planned(gravel)

    assert plan.version
    assert len(plan.input_digest) == 64
    assert {policy["scope"] for policy in plan.policies} == {"all", "position:EX-01/boom left"}


def test_the_digest_tells_whether_the_register_was_the_same(gravel):
    first, again = planned(gravel), planned(gravel)
    Setting.objects.create(organization=gravel, name="kerf_mm", value="5")

    assert again.input_digest == first.input_digest != planned(gravel).input_digest


def test_a_second_delivery_finds_the_plan_done_and_stops(gravel):
    plan = planned(gravel)

    again = run_plan(plan.pk)

    assert again.finished_at == plan.finished_at
    assert LINES["margins"].objects.count() == plan.report["counts"]["margins"]


def test_a_plan_that_is_being_made_is_not_made_twice(gravel):
    running = requested(gravel, state=PlanState.RUNNING, started_at=timezone.now(), seen_at=timezone.now())

    assert run_plan(running.pk).state == PlanState.RUNNING
    assert not LINES["margins"].objects.exists()


def test_a_request_is_refused_while_a_plan_is_being_made(gravel):
    started = datetime.datetime.now(datetime.UTC)
    requested(gravel, state=PlanState.RUNNING, started_at=started, seen_at=started)

    with pytest.raises(PlanRuns) as refusal:
        request_plan(organization=gravel, user=None, as_of=AS_OF)

    assert str(refusal.value) == (
        f"A plan for Gravel Works is being made since {started:%Y-%m-%d %H:%M} UTC. "
        "Wait for it to finish, then ask again."
    )


def test_of_two_at_once_one_is_made_and_the_other_says_that_one_runs(gravel):
    plans = [requested(gravel), requested(gravel)]
    start, refusals = threading.Barrier(2), []

    def run(plan: Plan) -> None:
        start.wait()
        try:
            run_plan(plan.pk)
        except PlanRuns as refusal:
            refusals.append(str(refusal))
        finally:
            connections.close_all()

    threads = [threading.Thread(target=run, args=[plan]) for plan in plans]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    states = sorted(Plan.objects.values_list("state", "failure"))
    assert states == [(PlanState.DONE, ""), (PlanState.FAILED, refusals[0])]
    assert "is being made since" in refusals[0]


def test_another_organizations_plan_is_in_nobodys_way(gravel):
    quarry = Organization.objects.create(name="Quarry", slug="quarry")
    requested(quarry, state=PlanState.RUNNING, started_at=timezone.now(), seen_at=timezone.now())

    assert planned(gravel).state == PlanState.DONE


def test_a_run_without_a_sign_of_life_is_given_up_and_the_next_may_run(gravel):
    long_ago = timezone.now() - datetime.timedelta(minutes=5)
    silent = requested(gravel, state=PlanState.RUNNING, started_at=long_ago, seen_at=long_ago)

    assert planned(gravel).state == PlanState.DONE

    silent.refresh_from_db()
    assert (silent.state, silent.failure) == (
        PlanState.FAILED,
        "The process that made it stopped before it was done.",
    )


def test_a_run_that_was_given_up_publishes_nothing(gravel):
    before = planned(gravel)
    plan = request_plan(organization=gravel, user=None, as_of=AS_OF)

    def give_up(step: str) -> None:
        if step == "Storing the plan":
            Plan.objects.filter(pk=plan.pk).update(state=PlanState.FAILED)

    with pytest.raises(PlanGivenUp):
        run_plan(plan.pk, progress=give_up)

    assert Plan.objects.in_force(gravel) == before
    assert not LINES["margins"].objects.filter(plan=plan).exists()


def test_a_failure_keeps_its_reason_and_the_plan_in_force(gravel):
    before = planned(gravel)
    Setting.objects.create(organization=gravel, name="kerf_mm", value="wide")
    plan = request_plan(organization=gravel, user=None, as_of=AS_OF)

    with pytest.raises(ValueError, match="wide"):
        run_plan(plan.pk)

    plan.refresh_from_db()
    assert plan.state == PlanState.FAILED
    assert (
        plan.failure
        == f"A fault in the service, not in your data; it stands in the server's log as plan {plan.pk}."
    )
    assert Plan.objects.in_force(gravel) == before


def test_a_plan_for_a_past_day_does_not_change_when_later_rows_are_added(gravel, tmp_path):
    before = planned(gravel)
    files = fleet_files()
    files["installations"][1] |= {"removed_on": "2024-02-20", "removal_cause": "failed"}
    files["installations"].append(
        {"assembly": "A-9", "machine": "EX-01", "position": "boom left", "installed_on": "2024-02-20"}
    )
    files["meter_readings"] += [
        {"machine": "EX-01", "read_on": "2024-02-15", "hours": "700", "meter_replaced": ""},
        {"machine": "WL-02", "read_on": "2024-02-15", "hours": "5401", "meter_replaced": ""},
    ]
    files["inspections"].append({"assembly": "A-3", "inspected_on": "2024-02-01", "grade": "replace"})
    files["builds"].append({"assembly": "A-9", "design": "D-100", "built_on": "2024-02-19"})
    import_fleet(
        folder=write_fleet_folder(tmp_path / "later", files),
        organization=gravel,
        today=datetime.date(2024, 3, 1),
    )

    after = planned(gravel)

    assert after.input_digest != before.input_digest
    was, now = plan_tables(before), plan_tables(after)
    for name in OUTPUTS:
        pd.testing.assert_frame_equal(now[name], was[name], obj=name)
    assert after.report == before.report


def test_the_command_writes_every_file_out(gravel, tmp_path):
    out = tmp_path / "plan"

    call_command("replan", "--organization", "Gravel Works", "--as-of", "2024-01-15", "--out", str(out))

    assert {path.name for path in out.iterdir()} == {f"{name}.csv" for name in OUTPUTS} | {"report.json"}
    for name, table in OUTPUTS.items():
        frame = pd.read_csv(out / f"{name}.csv")
        assert list(frame) == table.names
    forecasts = pd.read_csv(out / "forecasts.csv")
    assert len(forecasts) == Assembly.objects.of(gravel).installed_on(AS_OF).count()
    assert json.loads((out / "report.json").read_text())["as_of"] == "2024-01-15"


def test_the_command_is_quiet_where_nobody_watches(gravel, capfd):
    call_command("replan", "--organization", "Gravel Works", "--as-of", "2024-01-15")

    assert capfd.readouterr() == ("", "")


def test_the_command_names_the_nearest_organization(gravel):
    with pytest.raises(CommandError) as refusal:
        call_command("replan", "--organization", "Gravel Work")

    assert str(refusal.value) == 'There is no organization "Gravel Work". Did you mean "Gravel Works"?'


def stopped_midway(organization: Organization, out: Path, signal_number: int) -> tuple[int, str, Plan]:
    """What a process that makes a plan returned and said when it was stopped in the midst, and its plan."""
    before = set(Plan.objects.values_list("pk", flat=True))
    process = manage(
        "replan", "--organization", organization.name, "--as-of", "2024-01-15", "--out", str(out)
    )
    running = Plan.objects.exclude(pk__in=before).filter(state=PlanState.RUNNING).exclude(progress="")
    wait_until(lambda: running.exists() or process.poll() is not None, "the plan is being made", 0.01)
    process.send_signal(signal_number)
    said, _ = process.communicate()
    return process.returncode, said, Plan.objects.exclude(pk__in=before).get()


def test_killing_the_process_leaves_the_old_plan_in_force_and_a_later_run_succeeds(gravel, tmp_path):
    before = planned(gravel)
    margins = LINES["margins"].objects.count()

    code, _, killed = stopped_midway(gravel, tmp_path / "out", signal.SIGKILL)

    assert (code, killed.state) == (-signal.SIGKILL, PlanState.RUNNING)
    assert Plan.objects.in_force(gravel) == before
    assert LINES["margins"].objects.count() == margins
    assert not (tmp_path / "out").exists()
    with pytest.raises(PlanRuns):
        planned(gravel)
    a_while_later = killed.seen_at - datetime.timedelta(minutes=2)
    Plan.objects.filter(pk=killed.pk).update(seen_at=a_while_later)
    assert planned(gravel) == Plan.objects.in_force(gravel) != before


def test_ctrl_c_leaves_what_stood_and_frees_the_way_at_once(gravel, tmp_path):
    before = planned(gravel)

    code, said, stopped = stopped_midway(gravel, tmp_path / "out", signal.SIGINT)

    assert (code, said.splitlines()[-1]) == (130, "CommandError: Stopped. What stood before still stands.")
    assert (stopped.state, stopped.failure) == (
        PlanState.FAILED,
        "Stopped before it was done. The plan in force stands as it was.",
    )
    assert Plan.objects.in_force(gravel) == before
    assert not (tmp_path / "out").exists()
    assert planned(gravel).state == PlanState.DONE
