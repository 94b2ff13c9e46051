"""What is not known: entered where it is told, by the rules of a fleet folder."""

import pytest
from django.urls import reverse

from fleet.models import LINES, Assembly, Part, Position, Role
from tests.fleet.pages.small_fleet import set_setting

ASKED = {"file": "positions", "name": "M-01/boom 2", "column": "peak_pressure_bar"}


@pytest.fixture
def planner(planned, member_of):
    return member_of(planned, Role.PLANNER)


def address(organization, **asked) -> str:
    return reverse("enter_gap", args=[organization.slug], query=ASKED | asked)


def name_gap(kind: str, name: str, column: str) -> dict:
    """Has the plan name that as not known."""
    LINES["gaps"].objects.update(kind=kind, name=name, column=column)
    return {"file": kind, "name": name, "column": column}


def test_what_is_not_known_leads_to_where_it_is_entered(planned, planner, member_of):
    list_of_gaps = reverse("gaps", args=[planned.slug])
    way = f"{reverse('enter_gap', args=[planned.slug])}?file=positions&amp;name=M-01%2Fboom%202"
    assert way in planner.get(list_of_gaps).content.decode()
    assert way not in member_of(planned, Role.SHOP).get(list_of_gaps).content.decode()


def test_a_pressure_is_entered_in_the_units_of_the_organization(planned, planner):
    set_setting(planned, "pressure_unit", "psi")
    assert "(psi)" in planner.get(address(planned)).content.decode()
    answer = planner.post(address(planned), {"value": "4350"}, follow=True)
    assert "Entered: peak_pressure_bar of M-01/boom 2." in answer.content.decode()
    position = Position.objects.get(machine__key="M-01", key="boom 2")
    assert position.peak_pressure_bar == pytest.approx(299.9, abs=0.1)
    assert position.entered["peak_pressure"] == [4350, "psi"]
    assert (position.circuit, position.working_pressure_bar) == ("boom", 250), "the rest stands as it stood"
    assert position.history.first().history_user is not None


def test_what_the_rules_of_a_folder_refuse_is_refused_here(planned, planner):
    answer = planner.post(address(planned), {"value": "3500"})
    assert answer.status_code == 422 and "3500 is above" in answer.content.decode()
    assert Position.objects.get(machine__key="M-01", key="boom 2").peak_pressure_bar is None


def test_a_part_and_a_past_removal_are_entered_too(planned, planner):
    asked = name_gap("parts", "H-2SN-08", "rated_pressure_bar")
    planner.post(address(planned, **asked), {"value": "275"})
    part = Part.objects.get(key="H-2SN-08")
    assert (part.rated_pressure_bar, part.construction, part.unit_cost) == (275, "2SN", 12)
    Assembly.objects.filter(key="A-1-1-first").update(removal_cause="unknown")
    asked = name_gap("installations", "A-1-1-first", "removal_cause")
    planner.post(address(planned, **asked), {"value": "worn", "seen": "unknown"})
    past = Assembly.objects.get(key="A-1-1-first")
    assert (past.removal_cause, past.failure_mode) == ("worn", "burst at the bend")


def test_what_is_entered_of_an_assembly_says_nothing_else_of_it(planned, planner):
    """The small fleet's assemblies name no design: nobody says that it is the position's."""
    Assembly.objects.filter(key="A-1-1-first").update(removal_cause="unknown")
    before = Assembly.objects.values().get(key="A-1-1-first")
    asked = name_gap("installations", "A-1-1-first", "removal_cause")
    planner.post(address(planned, **asked), {"value": "worn", "seen": "unknown"})
    after = Assembly.objects.values().get(key="A-1-1-first")
    assert before["design_id"] is None and Position.objects.get(pk=before["position_id"]).design
    assert after == before | {"removal_cause": "worn"}


def test_what_somebody_entered_since_is_shown_and_not_written_over(planned, planner):
    Position.objects.filter(key="boom 2").update(peak_pressure_bar=280)
    answer = planner.post(address(planned), {"value": "300", "seen": ""}, follow=True)
    assert "Somebody has entered peak_pressure_bar of M-01/boom 2 since: 280." in answer.content.decode()
    assert Position.objects.get(machine__key="M-01", key="boom 2").peak_pressure_bar == 280
    shown = answer.context["form"]["seen"].value()
    planner.post(address(planned), {"value": "300", "seen": shown})
    assert Position.objects.get(machine__key="M-01", key="boom 2").peak_pressure_bar == 300


def test_only_what_the_plan_names_can_be_entered_so(planned, planner, member_of):
    assert planner.get(address(planned, column="working_pressure_bar")).status_code == 404
    asked = name_gap("positions", "M-01/boom 2", "machine")
    assert planner.get(address(planned, **asked)).status_code == 404
    assert planner.get(address(planned, name="/" * 1500)).status_code == 404
    assert member_of(planned, Role.SHOP).get(address(planned)).status_code == 403
