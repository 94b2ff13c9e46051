"""Kits begun, supplied and taken apart: what is set aside is for nobody else, and all of it comes back."""

import datetime

import pytest

from fleet.frames.register import core_tables
from fleet.models import LINES, Kit, KitPart, KitState, Position, Site, StockPiece, User
from fleet.services.errors import FolderRefused
from fleet.services.folders.importing import import_fleet
from fleet.services.shop.bench import accept_build
from fleet.services.shop.errors import KitBegun, KitClosed, KitLacks, KitNotThere, NoPlan
from fleet.services.shop.kits import begin_assembly, begin_kit, stale_positions, supply_kit, take_apart_kit
from fleet.services.stock.errors import HeldByKits
from fleet.services.stock.moving import count_stock, move_stock
from tests.fleet.at_once import at_once
from tests.fleet.bench_builders import STOP, TODAY, a_record, lay, lay_plenty, open_shop, plan_kit
from tests.fleet.builders import write_fleet_folder

pytestmark = pytest.mark.django_db


@pytest.fixture
def shop():
    shop = open_shop()
    lay_plenty(shop)
    return shop


def begun(shop, kit="K-1", **more):
    return begin_kit(organization=shop, user=None, kit=kit, today=TODAY, **more)


def apart(shop, kit="K-1", **more):
    return take_apart_kit(organization=shop, user=None, kit=kit, today=TODAY, **more)


def held(shop) -> list[tuple]:
    rows = KitPart.objects.of(shop).filter(state="reserved").order_by("kit_assembly__number", "pk")
    return [(one.place, one.part.key, one.quantity, one.piece_name, one.lot) for one in rows]


def usable(shop, part="H-08") -> float:
    stock = core_tables(shop)["stock"]
    return round(float(stock.loc[stock["part"] == part, "on_hand"].sum()), 6)


def test_a_begun_kit_holds_real_pieces_and_lots(shop):
    plan_kit(shop, "boom")
    kit = begun(shop).kit
    assert (kit.key, kit.state, kit.needed_by, kit.begun_on) == ("K-1", "begun", STOP, TODAY)
    assert held(shop) == [
        ("hose", "H-08", 1.0, "R-1", "LH"),
        ("a", "E-08", 1, "LE", "LE"),
        ("b", "E-08", 1, "LE", "LE"),
        ("a", "F-08", 1, "LF", "LF"),
        ("b", "F-08", 1, "LF", "LF"),
    ]
    assert StockPiece.objects.get(part__key="H-08").on_hand == 20.0


def test_what_is_set_aside_is_on_no_shelf_of_the_next_plan_but_in_its_begun_kits(shop):
    plan_kit(shop, "boom")
    begun(shop)
    assert usable(shop) == 20 - 1.003
    assert usable(shop, "E-08") == 18
    told = core_tables(shop)["begun_kits"]
    assert told[["machine", "position", "design"]].drop_duplicates().values.tolist() == [
        ["M-01", "boom", "D-100"]
    ]
    assert told["part"].tolist() == ["H-08", "E-08", "E-08", "F-08", "F-08"]
    assert not told["made"].any()


def test_hose_comes_off_the_piece_that_the_cut_list_names_while_it_holds_the_cut(shop):
    lay(shop, "H-08", 1.5, "O-1", lot="LO")
    lay(shop, "H-08", 1.2, "O-2", lot="LP")
    plan_kit(shop, "boom", piece="O-2")
    begun(shop)
    assert held(shop)[0][3] == "O-2"
    plan_kit(shop, "arm", piece="O-2", kit="K-2")
    begun(shop, "K-2")
    assert {row[3] for row in held(shop) if row[0] == "hose"} == {"O-1", "O-2"}


def test_the_lot_that_expires_first_goes_first_and_one_past_its_life_never(shop):
    StockPiece.objects.filter(part__key="E-08").delete()
    end = shop and Position.objects.get(key="boom").design.end_a_part
    end.shelf_life_days = 100
    end.save()
    for piece, made_on in (("new", "2026-05-01"), ("old", "2026-04-01"), ("gone", "2026-01-01")):
        lay(shop, "E-08", 1, piece, lot=piece, made_on=datetime.date.fromisoformat(made_on))
    plan_kit(shop, "boom")
    begun(shop)
    assert [row[3] for row in held(shop) if row[1] == "E-08"] == ["old", "new"]


