"""The main job is claimed once, computed on one snapshot and published in one step, or not at all.

What two processes do to each other stands in `test_replanning_at_once`.
"""

import datetime
import json

import pandas as pd
import pytest
from django.core.management import CommandError, call_command
from django.utils import timezone

from fleet.frames.plans import plan_tables
from fleet.models import (
    LINES,
    Assembly,
    ChangeoutDecision,
    OpenOrder,
    Organization,
    Part,
    Plan,
    Position,
    RunState,
    Setting,
    StockPiece,
)
from fleet.services.errors import DayAhead, NewerInForce, PlanGivenUp, PlanRuns
from fleet.services.folders.importing import import_fleet
from fleet.services.plans.replanning import request_plan, run_plan
from forecasting.outputs import OUTPUTS

from .builders import fleet_files, take_small_fleet, write_fleet_folder

AS_OF = datetime.date(2024, 1, 15)

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def gravel(kept_for_module, tmp_path_factory) -> Organization:
    """An organization with a small fleet."""
    return take_small_fleet(tmp_path_factory.mktemp("fleet"), "Gravel Works")


@pytest.fixture(scope="module")
def plan(gravel) -> Plan:
    """Its plan in force."""
    return planned(gravel)


def planned(organization: Organization, as_of: datetime.date = AS_OF) -> Plan:
    return run_plan(request_plan(organization=organization, user=None, as_of=as_of).pk)


def requested(organization: Organization, **values) -> Plan:
    return Plan.objects.create(organization=organization, as_of=AS_OF, **values)


def test_a_plan_comes_into_force_with_all_its_lines(gravel, plan):
    assert (plan.state, plan.failure, plan.progress) == (RunState.DONE, "", "")
    assert Plan.objects.in_force(gravel) == plan
    stored = {name: model.objects.filter(plan=plan).count() for name, model in LINES.items()}
    assert stored == plan.report["counts"]
    installed = Assembly.objects.of(gravel).installed_on(AS_OF).count()
    assert stored["margins"] == stored["forecasts"] == installed > 0


def test_a_plan_keeps_what_it_was_made_from(plan):
    assert plan.version
    assert len(plan.input_digest) == 64
    assert {policy["scope"] for policy in plan.policies} == {"all", "position:EX-01/boom left"}


def test_the_digest_tells_whether_the_register_was_the_same(gravel, plan):
    again = planned(gravel)
    Setting.objects.create(organization=gravel, name="kerf_mm", value="5")

    assert again.input_digest == plan.input_digest != planned(gravel).input_digest


def test_a_second_delivery_finds_the_plan_done_and_stops(plan):
    again = run_plan(plan.pk)

    assert again.finished_at == plan.finished_at
    assert LINES["margins"].objects.count() == plan.report["counts"]["margins"]


def test_a_plan_that_is_being_made_is_not_made_twice(gravel):
    running = requested(gravel, state=RunState.RUNNING, started_at=timezone.now(), seen_at=timezone.now())

    assert run_plan(running.pk).state == RunState.RUNNING
    assert not LINES["margins"].objects.filter(plan=running).exists()


def test_a_request_is_refused_while_a_plan_is_being_made(gravel):
    started = datetime.datetime.now(datetime.UTC)
    requested(gravel, state=RunState.RUNNING, started_at=started, seen_at=started)

    with pytest.raises(PlanRuns) as refusal:
        request_plan(organization=gravel, user=None, as_of=AS_OF)

    assert str(refusal.value) == (
        f"A plan for Gravel Works is being made since {started:%Y-%m-%d %H:%M} UTC. "
        "Wait for it to finish, then ask again."
    )


@pytest.mark.parametrize("days", [-400, 1])
def test_only_the_command_line_plans_a_day_before_the_plan_in_force_or_ahead(gravel, plan, days):
    today = timezone.localdate()
    asked = (today if days > 0 else AS_OF) + datetime.timedelta(days=days)
    with pytest.raises(DayAhead if days > 0 else NewerInForce):
        request_plan(organization=gravel, user=None, as_of=asked)
    call_command("replan", "--organization=Gravel Works", f"--as-of={asked}")
    assert Plan.objects.in_force(gravel).as_of == asked


def test_a_plan_of_a_day_ahead_gives_way_to_one_of_today(gravel):
    ahead = timezone.localdate() + datetime.timedelta(days=30)
    Plan.objects.create(organization=gravel, as_of=ahead, state=RunState.DONE, finished_at=timezone.now())
    today = timezone.localdate()
    assert request_plan(organization=gravel, user=None, as_of=today).as_of == today


