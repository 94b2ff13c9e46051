"""No changeout is planned before its parts can be there, nor are the same parts planned twice."""

from itertools import pairwise

import numpy as np
import pandas as pd
import pytest

from forecasting.policies import Settings
from forecasting.stops.due import find_due
from forecasting.stops.parts import find_unbuyable
from forecasting.stops.prospects import look_ahead
from tests.forecasting.builders import (
    AS_OF,
    KnownLaw,
    a_design,
    a_position,
    an_installation,
    hose,
    hose_end,
    limits_of,
    margins_of,
)
from tests.forecasting.parts_builders import a_fleet, day, days_of, is_in_time, on_hand, on_order, plan

METRES = 0.9017 - 2 * 0.04445  # of hose that one assembly of D-1 takes


def test_a_changeout_waits_for_what_is_ordered_today_and_says_so():
    changeouts, gap, lines = plan(a_fleet())
    assert days_of(changeouts) == [45]
    assert (
        changeouts["reason"]
        .iloc[0]
        .endswith("its parts are there from 13 Feb 2027; this is the first window after.")
    )
    assert gap == pytest.approx(0, abs=1e-6)
    assert is_in_time(changeouts, lines)


def test_with_all_parts_on_hand_nothing_waits():
    changeouts, _, _ = plan(a_fleet(stock=[on_hand("H-6", 20.0), on_hand("E-6", 10)]))
    assert days_of(changeouts) == [3]
    assert "parts" not in changeouts["reason"].iloc[0]


def test_an_open_order_is_awaited_where_it_comes_sooner_than_a_new_one():
    tables = a_fleet(stock=[on_hand("H-6", 20.0)], open_orders=[on_order("E-6", 10, due_in=12)])
    changeouts, _, lines = plan(tables)
    assert days_of(changeouts) == [24]
    assert (
        "its parts are there from 16 Jan 2027; this is the first window after."
        in changeouts["reason"].iloc[0]
    )
    assert is_in_time(changeouts, lines)


def test_an_open_order_that_comes_later_than_a_new_one_is_not_awaited():
    tables = a_fleet(stock=[on_hand("H-6", 20.0)], open_orders=[on_order("E-6", 10, due_in=60)])
    changeouts, _, lines = plan(tables)
    assert days_of(changeouts) == [45]
    assert set(lines.loc[lines["short_by"] > 0, "available_on"]) == {day(40)}


def test_parts_of_another_site_or_past_their_life_do_not_count():
    elsewhere = a_fleet(stock=[on_hand("H-6", 20.0) | {"site": "South"}, on_hand("E-6", 10)])
    assert days_of(plan(elsewhere)[0]) == [45]
    expired = [hose(lead_time_days=40.0, shelf_life_days=365.0), hose_end(lead_time_days=40.0)]
    old = day(-400).date()
    tables = a_fleet(parts=expired, stock=[on_hand("H-6", 20.0, made_on=old), on_hand("E-6", 10)])
    assert days_of(plan(tables)[0]) == [45]


def test_a_part_that_expires_between_two_windows_serves_the_first_only():
    parts = [hose(lead_time_days=40.0, shelf_life_days=365.0), hose_end(lead_time_days=40.0)]
    stock = [on_hand("H-6", 20.0, made_on=day(-360).date()), on_hand("E-6", 10)]  # until day 5
    assert days_of(plan(a_fleet(parts=parts, stock=stock))[0]) == [3]
    later = a_fleet(days=(10, 24, 45), parts=parts, stock=stock)
    assert days_of(plan(later)[0]) == [45]


def test_the_same_scarce_part_goes_to_the_changeout_that_gains_most_by_it():
    positions = [a_position(f"M-{m}", "P-1", failure_cost=cost) for m, cost in ((1, 1_000.0), (2, 5_000.0))]
    tables = a_fleet(2, positions=positions, stock=[on_hand("H-6", 20.0), on_hand("E-6", 3)])
    changeouts, gap, lines = plan(tables)
    planned = changeouts.set_index("machine")["planned_on"]
    assert planned["M-2"] == day(3)
    assert planned["M-1"] == day(45)
    assert gap < 0.3
    assert is_in_time(changeouts, lines)
    assert "there from 13 Feb 2027" in changeouts.set_index("machine")["reason"]["M-1"]


