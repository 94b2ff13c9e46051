"""From a kit at the bench to an assembly with a tag: what refuses a build, what it takes of the stock."""

import datetime
import random
from collections import defaultdict

import pytest

from fleet.frames.register import core_tables
from fleet.models import (
    LINES,
    Assembly,
    Build,
    ChosenAgeRule,
    CrimpSpec,
    Design,
    Kit,
    KitAssembly,
    KitPart,
    KitState,
    Part,
    Position,
    Setting,
    StockPiece,
)
from fleet.services.bench import accept_build, propose_assembly_key, scrap_build
from fleet.services.errors import ServiceError
from fleet.services.kit_errors import (
    AssemblyKeyTaken,
    BuildQuestioned,
    BuildRefused,
    NothingSetAside,
    PartsChanged,
    ReasonMissing,
)
from fleet.services.kits import begin_assembly, begin_kit, supply_kit, take_apart_kit
from fleet.services.stock import move_stock, order_part, receive_order
from fleet.services.work import inspect_assembly, install_assembly, remove_assembly
from fleet.services.work_rows import Fitted
from tests.fleet.bench_builders import CUT_MM, STOP, TODAY, a_record, lay, lay_plenty, open_shop, plan_kit

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def shop(kept_for_module):
    """A kit of two assemblies, begun."""
    shop = open_shop()
    lay_plenty(shop)
    plan_kit(shop, "boom", "arm")
    begin_kit(organization=shop, user=None, kit="K-1", today=TODAY)
    return shop


def accepted(shop, number: int = 1, *, assembly: str = "", confirmed=(), kit: str = "K-1", **record):
    return accept_build(
        organization=shop, user=None, kit=kit, number=number, record=a_record(**record), assembly=assembly,
        confirmed=confirmed, today=TODAY,
    )  # fmt: skip


def refused(shop, **record) -> dict[str, str]:
    """The sentences that refuse the record, by code; nothing of it is stored."""
    with pytest.raises(BuildRefused) as refusal:
        accepted(shop, **record)
    assert not Assembly.objects.exists()
    return {one.code: one.text for one in reversed(refusal.value.findings) if one.refused}


def questions(shop, **record) -> dict[str, str]:
    with pytest.raises(BuildQuestioned) as asked:
        accepted(shop, **record)
    return {one.code: one.text for one in reversed(asked.value.findings)}


def critical() -> None:
    Position.objects.filter(key="boom").update(critical=True)


def on_hand(part: str = "H-08") -> dict[str, float]:
    return {row.piece: row.on_hand for row in StockPiece.objects.filter(part__key=part)}


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


def test_without_a_chart_for_that_very_hose_end_and_ferrule_nothing_is_accepted(shop):
    CrimpSpec.objects.update(ferrule_part=Part.objects.create(organization=shop, key="F-09", kind="ferrule"))
    assert refused(shop)["no_chart"] == (
        "End a: there is no crimp chart for H-08 with E-08. Enter its diameter and band in crimp_specs.csv."
    )


def test_a_chart_without_a_band_accepts_nothing_and_a_wide_band_is_questioned(shop):
    CrimpSpec.objects.update(crimp_over_mm=1.3)
    assert questions(shop)["wide_band"].startswith("End a: a band of 1.3 mm for H-08 with E-08 is wider than")
    made = accepted(shop, confirmed=["wide_band"]).assembly
    assert made.build.remarks == "answered for: wide band"
    CrimpSpec.objects.update(crimp_over_mm=None)
    with pytest.raises(BuildRefused, match="names no band"):
        accepted(shop, 2)


@pytest.mark.parametrize(
    "reading, code, what_to_do",
    [
        (21.34, "over_band", "Crimp again if the chart allows it, then measure again all around"),
        (21.06, "under_band", "Scrap the assembly: what is crimped too far is not opened again"),
    ],
)
def test_a_reading_outside_the_band_refuses_and_says_what_to_do(shop, reading, code, what_to_do):
    text = refused(shop, readings={"a": (21.2, reading, 21.2), "b": (21.2,) * 3})[code]
    assert "21.07 mm to 21.33 mm" in text
    assert what_to_do in text


def test_the_edge_of_the_band_is_inside_it(shop):
    accepted(shop, readings={"a": (21.07, 21.33, 21.2), "b": (21.2,) * 3})


def test_fewer_than_three_readings_are_questioned_and_on_a_critical_position_refused(shop):
    assert set(questions(shop, readings={"a": (21.2,) * 2, "b": (21.2,) * 3})) == {"few_readings"}
    assert set(refused(shop, readings={"a": (), "b": (21.2,) * 3})) == {"no_readings"}
    critical()
    assert set(refused(shop, readings={"a": (21.2,) * 2, "b": (21.2,) * 3})) == {"few_readings"}


@pytest.mark.parametrize("time", ["inserted_before", "inserted_after"])
def test_a_mark_that_was_not_seen_both_times_refuses(shop, time):
    assert set(refused(shop, **{time: {"a": True}})) == {"insertion_not_seen"}