def test_another_organizations_plan_is_in_nobodys_way(gravel):
    quarry = Organization.objects.create(name="Quarry", slug="quarry")
    requested(gravel, state=RunState.RUNNING, started_at=timezone.now(), seen_at=timezone.now())

    assert planned(quarry).state == RunState.DONE


def test_a_run_without_a_sign_of_life_is_given_up_and_the_next_may_run(gravel):
    long_ago = timezone.now() - datetime.timedelta(minutes=5)
    silent = requested(gravel, state=RunState.RUNNING, started_at=long_ago, seen_at=long_ago)

    assert planned(gravel).state == RunState.DONE

    silent.refresh_from_db()
    assert (silent.state, silent.failure) == (
        RunState.FAILED,
        "Its process stopped before it was done.",
    )


def test_a_run_that_was_given_up_publishes_nothing(gravel, plan):
    given_up = request_plan(organization=gravel, user=None, as_of=AS_OF)

    def give_up(step: str) -> None:
        if step == "Storing the plan":
            Plan.objects.filter(pk=given_up.pk).update(state=RunState.FAILED)

    with pytest.raises(PlanGivenUp):
        run_plan(given_up.pk, progress=give_up)

    assert Plan.objects.in_force(gravel) == plan
    assert not LINES["margins"].objects.filter(plan=given_up).exists()


def test_a_failure_keeps_its_reason_and_the_plan_in_force(gravel, plan):
    Setting.objects.create(organization=gravel, name="kerf_mm", value="wide")
    failed = request_plan(organization=gravel, user=None, as_of=AS_OF)

    with pytest.raises(ValueError, match="wide"):
        run_plan(failed.pk)

    failed.refresh_from_db()
    assert failed.state == RunState.FAILED
    assert (
        failed.failure
        == f"A fault in the service, not in your data; it stands in the server's log as plan {failed.pk}."
    )
    assert Plan.objects.in_force(gravel) == plan


def test_plans_of_the_next_days_say_much_the_same_of_the_same_register(gravel, plan):
    """The chance of a year moves by what a day adds to it, and not with the dice."""
    was = plan_tables(plan)["forecasts"].set_index("assembly")["p_fail_365d"]
    for later in (2, 4, 6):
        now = plan_tables(planned(gravel, AS_OF + datetime.timedelta(days=later)))["forecasts"]
        assert now.set_index("assembly")["p_fail_365d"].to_dict() == pytest.approx(was.to_dict(), rel=0.08)


def test_a_plan_for_a_past_day_does_not_change_when_later_rows_are_added(gravel, plan, tmp_path):
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

    assert after.input_digest != plan.input_digest
    was, now = plan_tables(plan), plan_tables(after)
    for name in OUTPUTS:
        pd.testing.assert_frame_equal(now[name], was[name], obj=name)
    assert after.report == plan.report


def test_a_plan_of_a_day_without_a_hose_says_why_it_is_empty(gravel):
    asked = request_plan(organization=gravel, user=None, as_of=datetime.date(1990, 1, 1), any_day=True)

    assert run_plan(asked.pk).report["warnings"][0] == (
        "No assembly is installed on 1 Jan 1990: there is nothing to forecast or to change."
    )


def test_a_plan_warns_of_orders_that_are_overdue(gravel, plan):
    OpenOrder.objects.of(gravel).update(expected_on=AS_OF - datetime.timedelta(days=400))

    (late,) = set(planned(gravel).report["warnings"]) - set(plan.report["warnings"])

    assert late == "1 open order is overdue or names no day and counts as if placed today: PO-9."


def test_a_plan_warns_of_hoses_that_are_due_and_stay_as_nobody_makes_their_parts(gravel, plan):
    """Not of those that a person wants to stay."""
    Position.objects.of(gravel).update(planned_cost=100, failure_cost=100_000)
    Part.objects.of(gravel).update(obsolete=True, superseded_by=None)
    StockPiece.objects.of(gravel).delete()
    OpenOrder.objects.of(gravel).delete()

    def told() -> list[str]:
        return [one for one in planned(gravel).report["warnings"] if "nothing may stand in for them" in one]

    assert told()
    refusal = {"kind": "refuse", "reason": "it is sold in June", "decided_on": AS_OF}
    for hose in Assembly.objects.of(gravel).installed_on(AS_OF):
        ChangeoutDecision.objects.create(organization=gravel, assembly=hose, **refusal)
    assert told() == []


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


def test_the_command_names_the_nearest_organization(gravel):
    with pytest.raises(CommandError) as refusal:
        call_command("replan", "--organization", "Gravel Work")

    assert str(refusal.value) == 'There is no organization "Gravel Work". Did you mean "Gravel Works"?'
