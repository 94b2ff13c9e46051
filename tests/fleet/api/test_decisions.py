"""A program decides about changeouts under the same names as the pages, and is told what that costs."""

import datetime

import pytest
from django.utils import timezone

from fleet.models import LINES, ChangeoutDecision, Position, Role, ServiceWindow

TODAY = timezone.localdate()
DECISIONS, CHOICES = "/api/v1/decisions/", "/api/v1/choices/gravel-A1/"
SOON = TODAY + datetime.timedelta(days=10)


@pytest.fixture
def window(gravel):
    ServiceWindow.objects.filter(organization=gravel).update(starts_on=SOON, ends_on=SOON)
    return SOON


def asked(decision="keep", day=SOON, **more):
    return {"assembly": "gravel-A1", "decision": decision, "day": day and str(day), **more}


def test_a_decision_is_made_read_and_withdrawn(planner, window):
    made = planner.post(DECISIONS, asked(reason="with the track work"), format="json")
    assert made.status_code == 201
    assert made.json() == {
        "assembly": "gravel-A1",
        "machine": "gravel-1",
        "position": "gravel boom",
        "decision": "keep",
        "day": str(SOON),
        "reason": "with the track work",
        "decided_on": str(TODAY),
        "decided_by": "ada",
        "waits": True,
    }
    assert planner.get(DECISIONS, {"machine": "gravel-1"}).json()["count"] == 1
    assert planner.get(f"{DECISIONS}gravel-A1/").json()["decision"] == "keep"
    assert planner.delete(f"{DECISIONS}gravel-A1/").status_code == 204
    again = planner.delete(f"{DECISIONS}gravel-A1/")
    assert (again.status_code, planner.get(DECISIONS).json()["count"]) == (404, 0)


@pytest.mark.parametrize(
    ("sent", "code"),
    [
        (asked("refuse", None), "reason_missing"),
        (asked(day=SOON + datetime.timedelta(days=1)), "not_a_window"),
        (asked("not_after", TODAY - datetime.timedelta(days=1)), "decision_day"),
        (asked() | {"assembly": "gravel-A9"}, "assembly_not_there"),
        (asked("postpone"), "invalid"),
    ],
)
def test_what_is_refused_has_a_code_and_is_not_stored(planner, window, sent, code):
    answer = planner.post(DECISIONS, sent, format="json")
    assert (answer.status_code, answer.json()["code"]) == (400, code)
    assert not ChangeoutDecision.objects.exists()


def test_the_choices_are_told_before_anything_is_decided(planner, window, plan):
    told = planner.get(CHOICES).json()
    assert told["assembly"] == "gravel-A1"
    assert [one["decision"] for one in told["choices"]] == ["keep", "refuse"]
    assert told["choices"][0]["changed_on"] == str(SOON)
    (one,) = planner.get(CHOICES, {"decision": "not_after", "day": str(TODAY)}).json()["choices"]
    assert (one["changed_on"], one["special_stop"], one["refused"]) == (str(TODAY), True, None)


def test_what_no_stop_changes_says_why_it_stays_and_what_a_year_of_it_costs(planner, window, plan):
    assert planner.get(CHOICES).json()["stay"] is None, "the plan does not speak of it"
    chances = {f"p_fail_{days}d": days / 365 * 0.12 for days in (30, 90, 180, 365)}
    chances |= {"p_fail_365d_low": 0.05, "p_fail_365d_high": 0.25}
    LINES["forecasts"].objects.filter(plan=plan).update(assembly="gravel-A1", due_on=None, **chances)
    Position.objects.filter(key="gravel boom").update(failure_cost=2000)
    stay = planner.get(CHOICES).json()["stay"]
    assert stay.pop("why").startswith("No limit holds it, and changing it pays on no day ahead")
    assert stay == pytest.approx({"cost_a_year": 240.0, "low": 100.0, "high": 500.0})
    LINES["changeouts"].objects.filter(plan=plan).update(assembly="gravel-A1")
    assert planner.get(CHOICES).json()["stay"] is None, "a stop changes it"


def test_a_choice_that_is_refused_says_why(planner, window, gravel):
    assembly = Position.objects.get(organization=gravel).assemblies.get()
    Position.objects.filter(organization=gravel).update(critical=True)
    assembly.inspections.create(organization=gravel, inspected_on=TODAY, grade="replace")
    left = planner.get(CHOICES).json()["choices"][-1]
    assert "is critical, and its last inspection says replace" in left["refused"]


def test_who_plans_nothing_reads_and_decides_nothing(gravel, window, member, client_of):
    viewer = client_of(member(gravel, Role.VIEWER, "bob"))
    assert viewer.get(CHOICES).status_code == 200
    assert viewer.post(DECISIONS, asked(), format="json").status_code == 403
    assert viewer.delete(f"{DECISIONS}gravel-A1/").status_code == 403


def test_another_organizations_hose_is_not_there(planner, quarry):
    assert planner.get("/api/v1/choices/quarry-A1/").status_code == 404
    answer = planner.post(DECISIONS, asked() | {"assembly": "quarry-A1"}, format="json")
    assert answer.json()["code"] == "assembly_not_there"
