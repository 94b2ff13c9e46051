"""Having what may stand in belong in a position: its design, by a person."""

import pytest

from fleet.frames.register import core_tables
from fleet.models import Assembly, Build, Design, DesignPart, Organization, Part, Position, User
from fleet.services.replacing.designing import (
    DesignTaken,
    InstalledNotDrawn,
    Make,
    NotAStandIn,
    NotCompetent,
    WhyMissing,
    choose_design,
)
from forecasting.designs.margins import judge_margins
from forecasting.policies import position_limits
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


def chosen(place, make=SPIRAL, key="D-100-2", reason="the old hose is under its rating", **more):
    user = User.objects.create(username="vera") if not User.objects.exists() else User.objects.get()
    return choose_design(
        organization=place.organization, user=user, position=place, make=make, key=key, reason=reason, **more
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


def verdict_of(place, assembly):
    tables = core_tables(place.organization)
    judged = judge_margins(tables["installations"], tables, position_limits(tables))
    return judged.set_index("assembly").at[assembly, "verdict"]


def test_what_is_installed_stays_what_it_is_though_its_design_was_only_told_of_the_place(place):
    Part.objects.filter(key="H-2SN-08").update(rated_pressure_bar=275)
    Assembly.objects.filter(position=place).update(design=None)
    assert verdict_of(place, "A-1-1") == "short"
    chosen(place)
    assert verdict_of(place, "A-1-1") == "short"
    assert {one.design.key for one in Assembly.objects.filter(position=place)} == {"D-100"}


def test_a_hose_of_which_nobody_knows_what_it_is_does_not_become_the_new_design(place):
    Build.objects.all().delete()
    Assembly.objects.filter(key="A-1-1").update(design=None)
    Assembly.objects.filter(key="A-1-1-first").update(design=place.design)
    Position.objects.filter(pk=place.pk).update(design=None)
    with pytest.raises(InstalledNotDrawn, match="What A-1-1 was built to is not known"):
        chosen(place)
    assert Design.objects.count() == 1


def test_a_drawing_that_takes_other_parts_beside_is_not_taken_for_the_new_one(place):
    design = chosen(place)
    adapter = Part.objects.create(
        organization=place.organization, key="X-1", kind="adapter", rated_pressure_bar=100
    )
    DesignPart.objects.create(
        organization=place.organization, design=design, place="a", part=adapter, quantity=1
    )
    other = Position.objects.get(machine__key="M-01", key="boom 2")
    with pytest.raises(DesignTaken):
        chosen(other)


def test_it_is_judged_by_what_the_place_asks_now_not_when_the_page_was_opened(place):
    Position.objects.filter(pk=place.pk).update(working_pressure_bar=390)
    with pytest.raises(NotAStandIn):
        chosen(place)


def test_on_a_critical_position_who_decides_says_to_be_competent(place):
    Position.objects.filter(pk=place.pk).update(critical=True)
    with pytest.raises(NotCompetent):
        chosen(place)
    assert chosen(place, competent=True).key == "D-100-2"
