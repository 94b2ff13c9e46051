"""Machines, one machine, one assembly."""

import datetime

import pytest
from django.urls import reverse

from fleet.models import LINES, Assembly, Machine, MeterReading, Position, Site
from fleet.pages.register.lives import neighbours
from tests.fleet.pages.small_fleet import AS_OF


@pytest.fixture
def planner(planned, member_of):
    return member_of(planned)


def machines(client, organization, **query):
    return client.get(reverse("machines", args=[organization.slug]), query)


def machine(client, organization, key):
    return client.get(reverse("machine", args=[organization.slug, key]))


def assembly(client, organization, key):
    return client.get(reverse("assembly", args=[organization.slug, key]))


def test_a_machine_stands_with_its_positions_what_is_over_its_rating_and_its_next_stop(planned, planner):
    page = machines(planner, planned)
    first = page.context["rows"][0]
    assert (first.machine.key, first.positions, first.over_rating) == ("M-01", 3, 1)
    assert first.failures == pytest.approx(0.36)
    assert first.next_on == datetime.date(2026, 5, 11)


def test_machines_are_found_by_a_piece_of_their_number_and_by_site(planned, planner):
    assert [row.machine.key for row in machines(planner, planned, q="-02").context["rows"]] == ["M-02"]
    assert [row.machine.key for row in machines(planner, planned, site="north").context["rows"]] == ["M-01"]


def test_fifty_machines_stand_on_a_page(gravel, member_of):
    site = Site.objects.create(organization=gravel, key="north")
    Machine.objects.bulk_create(
        Machine(organization=gravel, site=site, key=f"M-{number:03d}") for number in range(60)
    )
    page = machines(member_of(gravel), gravel, page="2")
    assert len(page.context["rows"]) == 10
    assert "Page 2 of 2: rows 51 to 60 of 60" in page.content.decode()


def test_a_key_with_a_slash_has_a_page(gravel, member_of):
    site = Site.objects.create(organization=gravel, key="north")
    Machine.objects.create(organization=gravel, site=site, key="pit 3/loader #7")
    assert machine(member_of(gravel), gravel, "pit 3/loader #7").status_code == 200


def test_hours_of_a_machine_whose_meter_nobody_read_are_told_as_assumed(planned, planner):
    def told() -> str:
        return machine(planner, planned, "M-01").content.decode().replace("\N{NO-BREAK SPACE}", " ")

    assert ", 1,190 h</small>" in told()
    MeterReading.objects.all().delete()
    assert ", 1,190 h</small>" in told(), "what the meter showed when a hose went on tells as much"
    Assembly.objects.update(installed_hours=None, removed_hours=None)
    assert "never read" in told() and ", about 1,190 h, assumed</small>" in told()


def test_a_position_stands_with_its_assembly_margin_chances_and_due_day(planned, planner):
    text = machine(planner, planned, "M-01").content.decode().replace("\N{NO-BREAK SPACE}", " ")
    for told in ("A-1-1", "over its rating", "275 bar / 312.5 bar", "3 %", "12 %", "7–19 %", "1 May 2026"):
        assert told in text


def test_a_margin_that_is_not_sound_says_why(planned, planner):
    text = machine(planner, planned, "M-01").content.decode().replace("\N{NO-BREAK SPACE}", " ")
    assert "250 bar with 25 % for surges is more than the hose&#x27;s 275 bar." in text


def test_an_empty_position_says_that_nothing_is_installed(planned, planner):
    Position.objects.create(organization=planned, machine=Machine.objects.get(key="M-01"), key="tilt")
    assert "Nothing is installed here." in machine(planner, planned, "M-01").content.decode()


def test_a_hose_installed_after_the_plans_day_says_that_the_plan_does_not_know_it(planned, planner):
    position = Position.objects.create(
        organization=planned, machine=Machine.objects.get(key="M-01"), key="tilt"
    )
    Assembly.objects.create(
        organization=planned, key="A-new", position=position, installed_on=datetime.date(2026, 6, 1)
    )
    assert "installed after the plan" in machine(planner, planned, "M-01").content.decode()


