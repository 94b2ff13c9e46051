"""The build sheet: the bench's arithmetic, the charts' figures, and steps that lack their data and say so."""

import datetime

import pytest

from fleet.models import LINES, CrimpSpec, Design, Part, PartKind, Position, StockPiece
from fleet.services.sheets.build_sheets import build_sheets
from fleet.services.sheets.steps import cut_length
from fleet.services.shop.bench import accept_build
from fleet.services.shop.kits import begin_kit
from tests.fleet.bench_builders import TODAY, a_record, lay, lay_plenty, open_shop, plan_kit

pytestmark = pytest.mark.django_db


@pytest.fixture
def shop():
    shop = open_shop()
    lay_plenty(shop)
    plan_kit(shop, "boom", "arm")
    Part.objects.filter(key="E-08").update(insertion_depth_mm=28)
    Part.objects.filter(key="H-08").update(dash=8)
    Design.objects.update(orientation_deg=90)
    return shop


def sheet_of(shop, kit="K-1", number=1):
    return build_sheets(organization=shop, kit=kit).sheets[number - 1]


@pytest.mark.parametrize(
    ("overall", "ends", "cut"),
    [
        (1000, (38, 42), 920),  # common practice, no source: overall less both cut-offs
        (901.7, (44.45, 44.45), 812.8),  # 35 1/2 in less twice 1 3/4 in: 32 in
        (1000, (38, None), None),
        (80, (38, 42), None),
    ],
)
def test_the_cut_is_the_overall_length_less_what_each_end_adds(overall, ends, cut):
    assert cut_length(overall, *ends) == (cut if cut is None else pytest.approx(cut))


def test_a_sheet_has_every_step_with_its_figures_and_their_sources(shop):
    sheet = sheet_of(shop)
    assert (sheet.position, sheet.design, sheet.set_aside) == ("boom", "D-100", False)
    assert [(one.place, one.part, one.lot, one.piece) for one in sheet.parts] == [
        ("hose", "H-08", "", "R-1"), ("a", "E-08", "", ""), ("b", "E-08", "", ""),
        ("a", "F-08", "", ""), ("b", "F-08", "", ""),
    ]  # fmt: skip
    cut = sheet.cut
    assert (cut.cut_length_mm, cut.cutoff_a_mm, cut.lacks, cut.question) == (1000, 50, "", "")
    assert (cut.cut_tolerance.standard, cut.cut_tolerance.over_mm) == ("IP-2", 9.525)  # 39.4 in: 3/8 in
    over_all = cut.overall_tolerance  # 1100 mm of DN 12
    assert (over_all.standard, over_all.over_mm, over_all.under_mm) == ("DIN 20066", 12, 4)
    assert (sheet.angle.angle_deg, sheet.angle.tolerance.either_way_deg) == (90, 5)
    assert "6 o'clock" in sheet.angle.convention and "counter-clockwise" in sheet.angle.convention
    assert (sheet.cleanings_before, sheet.cleanings_after) == (2, 1)
    for place, end in zip("ab", sheet.ends, strict=True):
        assert (end.place, end.insertion_depth_mm, end.lacks) == (place, 28, ())
        (crimp,) = end.crimps
        assert (crimp.target_mm, crimp.die, crimp.ferrule) == (21.2, "21", "F-08")
        assert crimp.chart == "chart 7 rev. 2"
        assert (crimp.smallest_mm, crimp.largest_mm) == (pytest.approx(21.07), pytest.approx(21.33))
    proof = sheet.proof  # twice the 300 bar of the hose, its weakest part: SAE J343 and J517
    assert (proof.pressure_bar, proof.weakest_part, proof.least_seconds, proof.most_seconds) == (
        600, "H-08", 30, 60,
    )  # fmt: skip


def test_a_begun_kit_has_the_lots_that_it_holds_and_the_tags_that_are_made(shop):
    begin_kit(organization=shop, user=None, kit="K-1", today=TODAY)
    sheets = build_sheets(organization=shop, kit="K-1")
    assert sheets.begun and all(one.set_aside for one in sheets.sheets)
    assert [one.lot for one in sheets.sheets[0].parts] == ["LH", "LE", "LE", "LF", "LF"]
    made = {"number": 1, "record": a_record(), "assembly": "A-9"}
    accept_build(organization=shop, user=None, kit="K-1", today=TODAY, **made)
    assert (sheet_of(shop).assembly, sheet_of(shop, number=2).assembly) == ("A-9", "")


def test_an_assembly_that_waits_has_the_parts_of_its_drawing_without_lots(shop):
    StockPiece.objects.all().delete()
    lay(shop, "H-08", 1.2, "R-9", lot="LX", made_on=datetime.date(2026, 1, 1))
    lay(shop, "E-08", 9, "LE", lot="LE")
    lay(shop, "F-08", 9, "LF", lot="LF")
    begin_kit(organization=shop, user=None, kit="K-1", partly=True, today=TODAY)
    there, waits = build_sheets(organization=shop, kit="K-1").sheets
    assert (there.set_aside, there.parts[0].lot) == (True, "LX")
    assert (waits.set_aside, waits.parts[0].quantity, waits.parts[0].lot) == (False, 1.0, "")