def test_two_ends_of_one_part_take_two_of_it():
    assert days_of(plan(a_fleet(stock=[on_hand("H-6", 20.0), on_hand("E-6", 1)]))[0]) == [45]
    assert days_of(plan(a_fleet(stock=[on_hand("H-6", 20.0), on_hand("E-6", 2)]))[0]) == [3]


def test_ten_offcuts_of_forty_centimetres_make_no_changeout_of_a_metre_possible():
    offcuts = [on_hand("H-6", 0.4, piece=f"P{number}") for number in range(10)]
    designs = [a_design(overall_length_mm=1_088.9)]
    tables = a_fleet(designs=designs, stock=[*offcuts, on_hand("E-6", 10)])
    assert days_of(plan(tables)[0]) == [45]
    whole = [on_hand("H-6", 1.0), on_hand("E-6", 10)]
    assert days_of(plan(a_fleet(designs=designs, stock=whole))[0]) == [3]


def test_hose_counts_in_cuts_that_its_pieces_give():
    pieces = [on_hand("H-6", 1.9 * METRES, piece=f"P{number}") for number in range(3)]
    changeouts, _, lines = plan(a_fleet(5, stock=[*pieces, on_hand("E-6", 20)]))
    assert sorted(days_of(changeouts)) == [3, 3, 3, 45, 45]
    assert is_in_time(changeouts, lines)


def test_a_limit_comes_before_parts_and_the_reason_says_that_the_kit_is_short():
    changeouts, _, _ = plan(a_fleet(), law=KnownLaw(a_fleet(), scale_days=1e6), verdicts={"M_1_P_1": "short"})
    assert days_of(changeouts) == [0]
    assert (
        changeouts["reason"]
        .iloc[0]
        .endswith("Its kit is short: its parts would be there only on 13 Feb 2027.")
    )
    changeouts, _, _ = plan(a_fleet(), limits=reaching_age_in(30))
    assert days_of(changeouts)[0] in (3, 10, 24)
    assert not changeouts["special_stop"].any()
    assert "Its kit is short" in changeouts["reason"].iloc[0]


def reaching_age_in(days):
    """The age limit that hoses of `a_fleet` reach in so many days."""
    return {"age_limit_days": (AS_OF - pd.Timestamp("2024-01-04").date()).days + float(days)}


def test_a_window_before_the_parts_gives_way_to_a_special_stop_where_the_limit_lets_them_come():
    changeouts, _, lines = plan(a_fleet(1, 2, days=(3, 10, 80)), limits=reaching_age_in(60))
    assert days_of(changeouts) == [60, 60]
    assert changeouts["special_stop"].all()
    assert is_in_time(changeouts, lines)
    assert (
        changeouts["reason"]
        .str.endswith(
            "its parts are there from 13 Feb 2027, and no window of this machine begins from then to "
            "5 Mar 2027: a special stop."
        )
        .all()
    )


def test_an_order_due_before_the_limit_is_waited_for_in_a_special_stop():
    stock, due = [on_hand("H-6", 20.0)], [on_order("E-6", 2, due_in=20)]
    tables = a_fleet(days=(3, 10, 80), stock=stock, open_orders=due)
    changeouts, _, lines = plan(tables, limits=reaching_age_in(30))
    assert days_of(changeouts) == [30]
    assert is_in_time(changeouts, lines)
    assert "no window of this machine begins from then to 3 Feb 2027" in changeouts["reason"].iloc[0]


def test_what_goes_short_by_a_limit_goes_in_any_window_that_has_labour():
    tables = a_fleet()
    tables["service_windows"]["labour_minutes"] = [
        np.nan,
        np.nan,
        10.0,
        *[np.nan] * (len(tables["service_windows"]) - 3),
    ]
    changeouts, _, _ = plan(tables, limits=reaching_age_in(30))
    assert days_of(changeouts)[0] in (3, 10)
    assert "Its kit is short" in changeouts["reason"].iloc[0]