def test_a_kit_that_lacks_something_is_refused_whole_and_told_when_it_is_there(shop):
    StockPiece.objects.filter(part__key="E-08").update(on_hand=3)
    plan_kit(shop, "boom", "arm")
    with pytest.raises(KitLacks) as refused:
        begun(shop)
    assert str(refused.value) == (
        "K-1 lacks: M-01 arm (D-100): 1 of E-08 (there on 14 May 2026). "
        "1 of its 2 assemblies can be built now: begin these alone, or wait for the rest."
    )
    assert not Kit.objects.exists()


def test_begun_in_part_the_rest_waits_and_holds_nothing_until_its_parts_are_there(shop):
    StockPiece.objects.filter(part__key="E-08").update(on_hand=3)
    plan_kit(shop, "boom", "arm")
    first = begun(shop, partly=True)
    assert first.waiting == ("M-01 arm (D-100): 1 of E-08 (there on 14 May 2026).",)
    assert len(held(shop)) == 5
    with pytest.raises(KitLacks, match="Nothing of it can be built yet"):
        supply_kit(organization=shop, user=None, kit="K-1", today=TODAY)
    StockPiece.objects.filter(part__key="E-08").update(on_hand=4)
    assert supply_kit(organization=shop, user=None, kit="K-1", today=TODAY).waiting == ()
    assert len(held(shop)) == 10


def asks(shop, bar: float | None, position="boom") -> None:
    Position.objects.of(shop).filter(key=position).update(peak_pressure_bar=bar)


def test_nothing_is_built_that_would_be_over_its_rating_where_it_goes(shop):
    plan_kit(shop, "boom", "arm")
    asks(shop, 380.0)
    with pytest.raises(KitLacks) as refused:
        begun(shop)
    assert (
        "a design that bears M-01 boom: D-100 would be over its rating there, peak 380 bar is above the "
        "300 bar rating of hose H-08 (weakest part). Choose another"
    ) in str(refused.value)
    assert "1 of its 2 assemblies can be built now" in str(refused.value)
    assert not Kit.objects.exists()

    in_part = begun(shop, partly=True)
    assert [one.split(":")[0] for one in in_part.waiting] == ["a design that bears M-01 boom"]
    with pytest.raises(KitLacks, match="a design that bears M-01 boom"):
        supply_kit(organization=shop, user=None, kit="K-1", today=TODAY)
    asks(shop, 290.0)  # it was entered wrong
    assert supply_kit(organization=shop, user=None, kit="K-1", today=TODAY).waiting == ()


def test_a_burst_gets_no_hose_that_would_be_over_its_rating_there(shop):
    asks(shop, 380.0)
    with pytest.raises(KitLacks, match="a design that bears M-01 boom"):
        begin_assembly(
            organization=shop, user=None, site="north", machine="M-01", position="boom", today=TODAY
        )


def test_what_is_begun_already_is_not_begun_again_though_the_plan_names_it_otherwise(shop):
    plan_kit(shop, "boom")
    begin_kit(organization=shop, user=User.objects.create_user("ada"), kit="K-1", today=TODAY)
    with pytest.raises(KitBegun, match=r"it is in kit K-1, begun on 4 May 2026 by ada"):
        begun(shop)
    plan_kit(shop, "boom", "arm", kit="K-2")
    assert [one.position.key for one in begun(shop, "K-2").kit.assemblies.all()] == ["arm"]


def test_a_standby_kit_is_begun_once_though_its_name_was_used_before(shop):
    name = "S-north:D-100:1"
    plan = plan_kit(shop, "boom", kit=name)
    LINES["kits"].objects.filter(plan=plan).update(purpose="standby", changeout="", machine="")
    LINES["kit_lines"].objects.filter(plan=plan).update(position="")
    Kit.objects.create(
        organization=shop, key=name, site=Site.objects.get(key="north"), purpose="standby", state="made",
        begun_on=TODAY,
    )  # fmt: skip
    assert begin_kit(organization=shop, user=None, kit=name, today=TODAY).kit.key == f"{name}-2"
    with pytest.raises(KitBegun, match=f"it is in kit {name}-2, begun on 4 May 2026"):
        begin_kit(organization=shop, user=None, kit=name, today=TODAY)


def test_without_a_plan_or_of_another_plan_no_kit_is_begun(shop):
    with pytest.raises(NoPlan):
        begun(shop)
    plan_kit(shop, "boom")
    with pytest.raises(KitNotThere, match="There is no kit K-9 in the plan in force"):
        begun(shop, "K-9")