def test_a_step_without_its_data_says_so_and_has_no_figure(shop):
    CrimpSpec.objects.all().delete()
    Part.objects.filter(key="E-08").update(insertion_depth_mm=None, cutoff_mm=None)
    Part.objects.filter(key="H-08").update(rated_pressure_bar=None, construction="100R2")
    Design.objects.update(orientation_deg=None)
    sheet = sheet_of(shop)
    assert (sheet.cut.cut_length_mm, sheet.angle.angle_deg, sheet.proof.pressure_bar) == (None, None, None)
    assert sheet.cut.lacks == ("not known: the cut-off of E-08 is not on record. Do not cut before it is.")
    assert sheet.ends[0].crimps == ()
    assert sheet.ends[0].lacks == (
        "insertion depth not known: that of E-08 is not on record. Do not push it on before it is.",
        "crimp not known: no chart for H-08 with E-08: do not crimp before one is on record.",
    )
    assert sheet.proof.lacks.startswith(
        "not known: the rating of H-08 is not on record. A rating from memory"
    )
    assert sheet.angle.lacks.startswith("not known")


def test_an_angle_is_asked_for_only_where_no_end_is_on_record_as_straight(shop):
    """An angle is between two elbows: a drawing that states one for a straight end is to be asked about."""
    straight = Part.objects.create(
        organization=shop, key="E-08-S", kind=PartKind.HOSE_END, cutoff_mm=50, end_style="37° flare swivel"
    )
    Part.objects.filter(key="E-08").update(end_style="37° flare swivel 90° elbow")
    assert sheet_of(shop).angle.angle_deg == 90
    Design.objects.update(end_a_part=straight)
    LINES["kit_lines"].objects.filter(line=2).update(part="E-08-S")
    angle = sheet_of(shop).angle
    assert (angle.angle_deg, angle.convention) == (None, "")
    assert angle.lacks == (
        "none to set: the drawing states 90°, and an angle means something only where both ends are bent, "
        "but no bend is on record of end a (E-08-S: 37° flare swivel). Ask who drew it before you crimp the "
        "second end."
    )
    Design.objects.update(orientation_deg=None)
    assert sheet_of(shop).angle.lacks == (
        "none to set: no bend is on record of end a (E-08-S: 37° flare swivel). Where both ends are bent all "
        "the same, do not crimp the second before the design names the angle."
    )


def test_a_band_that_is_not_on_record_or_too_wide_is_questioned(shop):
    CrimpSpec.objects.update(crimp_over_mm=1.3)
    (said,) = sheet_of(shop).ends[0].lacks
    assert "slipped decimal point" in said
    CrimpSpec.objects.update(crimp_over_mm=None)
    (said,) = sheet_of(shop).ends[0].lacks
    assert said.startswith("band not known")
    assert sheet_of(shop).ends[0].crimps[0].largest_mm is None


def test_what_must_not_be_built_stands_by_itself_and_in_a_begun_kit_too(shop):
    warning = "Do not build D-100 for it: 312 bar is above 300 bar. Choose a design that bears it first."
    told = {"not_to_build": warning}
    LINES["changeouts"].objects.filter(position="arm").update(reason=f"It is old. {warning}", **told)
    LINES["kit_lines"].objects.filter(position="arm").update(**told)
    boom, arm = build_sheets(organization=shop, kit="K-1").sheets
    assert (boom.not_to_build, arm.not_to_build, arm.why) == ("", warning, "It is old.")
    begin_kit(organization=shop, user=None, kit="K-1", today=TODAY)
    boom, arm = build_sheets(organization=shop, kit="K-1").sheets
    assert (boom.not_to_build, arm.not_to_build) == ("", warning)
    LINES["changeouts"].objects.update(design="D-OTHER")
    assert sheet_of(shop, number=2).not_to_build == ""


def test_a_drawing_that_changed_since_the_kit_was_begun_is_to_be_settled_first(shop):
    begin_kit(organization=shop, user=None, kit="K-1", today=TODAY)
    Design.objects.update(overall_length_mm=1150)
    assert sheet_of(shop).cut.question == (
        "The kit has 1000 mm for it and the drawing now gives 1050 mm: settle which before you cut."
    )


def test_a_substitute_end_changes_the_crimp_and_the_proof_follows_the_weakest_part(shop):
    other = Part.objects.create(
        organization=shop, key="E-NEW", kind=PartKind.HOSE_END, rated_pressure_bar=280, cutoff_mm=50
    )
    first = LINES["kit_lines"].objects.filter(part="E-08", position="boom").order_by("line").first()
    LINES["kit_lines"].objects.filter(pk=first.pk).update(part="E-NEW", substitute_for="E-08")
    sheet = sheet_of(shop)
    a, b = sheet.ends
    assert (a.part, a.crimps, b.part, len(b.crimps)) == (other.key, (), "E-08", 1)
    assert (sheet.parts[1].substitute_for, sheet.proof.pressure_bar) == ("E-08", 560)


def test_what_the_register_lost_is_told_and_an_unknown_kit_has_no_sheet(shop):
    Position.objects.update(design=None)
    Design.objects.update(key="D-OTHER")
    sheets = build_sheets(organization=shop, kit="K-1")
    assert sheets.sheets == ()
    assert sheets.notes[0] == "boom: the design D-100 has left the register. Make a new plan."
    assert build_sheets(organization=shop, kit="K-none") is None
