"""What to hold, order, move and give up, part by part and site by site."""

import numpy as np
import pandas as pd
import pytest
from scipy.stats import binom

from forecasting.outputs import STOCK_ADVICE
from forecasting.tables import check_table
from tests.forecasting.builders import (
    AS_OF,
    KnownLaw,
    a_design,
    a_machine,
    a_site,
    build_fleet,
    build_tables,
    hose,
    hose_end,
)
from tests.forecasting.stock_builders import a_changeout, an_order, on_shelf, supply

NEVER_FAILS = {"scale_days": 1e9, "shape": 1.0}
WINDOW_DAYS = 14 + 7  # lead time and review


def chance_within(days: float, tables: dict, **law) -> float:
    return float(1 - KnownLaw(tables, **law).survival(np.array([days]))[0, 0])


def test_every_part_of_a_design_used_at_a_site_is_advised_on():
    made = supply(build_fleet())
    assert made.advice[["part", "site", "unit"]].values.tolist() == [
        ["E-6", "North", "each"],
        ["H-6", "North", "metre"],
    ]
    check_table(made.advice, STOCK_ADVICE)


def test_an_empty_register_gives_an_empty_advice():
    made = supply(build_tables())
    assert made.advice.empty and made.transfers.empty and made.kits.empty and made.cuts.empty


def test_stock_that_nothing_uses_is_advised_on_and_surplus():
    parts = [hose(), hose_end(), hose_end("E-99")]
    advice = supply(build_fleet(parts=parts, stock=[on_shelf("E-99", 7)])).advice_on("E-99")
    assert advice["surplus"] == 7 and advice["order_now"] == 0


def test_without_demand_nothing_is_held_and_no_fill_rate_is_told():
    tables = build_fleet()
    advice = supply(tables, forecaster=KnownLaw(tables, luck=0.0)).advice_on("E-6")
    assert (
        advice[["reorder_point", "order_up_to", "order_now", "unplanned_demand_mean"]].tolist() == [0.0] * 4
    )
    assert np.isnan(advice["expected_fill_rate"])
    assert advice["why"] == "Order none: no demand is expected within 21 days, 0 on hand and due."


def test_the_reorder_point_covers_the_lead_time_at_the_service_level():
    # Twenty assemblies of one age: the failures are binomial, and each takes two ends.
    tables = build_fleet(4, 5)
    advice = supply(tables).advice_on("E-6")
    failing = chance_within(WINDOW_DAYS, tables)
    assert advice["unplanned_demand_mean"] == pytest.approx(2 * 20 * failing, rel=1e-4)
    assert advice["reorder_point"] == 2 * binom.ppf(0.95, 20, failing)
    hose_held = supply(tables, kerf_mm=3.0).advice_on("H-6")["reorder_point"]
    assert hose_held == pytest.approx(0.8158 * binom.ppf(0.95, 20, failing))


def test_an_assembly_planned_inside_the_lead_time_needs_one_kit_and_not_one_and_a_chance():
    tables = build_fleet(1, 1)
    advice = supply(tables, a_changeout(planned_on="2027-01-10")).advice_on("E-6")
    assert advice["planned_demand"] == 2 and advice["unplanned_demand_mean"] == 0
    assert advice["reorder_point"] == 2
    assert advice["expected_fill_rate"] == 1.0


def test_an_assembly_planned_after_the_lead_time_counts_with_its_chance_until_then():
    tables = build_fleet(1, 1)
    advice = supply(tables, a_changeout(planned_on="2027-03-10")).advice_on("E-6")
    assert advice["planned_demand"] == 0
    assert advice["unplanned_demand_mean"] == pytest.approx(2 * chance_within(WINDOW_DAYS, tables), rel=1e-4)


def test_moving_a_window_moves_its_kit_in_or_out_of_the_lead_time_once():
    tables = build_fleet(1, 10)
    law = KnownLaw(tables, **NEVER_FAILS)
    last_day_inside = supply(tables, a_changeout(planned_on="2027-01-25"), forecaster=law).advice_on("E-6")
    first_day_outside = supply(tables, a_changeout(planned_on="2027-01-26"), forecaster=law).advice_on("E-6")
    assert [last_day_inside["reorder_point"], first_day_outside["reorder_point"]] == [2, 0]


def test_two_ends_of_one_part_are_demanded_together():
    advice = supply(build_fleet(4, 5)).advice_on("E-6")
    assert advice["reorder_point"] % 2 == 0


