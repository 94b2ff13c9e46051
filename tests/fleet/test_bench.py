"""From a kit at the bench to an assembly with a tag: what that takes of the stock, and what is spoilt."""

import datetime

import pytest

from fleet.frames.register import core_tables
from fleet.models import (
    LINES,
    Assembly,
    Build,
    Design,
    Kit,
    KitPart,
    KitState,
    Position,
    Setting,
    StockPiece,
)
from fleet.services.shop.bench import propose_assembly_key, scrap_build
from fleet.services.shop.errors import (
    AssemblyKeyTaken,
    NothingSetAside,
    PartsChanged,
    ReasonMissing,
)
from fleet.services.shop.kits import begin_kit, supply_kit
from fleet.services.work.recording import inspect_assembly, install_assembly
from fleet.services.work.rows import Fitted
from tests.fleet.bench_builders import (
    STOP,
    TODAY,
    accepted,
    lay,
    lay_plenty,
    on_hand,
    open_shop,
    open_shop_with_kit,
    plan_kit,
)

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def shop(kept_for_module):
    return open_shop_with_kit()


def test_what_is_accepted_exists_with_its_build_and_its_parts_have_left_the_stock_lot_by_lot(shop):
    made = accepted(shop).assembly
    assert (made.key, made.design.key, made.position, made.crimped_by) == ("A-0001", "D-100", None, "bench 1")
    assert (made.hose_lot, made.hose_made_on) == ("LH", datetime.date(2026, 1, 1))
    build = Build.objects.get()
    assert (build.kit, build.hose_lot, build.end_a_lot, build.end_b_lot) == ("K-1", "LH", "LE", "LE")
    assert (build.insertion_a_seen, build.insertion_b_seen, build.accepted) == (True, True, True)
    assert (build.chart, build.accepted_by, build.remarks) == ("chart 7 rev. 2", "Ada", "")
    readings = build.crimp_readings.filter(end="a").order_by("number")
    assert list(readings.values_list("diameter_mm", flat=True)) == [21.18, 21.2, 21.24]
    assert on_hand() == {"R-1": 18.997}
    assert (on_hand("E-08"), on_hand("F-08")) == ({"LE": 18}, {"LF": 18})
    assert set(KitPart.objects.filter(kit_assembly__number=1).values_list("state", flat=True)) == {"used"}


def test_a_kit_is_made_once_all_of_it_is(shop):
    accepted(shop)
    assert Kit.objects.get().state == KitState.BEGUN
    assert accepted(shop, 2).assembly.key == "A-0002"
    assert (Kit.objects.get().state, Kit.objects.get().closed_on) == (KitState.MADE, TODAY)


def test_a_made_assembly_fills_the_kit_of_its_position_until_it_is_fitted(shop):
    made = accepted(shop).assembly
    told = core_tables(shop)["begun_kits"]
    assert told.groupby("position")["made"].first().to_dict() == {"arm": False, "boom": True}
    made.position, made.installed_on = Position.objects.get(key="boom"), STOP
    made.save()
    assert core_tables(shop)["begun_kits"]["position"].unique().tolist() == ["arm"]


def test_an_end_too_short_to_keep_is_scrap_and_told_but_not_while_a_kit_holds_it(shop):
    StockPiece.objects.filter(part__key="H-08").update(on_hand=2.206)
    assert accepted(shop).told == ("A-0001 is accepted.",)
    told = ("A-0002 is accepted.", "200 mm of H-08 (R-1) is too short to keep: scrap.")
    assert accepted(shop, 2).told == told
    assert on_hand() == {"R-1": 0.0}


def test_an_end_that_the_plan_cuts_from_is_kept(shop):
    StockPiece.objects.filter(part__key="H-08").update(on_hand=2.206)
    accepted(shop)
    plan = plan_kit(shop, "boom", "arm", kit="K-2")
    LINES["cut_list"].objects.filter(plan=plan).update(cut_length_mm=150.0)
    assert accepted(shop, 2).told == ("A-0002 is accepted.",)
    assert on_hand() == {"R-1": 0.2}


def test_the_cut_itself_is_no_reason_to_keep_an_end_too_short_unless_it_is_to_be_made_again():
    shop = open_shop("Short Works")
    lay_plenty(shop)
    StockPiece.objects.filter(part__key="H-08").update(on_hand=0.653)
    Design.objects.update(overall_length_mm=300)  # a cut of 200 mm: the rest would give it once more
    plan = plan_kit(shop, "boom")
    LINES["cut_list"].objects.filter(plan=plan).update(cut_length_mm=200.0)
    Setting.objects.create(organization=shop, name="keep_length_mm", value="500")
    begin_kit(organization=shop, user=None, kit="K-1", today=TODAY)
    scrap_build(organization=shop, user=None, kit="K-1", number=1, reason="dropped", today=TODAY)
    assert on_hand() == {"R-1": 0.45}
    told = ("A-0001 is accepted.", "247 mm of H-08 (R-1) is too short to keep: scrap.")
    assert accepted(shop, cut_length_mm=200.0).told == told
    assert on_hand() == {"R-1": 0.0}