def test_an_assembly_tells_its_life_its_build_and_its_forecast(planned, planner):
    text = assembly(planner, planned, "A-1-1").content.decode().replace("\N{NO-BREAK SPACE}", " ")
    for told in (
        "about 12 % (7–19 %)",
        "Inspected: to be watched",
        "cover rubbed",
        "Ines",
        "21.19 mm, 21.20 mm, 21.21 mm",
        "C-7 revision 2: 21.21 mm ±0.13 mm",
        "pressure ratio: raises it 2.1 times",
        "Never feel for leaks",
    ):
        assert told in text


def test_an_assembly_that_came_off_tells_why_and_what_took_its_place(planned, planner):
    text = assembly(planner, planned, "A-1-1-first").content.decode()
    assert "failed in service" in text and "burst at the bend" in text
    assert reverse("assembly", args=[planned.slug, "A-1-1"]) in text


def test_the_neighbours_of_an_assembly_are_the_nearest_in_its_position(planned):
    first, now = Assembly.objects.get(key="A-1-1-first"), Assembly.objects.get(key="A-1-1")
    oldest = Assembly.objects.create(
        organization=planned,
        key="A-1-1-oldest",
        position=now.position,
        installed_on=datetime.date(2020, 1, 1),
        removed_on=datetime.date(2021, 1, 1),
    )
    assert neighbours(oldest) == (None, first)
    assert neighbours(first) == (oldest, now)
    assert neighbours(now) == (first, None)


def test_a_change_of_the_register_tells_who_and_from_what_to_what(planned, planner):
    changed = Assembly.objects.get(key="A-1-1")
    changed.hose_lot = "L-78"
    changed._history_user = None
    changed.save()
    text = assembly(planner, planned, "A-1-1").content.decode()
    assert "hose lot: L-77 → L-78" in text
    assert "<strong>changed</strong>, nobody is named" in text


def test_days_and_hours_of_a_change_are_told_as_pages_tell_them(planned, planner):
    changed = Assembly.objects.get(key="A-1-1")
    changed.removed_on, changed.removed_hours, changed.removal_cause = AS_OF, 33700.0, "worn"
    changed.save()
    text = assembly(planner, planned, "A-1-1").content.decode().replace("\N{NO-BREAK SPACE}", " ")
    assert '<time datetime="2026-05-04">4 May 2026</time>' in text.partition("Who wrote what")[2]
    assert "removed hours: not known → 33,700 h" in text


def test_a_change_smaller_than_is_usually_shown_is_told_with_the_digits_that_tell_it(planned, planner):
    changed = Assembly.objects.get(key="A-1-1")
    for hours in (4210.2, 4210.4, 4210.0, 4215.0):
        changed.installed_hours = hours
        changed.save()
    text = assembly(planner, planned, "A-1-1").content.decode().replace("\N{NO-BREAK SPACE}", " ")
    assert "installed hours: 4,210.2 h → 4,210.4 h" in text
    assert "installed hours: 4,210.4 h → 4,210 h" in text
    assert "installed hours: 4,210 h → 4,215 h" in text


def test_what_belongs_to_another_organization_does_not_exist(planned, quarry, member_of):
    client = member_of(quarry)
    assert machine(client, quarry, "M-01").status_code == 404
    assert assembly(client, quarry, "A-1-1").status_code == 404
    assert machine(client, planned, "M-01").status_code == 404


def test_a_machine_names_its_hoses_over_their_rating_and_its_next_stop(planned, member_of):
    page = member_of(planned).get(reverse("machine", args=["gravel-works", "M-01"])).content.decode()
    assert "1 hose is over its rating:" in page
    assert reverse("changeout", args=["gravel-works", "M-01", "C-M-01"]) in page
    assert reverse("decide", args=["gravel-works", "A-1-2"]) in page


def test_of_what_stays_on_a_retired_machine_each_page_says_that_the_plan_asks_nothing(planned, planner):
    Machine.objects.filter(key="M-01").update(retired_on=AS_OF - datetime.timedelta(days=30))
    LINES["forecasts"].objects.filter(machine="M-01").delete()  # as the next plan would have it
    told = "The plan asks nothing of it: its machine was retired."
    assert told in assembly(planner, planned, "A-1-1").content.decode()
    assert told in planner.get(reverse("tag", args=[planned.slug, "A-1-1"])).content.decode()
    text = machine(planner, planned, "M-01").content.decode()
    assert told in text and "installed after the plan" not in text