def test_an_order_is_advised_where_stock_on_hand_and_due_is_below_the_reorder_point():
    tables = build_fleet(4, 5, stock=[on_shelf("E-6", 1)], open_orders=[an_order("E-6", 1)])
    advice = supply(tables).advice_on("E-6")
    assert advice["on_hand"] == 1 and advice["on_order"] == 1
    assert advice["reorder_point"] > 2
    assert 2 + advice["order_now"] == advice["order_up_to"]
    assert advice["why"].startswith(
        f"Order {advice['order_now']:.0f}: 2 on hand and due are below the reorder"
    )


def test_an_order_due_after_the_lead_time_does_not_hold_up_a_new_one():
    late = build_fleet(4, 5, open_orders=[an_order("E-6", 50, "2027-06-01")])
    soon = build_fleet(4, 5, open_orders=[an_order("E-6", 50, "2027-01-20")])
    assert supply(late).advice_on("E-6")["order_now"] > 0
    assert supply(soon).advice_on("E-6")["order_now"] == 0


@pytest.mark.parametrize("expected_on", ["2026-12-31", None])
def test_what_is_overdue_counts_as_ordered_today_and_says_so(expected_on):
    order = an_order("E-6", 30, expected_on)
    advice = supply(build_fleet(open_orders=[order])).advice_on("E-6")
    assert advice["on_order"] == 30 and advice["order_now"] == 0
    assert "30 on order are overdue or name no day and count as if they were ordered today" in advice["why"]


def test_what_is_due_today_is_not_overdue():
    advice = supply(build_fleet(open_orders=[an_order("E-6", 30, str(AS_OF))])).advice_on("E-6")
    assert advice["on_order"] == 30 and "overdue" not in advice["why"]


def test_what_a_planned_kit_counts_on_of_an_order_of_today_is_ordered_and_said():
    # Due within lead time and review, so the position reaches the reorder point, but after the kit is needed.
    late = [an_order("E-6", 50, "2027-01-24")]
    tables = build_fleet(1, 1, stock=[on_shelf("H-6", 20.0)], open_orders=late)
    made = supply(tables, a_changeout(planned_on="2027-01-22"))
    assert set(made.lines.query("short_by > 0")["available_on"]) == {pd.Timestamp("2027-01-18")}
    advice = made.advice_on("E-6")
    assert advice["order_now"] == 2
    assert advice["why"].startswith(
        "Order 2: planned kits lack 2 that an order of today brings soonest, though 50 on hand and due reach "
        "the reorder point of 2"
    )
    assert "to bring forward what is due on 24 Jan 2027 would do as well" in advice["why"]

    in_time = supply(tables, a_changeout(planned_on="2027-01-24"))
    assert set(in_time.lines.query("short_by > 0")["available_on"]) == {pd.Timestamp("2027-01-24")}
    assert in_time.advice_on("E-6")["order_now"] == 0


def test_what_a_kit_lacks_is_ordered_in_whole_packs_and_once():
    late = [an_order("E-6", 50, "2027-01-24")]
    parts = [hose(), hose_end(pack_quantity=25.0)]
    tables = build_fleet(1, 1, parts=parts, stock=[on_shelf("H-6", 20.0)], open_orders=late)
    assert supply(tables, a_changeout(planned_on="2027-01-22")).advice_on("E-6")["order_now"] == 25
    ordered = [*late, an_order("E-6", 25, "2027-01-18", order="PO-2")]
    tables = build_fleet(1, 1, parts=parts, stock=[on_shelf("H-6", 20.0)], open_orders=ordered)
    assert supply(tables, a_changeout(planned_on="2027-01-22")).advice_on("E-6")["order_now"] == 0


def test_what_expires_before_its_kit_is_ordered_anew():
    parts = [hose(shelf_life_days=365.0), hose_end()]
    stock = [on_shelf("H-6", 40.0, made_on="2026-01-14"), on_shelf("E-6", 10)]  # good until 14 January
    made = supply(build_fleet(1, 1, parts=parts, stock=stock), a_changeout(planned_on="2027-01-20"))
    assert made.lines.query("part == 'H-6'")["available_on"].tolist() == [pd.Timestamp("2027-01-18")]
    advice = made.advice_on("H-6")
    assert advice["order_now"] == 1
    assert advice["why"].startswith("Order 1 m: 0 m on hand and due are below the reorder point of 0.82 m")
    assert "planned kits count on 0.82 m of it" in advice["why"]
    assert "40 m expire before they are used and do not count" in advice["why"]


def test_a_kit_that_a_later_order_still_serves_is_not_ordered_for_today():
    late = [an_order("E-6", 50, "2027-06-20")]
    tables = build_fleet(1, 1, stock=[on_shelf("H-6", 20.0)], open_orders=late)
    law = KnownLaw(tables, **NEVER_FAILS)
    made = supply(tables, a_changeout(planned_on="2027-03-01"), forecaster=law)
    assert made.advice_on("E-6")["order_now"] == 0


