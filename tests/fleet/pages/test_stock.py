"""What the manager sees: what to order and why, what lies too much, suspects, and what is not known."""

import datetime

import pytest
from django.urls import reverse

from fleet.models import LINES, ChosenAgeRule, OpenOrder, Part, Role, Site, StockPiece
from fleet.services.stock.moving import count_stock
from tests.fleet.pages.small_fleet import set_setting


@pytest.fixture
def manager(planned, member_of):
    return member_of(planned, Role.MANAGER)


def test_what_to_order_stands_with_its_reason_and_what_it_costs(planned, manager):
    page = manager.get(reverse("order", args=[planned.slug]))
    (line,) = page.context["page"]
    assert (line.part, line.site, line.order_now, line.costs) == ("H-2SN-08", "north", 40, 480)
    assert page.context["sums"]["money"] == 480
    text = page.content.decode().replace("\N{NO-BREAK SPACE}", " ")
    assert "3 m are left of the 5 m that cover 21 days." in text


def test_what_was_ordered_since_the_plan_stands_beside_its_advice(planned, manager):
    address = reverse("order", args=[planned.slug])
    assert "since the plan" not in manager.get(address).content.decode()
    line = {"part": Part.objects.get(key="H-2SN-08"), "site": Site.objects.get(key="north")}
    OpenOrder.objects.create(organization=planned, order="O-9", quantity=40, **line)
    assert "since the plan +40\N{NO-BREAK SPACE}m" in manager.get(address).content.decode()


def test_what_came_and_what_was_counted_since_the_plan_stands_beside_what_it_knew(planned, manager):
    pages = [
        reverse("order", args=[planned.slug]),
        reverse("shelves", args=[planned.slug]),
        reverse("part", args=[planned.slug, "H-2SN-08"]),
    ]
    told = "now 18\N{NO-BREAK SPACE}m, set aside included"
    assert not any("set aside included" in manager.get(page).content.decode() for page in pages)
    held = {"organization": planned, "user": None, "part": "H-2SN-08", "site": "north"}
    StockPiece.objects.filter(part__key="H-2SN-08", site__key="north").delete()
    count_stock(**held, on_hand=18.0, piece="reel 9")
    assert all(told in manager.get(page).content.decode() for page in pages)
    OpenOrder.objects.filter(part__key="H-2SN-08", site__key="north").delete()
    LINES["stock_advice"].objects.update(on_order=12.0)
    assert "since the plan \N{MINUS SIGN}12" in manager.get(pages[0]).content.decode()


def test_an_order_whose_part_has_no_known_cost_says_so(planned, manager):
    Part.objects.filter(key="H-2SN-08").update(unit_cost=None)
    text = manager.get(reverse("order", args=[planned.slug])).content.decode()
    assert "1 has no known cost." in text and "not known" in text


def test_hose_is_ordered_in_feet_where_lengths_are_in_inches(planned, manager):
    set_setting(planned, "length_unit", "in")
    assert "131.2\N{NO-BREAK SPACE}ft" in manager.get(reverse("order", args=[planned.slug])).content.decode()


def test_the_years_cost_of_the_plan_stands_beside_running_to_failure(planned, manager):
    text = manager.get(reverse("order", args=[planned.slug])).content.decode()
    assert "4,100\N{NO-BREAK SPACE}EUR" in text and "9,200\N{NO-BREAK SPACE}EUR" in text


def test_moves_suspects_and_gaps_stand_on_the_first_page(planned, manager):
    text = manager.get(reverse("order", args=[planned.slug])).content.decode()
    for told in ("from south to north", "9 failures where 3.1 were expected", "peak pressure"):
        assert told in text


def test_shelves_are_found_by_a_piece_of_the_part_number(planned, manager):
    page = manager.get(reverse("shelves", args=[planned.slug]), {"q": "2sn"})
    assert len(page.context["page"]) == 2
    assert not manager.get(reverse("shelves", args=[planned.slug]), {"q": "R12"}).context["page"].object_list


def test_surplus_lists_only_what_lies_there_without_use(planned, manager):
    page = manager.get(reverse("shelves", args=[planned.slug]), {"surplus": "yes"})
    assert [(line.site, line.ties_up) for line in page.context["page"]] == [("south", 150)]


def test_what_will_expire_is_told_with_its_worth(planned, manager):
    LINES["stock_advice"].objects.filter(site="south").update(expires_unused=2.5)
    text = manager.get(reverse("shelves", args=[planned.slug]), {"surplus": "yes"}).content.decode()
    assert "<small>30.00\N{NO-BREAK SPACE}EUR</small>" in text


def test_hose_is_moved_by_the_metre(planned, manager):
    LINES["transfers"].objects.update(part="H-2SN-08")
    for name in ("transfers", "order"):
        text = manager.get(reverse(name, args=[planned.slug])).content.decode()
        assert "4\N{NO-BREAK SPACE}m" in text


def test_a_part_names_neither_a_day_nor_temperatures_that_nobody_named(planned, manager):
    hose, north = Part.objects.get(key="H-2SN-08"), Site.objects.get(key="north")
    OpenOrder.objects.create(organization=planned, order="O-1", part=hose, site=north, quantity=20)
    text = manager.get(reverse("part", args=[planned.slug, hose.key])).content.decode()
    assert "no day named" in text and "not known to not known" not in text


def test_a_piece_says_how_long_it_keeps(planned, manager):
    hose, north = Part.objects.get(key="H-2SN-08"), Site.objects.get(key="north")
    Part.objects.filter(pk=hose.pk).update(shelf_life_days=1460)
    for piece, year in (("R-1", 2020), ("R-2", 2099)):
        StockPiece.objects.create(
            organization=planned,
            part=hose,
            site=north,
            piece=piece,
            on_hand=5,
            made_on=datetime.date(year, 3, 1),
        )
    text = manager.get(reverse("part", args=[planned.slug, "H-2SN-08"])).content.decode()
    assert "past its shelf life since <time" in text and ">29 Feb 2024<" in text
    assert "keeps until <time" in text and ">1 Mar 2103<" in text


def test_a_piece_keeps_as_long_as_the_chosen_age_rule_says(planned, manager):
    hose, north = Part.objects.get(key="H-2SN-08"), Site.objects.get(key="north")
    made_on = datetime.date(2010, 3, 1)
    StockPiece.objects.create(
        organization=planned, part=hose, site=north, piece="R-9", on_hand=5, made_on=made_on
    )
    page = reverse("part", args=[planned.slug, "H-2SN-08"])
    assert "past its shelf life" not in manager.get(page).content.decode()
    ChosenAgeRule.objects.create(organization=planned, rule="DIN 20066")
    assert "past its shelf life since <time" in manager.get(page).content.decode()


@pytest.mark.parametrize("name", ["transfers", "suspects", "gaps"])
def test_each_list_has_a_page_of_its_own(planned, manager, name):
    page = manager.get(reverse(name, args=[planned.slug]))
    assert page.context["page"].paginator.count == LINES[name].objects.count() == 1


@pytest.mark.parametrize("name", ["order", "shelves", "transfers", "suspects", "gaps"])
def test_without_a_plan_every_page_still_reads(gravel, member_of, name):
    assert member_of(gravel).get(reverse(name, args=[gravel.slug])).status_code == 200


def test_a_shelf_says_when_it_runs_out_and_what_demand_may_come_to(planned, member_of):
    text = member_of(planned).get(reverse("shelves", args=[planned.slug])).content.decode()
    assert '<time datetime="2026-05-16">' in text
    assert 'in all <span class="nowrap">2–6\N{NO-BREAK SPACE}m</span>' in text
