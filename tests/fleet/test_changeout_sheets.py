"""The sheet of one stop: the order of work, the minutes, and how far its kits are."""

import pytest

from fleet.models import LINES, Design, Machine, Part, Position
from fleet.services.bench import accept_build
from fleet.services.changeout_sheets import changeout_sheet
from fleet.services.kits import begin_kit
from tests.fleet.bench_builders import STOP, TODAY, a_record, lay_plenty, open_shop, plan_kit

pytestmark = pytest.mark.django_db


@pytest.fixture
def shop():
    """A stop of four positions in two circuits; that of the bucket has the gravest reason."""
    shop = open_shop()
    machine = Machine.objects.get()
    for key in ("tilt", "grab"):
        Position.objects.create(organization=shop, machine=machine, key=key, working_pressure_bar=250)
    Position.objects.filter(key__in=("boom", "arm")).update(circuit="boom")
    Position.objects.filter(key__in=("tilt", "grab")).update(circuit="bucket")
    plan_kit(shop, "boom", "arm", "tilt", "grab")
    lines = LINES["changeouts"].objects
    for position, reason, minutes in (
        ("boom", "risk", 45), ("arm", "age_limit", 30), ("tilt", "economy", 60), ("grab", "unfit", None),
    ):  # fmt: skip
        lines.filter(position=position).update(due_reason=reason, minutes=minutes)
    return shop


def sheet_of(shop):
    return changeout_sheet(organization=shop, machine="M-01", changeout="1")


def test_the_order_is_by_circuit_the_gravest_first_and_minutes_are_summed(shop):
    sheet = sheet_of(shop)
    assert [step.position for step in sheet.steps] == ["grab", "tilt", "arm", "boom"]
    assert [step.order for step in sheet.steps] == [1, 2, 3, 4]
    assert (sheet.minutes, sheet.untimed, sheet.planned_on) == (135, 1, STOP)
    step = sheet.steps[0]
    assert (step.design, step.hose, step.end_a, step.overall_length_mm) == ("D-100", "H-08", "E-08", 1100)
    assert (step.pressure_bar, step.circuit) == (250, "bucket")


def test_an_angle_is_told_only_where_no_end_is_on_record_as_straight(shop):
    Design.objects.update(orientation_deg=270)
    assert sheet_of(shop).steps[0].angle_deg == 270
    Part.objects.filter(key="E-08").update(end_style="face seal female swivel")
    assert sheet_of(shop).steps[0].angle_deg is None


def test_its_kit_says_whether_it_is_there_lacks_something_or_is_being_built(shop):
    (kit,) = sheet_of(shop).kits
    assert (kit.kit, kit.ready, kit.begun) == ("K-1", True, False)
    LINES["kits"].objects.update(ready=False)
    LINES["kit_lines"].objects.filter(part="E-08").update(short_by=1)
    (kit,) = sheet_of(shop).kits
    assert (kit.ready, kit.lacks) == (False, ("E-08",))
    lay_plenty(shop)
    Position.objects.of(shop).update(working_pressure_bar=200)
    begin_kit(organization=shop, user=None, kit="K-1", today=TODAY)
    (kit,) = sheet_of(shop).kits
    assert (kit.begun, kit.made, kit.of, kit.ready, kit.lacks) == (True, 0, 4, False, ())


def test_what_is_made_and_waits_is_named_and_a_kit_built_under_another_name_is_not_told_twice(shop):
    lay_plenty(shop)
    Position.objects.of(shop).update(working_pressure_bar=200)
    plan_kit(shop, "boom", "arm")
    begin_kit(organization=shop, user=None, kit="K-1", today=TODAY)
    accept_build(
        organization=shop, user=None, kit="K-1", number=1, record=a_record(), assembly="NEW", today=TODAY
    )
    (kit,) = sheet_of(shop).kits
    assert (kit.made, kit.of, kit.assemblies) == (1, 2, ("NEW",))
    LINES["kits"].objects.update(kit="K-2")  # a later plan proposes the same under another name
    LINES["kit_lines"].objects.update(kit="K-2")
    assert [kit.kit for kit in sheet_of(shop).kits] == ["K-1"]


def test_a_stop_that_the_plan_has_not_has_no_sheet(shop):
    assert changeout_sheet(organization=shop, machine="M-01", changeout="2") is None
    assert changeout_sheet(organization=shop, machine="M-02", changeout="1") is None
