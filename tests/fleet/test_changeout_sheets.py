"""The sheet of one stop: the order of work, the minutes, and how far its kits are."""

import datetime

import pytest

from fleet.models import LINES, Design, Machine, Part, Position
from fleet.services.sheets.changeout_sheets import changeout_sheet
from fleet.services.shop.bench import accept_build
from fleet.services.shop.kits import begin_kit
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
    assert "later day" not in sheet.order_rule
    step = sheet.steps[0]
    assert (step.design, step.hose, step.end_a, step.overall_length_mm) == ("D-100", "H-08", "E-08", 1100)
    assert (step.pressure_bar, step.circuit) == (250, "bucket")


def test_what_waits_for_a_later_day_of_the_window_comes_last_with_its_day(shop):
    later = STOP + datetime.timedelta(days=2)
    LINES["changeouts"].objects.filter(position="grab").update(planned_on=later)
    sheet = sheet_of(shop)
    assert [step.position for step in sheet.steps] == ["tilt", "arm", "boom", "grab"]
    assert [step.planned_on for step in sheet.steps] == [STOP, STOP, STOP, later]
    assert sheet.planned_on == STOP
    assert "later day of the stop comes last" in sheet.order_rule


def test_an_angle_that_is_drawn_for_an_end_that_looks_straight_is_asked_about(shop):
    assert sheet_of(shop).steps[0].angle_question == ""
    Design.objects.update(orientation_deg=270)
    step = sheet_of(shop).steps[0]
    assert (step.angle_deg, step.angle_question) == (270, "")
    Part.objects.filter(key="E-08").update(end_style="face seal female swivel")
    step = sheet_of(shop).steps[0]
    assert step.angle_deg is None
    assert step.angle_question == (
        "The drawing states 270° between the ends, though no bend is on record of end a (E-08: face seal "
        "female swivel) and end b (E-08: face seal female swivel): ask before it goes on."
    )


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


def begin_of_another_design(shop, made: int):
    """K-1 is begun for boom and arm to D-100, so many of it made; the plan then wants D-100-2 at the boom."""
    lay_plenty(shop)
    Position.objects.of(shop).update(working_pressure_bar=200)
    plan_kit(shop, "boom", "arm")
    begin_kit(organization=shop, user=None, kit="K-1", today=TODAY)
    for number in range(1, made + 1):
        accept_build(
            organization=shop, user=None, kit="K-1", number=number, record=a_record(),
            assembly=f"NEW-{number}", today=TODAY,
        )  # fmt: skip
    other = Design.objects.get(key="D-100")
    other.pk, other.key = None, "D-100-2"
    other.save()
    for name in ("changeouts", "kit_lines"):
        LINES[name].objects.filter(position="boom").update(design="D-100-2")


def test_what_was_built_to_another_design_is_not_for_the_stop_and_hides_no_kit(shop):
    begin_of_another_design(shop, made=2)
    begun, planned = sheet_of(shop).kits
    assert (begun.kit, begun.begun, begun.made, begun.of) == ("K-1", True, 1, 1)
    assert (begun.assemblies, begun.ready) == (("NEW-2",), True)
    assert begun.not_for_stop == (
        "NEW-1, made to D-100 for boom, is not what goes on there at this stop: do not fit it there.",
    )
    assert (planned.kit, planned.begun) == ("K-1", False)
    LINES["kits"].objects.update(kit="K-2")
    LINES["kit_lines"].objects.update(kit="K-2")
    assert [(kit.kit, kit.begun) for kit in sheet_of(shop).kits] == [("K-1", True), ("K-2", False)]


def test_what_is_being_built_to_another_design_alone_makes_no_kit_ready(shop):
    begin_of_another_design(shop, made=0)
    for name in ("changeouts", "kit_lines"):
        LINES[name].objects.filter(position="arm").delete()
    begun, _planned = sheet_of(shop).kits
    assert (begun.ready, begun.of) == (False, 0)
    assert begun.not_for_stop == (
        "No. 1 of it, being built to D-100 for boom, is not what goes on there at this stop.",
        "No. 2 of it, being built to D-100 for arm, is not what goes on there at this stop.",
    )


def test_a_stop_that_the_plan_has_not_has_no_sheet(shop):
    assert changeout_sheet(organization=shop, machine="M-01", changeout="2") is None
    assert changeout_sheet(organization=shop, machine="M-02", changeout="1") is None
