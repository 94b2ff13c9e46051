"""The changeouts in somebody's calendar: read without signing in, at an address that can be revoked.

What a calendar file may hold is iCalendar, RFC 5545; an independent reader of it stands in for a phone.
"""

import re
from datetime import timedelta

from django.urls import reverse
from icalendar import Calendar

from fleet.models import LINES, CalendarFeed, Membership, Role, Site

from .small_fleet import day, small_plan


def address_of(client, organization, **sent) -> str:
    answer = client.post(reverse("calendars", args=[organization.slug]), sent)
    return re.search(r"/calendars/[\w-]+\.ics", answer.content.decode()).group()


def events_at(client, address: str) -> list:
    answer = client.get(address)
    assert answer.status_code == 200
    assert answer["Content-Type"].startswith("text/calendar")
    return Calendar.from_ical(answer.content).walk("VEVENT")


def test_a_phone_reads_each_stop_as_one_whole_day_with_its_hoses_and_cautions(planned, member_of, client):
    address = address_of(member_of(planned), planned)
    client.logout()
    event, *_others = events_at(client, address)
    assert event["DTSTART"].dt >= day(0)
    assert event["DTEND"].dt - event["DTSTART"].dt == timedelta(days=1)
    assert re.search(r"change \d hose", str(event["SUMMARY"]))
    assert "Never feel for leaks" in str(event["DESCRIPTION"])


def test_a_stop_on_two_days_of_its_window_is_an_event_each_day_with_the_hoses_of_that_day(planned, member_of):
    lines, client = LINES["changeouts"].objects, member_of(planned)
    address = address_of(client, planned)
    before = [str(event["UID"]) for event in events_at(client, address)]
    later = lines.filter(machine="M-01").latest("row")
    lines.filter(pk=later.pk).update(planned_on=day(40))
    first, other, last = events_at(client, address)
    assert [str(first["UID"]), str(other["UID"])] == before
    assert str(last["UID"]) not in before
    on_days = [(one["DTSTART"].dt, one["DTEND"].dt) for one in (first, last)]
    assert on_days == [(day(7), day(8)), (day(40), day(41))]
    assert str(last["SUMMARY"]) == "M-01: change 1 hose"
    assert later.assembly in str(last["DESCRIPTION"])
    assert later.assembly not in str(first["DESCRIPTION"])


def test_an_event_leads_to_the_sheet_of_its_stop_on_the_host_at_which_it_is_read(planned, member_of):
    """URL, RFC 5545, 3.8.4.6: an absolute address."""
    client = member_of(planned)
    addresses = [str(event["URL"]) for event in events_at(client, address_of(client, planned))]
    assert reverse("changeout", args=[planned.slug, "M-01", "C-M-01"]) in [
        one.removeprefix("http://testserver") for one in addresses
    ]
    assert {client.get(one).status_code for one in addresses} == {200}


def test_the_page_says_how_a_calendar_program_takes_the_address(planned, member_of):
    page = member_of(planned).post(reverse("calendars", args=[planned.slug])).content.decode()
    assert "Add it there as a calendar from the web" in page and "Stop this address" in page


def test_a_stop_keeps_its_event_when_the_plan_is_made_anew(planned, member_of, client):
    address = address_of(member_of(planned), planned)
    before = [str(event["UID"]) for event in events_at(client, address)]
    small_plan(planned)
    assert [str(event["UID"]) for event in events_at(client, address)] == before


def test_only_the_digest_of_an_address_is_kept_and_it_is_shown_once(planned, member_of):
    client = member_of(planned)
    address = address_of(client, planned, name="my phone")
    secret = address.split("/")[-1].removesuffix(".ics")
    assert secret not in str(CalendarFeed.objects.values().get())
    page = client.get(reverse("calendars", args=[planned.slug])).content.decode()
    assert "my phone" in page
    assert secret not in page


def test_a_revoked_address_answers_no_longer(planned, member_of):
    client = member_of(planned)
    address = address_of(client, planned)
    client.post(reverse("revoke_calendar", args=[planned.slug, CalendarFeed.objects.get().pk]))
    assert client.get(address).status_code == 404


def test_nobody_revokes_the_address_of_another(planned, member_of):
    address = address_of(member_of(planned), planned)
    other = member_of(planned, Role.OWNER)
    other.post(reverse("revoke_calendar", args=[planned.slug, CalendarFeed.objects.get().pk]))
    assert other.get(address).status_code == 200


def test_an_address_ends_with_the_membership_of_who_made_it(planned, member_of):
    client = member_of(planned)
    address = address_of(client, planned)
    Membership.objects.filter(organization=planned).delete()
    assert client.get(address).status_code == 404


def test_a_calendar_of_one_site_holds_its_stops_alone(planned, member_of):
    client = member_of(planned)
    everywhere = events_at(client, address_of(client, planned))
    sites = Site.objects.of(planned).values_list("key", flat=True)
    shares = [len(events_at(client, address_of(client, planned, site=site))) for site in sites]
    assert len(sites) == 2
    assert sum(shares) == len(everywhere)


def test_a_site_that_is_none_is_refused_and_the_sites_are_named(planned, member_of):
    page = member_of(planned).post(reverse("calendars", args=[planned.slug]), {"site": "moon"})
    assert "There is no site moon. Choose one of:" in page.content.decode()
    assert not CalendarFeed.objects.exists()
