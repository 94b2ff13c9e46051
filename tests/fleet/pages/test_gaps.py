"""What is not known: entered where it is told, by the rules of a fleet folder."""

import pytest
from django.urls import reverse
from django.utils import timezone
from django.utils.dateformat import format as format_date
from django.utils.html import strip_tags

from fleet.models import LINES, Assembly, Machine, MeterReading, Part, Position, Role
from tests.fleet.pages.reading import read
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


@pytest.mark.parametrize("name", ["gaps", "suspects", "transfers"])
def test_without_a_plan_nothing_is_said_to_be_well(gravel, member_of, name):
    text = member_of(gravel, Role.MANAGER).get(reverse(name, args=[gravel.slug])).content.decode()
    assert "There is no plan yet: the first one says" in text


def test_a_pressure_is_entered_in_the_units_of_the_organization(planned, planner):
    set_setting(planned, "pressure_unit", "psi")
    assert "(psi)" in planner.get(address(planned)).content.decode()
    answer = planner.post(address(planned), {"value": "4350"}, follow=True)
    assert "Entered: peak pressure, M-01, boom 2." in read(answer)
    position = Position.objects.get(machine__key="M-01", key="boom 2")
    assert position.peak_pressure_bar == pytest.approx(299.9, abs=0.1)
    assert position.entered["peak_pressure"] == [4350, "psi"]
    assert (position.circuit, position.working_pressure_bar) == ("boom", 250), "the rest stands as it stood"
    assert position.history.first().history_user is not None


def test_what_is_not_known_is_told_in_words_of_the_trade_and_leads_to_its_place(planned, planner):
    text = planner.get(reverse("gaps", args=[planned.slug])).content.decode()
    machine = reverse("machine", args=[planned.slug, "M-01"])
    assert f'<a href="{machine}">M-01</a>, boom 2' in text and "peak pressure" in text
    page = planner.get(address(planned)).content.decode()
    assert "<title>M-01, boom 2: peak pressure" in page
    for code in ("peak_pressure_bar", "in positions"):
        assert code not in page.replace(address(planned).partition("?")[2], "")


def test_what_was_entered_stands_marked_in_the_list_and_can_be_corrected(planned, planner):
    planner.post(address(planned), {"value": "260"})
    today = format_date(timezone.localdate(), "j M Y")
    text = strip_tags(planner.get(reverse("gaps", args=[planned.slug])).content.decode())
    told = f"Known by now: 260 bar, {today}. The next plan counts on it. Correct it"
    assert told in text.replace("\N{NO-BREAK SPACE}", " ")
    page = planner.get(address(planned))
    assert "Enter another only to correct it." in page.content.decode()
    planner.post(address(planned), {"value": "265", "seen": page.context["form"]["seen"].value()})
    assert Position.objects.get(machine__key="M-01", key="boom 2").peak_pressure_bar == 265


@pytest.mark.parametrize(
    ("kind", "name", "column", "told"),
    [
        ("parts", "H-2SN-08", "rated_pressure_bar", "/parts/H-2SN-08/"),
        ("parts", "E-08", "cutoff_mm", "cut for this end before it is known"),
        ("installations", "A-1-1-first", "removal_cause", "/assemblies/A-1-1-first/"),
        ("meter_readings", "M-01", "hours", "/machines/M-01/"),
    ],
)
def test_each_kind_leads_to_where_it_belongs(planned, planner, kind, name, column, told):
    name_gap(kind, name, column)
    assert told in planner.get(reverse("gaps", args=[planned.slug])).content.decode()


def test_a_cause_and_a_reading_since_the_plan_are_known_by_now(planned, planner):
    Assembly.objects.filter(key="A-1-1-first").update(removal_cause="unknown")
    asked = name_gap("installations", "A-1-1-first", "removal_cause")
    list_of_gaps = reverse("gaps", args=[planned.slug])
    assert "Known by now" not in planner.get(list_of_gaps).content.decode()
    planner.post(address(planned, **asked), {"value": "worn", "seen": "unknown"})
    assert "Known by now: found worn" in planner.get(list_of_gaps).content.decode()
    name_gap("meter_readings", "M-01", "hours")
    read = {"machine": Machine.objects.get(key="M-01"), "read_on": timezone.localdate()}
    MeterReading.objects.create(organization=planned, hours=9_000, **read)
    assert "Known by now: 9,000" in planner.get(list_of_gaps).content.decode()


def test_what_stood_there_when_the_plan_was_made_is_not_taken_for_entered_since(planned, planner):
    """A hose of a suction line has a construction, which is not known to be made for suction."""
    name_gap("parts", "H-2SN-08", "construction")
    part = Part.objects.get(key="H-2SN-08")
    part.unit_cost = 14
    part.save()
    assert "Known by now" not in planner.get(reverse("gaps", args=[planned.slug])).content.decode()


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
    text = answer.content.decode()
    assert "Somebody has entered it since." in text and "280\N{NO-BREAK SPACE}bar" in text
    assert Position.objects.get(machine__key="M-01", key="boom 2").peak_pressure_bar == 280
    shown = answer.context["form"]["seen"].value()
    planner.post(address(planned), {"value": "300", "seen": shown})
    assert Position.objects.get(machine__key="M-01", key="boom 2").peak_pressure_bar == 300


def test_only_what_the_plan_names_can_be_entered_so(planned, planner, member_of):
    assert planner.get(address(planned, column="flow_lpm")).status_code == 404
    asked = name_gap("positions", "M-01/boom 2", "machine")
    assert planner.get(address(planned, **asked)).status_code == 404
    assert planner.get(address(planned, name="/" * 1500)).status_code == 404
    assert member_of(planned, Role.SHOP).get(address(planned)).status_code == 403


def test_what_a_place_asks_is_corrected_from_what_may_stand_in_there(planned, planner):
    stand_ins = planner.get(reverse("stand_ins", args=[planned.slug, "M-01", "boom 1"])).content.decode()
    asked = {"name": "M-01/boom 1", "column": "working_pressure_bar"}
    assert "name=M-01%2Fboom%201&amp;column=working_pressure_bar" in stand_ins
    page = planner.get(address(planned, **asked)).content.decode()
    assert "On record: 250\N{NO-BREAK SPACE}bar." in page
    unsaid = planner.post(address(planned, **asked), {"value": "180", "seen": "250"})
    assert unsaid.status_code == 422 and Position.objects.filter(working_pressure_bar=180).count() == 0
    sent = {"value": "180", "seen": "250", "reason": "relief valve set to 180"}
    answer = planner.post(address(planned, **asked), sent, follow=True)
    assert "Corrected: working pressure, M-01, boom 1." in read(answer)
    position = Position.objects.get(machine__key="M-01", key="boom 1")
    assert position.working_pressure_bar == 180
    record = position.history.first()
    assert record.history_user.username == "planner of Gravel Works"
    assert record.history_change_reason == "relief valve set to 180"


def test_what_is_not_asked_of_a_hose_is_not_corrected_here(planned, planner):
    asked = {"name": "M-01/boom 1", "column": "failure_cost"}
    assert planner.get(address(planned, **asked)).status_code == 404
