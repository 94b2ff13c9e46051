"""Who has one: the installed assemblies of a lot, a bench, a part or a place, and the page of a part."""

import pytest
from django.urls import reverse

from fleet.models import (
    Assembly,
    Design,
    InspectionRequest,
    Kit,
    OpenOrder,
    Part,
    Position,
    Role,
    Site,
    StockPiece,
)
from fleet.services.shop.kits import begin_kit
from tests.fleet.bench_builders import TODAY, lay_plenty, open_shop, plan_kit
from tests.fleet.pages.small_fleet import day


@pytest.fixture
def shop(planned, member_of):
    return member_of(planned, Role.SHOP)


def installed(client, organization, **groups):
    page = client.get(reverse("assemblies", args=[organization.slug]), groups)
    return [one.key for one, _design, _said in page.context["rows"]]


@pytest.mark.parametrize(
    "group",
    [
        {"hose_lot": "L-78"},
        {"crimped_by": "bench 9"},
        {"position": "M-02/boom 2"},
        {"machine": "M-02", "hose_lot": "L-78"},
    ],
)
def test_who_has_a_hose_of_the_lot_the_bench_or_the_place(planned, shop, group):
    Assembly.objects.filter(key="A-2-2").update(hose_lot="L-78", crimped_by="bench 9")
    assert installed(shop, planned, **group) == ["A-2-2"]


def test_a_lot_leads_to_what_of_it_is_on_no_machine_yet(planned, shop, django_assert_max_num_queries):
    own = {"organization": planned, "part": Part.objects.get(key="H-2SN-08")}
    for number, site in enumerate(Site.objects.order_by("key"), start=1):
        StockPiece.objects.create(**own, site=site, piece="R-1", lot=f"L-{number}", on_hand=4.5)
    Assembly.objects.create(organization=planned, key="SPARE-1", hose_lot="L-1")
    with django_assert_max_num_queries(12):
        page = shop.get(reverse("assemblies", args=[planned.slug]), {"hose_lot": "L-1"})
    ready = page.context["ready"]
    assert [piece.site.key for piece in ready["pieces"]] == ["north"]
    assert [one.key for one in ready["spares"]] == ["SPARE-1"]
    text = page.content.decode()
    assert "4.5\N{NO-BREAK SPACE}m" in text and "Kits go on taking it." in text
    nothing = shop.get(reverse("assemblies", args=[planned.slug])).content.decode()
    assert "Not on a machine yet" not in nothing


def test_what_of_a_lot_is_set_aside_at_the_bench_stands_beside_what_lies_on_shelves(
    db, member_of, django_assert_max_num_queries
):
    gravel = open_shop()
    lay_plenty(gravel)
    plan_kit(gravel, "boom", "arm")
    begin_kit(organization=gravel, user=None, kit="K-1", today=TODAY)
    Part.objects.update(unit="")
    client, address = member_of(gravel, Role.PLANNER), reverse("assemblies", args=[gravel.slug])
    with django_assert_max_num_queries(12):
        page = client.get(address, {"lot": "LH"})
    held = page.context["ready"]["set_aside"]
    assert [(one.part.key, one.kit_assembly.number) for one in held] == [("H-08", 1), ("H-08", 2)]
    text = page.content.decode().replace("\N{NO-BREAK SPACE}", " ")
    reel = StockPiece.objects.get(lot="LH")
    assert f"{reel.on_hand:g} m" in text and text.count("north: 1 m <a") == 2
    assert f"{reverse('begun', args=[gravel.slug])}#kit-{held[0].kit_assembly.kit_id}" in text
    assert "Set aside" not in client.get(address, {"lot": "L-OTHER"}).content.decode()
    text = client.get(reverse("part", args=[gravel.slug, "H-08"])).content.decode()
    assert f"{reel.on_hand:g}\N{NO-BREAK SPACE}m" in text


