"""What goes onto a machine is judged first: refused, answered for by a person, or put on."""

import pytest

from fleet.models import Assembly, Kit, KitAssembly, KitPart, KitPartState, Organization, Part, Position
from fleet.services.work.errors import FitnessNotKnown, UnfitForPlace
from fleet.services.work.recording import record_day
from fleet.services.work.rows import Fitted, PositionWork
from tests.fleet.builders import take_small_fleet
from tests.fleet.work_builders import DAY, TODAY, on, put_on

pytestmark = pytest.mark.django_db
LEFT = {"machine": "EX-01", "position": "boom left", "removal_cause": "worn"}


@pytest.fixture(scope="module")
def quarry(kept_for_module, tmp_path_factory) -> Organization:
    """A-2 is on EX-01 boom left, A-3 on boom right, nothing on WL-02 lift; A-1 came off, A-4 is built."""
    return take_small_fleet(tmp_path_factory.mktemp("folder"), "Quarry", TODAY)


def test_a_hose_under_its_rating_for_the_place_is_refused_and_over_it_goes_on(quarry):
    Position.objects.filter(key="boom left").update(peak_pressure_bar=331.0)  # and the hose bears 4,800 psi
    with pytest.raises(UnfitForPlace) as refused:
        put_on(quarry, "B-1", **LEFT, answered_by="Ada Berg")
    told = "peak 4,801 psi is above the 4,800 psi rating of hose H-2SN-06 (weakest part)"
    assert f"B-1 on EX-01 boom left would have to bear more than it is rated for: {told}" in str(
        refused.value
    )
    assert on("EX-01 boom left") == "A-2"
    Part.objects.update(rated_pressure_bar=420.0)
    put_on(quarry, "B-1", **LEFT)
    assert on("EX-01 boom left") == "B-1"


def test_heat_above_what_a_hose_may_have_keeps_it_off_its_place(quarry):
    Position.objects.filter(key="boom left").update(fluid_temperature_c=110.0)
    with pytest.raises(UnfitForPlace, match="fluid at 110 °C is hotter than the 100 °C of hose H-2SN-06"):
        put_on(quarry, "B-1", **LEFT)


def test_what_is_not_known_of_a_rating_is_told_and_a_person_answers_for_it(quarry):
    Part.objects.filter(key="E-JIC-06").update(rated_pressure_bar=None)
    with pytest.raises(FitnessNotKnown) as asked:
        put_on(quarry, "B-1", **LEFT)
    assert "is not known: the rating of end E-JIC-06 is not known. The position is critical" in str(
        asked.value
    )
    assert [(one.refused, one.critical) for one in asked.value.findings] == [(False, True)]
    assert on("EX-01 boom left") == "A-2"
    told = put_on(quarry, "B-1", **LEFT, answered_by="Ada Berg").told
    assert told.endswith("Not known: the rating of end E-JIC-06 is not known. Ada Berg answers for it.")
    reason = Assembly.objects.get(key="B-1").history.first().history_change_reason
    assert reason == "recorded at the machine; Ada Berg answers for it"


def test_a_table_from_memory_passes_no_hose_but_keeps_one_off(quarry):
    Part.objects.filter(key="H-2SN-06").update(rated_pressure_bar=None)  # 2SN of dash 6: 330 bar, from memory
    with pytest.raises(FitnessNotKnown, match="a table gives EN 853 2SN 4,786 psi, from memory"):
        put_on(quarry, "B-1", **LEFT)
    Position.objects.filter(key="boom left").update(peak_pressure_bar=350.0)
    with pytest.raises(UnfitForPlace, match="a table gives EN 853 2SN 4,786 psi, from memory"):
        put_on(quarry, "B-1", **LEFT, answered_by="Ada Berg")


def test_what_the_bench_really_built_in_is_judged_and_not_the_drawing(quarry):
    """A-4 was built with a weaker hose than its design has; what was scrapped of it says nothing."""
    weak = Part.objects.create(
        organization=quarry, key="H-WEAK", kind="bulk_hose", unit="metre", rated_pressure_bar=180.0
    )
    built = Assembly.objects.select_related("design").get(key="A-4")
    kit = Kit.objects.create(
        organization=quarry,
        key="K-1",
        site=Position.objects.get(key="lift").machine.site,
        purpose="standby",
        begun_on=DAY,
    )
    row = KitAssembly.objects.create(
        organization=quarry, kit=kit, number=1, design=built.design, assembly=built
    )
    part = KitPart.objects.create(
        organization=quarry,
        kit_assembly=row,
        place="hose",
        part=weak,
        quantity=1,
        state=KitPartState.USED,
        scrapped_because="cut too short",
    )
    put_on(quarry)
    Assembly.objects.filter(key="A-4").update(position=None, installed_on=None)
    KitPart.objects.filter(pk=part.pk).update(scrapped_because="")
    with pytest.raises(UnfitForPlace, match="above the 2,611 psi rating of hose H-WEAK"):
        put_on(quarry)


def test_in_a_days_work_each_place_is_told_what_speaks_against_what_goes_on_there(quarry):
    Position.objects.filter(key="boom left").update(peak_pressure_bar=400.0)
    work = [
        PositionWork("boom left", "worn", "", Fitted("B-1"), "A-2"),
        PositionWork("boom right", "worn", "", Fitted("B-2"), "A-3"),
    ]
    day = {"organization": quarry, "user": None, "machine": "EX-01", "day": DAY, "today": TODAY}
    with pytest.raises(UnfitForPlace) as refused:
        record_day(work=work, **day)
    found = [(one.position, one.refused) for one in refused.value.findings]
    assert found == [("boom left", True), ("boom right", False)]
    assert "neither peak nor working pressure" in refused.value.findings[1].text
    assert (on("EX-01 boom left"), on("EX-01 boom right")) == ("A-2", "A-3")