def test_orders_are_whole_packs():
    parts = [hose(pack_quantity=50.0), hose_end(pack_quantity=25.0)]
    made = supply(build_fleet(4, 5, parts=parts))
    assert made.advice_on("E-6")["order_now"] == 25
    assert made.advice_on("H-6")["order_now"] == 50


def test_a_pack_larger_than_a_lifetimes_demand_is_ordered_once_and_said():
    tables = build_fleet(1, 1, parts=[hose(), hose_end(pack_quantity=500.0)])
    wanted = supply(tables, a_changeout(planned_on="2027-01-10")).advice_on("E-6")
    assert wanted["order_now"] == 500
    assert "it comes in packs of 500; a pack is more than 3 years' demand" in wanted["why"]
    kept = {**tables, "stock": build_fleet(stock=[on_shelf("E-6", 2)])["stock"]}
    assert supply(kept, a_changeout(planned_on="2027-01-10")).advice_on("E-6")["order_now"] == 0


def test_the_economic_quantity_is_ordered_where_it_is_more_than_a_pack():
    # √(2 · 25 · λ ÷ (0.2 · 8)), λ the demand of a year.
    tables = build_fleet(4, 5)
    advice = supply(tables).advice_on("E-6")
    yearly = 2 * 20 * chance_within(365, tables)
    assert advice["order_up_to"] - advice["reorder_point"] == round(np.sqrt(2 * 25 * yearly / 1.6))
    told = f"ordering and keeping cost least where it is filled up to {advice['order_up_to']:.0f}"
    assert advice["order_now"] > 1 and told in advice["why"]


def test_a_higher_service_level_never_lowers_an_order():
    orders = []
    for level in (0.5, 0.8, 0.9, 0.95, 0.98, 0.99, 0.999):
        tables = build_fleet(4, 5, policies=[{"scope": "all", "service_level": level}])
        made = supply(tables)
        orders.append([made.advice_on(part)["order_now"] for part in ("E-6", "H-6")])
        assert made.advice_on("E-6")["service_level"] == level
    assert (np.diff(orders, axis=0) >= 0).all() and orders[-1] > orders[0]


@pytest.mark.parametrize("sd_days", [0.0, 6.0])
def test_a_longer_lead_time_never_lowers_a_reorder_point(sd_days):
    points = []
    for lead_time in (0.0, 3.0, 7.0, 14.0, 28.0, 60.0, 120.0):
        timed = {"lead_time_days": lead_time, "lead_time_sd_days": sd_days}
        designs = [a_design("D-1"), a_design("D-2", overall_length_mm=1_234.5)]
        tables = build_fleet(4, 5, parts=[hose(**timed), hose_end(**timed)], designs=designs)
        tables["positions"].loc[::2, "design"] = "D-2"
        made = supply(tables, a_changeout("M-1/P-1", "2027-02-10"), a_changeout("M-2/P-1", "2027-03-20"))
        points.append([made.advice_on(part)["reorder_point"] for part in ("E-6", "H-6")])
    assert (np.diff(points, axis=0) >= -1e-9).all() and points[-1] > points[0]


def test_the_spread_of_a_lead_time_raises_the_reorder_point():
    def point(sd_days: float) -> float:
        parts = [hose(), hose_end(lead_time_days=60.0, lead_time_sd_days=sd_days)]
        tables = build_fleet(10, 10, parts=parts)
        return supply(tables).advice_on("E-6")["reorder_point"]

    assert point(40.0) > point(0.0)


def test_an_unknown_lead_time_is_said_and_two_weeks_assumed():
    unknown = supply(build_fleet(4, 5, parts=[hose(), hose_end(lead_time_days=None)])).advice_on("E-6")
    known = supply(build_fleet(4, 5)).advice_on("E-6")
    assert np.isnan(unknown["lead_time_days"])
    assert unknown["reorder_point"] == known["reorder_point"]
    assert unknown["why"].endswith("the lead time is not known and 14 days are assumed.")


def test_expired_stock_is_not_on_hand():
    parts = [hose(shelf_life_days=365.0), hose_end()]
    tables = build_fleet(4, 5, parts=parts, stock=[on_shelf("H-6", 40.0, made_on="2025-01-01")])
    advice = supply(tables).advice_on("H-6")
    assert advice["on_hand"] == 0 and advice["order_now"] > 0
    assert "40 m are past their shelf life or too short for a cut and do not count" in advice["why"]


