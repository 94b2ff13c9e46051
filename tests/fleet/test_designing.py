"""Having what may stand in belong in a position: its design, by a person."""

import pytest

from fleet.models import Design, DesignPart, Organization, Part, Position, User
from fleet.services.designing import DesignTaken, Make, NotAStandIn, WhyMissing, choose_design
from tests.fleet.pages.small_fleet import add_spiral_hose, small_fleet

pytestmark = pytest.mark.django_db
SPIRAL = Make("H-4SP-08", "E-08", "E-08")


@pytest.fixture
def place():
    """A position whose hose has no known rating, and a hose in the catalogue that passes there."""
    gravel = Organization.objects.create(name="Gravel Works", slug="gravel-works")
    small_fleet(gravel, positions=2)
    add_spiral_hose(gravel)
    return Position.objects.select_related("machine__site", "design").get(machine__key="M-01", key="boom 1")


def chosen(place, make=SPIRAL, key="D-100-2", reason="the old hose is under its rating"):
    user = User.objects.create(username="vera") if not User.objects.exists() else User.objects.get()
    return choose_design(
        organization=place.organization, user=user, position=place, make=make, key=key, reason=reason
    )


def test_it_belongs_there_from_now_on_and_nowhere_else_and_says_who_and_why(place):
    drawn = place.design
    DesignPart.objects.create(
        organization=place.organization,
        design=drawn,
        place="hose",
        part=Part.objects.create(organization=place.organization, key="S-1", kind="sleeve"),
        quantity=0.4,
    )
    design = chosen(place)
    place.refresh_from_db()
    assert place.design == design and Position.objects.filter(design=drawn).count() == 3
    assert (design.overall_length_mm, design.orientation_deg) == (
        drawn.overall_length_mm,
        drawn.orientation_deg,
    )
    taken = {(one.place, one.part.key, one.quantity) for one in design.parts.all()}
    assert taken == {("a", "F-08", 1.0), ("b", "F-08", 1.0), ("hose", "S-1", 0.4)}
    (record,) = place.history.filter(history_type="~")
    assert (record.history_user.username, record.history_change_reason) == (
        "vera",
        "the old hose is under its rating",
    )


def test_another_position_takes_the_same_drawing_and_no_second_one(place):
    design = chosen(place)
    other = Position.objects.select_related("machine__site", "design").get(machine__key="M-01", key="boom 2")
    assert chosen(other) == design and Design.objects.filter(key="D-100-2").count() == 1


@pytest.mark.parametrize(
    ("given", "refusal"),
    [
        ({"make": Make("H-2SN-08", "E-08", "E-08")}, NotAStandIn),  # its rating is not known
        ({"key": "D-100"}, DesignTaken),
        ({"reason": "  "}, WhyMissing),
    ],
)
def test_what_does_not_pass_a_taken_number_and_no_reason_are_refused_and_nothing_is_stored(
    place, given, refusal
):
    before = place.design
    with pytest.raises(refusal):
        chosen(place, **given)
    place.refresh_from_db()
    assert place.design == before and Design.objects.count() == 1