def test_a_tag_follows_the_last_and_is_never_given_twice(shop):
    Assembly.objects.create(organization=shop, key="A01083")
    assert propose_assembly_key(shop) == "A01084"
    with pytest.raises(
        AssemblyKeyTaken, match=r"There is an assembly A01083 already. Take another tag; A01084"
    ):
        accepted(shop, assembly="A01083")
    assert accepted(shop, assembly="B-7").assembly.key == "B-7"


def test_a_scrapped_build_uses_up_its_parts_and_others_are_set_aside_for_the_next_try(shop):
    end = KitPart.objects.get(kit_assembly__number=1, place="b", part__key="E-08")
    with pytest.raises(ReasonMissing):
        scrap_build(organization=shop, user=None, kit="K-1", number=1, reason=" ", today=TODAY)
    came = scrap_build(
        organization=shop,
        user=None,
        kit="K-1",
        number=1,
        reason="crimped too far",
        spared=[end.pk],
        today=TODAY,
    )
    assert came.ready
    assert (on_hand(), on_hand("E-08")) == ({"R-1": 18.997}, {"LE": 19})
    spoilt = KitPart.objects.exclude(scrapped_because="")
    assert spoilt.count() == 4
    assert set(spoilt.values_list("scrapped_because", "state")) == {("crimped too far", "used")}
    assert accepted(shop).assembly.build.hose_lot == "LH"
    assert on_hand() == {"R-1": 17.994}


def test_scrapped_for_want_of_parts_it_waits_and_gives_back_what_was_spared(shop):
    StockPiece.objects.filter(part__key="E-08").update(on_hand=4)
    hose = KitPart.objects.get(kit_assembly__number=1, part__key="H-08")
    came = scrap_build(
        organization=shop, user=None, kit="K-1", number=1, reason="dropped", spared=[hose.pk], today=TODAY
    )
    assert not came.ready
    assert came.told == ("To make it again is missing: M-01 boom: 2 of E-08 (there on 14 May 2026).",)
    with pytest.raises(NothingSetAside):
        accepted(shop)
    waiting = ["kit", "number", "site", "machine", "position", "design"]
    asked = core_tables(shop)
    assert asked["waiting_builds"][waiting].values.tolist() == [["K-1", 1, "north", "M-01", "boom", "D-100"]]
    assert set(asked["begun_kits"]["number"]) == {2}
    lay(shop, "E-08", 2, "NEW", lot="NEW")
    supply_kit(organization=shop, user=None, kit="K-1", today=TODAY)
    assert core_tables(shop)["waiting_builds"].empty
    assert accepted(shop).assembly.build.end_a_lot == "NEW"


def test_a_spared_hose_that_was_cut_comes_back_as_an_offcut_where_the_rest_waits(shop):
    StockPiece.objects.filter(part__key="E-08").update(on_hand=4)
    hose = KitPart.objects.get(kit_assembly__number=1, part__key="H-08")
    came = scrap_build(
        organization=shop, user=None, kit="K-1", number=1, reason="dropped", spared=[hose.pk],
        cut_length_mm=1001.5, today=TODAY,
    )  # fmt: skip
    assert "1.002 m of H-08 comes back as offcut R-1-2." in came.told
    assert on_hand() == {"R-1": 18.9955, "R-1-2": 1.0015}


def test_a_build_is_not_scrapped_twice_by_one_page_sent_twice(shop):
    page = {"organization": shop, "user": None, "kit": "K-1", "number": 1, "reason": "dropped"}
    page["seen"] = list(KitPart.objects.filter(kit_assembly__number=1).values_list("pk", flat=True))
    scrap_build(**page, today=TODAY)
    with pytest.raises(PartsChanged, match="somebody may have scrapped it already"):
        scrap_build(**page, today=TODAY)
    assert on_hand() == {"R-1": 18.997}


def test_one_hose_from_worn_to_the_next_one_installed(shop):
    """Found worn, its kit built at the bench, taken off, the new one fitted: the register tells it all."""
    boom = Position.objects.get(key="boom")
    old = Assembly.objects.create(
        organization=shop,
        key="OLD-1",
        design=boom.design,
        position=boom,
        installed_on=datetime.date(2022, 3, 1),
    )
    looked = {"organization": shop, "user": None, "today": STOP}
    inspect_assembly(**looked, assembly="OLD-1", inspected_on=TODAY, grade="replace", finding="wire bare")
    made = accepted(shop).assembly
    install_assembly(
        **looked, machine="M-01", position="boom", fitted=Fitted(made.key), installed_on=STOP,
        removal_cause="worn", comes_off="OLD-1",
    )  # fmt: skip

    old.refresh_from_db()
    made.refresh_from_db()
    assert (old.removed_on, old.removal_cause) == (STOP, "worn")
    assert (made.position, made.installed_on, made.hose_lot) == (boom, STOP, "LH")
    tables = core_tables(shop)
    assert tables["begun_kits"]["position"].unique().tolist() == ["arm"]
    stays = tables["installations"].set_index("assembly")
    assert stays.loc[made.key, ["position", "design", "crimped_by"]].tolist() == ["boom", "D-100", "bench 1"]
    readings = tables["crimp_readings"]
    assert readings["assembly"].eq(made.key).all()
    assert len(readings) == 6
    # The next kit of the position is a new one.
    plan_kit(shop, "boom", kit="K-2")
    assert begin_kit(organization=shop, user=None, kit="K-2", today=STOP).kit.key == "K-2"