def test_ten_offcuts_of_forty_centimetres_give_no_cut_of_a_metre():
    designs = [a_design(overall_length_mm=1_088.9)]
    offcuts = [on_shelf("H-6", 0.4, piece=f"offcut {number}") for number in range(10)]
    made = supply(build_fleet(4, 5, designs=designs, stock=offcuts))
    advice = made.advice_on("H-6")
    assert advice["on_hand"] == 0 and advice["order_now"] > 0
    assert "4 m are past their shelf life or too short for a cut" in advice["why"]


def test_hose_on_hand_counts_in_cuts_that_its_pieces_give():
    stock = [on_shelf("H-6", 2.0, piece="one"), on_shelf("H-6", 0.8128, piece="two")]
    advice = supply(build_fleet(4, 5, stock=stock), kerf_mm=3.0).advice_on("H-6")
    assert advice["on_hand"] == pytest.approx(3 * 0.8158)


def test_what_expires_before_it_is_used_is_told():
    parts = [hose(), hose_end(shelf_life_days=400.0)]
    tables = build_fleet(1, 1, parts=parts, stock=[on_shelf("E-6", 100, made_on="2026-12-04")])
    advice = supply(tables).advice_on("E-6")  # good for another 369 days
    yearly = 2 * chance_within(365, tables)
    assert advice["expires_unused"] == pytest.approx(100 - yearly * 369 / 365, rel=1e-3)
    assert 90 < advice["surplus"] < 100


def test_what_expires_before_an_order_could_come_keeps_none_from_being_placed():
    parts = [hose(), hose_end(shelf_life_days=400.0)]
    soon, later = (
        supply(build_fleet(4, 5, parts=parts, stock=[on_shelf("E-6", 100, made_on=made_on)]))
        for made_on in ("2025-12-05", "2026-12-04")  # good for five days, and for more than a year
    )
    advice = soon.advice_on("E-6")
    assert advice["on_hand"] == 100 and 99 < advice["expires_unused"] < 100
    assert advice["order_now"] > 0
    assert "100 expire before they are used and do not count" in advice["why"]
    assert later.advice_on("E-6")["order_now"] == 0


def test_what_kits_take_before_it_expires_is_used():
    parts = [hose(), hose_end(shelf_life_days=400.0)]
    tables = build_fleet(4, 5, parts=parts, stock=[on_shelf("E-6", 8, made_on="2025-12-05")])
    planned = [a_changeout(f"M-1/P-{n}", planned_on="2027-01-06") for n in (1, 2, 3, 4)]
    advice = supply(tables, *planned).advice_on("E-6")
    assert advice["expires_unused"] == 0
    assert "expire before they are used" not in advice["why"]


def test_a_kit_on_the_day_of_expiry_uses_nothing_of_it():
    parts = [hose(), hose_end(shelf_life_days=400.0)]
    tables = build_fleet(4, 5, parts=parts, stock=[on_shelf("E-6", 8, made_on="2025-12-05")])
    used, wasted = (
        supply(tables, a_changeout("M-1/P-1", planned_on=day)).advice_on("E-6")["expires_unused"]
        for day in ("2027-01-08", "2027-01-09")  # its last day, and that from which it may not be used
    )
    assert wasted - used == pytest.approx(2, abs=0.01)


def test_what_expires_unused_neither_lasts_nor_fills_a_demand():
    parts = [hose(), hose_end(shelf_life_days=400.0, obsolete=True)]
    soon, later = (
        supply(build_fleet(4, 5, parts=parts, stock=[on_shelf("E-6", 100, made_on=made_on)])).advice_on("E-6")
        for made_on in ("2025-12-05", "2027-01-04")
    )
    assert soon["expected_fill_rate"] < 0.1 < 0.9 < later["expected_fill_rate"]
    assert soon["runs_out_on"] < pd.Timestamp("2027-03-01")
    assert not soon["runs_out_on"] > later["runs_out_on"]


def test_beyond_a_year_kits_are_expected_to_go_on_as_planned_in_it():
    parts = [hose(), hose_end(shelf_life_days=1_460.0)]
    tables = build_fleet(4, 5, parts=parts, stock=[on_shelf("E-6", 100, made_on="2027-01-04")])
    planned = [
        a_changeout(f"M-{m}/P-{p}", planned_on="2027-03-01") for m in (1, 2, 3, 4) for p in range(1, 6)
    ]
    advice = supply(tables, *planned).advice_on("E-6")  # 40 of them within each of four years
    assert advice["expires_unused"] == 0


