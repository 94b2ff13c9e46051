"""A hose bursts: what fits its place, where it lies, and how soon it is there."""

import datetime

import pytest
from django.utils import timezone

from fleet.models import (
    LINES,
    Assembly,
    Build,
    CrimpSpec,
    Design,
    KitAssembly,
    KitPart,
    KitPartState,
    OpenOrder,
    Organization,
    Part,
    PartKind,
    Plan,
    Position,
    RunState,
    Site,
    StockPiece,
)
from fleet.services.replacing.bursts import Replacements, find_replacements
from fleet.services.shop.kits import begin_assembly
from tests.fleet.burst_builders import TODAY, in_days, lay, open_yard

pytestmark = pytest.mark.django_db


@pytest.fixture
def gravel():
    return open_yard()


def burst(gravel) -> Replacements:
    return find_replacements(organization=gravel, position=Position.objects.get(), today=TODAY)


def test_complete_here_it_is_built_today(gravel):
    lay(gravel, "H-08", 4)
    lay(gravel, "E-08", 2)

    (way,) = burst(gravel).ways

    assert (way.kind, way.site, way.ready_on, way.complete) == ("stock", "north", TODAY, True)
    assert way.says == "north, the machine's own site, has every part of D-100: today, once it is built."
    assert [(one.part, one.quantity, one.cut_length_mm) for one in way.lines] == [
        ("H-08", 1.0, 1000.0),
        ("E-08", 2.0, None),
    ]


def test_complete_at_another_site_it_comes_before_what_must_be_ordered_here(gravel):
    lay(gravel, "H-08", 4, "south")
    lay(gravel, "E-08", 2, "south")

    there, here = burst(gravel).ways

    assert (there.site, there.ready_on) == ("south", TODAY)
    assert there.says.endswith(
        "today, once it is built. It must be carried to north; how long that takes is not known here."
    )
    assert (here.site, here.ready_on) == ("north", in_days(20))


def test_one_end_missing_but_on_order_is_waited_for_to_that_day(gravel):
    lay(gravel, "H-08", 4)
    lay(gravel, "E-08", 1)
    site, end = Site.objects.get(key="north"), Part.objects.get(key="E-08")
    OpenOrder.objects.create(
        organization=gravel, order="PO-9", part=end, site=site, quantity=10, expected_on=in_days(3)
    )

    way = burst(gravel).ways[0]

    assert (way.site, way.ready_on, way.complete) == ("north", in_days(3), False)
    assert [line.missing for line in way.lines if line.missing] == [
        "1 of E-08 is missing: it comes on order PO-9 on 7 May 2026."
    ]


def test_an_order_that_names_no_day_is_told_as_reckoned_and_not_as_promised(gravel):
    lay(gravel, "H-08", 4)
    site, end = Site.objects.get(key="north"), Part.objects.get(key="E-08")
    OpenOrder.objects.create(organization=gravel, order="PO-9", part=end, site=site, quantity=10)

    (missing,) = [line.missing for line in burst(gravel).ways[0].lines if line.missing]

    assert missing == (
        "2 of E-08 are missing: order PO-9 brings it, which is overdue or names no day; as if it were "
        "ordered today it is there on 14 May 2026."
    )


def test_an_end_that_another_site_has_is_named_there(gravel):
    lay(gravel, "H-08", 4)
    lay(gravel, "E-08", 8, "south")
    missing = [line.missing for line in burst(gravel).ways[0].lines if line.missing]
    assert missing == ["2 of E-08 are missing: ordered today it is there on 14 May 2026; south has it."]


def test_offcuts_too_short_for_the_cut_do_not_count_as_hose(gravel):
    lay(gravel, "E-08", 2)
    for number in range(10):
        lay(gravel, "H-08", 0.4, piece=f"offcut {number}")
    (way,) = burst(gravel).ways
    assert [line.part for line in way.lines if line.short_by] == ["H-08"]
    assert way.ready_on == in_days(20)


def test_nothing_known_of_the_position_says_so_and_what_to_measure(gravel):
    Position.objects.update(design=None)
    found = burst(gravel)
    assert (found.design, list(found.ways)) == (None, [])
    assert found.notes[0].startswith("No design is on record for M-01 boom")
    assert "Measure what came off" in found.notes[0]


def test_what_was_in_the_position_last_tells_what_belongs_there(gravel):
    Position.objects.update(design=None)
    Assembly.objects.create(
        organization=gravel, key="A-1", design=Design.objects.get(), position=Position.objects.get(),
        installed_on=in_days(-90),
    )  # fmt: skip
    assert burst(gravel).design.key == "D-100"


