"""The results of the plan in force, and asking for a new one."""

import datetime

import pytest
from django.utils import timezone

from fleet.models import LINES, Plan, RunState
from forecasting.outputs import OUTPUTS

from .conftest import DAY, plan_of

HANDWORK = ("changeouts", "kits", "kit_lines", "cut_list")


@pytest.mark.parametrize("name", OUTPUTS)
def test_each_file_out_can_be_read_column_by_column(name, planner, plan):
    page = planner.get(f"/api/v1/plan/{name}/").json()

    assert (page["plan"], page["as_of"], page["count"]) == (plan.pk, "2024-03-01", 1)
    assert list(page["results"][0]) == OUTPUTS[name].names


@pytest.mark.parametrize("name", ["margins", "forecasts", "changeouts", "changes"])
def test_a_line_is_found_by_its_assembly(name, planner, plan):
    line = planner.get(f"/api/v1/plan/{name}/gravel/").json()

    assert line["assembly"] == "gravel"


def test_a_kit_is_found_by_its_key_and_carries_the_cautions_of_the_bench(planner, plan):
    kit = planner.get("/api/v1/plan/kits/gravel/").json()

    codes = [caution["code"] for caution in kit["cautions"]]
    assert codes == ["never_reuse", "proof", "injection", "competence"]


@pytest.mark.parametrize("name", HANDWORK)
def test_lines_that_lead_to_handwork_carry_the_warning_of_injection(name, planner, plan):
    cautions = planner.get(f"/api/v1/plan/{name}/").json()["cautions"]

    assert any("surgical emergency" in caution["text"] for caution in cautions)


def test_a_changeout_says_to_prove_zero_pressure(planner, plan):
    changeout = planner.get("/api/v1/plan/changeouts/gravel/").json()

    assert any("prove zero pressure" in caution["text"] for caution in changeout["cautions"])


def test_chances_are_filtered_by_how_high_they_are(planner, plan):
    def count(least: float) -> int:
        return planner.get("/api/v1/plan/forecasts/", {"p_fail_90d_min": least}).json()["count"]

    assert (count(0.2), count(0.3)) == (1, 0)


def test_the_newest_finished_plan_is_in_force(planner, gravel, plan):
    newer = plan_of(gravel)
    newer.finished_at = plan.finished_at + datetime.timedelta(days=1)
    newer.save()
    Plan.objects.create(organization=gravel, as_of=DAY, state=RunState.FAILED)

    assert planner.get("/api/v1/plan/").json()["plan"] == newer.pk
    assert planner.get("/api/v1/plan/margins/").json()["plan"] == newer.pk


@pytest.mark.parametrize("name", ["", *(f"{name}/" for name in LINES)])
def test_without_a_plan_the_answer_says_how_to_get_one(name, planner):
    response = planner.get(f"/api/v1/plan/{name}")

    assert response.status_code == 404
    assert response.json()["code"] == "no_plan"
    assert "POST /api/v1/plans/" in response.json()["text"]


def test_a_plan_that_is_asked_for_can_be_followed(planner, gravel):
    response = planner.post("/api/v1/plans/", {"as_of": "2024-03-01"}, format="json")

    assert response.status_code == 202
    followed = planner.get(response["Location"]).json()
    assert (followed["state"], followed["as_of"], followed["requested_by"]) == (
        "requested",
        "2024-03-01",
        "ada",
    )


def test_a_plan_is_not_asked_for_while_one_is_being_made(planner, gravel):
    planner.post("/api/v1/plans/")

    response = planner.post("/api/v1/plans/")

    assert response.status_code == 409
    assert response.json()["code"] == "plan_runs"
    assert Plan.objects.count() == 1


@pytest.mark.parametrize(
    ("days", "code", "told"),
    [(1, "day_ahead", "a day that has come"), (-13, "newer_in_force", "take the place of the one in force")],
)
def test_a_day_ahead_or_before_the_plan_in_force_is_refused(planner, gravel, days, code, told):
    today = timezone.localdate()
    in_force = today - datetime.timedelta(days=12)
    Plan.objects.create(organization=gravel, as_of=in_force, state=RunState.DONE, finished_at=timezone.now())
    asked = (today + datetime.timedelta(days=days)).isoformat()

    response = planner.post("/api/v1/plans/", {"as_of": asked}, format="json")

    assert (response.status_code, response.json()["code"]) == (400, code)
    assert told in response.json()["text"]
    assert Plan.objects.count() == 1
    again = planner.post("/api/v1/plans/", {"as_of": in_force.isoformat()}, format="json")
    assert again.status_code == 202


def test_another_organizations_plan_hinders_nobody(planner, quarry):
    Plan.objects.create(organization=quarry, as_of=DAY)

    assert planner.post("/api/v1/plans/").status_code == 202


def test_a_date_that_is_none_is_refused(planner):
    response = planner.post("/api/v1/plans/", {"as_of": "last summer"}, format="json")

    assert response.status_code == 400
    assert [wrong["field"] for wrong in response.json()["fields_wrong"]] == ["as_of"]
    assert not Plan.objects.exists()