def test_an_obsolete_part_is_not_ordered_and_its_successor_is_named_and_ordered():
    parts = [hose(), hose_end(obsolete=True, superseded_by="E-6N"), hose_end("E-6N")]
    made = supply(build_fleet(4, 5, parts=parts))
    old, new = made.advice_on("E-6"), made.advice_on("E-6N")
    assert old["order_now"] == 0
    assert old["why"].startswith("Order none, it is no longer made: E-6N takes its place")
    assert new["order_now"] > 0 and new["reorder_point"] == old["reorder_point"]


def test_a_successor_is_not_stocked_while_the_old_part_lasts():
    parts = [hose(), hose_end(obsolete=True, superseded_by="E-6N"), hose_end("E-6N")]
    made = supply(build_fleet(4, 5, parts=parts, stock=[on_shelf("E-6", 100)]))
    assert made.advice_on("E-6N")["order_now"] == 0


def test_an_obsolete_part_without_a_successor_says_so():
    tables = build_fleet(4, 5, parts=[hose(), hose_end(obsolete=True)], stock=[on_shelf("E-6", 3)])
    advice = supply(tables).advice_on("E-6")
    assert advice["order_now"] == 0 and "no part is known that takes its place" in advice["why"]
    assert 0 < advice["expected_fill_rate"] < 1


def two_sites(**more) -> dict:
    """Ten positions at North and ten at South, ends at South alone."""
    machines = [a_machine("M-1"), a_machine("M-2", site="South", downtime_cost_per_hour=100.0)]
    machines[0]["downtime_cost_per_hour"] = 100.0
    usual = {"stock": [on_shelf("E-6", 60, "South"), on_shelf("H-6", 60.0), on_shelf("H-6", 60.0, "South")]}
    sites = [a_site("North"), a_site("South")]
    return build_fleet(2, 10, machines=machines, sites=sites, **{**usual, **more})


def test_surplus_is_moved_before_buying():
    made = supply(two_sites(), freight_cost=30.0)
    assert made.transfers[["part", "from_site", "to_site"]].values.tolist() == [["E-6", "South", "North"]]
    moved = made.transfers["quantity"].iloc[0]
    north, south = made.advice_on("E-6"), made.advice_on("E-6", "South")
    assert 0 < moved <= south["surplus"]
    assert moved == north["order_up_to"] and north["order_now"] == 0
    assert "come from South" in north["why"]


def test_what_is_about_to_expire_is_not_moved():
    def moved(made_on: str) -> float:
        parts = [hose(), hose_end(shelf_life_days=400.0)]
        there = [on_shelf("E-6", 60, "South", made_on=made_on), on_shelf("H-6", 60.0)]
        transfers = supply(two_sites(parts=parts, stock=there)).transfers
        return transfers.loc[transfers["part"] == "E-6", "quantity"].sum()

    assert moved("2026-12-04") > 0
    assert moved("2025-12-05") == 0  # good for five days


def test_a_donor_keeps_its_reorder_point():
    tables = two_sites(
        stock=[on_shelf("E-6", 9, "South"), on_shelf("H-6", 60.0), on_shelf("H-6", 60.0, "South")]
    )
    made = supply(tables)
    south = made.advice_on("E-6", "South")
    moved = made.transfers["quantity"].sum()
    assert 0 < moved <= 9 - south["reorder_point"]


def test_nothing_is_moved_where_the_freight_costs_more_than_it_saves():
    made = supply(two_sites(), freight_cost=1e6)
    assert made.transfers.empty and made.advice_on("E-6")["order_now"] > 0


def test_parts_of_unknown_price_and_sites_of_unknown_downtime_are_advised_on():
    tables = build_fleet(4, 5, parts=[hose(unit_cost=None), hose_end(unit_cost=None)])
    made = supply(tables)
    ordered = made.advice["order_up_to"] - made.advice["reorder_point"]
    assert ordered.tolist() == pytest.approx([1.0, 1.0])


def test_the_order_of_rows_is_irrelevant():
    tables = build_fleet(3, 4, stock=[on_shelf("E-6", 3, piece="a"), on_shelf("E-6", 2, piece="b")])
    turned = {name: table.iloc[::-1].reset_index(drop=True) for name, table in tables.items()}
    work = [a_changeout("M-1/P-1"), a_changeout("M-2/P-2", "2027-01-15")]
    one, other = supply(tables, *work), supply(turned, *work[::-1])
    pd.testing.assert_frame_equal(one.advice, other.advice)
    by_line = ["kit", "line"]
    pd.testing.assert_frame_equal(
        one.lines.sort_values(by_line, ignore_index=True), other.lines.sort_values(by_line, ignore_index=True)
    )
