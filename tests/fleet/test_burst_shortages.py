"""A burst takes what a kit of the plan counts on: who then goes short of what, and until when."""

import pytest

from fleet.models import LINES, Assembly, Design, Machine, Plan, Position, RunState, Site, StockPiece
from fleet.services.replacing.bursts import find_replacements
from fleet.services.replacing.replacements import Replacement, Replacements, Ways
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


def test_of_other_sites_that_have_it_today_comes_first_who_has_it_to_spare(gravel):
    Site.objects.create(organization=gravel, key="east")
    for site in ("east", "south"):
        lay(gravel, "H-08", 4, site)
        lay(gravel, "E-08", 3, site)
    plan_kit(gravel)
    plan = Plan.objects.get()

    def sites(planned_at: str) -> list[str]:
        LINES["stock_advice"].objects.all().delete()
        LINES["stock_advice"].objects.create(
            plan=plan, row=1, part="E-08", site=planned_at, unit="each", on_hand=3, on_order=0,
            planned_demand=2, unplanned_demand_mean=0, reorder_point=2, order_up_to=2, order_now=0,
            service_level=0.95, surplus=0, expires_unused=0, why="", demand_low=2, demand_high=2,
        )  # fmt: skip
        return [way.site for way in of_boom(gravel).ways if way.complete and way.kind == "stock"]

    assert sites("east") == ["south", "east"]
    assert sites("south") == ["east", "south"]


def test_who_goes_short_is_found_of_the_ways_that_are_asked_for_alone():
    asked = []

    def find_shortages(sites):
        asked.append(sites)
        return {site: [f"short at {site}"] for site in sites}

    kinds = [("built", ""), ("stock", "north"), ("kit", "south"), ("stock", "east")]
    ways = Ways([Replacement(kind, site, "", "", TODAY, "") for kind, site in kinds], find_shortages)

    assert [one.goes_short for one in ways[:3]] == [(), ("short at north",), ("short at south",)]
    assert ways[-1].goes_short == ("short at east",)
    assert ways[0].goes_short == ()
    assert [one.kind for one in ways] == [kind for kind, _site in kinds]
    assert asked == [{"north", "south"}, {"east"}, {"north", "south", "east"}]


def test_a_kit_that_was_meant_for_the_place_itself_takes_from_nobody(gravel):
    Site.objects.create(organization=gravel, key="east")
    for site in ("east", "south"):
        lay(gravel, "H-08", 4, site)
        lay(gravel, "E-08", 2, site)
    plan_kit(gravel, machine="M-01", position="boom")
    LINES["kits"].objects.update(site="south")
    LINES["stock_advice"].objects.create(
        plan=Plan.objects.get(), row=1, part="E-08", site="south", unit="each", on_hand=2, on_order=0,
        planned_demand=2, unplanned_demand_mean=0, reorder_point=2, order_up_to=2, order_now=0,
        service_level=0.95, surplus=0, expires_unused=0, why="", demand_low=2, demand_high=2,
    )  # fmt: skip
    today = [(way.kind, way.site) for way in of_boom(gravel).ways if way.complete]
    assert today == [("kit", "south"), ("stock", "east"), ("stock", "south")]