def test_no_stock_and_no_lead_time_says_that_nothing_says_when(gravel):
    Part.objects.update(lead_time_days=None)
    found = burst(gravel)
    assert [(way.site, way.ready_on) for way in found.ways] == [("north", None)]
    assert "No site has what D-100 takes, and nothing says when it could come." in found.notes[-1]


def test_a_successor_stands_in_but_never_on_a_critical_position(gravel):
    lay(gravel, "H-08", 4)
    new = Part.objects.create(organization=gravel, key="E-08N", kind=PartKind.HOSE_END, cutoff_mm=50)
    Part.objects.filter(key="E-08").update(superseded_by=new)
    lay(gravel, "E-08N", 2)
    assert burst(gravel).ways[0].says.endswith("once it is built. E-08N stands in for E-08.")

    Position.objects.update(critical=True)
    found = burst(gravel)
    assert found.ways[0].ready_on == in_days(10)
    assert found.notes[0] == "The position is critical: nothing stands in for its own parts."


def test_an_assembly_built_and_never_installed_comes_first(gravel):
    design = Design.objects.get()
    for key, accepted in (("A-4", True), ("A-5", False)):
        spare = Assembly.objects.create(organization=gravel, key=key, design=design)
        Build.objects.create(
            organization=gravel, assembly=spare, design=design, built_on=in_days(-9), accepted=accepted
        )
    first, *others = burst(gravel).ways
    assert (first.kind, first.assembly, first.ready_on) == ("built", "A-4", TODAY)
    assert "A-5" not in [way.assembly for way in others]


def test_a_standby_kit_of_the_plan_is_named_before_the_shelf(gravel):
    plan = Plan.objects.create(organization=gravel, state=RunState.DONE, as_of=TODAY)
    LINES["kits"].objects.create(
        plan=plan, row=1, kit="S-1", purpose="standby", site="north", ready=True, needed_by=TODAY
    )
    LINES["kit_lines"].objects.create(
        plan=plan, row=1, kit="S-1", line=1, design="D-100", part="H-08", kind="bulk_hose", quantity=1,
        unit="metre", short_by=0,
    )  # fmt: skip
    LINES["changeouts"].objects.create(
        plan=plan, row=1, changeout="C-1", machine="M-01", position="boom", planned_on=in_days(7),
        special_stop=False,
    )  # fmt: skip

    found = burst(gravel)

    assert (found.ways[0].kind, found.ways[0].kit) == ("kit", "S-1")
    assert found.ways[0].says == "Kit S-1 at north has all of it: it stands by for this."
    assert found.then[0].startswith("The plan had it changed on 11 May 2026 (C-1).")
    assert found.then[0].endswith("frees the parts meant for it; the stop falls away.")


def test_a_failure_that_is_on_record_is_said_to_be(gravel):
    position = Position.objects.get()
    plan = Plan.objects.create(
        organization=gravel, state=RunState.DONE, as_of=TODAY, finished_at=timezone.now()
    )
    old = Assembly.objects.create(
        organization=gravel, key="OLD", position=position, installed_on=datetime.date(2025, 1, 1)
    )
    LINES["forecasts"].objects.create(
        plan=plan, row=0, assembly="OLD", machine="M-01", position="boom", age_days=1, age_hours=1,
        p_fail_30d=0.1, p_fail_90d=0.1, p_fail_180d=0.1, p_fail_365d=0.1, p_fail_365d_low=0.1,
        p_fail_365d_high=0.1,
    )  # fmt: skip
    assert "Once this failure is on record, the next plan judges the new hose" in burst(gravel).then[0]
    old.removed_on, old.removal_cause = TODAY, "failed"
    old.save()
    assert "That OLD came off on 4 May 2026 is on record: the next plan judges" in burst(gravel).then[0]


def test_stock_of_another_organization_is_not_counted(gravel):
    quarry = Organization.objects.create(name="Slate Quarry", slug="slate-quarry")
    theirs = {
        "part": Part.objects.create(organization=quarry, key="E-08", kind=PartKind.HOSE_END),
        "site": Site.objects.create(organization=quarry, key="north"),
    }
    StockPiece.objects.create(organization=quarry, **theirs, on_hand=50)
    assert all(line.short_by for line in burst(gravel).ways[0].lines)


def test_a_kit_at_the_bench_and_what_was_made_there_are_ways_too(gravel):
    lay(gravel, "H-08", 2.2)
    lay(gravel, "E-08", 4)
    begin_assembly(organization=gravel, user=None, site="north", design="D-100", today=TODAY)
    ways = burst(gravel).ways
    assert [(way.kind, way.kit) for way in ways] == [("bench", "S-north:D-100"), ("stock", "")]
    assert (
        ways[0].says
        == "Kit S-north:D-100 at north is being built to stand by for this: all its parts are set aside."
    )
    assert [line.quantity for line in ways[1].lines] == [1.0, 2.0]

    begin_assembly(organization=gravel, user=None, site="north", design="D-100", today=TODAY)
    assert [way.complete for way in burst(gravel).ways if way.kind == "stock"] == [False]