def test_a_lot_says_where_more_of_it_lies_than_is_shown(planned, shop, monkeypatch):
    monkeypatch.setattr("fleet.pages.register.assemblies.READY_SHOWN", 1)
    for number in (1, 2):
        Assembly.objects.create(organization=planned, key=f"SPARE-{number}", hose_lot=f"L-{number}")
    Assembly.objects.create(organization=planned, key="SPARE-3", hose_lot="L-1")
    address = reverse("assemblies", args=[planned.slug])
    more, all_shown = (shop.get(address, {"hose_lot": lot}).content.decode() for lot in ("L-1", "L-2"))
    assert "SPARE-1" in more and "SPARE-3" not in more and "There are more than stand here." in more
    assert "SPARE-2" in all_shown and "There are more" not in all_shown


@pytest.mark.parametrize("part", ["H-2SN-08", "E-08", "F-08"])
def test_hose_end_and_ferrule_lead_to_every_assembly_that_takes_them(planned, shop, part):
    """The small fleet's assemblies name no design: that of their position counts."""
    assert len(installed(shop, planned, part=part)) == 6


def test_the_assemblys_own_design_goes_before_that_of_its_position(planned, shop):
    other = Part.objects.create(organization=planned, key="H-R12-08", kind="bulk_hose")
    end = Part.objects.get(key="E-08")
    design = Design.objects.create(
        organization=planned,
        key="D-200",
        hose_part=other,
        end_a_part=end,
        end_b_part=end,
        overall_length_mm=500,
    )
    Assembly.objects.filter(key="A-1-1").update(design=design)
    assert installed(shop, planned, design="D-200") == ["A-1-1"]
    assert installed(shop, planned, part="H-R12-08") == ["A-1-1"]
    assert "A-1-1" not in installed(shop, planned, part="H-2SN-08")


def test_what_came_off_has_none(planned, shop):
    assert "A-1-1-first" not in installed(shop, planned)


def test_a_part_says_who_has_it_what_to_order_and_why(planned, shop):
    text = (
        shop.get(reverse("part", args=[planned.slug, "H-2SN-08"]))
        .content.decode()
        .replace("\N{NO-BREAK SPACE}", " ")
    )
    for told in ("6 assemblies in place have it", "3 m are left of the 5 m that cover 21 days.", "K-M-01"):
        assert told in text


def test_a_part_with_little_on_record_says_what_is_not_known(planned, shop):
    text = shop.get(reverse("part", args=[planned.slug, "F-08"])).content.decode()
    assert "not known" in text and "None is on a shelf." in text


def test_another_organizations_part_does_not_exist(planned, quarry, member_of):
    stranger = member_of(quarry)
    for slug in (planned.slug, quarry.slug):
        assert stranger.get(reverse("part", args=[slug, "H-2SN-08"])).status_code == 404
    assert find(stranger, quarry, "H-2SN").context["anything"] is False


def find(client, organization, sought):
    return client.get(reverse("search", args=[organization.slug]), {"q": sought})


@pytest.mark.parametrize(
    ("sought", "page", "key"),
    [("m-01", "machine", "M-01"), ("A-1-1", "assembly", "A-1-1"), ("e-08", "part", "E-08")],
)
def test_a_key_in_full_leads_straight_to_its_page(planned, shop, sought, page, key):
    assert find(shop, planned, sought)["Location"] == reverse(page, args=[planned.slug, key])


def test_a_piece_of_a_key_finds_every_noun_that_holds_it(planned, shop):
    page = find(shop, planned, "boom")
    assert len(page.context["positions"]) == Position.objects.count() == 6
    assert find(shop, planned, "L-7").context["lots"] == ["L-77"]
    assert [one.key for one in find(shop, planned, "-08").context["parts"]] == ["E-08", "F-08", "H-2SN-08"]