def test_nobody_counts_or_moves_away_what_a_kit_holds(shop):
    plan_kit(shop, "boom")
    begun(shop)
    reel = {"organization": shop, "user": None, "part": "H-08", "piece": "R-1"}
    with pytest.raises(HeldByKits) as refused:
        count_stock(**reel, site="north", on_hand=0.9, today=TODAY)
    assert str(refused.value) == (
        "Of H-08 at north, piece R-1 1.003 m is set aside for kit K-1. Count 1 m or more; or take a kit "
        "apart first, if its parts are not there."
    )
    with pytest.raises(HeldByKits, match=r"Move 18.997 m at most, or take a kit apart first"):
        move_stock(**reel, from_site="north", to_site="south", quantity=19)
    assert count_stock(**reel, site="north", on_hand=1.0, today=TODAY).on_hand == 1.0


@pytest.mark.parametrize(("column", "least"), [("on_hand", "1 m"), ("on_hand_ft", "3.281 ft")])
def test_a_fleet_folder_that_leaves_less_than_a_kit_holds_is_refused_in_words(shop, tmp_path, column, least):
    plan_kit(shop, "boom")
    begun(shop)
    row = {"part": "H-08", "site": "north", "piece": "R-1", column: "0.5"}
    folder = write_fleet_folder(tmp_path, {"stock": [row]})
    with pytest.raises(FolderRefused) as refused:
        import_fleet(folder=folder, organization=shop, today=TODAY)
    (finding,) = refused.value.findings
    assert str(finding) == (
        f"stock.csv, row 2, {column}: Of H-08 at north {least} is set aside for kits in work: K-1. Enter "
        f"{least} or more, or take the kit apart first."
    )
    assert usable(shop) == 20 - 1.003
    write_fleet_folder(tmp_path, {"stock": [row | {column: least.split()[0]}]})
    import_fleet(folder=folder, organization=shop, today=TODAY)
    assert usable(shop) < 0.001


def test_taken_apart_everything_is_anybodys_again(shop):
    plan_kit(shop, "boom", "arm")
    begun(shop)
    assert apart(shop).kit.state == KitState.TAKEN_APART
    assert (held(shop), usable(shop), usable(shop, "E-08")) == ([], 20, 20)
    with pytest.raises(KitClosed, match="K-1 was taken apart on 4 May 2026"):
        apart(shop)
    assert begun(shop).kit.key == "K-1-2"


def test_a_hose_that_is_cut_comes_back_as_an_offcut_of_its_lot(shop):
    plan_kit(shop, "boom", "arm")
    begun(shop)
    assert apart(shop, cut=[2]).told == ("1 m of H-08 comes back as offcut R-1-2.",)
    pieces = {one.piece: (one.on_hand, one.lot) for one in StockPiece.objects.filter(part__key="H-08")}
    assert pieces == {"R-1": (18.997, "LH"), "R-1-2": (1.0, "LH")}


def test_what_is_made_stays_made_when_the_rest_is_taken_apart(shop):
    plan_kit(shop, "boom", "arm")
    begun(shop)
    accept_build(organization=shop, user=None, kit="K-1", number=1, record=a_record(), today=TODAY)
    assert apart(shop).told == ("A-0001 is made and stays: it is spare.",)
    told = core_tables(shop)["begun_kits"]
    assert told["position"].unique().tolist() == ["boom"]
    assert told["made"].all()


def test_a_kit_whose_changeout_is_gone_is_named_for_a_person_to_decide(shop):
    plan_kit(shop, "boom", "arm")
    kit = begun(shop).kit
    assert stale_positions(shop) == {}
    plan_kit(shop, "arm", kit="K-2")
    assert {pk: [one.key for one in where] for pk, where in stale_positions(shop).items()} == {
        kit.pk: ["boom"]
    }


def test_an_assembly_for_a_position_that_burst_is_begun_without_a_plan(shop):
    kit = begin_assembly(
        organization=shop, user=None, site="north", machine="M-01", position="boom", today=TODAY
    ).kit
    assert (kit.key, kit.purpose, len(held(shop))) == ("B-M-01 boom:D-100", "burst", 5)
    with pytest.raises(KitBegun, match="A kit for M-01 boom was begun before"):
        begin_assembly(
            organization=shop, user=None, site="north", machine="M-01", position="boom", today=TODAY
        )
    spare = begin_assembly(organization=shop, user=None, site="north", design="D-100", today=TODAY).kit
    assert (spare.key, spare.purpose) == ("S-north:D-100", "standby")


@pytest.mark.django_db(transaction=True)
def test_of_two_who_begin_one_kit_at_once_one_is_told():
    shop = open_shop()
    lay_plenty(shop)
    plan_kit(shop, "boom")
    said = at_once(*[lambda: begun(shop).kit.key] * 2)
    assert sorted(said) == ["K-1", "kit_begun"]
    assert len(held(shop)) == 5
