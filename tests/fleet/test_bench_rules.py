"""What refuses a build at the bench, what is asked about it, and who may answer for that."""

import datetime

import pytest

from fleet.models import (
    Assembly,
    ChosenAgeRule,
    CrimpSpec,
    KitAssembly,
    KitPart,
    Part,
    Position,
    Setting,
    StockPiece,
)
from fleet.services.shop.errors import BuildQuestioned, BuildRefused
from tests.fleet.bench_builders import (
    CUT_MM,
    accepted,
    on_hand,
    open_shop_with_kit,
)

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def shop(kept_for_module):
    return open_shop_with_kit()


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
    assert "39.76 in is 0.3937 in too long: 39.37 in was asked for" in told["cut_off_length"]


def test_a_reading_just_past_its_band_is_told_so_far_that_it_is_past_it(shop):
    Setting.objects.create(organization=shop, name="length_unit", value="in")
    readings = {"a": (0.8398 * 25.4,) * 3, "b": (21.2,) * 3}  # the band ends at 21.33 mm, 0.83976 in
    told = refused(shop, readings=readings)["over_band"]
    assert told.startswith("End a: 0.8398 in is over the band, 0.82953 in to 0.83976 in.")