def test_hose_that_has_expired_when_its_ends_come_makes_no_kit():
    parts = [hose(lead_time_days=40.0, shelf_life_days=365.0), hose_end(lead_time_days=40.0)]
    stock, due = (
        [on_hand("H-6", 20.0, made_on=day(-350).date())],
        [on_order("E-6", 2, due_in=20)],
    )  # until day 15
    tables = a_fleet(days=(3, 10, 80), parts=parts, stock=stock, open_orders=due)
    changeouts, _, _ = plan(tables, limits=reaching_age_in(30))
    assert not changeouts["special_stop"].any()
    assert "Its kit is short" in changeouts["reason"].iloc[0]


def test_a_lot_that_keeps_until_the_last_window_in_time_serves_it_though_the_limit_comes_later():
    parts = [hose(lead_time_days=40.0, shelf_life_days=365.0), hose_end(lead_time_days=40.0)]
    stock = [on_hand("H-6", 20.0, made_on=day(-350).date()), on_hand("E-6", 10)]  # until day 15
    tables = a_fleet(days=(3, 10, 80), parts=parts, stock=stock)
    changeouts, _, lines = plan(tables, limits=reaching_age_in(30))
    assert days_of(changeouts)[0] <= 10
    assert is_in_time(changeouts, lines)


def test_a_special_stop_is_not_put_down_to_labour_alone_where_parts_barred_a_window():
    tables = a_fleet(days=(3, 45))
    tables["service_windows"]["labour_minutes"] = [np.nan, 10.0]
    changeouts, _, _ = plan(tables, limits=reaching_age_in(60))
    assert changeouts["special_stop"].tolist() == [True]
    _, why_then = changeouts["reason"].iloc[0].split("; ")
    assert why_then == (
        "its parts are there from 13 Feb 2027, and this machine's windows from then to 5 Mar 2027 "
        "have no labour left: a special stop."
    )


def test_what_comes_for_a_kit_that_went_short_is_planned_for_no_other():
    stock, due = [on_hand("H-6", 20.0), on_hand("E-6", 1)], [on_order("E-6", 2, 5)]
    tables = a_fleet(2, days=(10, 45), stock=stock, open_orders=due)
    changeouts, _, lines = plan(tables, verdicts={"M_1_P_1": "short"})
    assert changeouts["machine"].tolist() == ["M-1", "M-2"]
    assert days_of(changeouts) == [0, 45]  # of three ends in all the first takes two
    assert "would be there only on 9 Jan 2027" in changeouts["reason"].iloc[0]
    assert lines.loc[lines["short_by"] > 0, "available_on"].max() <= day(40)


def test_what_must_go_is_given_its_parts_before_what_may_wait():
    positions = [a_position(f"M-{m}", "P-1", failure_cost=50_000.0) for m in (1, 2)]
    tables = a_fleet(2, positions=positions, stock=[on_hand("H-6", 20.0), on_hand("E-6", 2)])
    changeouts, _, lines = plan(tables, verdicts={"M_2_P_1": "short"})
    planned = dict(zip(changeouts["machine"], days_of(changeouts), strict=True))
    assert planned == {"M-1": 45, "M-2": 0}
    assert is_in_time(changeouts, lines)
    assert not changeouts["reason"].str.contains("short").any()


def test_what_can_no_longer_be_bought_is_not_planned_and_goes_short_where_it_must():
    parts = [hose(), hose_end(obsolete=True)]
    assert plan(a_fleet(parts=parts))[0].empty
    changeouts, _, _ = plan(a_fleet(parts=parts), verdicts={"M_1_P_1": "short"})
    assert (
        changeouts["reason"].iloc[0].endswith("Its kit is short: nobody knows when its parts would be there.")
    )


def test_what_the_shop_has_begun_waits_for_no_parts():
    begun = {
        "kit": "K-1", "number": 1, "line": 1, "site": "North", "machine": "M-1", "position": "P-1",
        "design": "D-1", "made": False, "place": "hose", "part": "H-6", "quantity": METRES,
    }  # fmt: skip
    assert days_of(plan(a_fleet(begun_kits=[begun]))[0]) == [3]


