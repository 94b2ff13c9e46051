"""Kits that the shop has begun: theirs is what they hold, whatever the plan makes of the day."""

import pandas as pd
import pytest

from tests.forecasting.builders import (
    AS_OF,
    a_machine,
    a_site,
    an_installation,
    build_fleet,
    hose,
    hose_end,
)
from tests.forecasting.stock_builders import a_changeout, on_shelf, supply

CUT_M = 0.8128


def begun(kit="K-1", machine="M-1", position="P-1", design="D-1", **more) -> list[dict]:
    """The rows of one assembly of D-1 that a kit was begun for."""
    usual = {"kit": kit, "number": 1, "site": "North", "machine": machine, "position": position}
    usual |= {"design": design, "made": False} | more
    hose_row = {"place": "hose", "part": "H-6", "quantity": CUT_M, "cut_length_mm": CUT_M * 1000}
    ends = [{"place": place, "part": "E-6", "quantity": 1.0} for place in "ab"]
    return [usual | row | {"line": line} for line, row in enumerate([hose_row, *ends], start=1)]


def waits(kit="B-1", machine="M-1", position="P-1", **more) -> dict:
    """An assembly of D-1 that a kit was begun for and that holds no parts."""
    usual = {"kit": kit, "number": 1, "site": "North", "machine": machine, "position": position}
    return usual | {"design": "D-1", "needed_by": "2026-12-20"} | more


def test_a_begun_kit_has_its_parts_though_the_shelf_is_empty_and_its_cut_is_not_listed():
    tables = build_fleet(begun_kits=begun(), stock=[])
    made = supply(tables, a_changeout())
    assert made.kits["ready"].tolist() == [True]
    assert made.lines["part"].tolist() == ["H-6", "E-6", "E-6"]
    assert made.lines["short_by"].tolist() == [0, 0, 0]
    assert made.cuts.empty


def test_what_stands_in_in_a_begun_kit_is_named():
    rows = begun()
    rows[1] |= {"part": "E-6N", "substitute_for": "E-6"}
    tables = build_fleet(parts=[hose(), hose_end(), hose_end("E-6N")], begun_kits=rows)
    lines = supply(tables, a_changeout()).lines
    assert lines["substitute_for"].fillna("").tolist() == ["", "E-6", ""]


def test_a_begun_kit_of_another_design_does_not_fill_the_position():
    tables = build_fleet(begun_kits=begun(design="D-9"))
    assert supply(tables, a_changeout()).kits["ready"].tolist() == [False]


@pytest.mark.parametrize("planned_on", ["2027-01-08", "2027-02-01", "2027-11-01"])
def test_no_planned_kit_is_counted_twice_or_missing_when_its_window_moves(planned_on):
    """Two positions alike, one begun. Stock holds what is left; the demand is of the other alone."""
    whole = [on_shelf("E-6", 4), on_shelf("H-6", 2.0, piece="reel")]
    left = [on_shelf("E-6", 2), on_shelf("H-6", 2.0 - CUT_M - 0.003, piece="reel")]
    changeouts = a_changeout("M-1/P-1", planned_on), a_changeout("M-1/P-2", "2027-01-15")
    neither = supply(build_fleet(position_count=2, stock=whole), *changeouts)
    one = supply(build_fleet(position_count=2, stock=left, begun_kits=begun()), *changeouts)

    assert neither.kits["ready"].all() and one.kits["ready"].all()
    assert len(neither.cuts) == 2
    assert len(one.cuts) == 1
    asked = supply(build_fleet(position_count=2, stock=left, begun_kits=begun()), changeouts[1]).advice_on(
        "E-6"
    )
    told = one.advice_on("E-6")
    # Whenever its stop is, and even without one, the begun kit asks nothing of the shelf.
    assert told["planned_demand"] == asked["planned_demand"]
    assert told["unplanned_demand_mean"] == asked["unplanned_demand_mean"] == 0
    assert told["on_hand"] == 2


def test_of_two_made_for_one_position_the_made_one_goes_first_and_once():
    rows = [*begun("K-1"), *begun("K-2", made=True)]
    rows[3]["cut_length_mm"] = 811.0
    lines = supply(build_fleet(begun_kits=rows), a_changeout()).lines
    assert lines["cut_length_mm"].dropna().tolist() == [811.0]


