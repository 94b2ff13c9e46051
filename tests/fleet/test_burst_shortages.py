"""A burst takes what a kit of the plan counts on: who then goes short of what, and until when."""

import pytest

from fleet.models import LINES, Assembly, Design, Machine, Plan, Position, RunState, Site, StockPiece
from fleet.services.replacing.bursts import Replacements, find_replacements
from fleet.services.shop.kits import begin_assembly
from tests.fleet.burst_builders import TODAY, in_days, lay, open_yard

pytestmark = pytest.mark.django_db


@pytest.fixture
def gravel():
    return open_yard()


def plan_kit(gravel, machine: str = "M-02", position: str = "arm", needed_in: int = 30, short_by=0.0) -> None:
    """A plan whose kit K-1 takes one D-100 for a position of another machine at north."""
    site = Site.objects.get(key="north")
    other, _new = Machine.objects.get_or_create(organization=gravel, key=machine, defaults={"site": site})
    Position.objects.get_or_create(
        organization=gravel, machine=other, key=position, defaults={"design": Design.objects.get()}
    )
    Plan.objects.all().delete()
    plan = Plan.objects.create(organization=gravel, state=RunState.DONE, as_of=TODAY)
    kit = {"plan": plan, "kit": "K-1"}
    LINES["kits"].objects.create(
        **kit, row=1, purpose="changeout", changeout="C-1", machine=machine, site="north", ready=not short_by,
        needed_by=in_days(needed_in),
    )  # fmt: skip
    for row, (part, kind, unit) in enumerate(
        (("H-08", "bulk_hose", "metre"), ("E-08", "hose_end", "each"), ("E-08", "hose_end", "each")), 1
    ):
        LINES["kit_lines"].objects.create(
            **kit, row=row, line=row, position=position, design="D-100", part=part, kind=kind, quantity=1.0,
            cut_length_mm=1000.0 if kind == "bulk_hose" else None, unit=unit, short_by=short_by,
        )  # fmt: skip


def of_boom(gravel) -> Replacements:
    boom = Position.objects.get(key="boom")
    return find_replacements(organization=gravel, position=boom, today=TODAY)


def test_the_kit_that_goes_short_is_told_of_what_and_until_when(gravel):
    lay(gravel, "H-08", 4)
    lay(gravel, "E-08", 3)
    plan_kit(gravel)

    ways = {way.kind: way for way in of_boom(gravel).ways}

    assert set(ways) == {"kit", "stock"}
    for way in ways.values():
        assert [one.says for one in way.goes_short] == [
            "Kit K-1 at north, needed on 3 Jun 2026 for M-02, then lacks 1 of E-08: it can be there again "
            "on 14 May 2026, in time."
        ]
    plan_kit(gravel, needed_in=5)
    (short,) = of_boom(gravel).ways[0].goes_short
    assert short.says.endswith("it can be there again on 14 May 2026, too late for that day.")


def test_a_kit_of_the_plan_is_told_at_a_site_whose_shelf_could_not_build_another(gravel):
    lay(gravel, "H-08", 4)
    lay(gravel, "E-08", 3)
    plan_kit(gravel)
    LINES["kits"].objects.update(site="south")
    assert [(way.kind, way.site) for way in of_boom(gravel).ways] == [("stock", "north"), ("kit", "south")]


def test_nobody_goes_short_where_the_kit_was_for_the_burst_position_itself_or_there_is_plenty(gravel):
    lay(gravel, "H-08", 4)
    lay(gravel, "E-08", 2)
    plan_kit(gravel, machine="M-01", position="boom")
    kit, stock = of_boom(gravel).ways
    assert kit.says == "Kit K-1 at north has all of it: it was meant for this position on 3 Jun 2026."
    assert kit.goes_short == stock.goes_short == ()

    lay(gravel, "E-08", 2, piece="bin 2")
    plan_kit(gravel)
    assert all(way.goes_short == () for way in of_boom(gravel).ways)


def test_a_kit_whose_hose_was_fitted_since_the_plan_waits_for_nothing(gravel):
    lay(gravel, "H-08", 4)
    lay(gravel, "E-08", 3)
    plan_kit(gravel)
    Assembly.objects.create(
        organization=gravel, key="A-9", position=Position.objects.get(key="arm"), installed_on=in_days(1)
    )
    assert [(way.kind, way.goes_short) for way in of_boom(gravel).ways] == [("stock", ())]


def test_taking_what_the_bench_builds_for_another_says_whether_it_can_be_built_again(gravel):
    plan_kit(gravel)
    for on_hand, told in (
        (2, "M-02 arm then needs another: north lacks E-08 for it, until 14 May 2026."),
        (4, "M-02 arm then needs another: north has every part for it."),
    ):
        StockPiece.objects.all().delete()
        lay(gravel, "H-08", 4)
        lay(gravel, "E-08", on_hand)
        begun = begin_assembly(
            organization=gravel, user=None, site="north", machine="M-02", position="arm", today=TODAY
        )
        bench = next(way for way in of_boom(gravel).ways if way.kind == "bench")
        assert bench.then == (told,)
        begun.kit.delete()