@pytest.fixture
def rated(gravel):
    """The same with sizes and ratings: 275 bar for its own hose, 350 for H-08X, of which one can be built."""
    sizes = {"dash": 8, "bore_mm": 12.7, "material": "rubber", "minimum_bend_radius_mm": 180}
    heat = {"minimum_temperature_c": -40, "maximum_temperature_c": 100}
    Part.objects.filter(key="H-08").update(**sizes, **heat, rated_pressure_bar=275)
    Part.objects.filter(key="E-08").update(dash=8, rated_pressure_bar=400)
    other = Part.objects.create(
        organization=gravel, key="H-08X", kind=PartKind.BULK_HOSE, rated_pressure_bar=350, **sizes, **heat
    )
    end = Part.objects.get(key="E-08")
    for one in (Part.objects.get(key="H-08"), other):
        CrimpSpec.objects.create(organization=gravel, hose_part=one, end_part=end, crimp_diameter_mm=21.2)
    lay(gravel, "H-08X", 4)
    lay(gravel, "E-08", 2)
    return gravel


def test_another_hose_that_passes_every_check_is_a_way_but_never_by_itself_on_a_critical_position(rated):
    gravel = rated
    ways = {way.kind: way for way in burst(gravel).ways}
    assert ways["stand_in"].ready_on == TODAY and not ways["stock"].complete
    assert ways["stand_in"].says == (
        "north could build one of hose H-08X with end E-08, which passes every check that is made here."
    )

    Position.objects.update(critical=True)
    found = burst(gravel)
    assert [way.kind for way in found.ways] == ["stock"]
    assert found.notes[-1].endswith("A named competent person must decide whether it may.")

    lay(gravel, "H-08", 4)
    assert [way.kind for way in burst(gravel).ways] == ["stock"]


def test_another_hose_elsewhere_is_a_way_only_while_no_site_has_what_belongs_there(rated):
    lay(rated, "H-08X", 4, site="south")
    lay(rated, "E-08", 2, site="south")
    StockPiece.objects.filter(site__key="north").delete()
    assert ("stand_in", "south") in [(way.kind, way.site) for way in burst(rated).ways]
    lay(rated, "H-08", 4, site="south")
    ways = burst(rated).ways
    assert [(way.kind, way.site) for way in ways if way.complete] == [("stock", "south")]


def test_no_hose_of_a_design_under_its_rating_is_offered_but_one_that_passes(rated):
    lay(rated, "H-08", 4)
    lay(rated, "E-08", 2, piece="bin 2")
    begin_assembly(organization=rated, user=None, site="north", design="D-100", today=TODAY)
    assert [way.kind for way in burst(rated).ways] == ["bench", "stock"]

    Position.objects.update(peak_pressure_bar=300)
    found = burst(rated)
    assert [(way.kind, way.site) for way in found.ways] == [("stand_in", "north")]
    assert found.notes[0].startswith("A new hose of D-100 would not bear M-01 boom: ")
    assert found.notes[0].endswith("are not as the register has them, correct them there.")

    Position.objects.update(critical=True)
    found = burst(rated)
    assert list(found.ways) == []
    assert "nothing stands in" in found.notes[0] and "would not bear" in found.notes[1]
    assert found.notes[2].endswith("A named competent person must decide whether it may.")


def test_what_was_built_is_judged_by_the_parts_that_are_in_it(rated):
    lay(rated, "H-08", 4)
    begin_assembly(organization=rated, user=None, site="north", design="D-100", today=TODAY)
    own = {"organization": rated, "design": Design.objects.get()}
    spare = Assembly.objects.create(**own, key="A-4")
    Build.objects.create(**own, assembly=spare, built_on=in_days(-9), accepted=True)
    KitAssembly.objects.update(assembly=spare)
    KitPart.objects.update(state=KitPartState.USED)

    def offered() -> list[str]:
        return [way.assembly for way in burst(rated).ways if way.kind == "built"]

    assert offered() == ["A-4"]
    Position.objects.update(peak_pressure_bar=300)
    assert offered() == []
    KitPart.objects.filter(part__key="H-08").update(part=Part.objects.get(key="H-08X"))
    assert offered() == ["A-4"]  # stronger than its drawing


def test_what_is_in_the_position_by_the_register_is_told_to_be_recorded(gravel):
    assert burst(gravel).installed is None
    Assembly.objects.create(
        organization=gravel, key="A-1", position=Position.objects.get(), installed_on=in_days(-90)
    )
    assert burst(gravel).installed.key == "A-1"