def test_a_kit_begun_to_stand_by_stays_in_the_plan_and_takes_the_place_of_one_to_be_built():
    budget = {"standby_budget": 200.0}
    fleet = {
        "sites": [a_site()],
        "machines": [
            {"machine": "M-1", "site": "North", "model": "Loader 20", "downtime_cost_per_hour": 500.0}
        ],
        "stock": [],
    }
    before = supply(build_fleet(**fleet), **budget).kits
    assert before["kit"].tolist()[:1] == ["S-North:D-1:1"]
    held = begun("S-North:D-1:1", machine=None, position=None)
    after = supply(build_fleet(**fleet, begun_kits=held), **budget)
    assert set(after.kits["kit"]) == set(before["kit"])
    ready = after.kits.set_index("kit")["ready"]
    assert ready["S-North:D-1:1"]
    assert after.lines.groupby("kit").size().eq(3).all()
    assert pd.isna(after.kits["machine"]).all()


def test_what_waits_at_the_bench_for_an_empty_position_asks_for_its_parts_once():
    empty = {"installations": [an_installation("M-1/P-2", "M-1", "P-2")], "waiting_builds": [waits()]}
    lacking = supply(build_fleet(position_count=2, **empty))
    assert lacking.kits[["kit", "purpose", "machine", "ready"]].values.tolist() == [
        ["B-1", "changeout", "M-1", False]
    ]
    assert lacking.kits["needed_by"].tolist() == [pd.Timestamp(AS_OF)]
    assert lacking.lines["short_by"].tolist() == pytest.approx([CUT_M, 1, 1])
    told = lacking.advice_on("E-6")
    assert told["planned_demand"] == 2 and told["order_now"] >= 2
    assert lacking.cuts.empty

    stock = [on_shelf("E-6", 2), on_shelf("H-6", 2.0, piece="reel")]
    supplied = supply(build_fleet(position_count=2, stock=stock, **empty))
    assert supplied.kits["ready"].tolist() == [True]
    assert supplied.cuts["kit"].tolist() == ["B-1"]


def test_what_waits_for_a_planned_changeout_is_asked_for_by_its_kit_alone():
    made = supply(build_fleet(waiting_builds=[waits()]), a_changeout(planned_on="2027-01-08"))
    assert made.kits["kit"].tolist() == ["K-C-M-1-2027-01-08"]
    assert len(made.lines) == 3
    assert made.advice_on("E-6")["planned_demand"] == 2


def test_what_waits_for_a_position_that_is_changed_no_more_counts_with_its_kit_and_not_with_its_chance():
    made = supply(build_fleet(waiting_builds=[waits("K-C-M-1-2027-01-08")]))
    told = made.advice_on("E-6")
    assert (told["planned_demand"], told["unplanned_demand_mean"]) == (2, 0)


def test_a_stop_that_keeps_its_name_and_loses_a_position_has_one_kit():
    waiting = [waits("K-C-M-1-2027-01-08", position="P-2", needed_by="2027-01-08")]
    made = supply(build_fleet(position_count=2, waiting_builds=waiting), a_changeout(planned_on="2027-01-08"))
    assert made.kits["kit"].tolist() == ["K-C-M-1-2027-01-08"]
    assert made.lines["position"].tolist() == ["P-1"] * 3 + ["P-2"] * 3
    assert made.lines["line"].tolist() == [1, 2, 3, 4, 5, 6]
    assert made.advice_on("E-6")["planned_demand"] == 4


def test_a_standby_kit_that_waits_takes_the_place_of_one_to_be_built():
    fleet = {"machines": [a_machine(downtime_cost_per_hour=500.0)], "stock": []}
    before = supply(build_fleet(**fleet), standby_budget=200.0)
    waiting = [waits("S-North:D-1:1", machine=None, position=None)]
    after = supply(build_fleet(**fleet, waiting_builds=waiting), standby_budget=200.0)
    assert "S-North:D-1:1" in set(before.kits["kit"])
    assert set(after.kits["kit"]) == set(before.kits["kit"])
    assert after.advice_on("E-6")["planned_demand"] == before.advice_on("E-6")["planned_demand"]
    # And without a budget it still waits for its parts.
    alone = supply(build_fleet(**fleet, waiting_builds=waiting))
    assert alone.kits[["kit", "purpose"]].values.tolist() == [["S-North:D-1:1", "standby"]]
    assert alone.advice_on("E-6")["planned_demand"] == 2


def test_a_kit_that_waits_for_what_nobody_can_say_it_is_made_of_is_not_ready():
    assert supply(build_fleet(waiting_builds=[waits(design="D-9")])).kits["ready"].tolist() == [False]
