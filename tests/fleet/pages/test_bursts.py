"""The page for a hose that burst: what must be read first, then what there is, soonest first."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils.html import strip_tags

from fleet.models import Design, Machine, Position, Role
from fleet.services.stock.moving import count_stock
from tests.fleet.pages.reading import read
from tests.fleet.pages.small_fleet import small_fleet, small_plan


@pytest.fixture
def viewer(planned, member_of):
    """Somebody who looks, once the pressures were corrected: the hoses of the design are rated for them."""
    Position.objects.update(working_pressure_bar=200)
    return member_of(planned, Role.VIEWER)


def address(organization, machine="M-01", position="boom 1") -> str:
    return reverse("burst", args=[organization.slug, machine, position])


def test_the_machines_page_leads_to_the_burst_of_each_position(planned, viewer):
    text = viewer.get(reverse("machine", args=[planned.slug, "M-01"])).content.decode()
    assert f'href="{address(planned)}"' in text and text.count("It burst") == 3


def test_the_injection_caution_stands_first_and_unfolded(planned, viewer):
    text = viewer.get(address(planned)).content.decode()
    assert '<details class="caution" open>' in text
    assert text.index("surgical emergency: hospital now") < text.index("<h1>") < text.index("soonest first")


def test_what_is_there_and_what_is_missing_stands_in_plain_sentences(planned, viewer):
    for part, on_hand in (("H-2SN-08", 4), ("E-08", 1), ("F-08", 1)):
        count_stock(organization=planned, user=None, part=part, site="north", on_hand=on_hand)
    text = read(viewer.get(address(planned)))
    assert "lacks E-08" in text
    assert "1 of E-08 is missing: nothing says when it could be there." in text
    assert "The plan had it changed on 11 May 2026 (C-M-01)." in text
    assert "not fit for its place" in text


def test_a_hose_under_its_rating_is_not_offered(planned, viewer):
    Position.objects.update(working_pressure_bar=250)
    text = strip_tags(viewer.get(address(planned)).content.decode())
    assert "A new hose of D-100 would not bear M-01 boom 1" in text
    assert "None is offered." in text and "soonest first" not in text


def test_it_leads_to_recording_what_came_off_and_to_measuring_it(planned, viewer, member_of):
    def shown(client) -> str:
        return client.get(address(planned)).content.decode()

    text = shown(viewer)
    for name in ("ends", "layline"):
        assert f'href="{reverse(name, args=[planned.slug])}"' in text
    assert "Record that it came off" not in text
    smith = member_of(planned, Role.SHOP)
    way = f"{reverse('tag', args=[planned.slug, 'A-1-1'])}?act=take_off&amp;cause=failed#take_off"
    assert f'href="{way}"' in shown(smith)
    tag = smith.get(way.replace("&amp;", "&"))
    assert '<details class="act" name="act" id="take_off" open>' in tag.content.decode()
    assert tag.context["forms"][1].initial["removal_cause"] == "failed"


def test_whoever_then_goes_short_is_named_beside_the_way(planned, viewer):
    for part, on_hand in (("H-2SN-08", 1), ("E-08", 2), ("F-08", 1)):
        count_stock(organization=planned, user=None, part=part, site="north", on_hand=on_hand)
    machine = Machine.objects.get(key="M-01")
    Position.objects.create(organization=planned, machine=machine, key="late", design=Design.objects.get())
    text = read(viewer.get(address(planned, position="late")))
    assert "north, the machine's own site, has every part of D-100" in text
    assert "Kit K-M-01 at north, needed on 11 May 2026 for M-01, then lacks 0.813 m of H-2SN-08" in text
    assert "The plan had no changeout for it." in text


def test_a_position_without_a_design_says_what_to_measure(planned, viewer):
    Position.objects.create(organization=planned, machine=Machine.objects.get(key="M-01"), key="a/b")
    text = viewer.get(address(planned, position="a/b")).content.decode()
    assert "Measure what came off" in text


def test_a_position_of_another_organization_is_not_there(quarry, planned, member_of):
    assert member_of(quarry).get(address(quarry)).status_code == 404


def test_the_page_asks_as_often_whatever_the_fleet(gravel, quarry, member_of):
    counts = []
    for organization, positions in ((gravel, 2), (quarry, 20)):
        small_fleet(organization, positions=positions)
        small_plan(organization)
        client = member_of(organization)
        with CaptureQueriesContext(connection) as queries:
            assert client.get(address(organization)).status_code == 200
        counts.append(len(queries))
    assert counts[0] == counts[1] <= 29  # eight of them are the tables that stock is given from