def test_proof_is_twice_the_weakest_part_for_half_a_minute(shop):
    # SAE J343 and J517: proof twice the working pressure, held 30 to 60 s; an assembly carries what its
    # lowest-rated component does.
    assert refused(shop, proof_pressure_bar=599)["proof_too_low"].startswith(
        "599 bar is below 600 bar, twice the 300 bar of H-08"
    )
    assert set(refused(shop, proof_seconds=29)) == {"proof_too_short"}
    assert set(refused(shop, proof_pressure_bar=1200)) == {"proof_too_high"}
    Part.objects.filter(key="E-08").update(rated_pressure_bar=None)
    assert "The rating of E-08 is not on record" in questions(shop)["rating_unknown"]


def test_without_proof_a_named_person_answers_with_a_reason_and_never_on_a_critical_position(shop):
    bare = {"proof_pressure_bar": None, "proof_seconds": None}
    assert set(refused(shop, **bare)) == {"no_proof"}
    reasoned = bare | {"remarks": "return line"}
    assert questions(shop, **reasoned) == {"no_proof": "No proof test is recorded: Ada answers for it."}
    made = accepted(shop, confirmed=["no_proof"], **reasoned).assembly
    assert made.build.remarks == "return line; answered for: no proof"
    critical()
    KitAssembly.objects.filter(number=2).update(position=Position.objects.get(key="boom"))
    with pytest.raises(BuildRefused, match="it is not accepted without a proof test"):
        accepted(shop, 2, **reasoned)


def test_nobody_in_particular_accepts_nothing_for_a_critical_position(shop):
    critical()
    assert set(refused(shop, accepted_by=" ")) == {"nobody_accepts"}
    assert set(refused(shop, built_by="")) == {"nobody_built"}


def test_one_person_alone_is_questioned_on_a_critical_position_and_nowhere_else(shop):
    critical()
    assert set(questions(shop, accepted_by="Bench  1 ")) == {"accepted_by_who_crimped_it"}
    Position.objects.update(critical=False)
    accepted(shop, accepted_by="bench 1")


def test_skipped_cleaning_and_a_cut_off_its_length_are_questioned(shop):
    asked = questions(shop, cleanings_before=1, cleanings_after=None, cut_length_mm=1010.0)
    assert set(asked) == {"cleaned_too_little", "not_cleaned_after", "cut_off_length"}
    assert "10 mm too long: 1,000 mm was asked for" in asked["cut_off_length"]
    KitPart.objects.filter(place="hose").update(cut_length_mm=656)  # IP-2 lets it be off a quarter of an inch
    assert "IP-2 lets it be off 6.35 mm." in questions(shop, cut_length_mm=700.0)["cut_off_length"]
    KitPart.objects.filter(place="hose").update(cut_length_mm=CUT_MM)
    accepted(shop, confirmed=set(asked), cut_length_mm=1010.0, cleanings_before=1, cleanings_after=0)
    assert on_hand() == {"R-1": 18.987}


def test_a_cut_that_its_piece_cannot_have_given_is_refused(shop):
    StockPiece.objects.filter(part__key="H-08").update(on_hand=2.003)
    assert (
        "gives 1,000 mm beside what other kits hold of it"
        in refused(shop, cut_length_mm=1001.0)["cut_too_long"]
    )


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


def test_what_passed_its_shelf_life_while_it_was_set_aside_is_not_built_in(shop):
    StockPiece.objects.filter(part__key="E-08").update(made_on=datetime.date(2025, 1, 1))
    Part.objects.filter(key="E-08").update(shelf_life_days=365)
    assert "E-08 was 488 days old, past its shelf life of 365" in refused(shop)["past_shelf_life"]


def test_the_shelf_life_of_the_chosen_age_rule_holds_at_the_bench_too(shop):
    StockPiece.objects.filter(part__key="H-08").update(made_on=datetime.date(2015, 1, 1))
    assert accepted(shop, 2).assembly.hose_made_on.year == 2015
    ChosenAgeRule.objects.create(organization=shop, rule="ISO 8331")
    with pytest.raises(BuildRefused, match="past its shelf life of 1461"):
        accepted(shop)


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


def test_what_speaks_against_a_build_is_told_in_the_units_of_the_shop(shop):
    for name, unit in (("pressure_unit", "psi"), ("length_unit", "in")):
        Setting.objects.create(organization=shop, name=name, value=unit)
    with pytest.raises(BuildRefused) as found:
        accepted(
            shop,
            readings={"a": (21.4,) * 3, "b": (21.2,) * 3},
            proof_pressure_bar=599.0,
            cut_length_mm=1010.0,
        )
    told = {one.code: one.text for one in found.value.findings}
    assert told["over_band"].startswith("End a: 0.8425 in is over the band, 0.8295 in to 0.8398 in.")
    assert told["proof_too_low"].startswith("8,688 psi is below 8,702 psi, twice the 4,351 psi of H-08")
    assert "39.76 in is 0.39 in too long: 39.37 in was asked for" in told["cut_off_length"]


