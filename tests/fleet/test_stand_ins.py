"""What may stand in, out of the register: which hose, and where it lies."""

import pytest

from fleet.models import Organization, Part, PartKind, Position, Site, StockPiece
from fleet.services.replacing.stand_ins import CRITICAL, find_stand_ins_for, find_stand_ins_for_worn
from tests.fleet.pages.small_fleet import AS_OF, add_spiral_hose, small_fleet

pytestmark = pytest.mark.django_db


@pytest.fixture
def gravel():
    """The small fleet with ratings; a hose of four spirals with a chart for the same end, and one without."""
    organization = Organization.objects.create(name="Gravel Works", slug="gravel-works")
    small_fleet(organization, positions=1)
    own = {"organization": organization, "dash": 8}
    add_spiral_hose(organization)
    Part.objects.filter(key="H-2SN-08").update(
        rated_pressure_bar=350, maximum_temperature_c=100, material="nitrile"
    )
    for key, rated in (("H-1SN-08", 160), ("H-R13-08", 350)):
        Part.objects.create(
            **own, key=key, kind=PartKind.BULK_HOSE, construction=key[2:5], rated_pressure_bar=rated,
            maximum_temperature_c=100, minimum_temperature_c=-40, minimum_bend_radius_mm=200, unit_cost=20,
            material="nitrile",
        )  # fmt: skip
    return organization


def judged(organization, **place):
    Position.objects.update(**place)
    position = Position.objects.select_related("machine__site", "design").get(machine__key="M-01")
    return find_stand_ins_for(organization=organization, position=position, today=AS_OF)


def test_what_passes_comes_with_its_ends_ferrules_and_cut_length_and_the_rest_says_why(gravel):
    found = judged(gravel)
    own, spiral = found.fitting
    assert (own.hose.part, own.kinship, own.cut_length_mm) == ("H-2SN-08", "own", pytest.approx(812.8))
    assert (spiral.hose.part, spiral.end_a.part, spiral.end_b.part) == ("H-4SP-08", "E-08", "E-08")
    assert [one.part for one in spiral.ferrules] == ["F-08"]
    assert found.demanded_pressure_bar == 312.5  # 250 bar with a quarter for surges
    assert {one.hose.part: one.verdict for one in (*found.not_judged, *found.unfit)} == {
        "H-R13-08": "not_judged",
        "H-1SN-08": "unfit",
    }
    assert all(one.reason for one in (*found.not_judged, *found.unfit))


def test_hose_counts_by_its_longest_usable_piece(gravel):
    north, south = Site.objects.order_by("key")
    hose, end, ferrule = (Part.objects.get(key=key) for key in ("H-4SP-08", "E-08", "F-08"))
    pieces = [(hose, north, "R-1", 0.5), (hose, north, "R-2", 0.7), (hose, south, "R-3", 0.9)]
    pieces += [(part, site, "", 4) for part in (end, ferrule) for site in (north, south)]
    for part, site, piece, on_hand in pieces:
        StockPiece.objects.create(
            organization=gravel, part=part, site=site, piece=piece, on_hand=on_hand, made_on=AS_OF
        )
    spiral = judged(gravel).fitting[1]
    assert [(one.site, one.on_hand, one.longest_m) for one in spiral.hose.shelves] == [
        ("north", pytest.approx(1.2), 0.7),
        ("south", 0.9, 0.9),
    ]
    assert spiral.ready_at == ("south",)


def test_the_machines_own_site_is_named_first_and_then_who_has_most(gravel):
    yard = Site.objects.create(organization=gravel, key="a-yard")
    north, south = Site.objects.filter(key__in=("north", "south")).order_by("key")
    for part in Part.objects.filter(key__in=("H-4SP-08", "E-08", "F-08")):
        for site, on_hand in ((yard, 6), (north, 4), (south, 8)):
            StockPiece.objects.create(
                organization=gravel, part=part, site=site, on_hand=on_hand, made_on=AS_OF
            )
    spiral = judged(gravel).fitting[1]
    assert [one.site for one in spiral.hose.shelves] == ["north", "south", "a-yard"]
    assert spiral.ready_at == ("north", "a-yard", "south")


def test_a_critical_position_gets_advice_and_a_person_who_decides(gravel):
    assert CRITICAL not in judged(gravel).notes
    assert judged(gravel, critical=True).notes[0] == CRITICAL


def test_a_worn_hose_is_asked_for_as_printed_in_any_unit(gravel):
    # 415 bar are 6019 psi
    found = find_stand_ins_for_worn(
        organization=gravel, construction="EN 856 4SP", dash=8, rated_pressure=6000, pressure_unit="psi"
    )
    assert [one.hose.part for one in found.fitting] == ["H-4SP-08"]
    unrated = find_stand_ins_for_worn(organization=gravel, construction="EN 856 4SP", dash=8)
    assert not unrated.fitting, "a table's rating from memory passes nothing"