@pytest.mark.parametrize(("ends", "planned"), [(2, 45), (4, 3)])
def test_what_waits_at_the_bench_for_an_empty_position_has_its_parts_first(ends, planned):
    waits = {
        "kit": "B-1", "number": 1, "site": "North", "machine": "M-2", "position": "P-1", "design": "D-1",
    }  # fmt: skip
    tables = a_fleet(
        2,
        installations=[an_installation("M-1/P-1", "M-1", "P-1")],
        waiting_builds=[waits],
        stock=[on_hand("H-6", 20.0), on_hand("E-6", ends)],
    )
    changeouts, _, lines = plan(tables)
    assert days_of(changeouts) == [planned]
    assert (lines.loc[lines["kit"] == "B-1", "short_by"] == 0).all()


def test_without_windows_the_stop_is_asked_for_when_its_parts_are_there():
    changeouts, _, lines = plan(a_fleet(days=()))
    assert changeouts["special_stop"].tolist() == [True]
    assert days_of(changeouts) == [40]
    assert is_in_time(changeouts, lines)


def test_a_fleet_short_of_everything_keeps_every_promise_within_a_small_gap():
    rng = np.random.default_rng(20)
    places = [(f"M-{m}", f"P-{p}") for m in range(1, 9) for p in range(1, 6)]
    designs = [
        a_design(f"D-{n}", overall_length_mm=length) for n, length in enumerate((600, 900, 1_500, 2_400))
    ]
    tables = a_fleet(
        8,
        5,
        designs=designs,
        positions=[
            a_position(m, p, design=f"D-{rng.integers(4)}", failure_cost=float(rng.integers(800, 4_000)))
            for m, p in places
        ],
        installations=[
            an_installation(f"{m}/{p}", m, p, built_on=day(-rng.integers(400, 1_400)).date())
            for m, p in places
        ],
        stock=[
            *(on_hand("H-6", float(length), piece=f"P{n}") for n, length in enumerate((0.7, 1.6, 3.1, 9.0))),
            on_hand("E-6", 17),
        ],
        open_orders=[on_order("E-6", 12, due_in=20), on_order("H-6", 10.0, due_in=9)],
    )
    changeouts, gap, lines = plan(tables, settings=Settings(stop_setup_cost=40))
    assert len(changeouts) > 20
    assert is_in_time(changeouts, lines)
    assert 0 <= gap < 0.5
    assert (np.array(days_of(changeouts)) < 40).sum() >= 10


def test_more_of_a_scarce_part_never_costs_more_than_the_gap():
    def cost(ends):
        tables = a_fleet(6, 2, stock=[on_hand("H-6", 40.0), on_hand("E-6", ends)])
        changeouts, gap, _ = plan(tables)
        spent = changeouts["expected_cost_now"].sum()
        saved = changeouts["expected_cost_if_left"] - changeouts["expected_cost_now"]
        return -saved.sum(), gap / 100 * spent

    told = [cost(ends) for ends in (0, 5, 8, 24)]
    for (fewer, _), (more, gap) in pairwise(told):
        assert more <= fewer + gap + 1e-6


def test_what_stays_though_it_is_due_is_named_with_the_parts_that_nobody_makes_any_more():
    parts = [hose(), hose_end(obsolete=True)]
    for tables, named in (
        (a_fleet(parts=parts), [("M-1/P-1", "E-6")]),
        (a_fleet(), []),
        (a_fleet(parts=parts, stock=[on_hand("H-6", 20.0), on_hand("E-6", 2)]), []),
        (a_fleet(parts=[hose(), hose_end(obsolete=True, superseded_by="E-7"), hose_end("E-7")]), []),
    ):
        prospects = look_ahead(KnownLaw(tables, scale_days=700.0), tables, Settings())
        due = find_due(prospects, margins_of(tables), limits_of(tables), tables["inspections"], AS_OF)
        changeouts, _, _ = plan(tables)
        found = find_unbuyable(due, prospects.assemblies, changeouts, tables, 365, AS_OF)
        assert list(found.itertuples(index=False, name=None)) == named
