"""The places whose hose came off and got no successor, all of them, as the register stands now."""

import datetime

import pytest
from django.urls import reverse
from django.utils import timezone

from fleet.models import Assembly, Machine, Position
from tests.fleet.pages.small_fleet import day


@pytest.fixture
def emptied(planned):
    """Gravel Works, where the hoses of M-01 boom 1 and M-02 boom 2 came off since the plan."""
    take_off("A-1-1", day(3), "failed")
    take_off("A-2-2", day(5), "")
    return planned


def take_off(key: str, on, cause: str = "planned") -> None:
    Assembly.objects.filter(key=key).update(removed_on=on, removal_cause=cause)


def listed(client, organization, **query):
    return client.get(reverse("empty_places", args=[organization.slug]), query)


def places(answer) -> list[str]:
    return [str(place) for place in answer.context["page"]]


def test_all_that_are_empty_now_stand_with_the_hose_that_came_off_last_and_why(emptied, member_of):
    page = listed(member_of(emptied), emptied)
    assert places(page) == ["M-02 boom 2", "M-01 boom 1"], "what was emptied last first"
    text = page.content.decode()
    assert "A-1-1</a>" in text and "A-1-1-first" not in text
    assert "failed in service" in text and "7 May 2026" in text and "not known" in text
    assert reverse("burst", args=[emptied.slug, "M-01", "boom 1"]) in text


def test_a_place_that_has_its_hose_again_or_never_had_one_is_not_listed(emptied, member_of):
    for position in Position.objects.filter(machine__key="M-01", key="boom 1"):
        Assembly.objects.create(
            organization=emptied, key="A-NEW", position=position, design=position.design, installed_on=day(4)
        )
    Position.objects.create(organization=emptied, machine=Machine.objects.get(key="M-01"), key="spare")
    assert places(listed(member_of(emptied), emptied)) == ["M-02 boom 2"]


def test_a_machine_that_is_out_of_service_waits_for_no_hose(emptied, member_of):
    Machine.objects.filter(key="M-01").update(retired_on=day(4))
    assert places(listed(member_of(emptied), emptied)) == ["M-02 boom 2"]


def test_what_is_entered_ahead_of_its_day_has_not_happened_yet(planned, member_of):
    ahead = timezone.localdate() + datetime.timedelta(days=9)
    take_off("A-1-1", ahead)
    take_off("A-2-2", day(5))
    Machine.objects.filter(key="M-02").update(retired_on=ahead)  # it works until then
    assert places(listed(member_of(planned), planned)) == ["M-02 boom 2"]


def test_another_fleets_places_are_not_there(emptied, quarry, member_of):
    assert "Every place has its hose, or never had one." in listed(member_of(quarry), quarry).content.decode()


def test_the_list_is_kept_to_a_site_sorted_and_taken_away(emptied, member_of):
    client = member_of(emptied)
    assert places(listed(client, emptied, site="north")) == ["M-01 boom 1"]
    assert places(listed(client, emptied, sort="machine")) == ["M-01 boom 1", "M-02 boom 2"]
    saved = b"".join(listed(client, emptied, sort="machine", save="csv").streaming_content).decode()
    assert saved.splitlines() == [
        "machine,position,site,design,critical,assembly,removed_on,removal_cause",
        "M-01,boom 1,north,D-100,,A-1-1,2026-05-07,failed",
        "M-02,boom 2,south,D-100,,A-2-2,2026-05-09,",
    ]


def test_a_long_list_stands_on_several_pages(planned, member_of):
    machine = Machine.objects.get(key="M-01")
    for number in range(60):
        place = Position.objects.create(organization=planned, machine=machine, key=f"tilt {number}")
        Assembly.objects.create(
            organization=planned,
            key=f"T-{number}",
            position=place,
            installed_on=day(-90),
            removed_on=day(-number),
        )
    page = listed(member_of(planned), planned, page=2)
    assert len(places(page)) == 10 and "60 places" in page.content.decode()
