"""The sheets that the shop prints: of each assembly at the bench, of one stop at the machine."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils.formats import date_format

from fleet.models import LINES, CrimpSpec, Design, Kit, KitAssembly, Part, Position, Role, Site
from tests.fleet.pages.reading import read
from tests.fleet.pages.small_fleet import AS_OF, set_setting, small_fleet, small_plan


@pytest.fixture
def shop(planned, member_of):
    Part.objects.filter(key="E-08").update(cutoff_mm=44.45, insertion_depth_mm=28, rated_pressure_bar=400)
    Part.objects.filter(key="H-2SN-08").update(rated_pressure_bar=350)
    return member_of(planned, Role.SHOP)


def sheet(client, organization, kit="K-M-01") -> str:
    answer = client.get(reverse("build_sheet", args=[organization.slug, kit]))
    assert answer.status_code == 200
    return answer.content.decode().replace("\N{NO-BREAK SPACE}", " ")


def stop(client, organization, machine="M-01", changeout="C-M-01"):
    return client.get(reverse("changeout", args=[organization.slug, machine, changeout]))


def begun_to_another_design(organization, key: str) -> None:
    """A kit of that name at the bench, for M-01 boom 1, to D-99 where the plan asks for D-100."""
    site, boom = Site.objects.get(key="north"), Position.objects.get(key="boom 1", machine__key="M-01")
    kit = Kit.objects.create(
        organization=organization, key=key, site=site, purpose="changeout", begun_on=AS_OF
    )
    other = Design.objects.get(key="D-100")
    other.pk, other.key = None, "D-99"
    other.save()
    KitAssembly.objects.create(organization=organization, kit=kit, number=1, design=other, position=boom)


def test_the_sheet_reads_to_the_millimetre_or_the_sixteenth_of_an_inch(planned, shop):
    text = sheet(shop, planned)
    for told in ("813 mm", "902 mm", "DIN 20066", "IP-2", "28 mm", "700 bar", "Never reuse hose", "L-80"):
        assert told in text, told
    set_setting(planned, "length_unit", "in")
    text = sheet(shop, planned)
    for told in ("32 in", "35 1/2 in", "1/4 in", "0.835 in", "1 1/8 in"):
        assert told in text, told


def test_a_step_without_its_data_says_so_in_place_of_a_figure(planned, shop):
    CrimpSpec.objects.all().delete()
    Part.objects.filter(key="H-2SN-08").update(rated_pressure_bar=None)
    text = sheet(shop, planned)
    assert "do not crimp before one is on record" in text
    assert "The kit names" not in text and "700 bar" not in text
    assert "Not known: the rating of H-2SN-08 is not on record" in read(text)


def test_without_the_bore_the_sheet_says_that_the_made_length_has_no_tolerance(planned, shop):
    Part.objects.filter(key="H-2SN-08").update(bore_mm=None, dash=None)
    text = sheet(shop, planned)
    assert "of the made assembly not known: the bore is not on record" in text and "813 mm" in text


def test_a_sheet_says_at_its_top_that_its_design_must_not_be_built(planned, shop):
    warning = "Do not build D-100 for it: 312 bar is above 275 bar. Choose a design that bears it first."
    stop = {"changeout": "C-M-01", "position": "boom 1"}
    LINES["changeouts"].objects.filter(**stop).update(reason=f"It is old. {warning}", not_to_build=warning)
    LINES["kit_lines"].objects.filter(kit="K-M-01", position="boom 1").update(not_to_build=warning)
    text = read(sheet(shop, planned))
    assert text.count(warning) == 1
    assert text.index(warning) < text.index("It is old.") < text.index("Never reuse hose")


def test_kit_and_stops_lead_to_their_sheets_and_these_to_each_other(planned, shop):
    slug = planned.slug
    build_sheet = reverse("build_sheet", args=[slug, "K-M-01"], query={"of": "plan"})
    changeout = reverse("changeout", args=[slug, "M-01", "C-M-01"])
    assert f'href="{build_sheet}"' in shop.get(reverse("kit", args=[slug, "K-M-01"])).content.decode()
    assert f'href="{changeout}"' in shop.get(reverse("due", args=[slug])).content.decode()
    assert f'href="{build_sheet}"' in stop(shop, planned).content.decode()


def test_a_kit_begun_to_another_design_under_the_plans_name_has_sheets_of_its_own(planned, shop):
    begun_to_another_design(planned, "K-M-01")
    own = reverse("build_sheet", args=[planned.slug, "K-M-01"])
    of_plan = f"{own}?of=plan"
    kit = shop.get(reverse("kit", args=[planned.slug, "K-M-01"])).content.decode()
    assert f'href="{of_plan}"' in kit and f'href="{own}"' not in kit
    both = stop(shop, planned).content.decode()
    assert f'href="{of_plan}"' in both and f'href="{own}"' in both
    designs = {
        address: {one.design for one in shop.get(address).context["kit"].sheets} for address in (own, of_plan)
    }
    assert designs == {own: {"D-99"}, of_plan: {"D-100"}}
    assert reverse("begun", args=[planned.slug]) in shop.get(own).content.decode(), "back to the bench"


def test_the_stop_tells_what_to_do_before_a_line_is_opened_and_after(planned, shop):
    text = stop(shop, planned).content.decode().replace("\N{NO-BREAK SPACE}", " ")
    before, order, after = (text.index(f'id="{name}">') for name in ("before", "order", "after"))
    for told in ("Isolate", "prop loads", "Discharge accumulators", "Prove zero", "hospital now", "whip"):
        assert before < text.index(told) < order, told
    assert after < text.index("with a card, not a hand")
    assert "3 positions, 2 h" in text and "lacks H-2SN-08" in text


def test_the_stop_tells_on_paper_what_is_not_for_it_and_an_angle_in_doubt(planned, shop):
    begun_to_another_design(planned, "K-1")
    Design.objects.filter(key="D-100").update(orientation_deg=270)
    Part.objects.filter(key="E-08").update(end_style="37° flare swivel")
    text = read(stop(shop, planned))
    assert "begun, and nothing of it is for this stop" in text
    assert "No. 1 of it, being built to D-99 for boom 1, is not what goes on there" in text
    assert "The drawing states 270° between the ends, though no bend is on record of end a" in text
    assert "lacks H-2SN-08" in text


def test_nothing_of_another_organization_or_of_no_plan_is_there(quarry, planned, member_of):
    client = member_of(quarry)
    assert stop(client, quarry).status_code == 404
    assert client.get(reverse("build_sheet", args=[quarry.slug, "K-M-01"])).status_code == 404


def test_the_sheet_of_a_stop_asks_as_often_whatever_the_fleet(gravel, quarry, member_of):
    counts = []
    for organization, positions in ((gravel, 2), (quarry, 20)):
        small_fleet(organization, positions=positions)
        small_plan(organization)
        client = member_of(organization)
        with CaptureQueriesContext(connection) as queries:
            assert stop(client, organization).status_code == 200
        counts.append(len(queries))
    assert counts[0] == counts[1] <= 25


def test_a_hose_that_waits_for_a_later_day_of_the_stop_comes_last_with_that_day(planned, shop):
    lines = LINES["changeouts"].objects.filter(changeout="C-M-01")
    first = lines.order_by("row").first()
    last = lines.exclude(pk=first.pk).order_by("row").first()
    last.planned_on += timedelta(days=2)
    last.save()
    Position.objects.filter(key=first.position).update(working_pressure_bar=None, peak_pressure_bar=None)

    text = read(stop(shop, planned))

    assert f"{last.position}, on {date_format(last.planned_on, 'j M Y')}" in text
    assert "later day of the stop comes last" in text
    assert "pressure not known" in text
