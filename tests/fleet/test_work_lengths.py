"""A hose that is longer or shorter than its drawing lets it be: put on where a person answers for it."""

import pytest

from fleet.models import Assembly, Design, Part, Position
from fleet.services.shop.bench import accept_build
from fleet.services.shop.kits import begin_kit
from fleet.services.work.errors import FitnessNotKnown
from fleet.services.work.recording import install_assembly
from fleet.services.work.rows import Fitted
from tests.fleet.bench_builders import TODAY, a_record, lay_plenty, open_shop, plan_kit

pytestmark = pytest.mark.django_db


def a_shop_with(cut_mm: float):
    """A shop in which NEW was made of a cut that long, 1000 mm being asked for; nothing else is in doubt."""
    shop = open_shop()
    lay_plenty(shop)
    plan_kit(shop, "boom")
    Position.objects.update(ambient_temperature_c=20, fluid_temperature_c=50)
    Part.objects.update(maximum_temperature_c=100, minimum_temperature_c=-40)
    begin_kit(organization=shop, user=None, kit="K-1", today=TODAY)
    accept_build(
        organization=shop, user=None, kit="K-1", number=1, record=a_record(cut_length_mm=cut_mm),
        assembly="NEW", confirmed=["cut_off_length"], today=TODAY,
    )  # fmt: skip
    return shop


def put_on(shop, **more) -> str:
    return install_assembly(
        organization=shop, user=None, machine="M-01", position="boom", fitted=Fitted("NEW"),
        installed_on=TODAY, today=TODAY, **more,
    ).told  # fmt: skip


@pytest.mark.parametrize(
    ("cut_mm", "off"),
    [(1040.0, "1,140 mm over all, 40 mm too long"), (960.0, "1,060 mm over all, 40 mm too short")],
)
def test_a_hose_off_its_length_goes_on_where_somebody_answers_for_it(cut_mm, off):
    shop = a_shop_with(cut_mm)
    with pytest.raises(FitnessNotKnown) as asked:
        put_on(shop)
    assert str(asked.value) == (
        f"Whether NEW suits M-01 boom is not known: by its cut it is {off} for D-100, and IP-2 lets it be "
        "off 9.52 mm. Find it out, or answer for it."
    )
    assert Assembly.objects.get(key="NEW").position is None
    assert "lets it be off 9.52 mm. Ada answers for it." in put_on(shop, answered_by="Ada")


def test_on_a_critical_position_a_named_person_answers_for_the_length():
    shop = a_shop_with(960.0)
    Position.objects.update(critical=True)
    with pytest.raises(FitnessNotKnown, match="name the competent person who answers for it"):
        put_on(shop)


def test_a_hose_within_what_its_cut_may_be_off_goes_on_unasked():
    assert "IP-2" not in put_on(a_shop_with(1005.0))


def test_a_hose_is_held_to_its_drawing_as_that_stands_now():
    shop = a_shop_with(960.0)
    Design.objects.update(overall_length_mm=1060)
    assert "IP-2" not in put_on(shop)