def test_lots_on_a_shelf_kits_and_open_orders_are_found_too(planned, shop):
    part, site = Part.objects.get(key="E-08"), Site.objects.get(key="north")
    held = {"organization": planned, "part": part, "site": site}
    StockPiece.objects.create(**held, piece="box 9", lot="L-79", on_hand=3.0)
    StockPiece.objects.create(**held, piece="box 8", lot="L-70", on_hand=0.0)
    OpenOrder.objects.create(**held, order="O-4711", quantity=5)
    assert find(shop, planned, "L-7").context["lots"] == ["L-77", "L-79"]
    assert find(shop, planned, "k-m").context["kits"] == ["K-M-01", "K-M-02"]
    assert find(shop, planned, "k-m-01")["Location"] == reverse("kit", args=[planned.slug, "K-M-01"])
    old = {"organization": planned, "site": site, "begun_on": day(-90), "purpose": "changeout"}
    Kit.objects.create(**old, key="K-M-OLD")  # of an earlier plan: it has no page
    assert not find(shop, planned, "M-OLD").context["kits"]
    assert find(shop, planned, "4711").context["orders"] == ["O-4711"]


def test_words_of_machine_and_position_find_the_place(planned, shop):
    found = find(shop, planned, "m-01 boom").context["positions"]
    assert {one.machine.key for one in found} == {"M-01"} and len(found) == 3
    assert not find(shop, planned, "m-01 tilt").context["positions"]


def test_what_is_not_there_says_so_and_what_to_try(planned, shop):
    assert "Try a shorter piece" in find(shop, planned, "no such thing").content.decode()


def act(client, organization, name: str, **sent):
    return client.post(reverse(name, args=[organization.slug]), sent, follow=True).content.decode()


def test_a_planner_has_a_whole_lot_looked_at_and_the_shop_finds_it_listed(planned, member_of):
    Assembly.objects.filter(key__in=["A-1-2", "A-2-2"]).update(hose_lot="L-78")
    planner = member_of(planned, Role.PLANNER)
    page = planner.get(reverse("assemblies", args=[planned.slug]), {"hose_lot": "L-78"}).content.decode()
    assert "Have them looked at" in page
    told = act(planner, planned, "look_at_group", hose_lot="L-78", day="2099-05-31", reason="cover blisters")
    assert "2 are to be looked at." in told
    shop = member_of(planned, Role.SHOP)
    listed = shop.get(reverse("looks", args=[planned.slug])).content.decode()
    assert "A-1-2" in listed and "A-2-2" in listed and "cover blisters" in listed


def test_a_planner_has_a_benchs_work_changed(planned, member_of):
    told = act(
        member_of(planned), planned, "change_group", machine="M-02", day="2099-05-31", reason="slipped"
    )
    assert "3 are to be changed; the next plan honours it." in told


def test_a_day_or_reason_that_is_missing_is_asked_for(planned, member_of):
    assert "Give the day as 2026-05-31" in act(member_of(planned), planned, "look_at_group", machine="M-02")


def test_the_shop_asks_for_no_changeouts(planned, shop):
    page = shop.get(reverse("assemblies", args=[planned.slug]), {"machine": "M-02"}).content.decode()
    assert "Have them changed" not in page
    sent = {"machine": "M-02", "day": "2099-05-31", "reason": "x"}
    assert shop.post(reverse("change_group", args=[planned.slug]), sent).status_code == 403


def test_past_assemblies_of_a_group_are_shown_when_asked_for(planned, shop):
    assert len(installed(shop, planned, machine="M-02")) == 3
    assert len(installed(shop, planned, machine="M-02", ever="yes")) == 6


@pytest.mark.parametrize(("page", "column"), [("lots", "hose_lot"), ("people", "crimped_by")])
def test_lots_and_people_are_listed_with_how_their_hoses_fared(planned, shop, page, column):
    Assembly.objects.filter(key__in=["A-1-1", "A-2-1"]).update(**{column: "nine"})
    Assembly.objects.filter(key="A-2-1").update(
        removed_on=day(1), removal_cause="failed", installed_on=day(-5)
    )
    found = shop.get(reverse(page, args=[planned.slug]), {"q": "nin"}).context["page"]
    assert list(found) == [{"name": "nine", "made": 2, "in_place": 1, "failed": 1}]


def test_a_question_is_taken_back(planned, member_of):
    planner = member_of(planned)
    act(planner, planned, "look_at_group", machine="M-02", day="2099-05-31", reason="leak")
    request = InspectionRequest.objects.first()
    told = planner.post(reverse("withdraw_look", args=[planned.slug, request.pk]), follow=True)
    assert "need not be looked at" in told.content.decode()