ACTS = ["begin"] * 2 + ["accept"] * 3 + ["scrap", "apart", "receive", "move", "fit", "remove"]


@pytest.mark.parametrize("seed", [2, 3])
def test_after_a_hundred_acts_every_lot_balances_to_the_millimetre(seed):
    """Laid down and received = on hand + cut + kerf + scrap, for each lot of hose; each end is somewhere."""
    chance = random.Random(seed)
    shop = open_shop("Balance Works")
    Setting.objects.create(organization=shop, name="keep_length_mm", value="400")
    lay(shop, "H-08", 7.35, "R-1", lot="LH")
    lay(shop, "E-08", 20, "LE", lot="LE")
    lay(shop, "F-08", 20, "LF", lot="LF")
    came: dict[tuple[str, str], float] = defaultdict(float)
    for piece in StockPiece.objects.of(shop).select_related("part"):
        came[piece.part.key, piece.lot] += piece.on_hand
    for step in range(100):
        act, which, off = chance.choice(ACTS), chance.randrange(8), round(chance.uniform(-3, 7), 1)
        try:
            for part, lot, much in do(shop, act, which, off, step):
                came[part, lot] += much
        except ServiceError as refusal:
            assert refusal.code in EXPECTED, refusal  # a refusal stores nothing
        if step % 5 == 4:
            check_balance(shop, came)
    assert Assembly.objects.count() > 5
    assert Assembly.objects.filter(removal_cause__in=("worn", "failed")).exists()


EXPECTED = {"kit_lacks", "kit_begun", "kit_closed", "assembly_made", "nothing_set_aside", "build_refused",
            "not_enough", "held_by_kits", "kit_not_there"}  # fmt: skip


def do(shop, act: str, which: int, off: float, step: int) -> list[tuple[str, str, float]]:
    """Does one thing; what came into the shop by it: part, lot, how much."""
    own = {"organization": shop, "user": None, "today": TODAY}
    rows = KitAssembly.objects.of(shop).filter(assembly=None, kit__state="begun").select_related("kit")
    one = rows.order_by("pk")[which % rows.count()] if rows else None
    if act == "begin":
        begin_assembly(**own, site="north", design="D-100")
    elif act == "receive":
        part, much = ("H-08", 2.4 + which) if which % 2 else ("E-08", 2.0 + which)
        order_part(**own, part=part, site="north", quantity=much, order=f"PO-{step}")
        receive_order(**own, order=f"PO-{step}", part=part, site="north", quantity=much, lot=f"L{step}")
        return [(part, f"L{step}", much)]
    elif act == "move":
        pieces = StockPiece.objects.of(shop).filter(part__key="H-08", site__key="north").order_by("pk")
        piece = pieces[which % pieces.count()]
        move_stock(
            organization=shop, user=None, part="H-08", from_site="north", to_site="south",
            quantity=1.0 + which, piece=piece.piece,
        )  # fmt: skip
    elif act == "fit":
        shelf = Assembly.objects.of(shop).filter(position=None).order_by("pk")
        if new := shelf.first():
            seen = Assembly.objects.of(shop).filter(position__key="boom", removed_on=None).first()
            off = {"removal_cause": "worn", "comes_off": seen.key} if seen else {}
            install_assembly(
                **own, machine="M-01", position="boom", fitted=Fitted(new.key), installed_on=TODAY, **off
            )
    elif act == "remove":
        fitted = Assembly.objects.of(shop).filter(position__isnull=False, removed_on=None).first()
        if fitted:
            remove_assembly(**own, assembly=fitted.key, removed_on=TODAY, removal_cause="failed")
    elif one is not None and act == "accept":
        accept_build(**own, kit=one.kit.key, number=1, record=a_record(cut_length_mm=CUT_MM + off))
    elif one is not None and act == "scrap":
        scrap_build(**own, kit=one.kit.key, number=1, reason="dropped", cut_length_mm=CUT_MM + off)
    elif one is not None and act == "apart":
        take_apart_kit(**own, kit=one.kit.key, cut=[1] if which % 2 else [])
    return []


def check_balance(shop, came: dict[tuple[str, str], float]) -> None:
    there: dict[tuple[str, str], float] = defaultdict(float)
    for piece in StockPiece.objects.of(shop).select_related("part").with_reserved():
        assert piece.on_hand >= piece.reserved - piece.last_kerf - 1e-6, piece
        there[piece.part.key, piece.lot] += piece.on_hand
    for part in KitPart.objects.of(shop).exclude(state="reserved").select_related("part"):
        gone = part.quantity if part.state == "used" else 0.0
        there[part.part.key, part.lot] += gone + (part.kerf_mm + part.scrap_mm) / 1000
    wrong = {key: (came[key], there[key]) for key in came | there if abs(came[key] - there[key]) > 5e-4}
    assert not wrong


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
