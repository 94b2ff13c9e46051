"""A burst takes what kits were to have: which of them then goes short, of what, and until when."""

import datetime

import pandas as pd

from forecasting.policies import Settings
from forecasting.supply.displaced import find_displaced
from forecasting.supply.kits import list_bill
from tests.forecasting.builders import build_fleet, hose, hose_end
from tests.forecasting.stock_builders import an_order, on_shelf

AS_OF = datetime.date(2027, 1, 1)
REEL = on_shelf("H-6", 100.0, piece="reel")


def kit(tables: dict, name: str, needed_by: str = "2027-02-01", **more) -> pd.DataFrame:
    """The lines of a kit of one assembly of D-1 as stock is asked for them."""
    usual = {"kit": name, "purpose": "changeout", "site": "North", "critical": False, "freed": False}
    bill = list_bill(tables)
    return bill.assign(**usual | more, needed_by=pd.Timestamp(needed_by))


def displaced(tables: dict, *kits: pd.DataFrame) -> list[tuple]:
    """Kit, part and how much it then lacks, once an assembly of D-1 is taken at North."""
    found = find_displaced(pd.concat(kits), kit(tables, "burst"), tables, Settings(), AS_OF)
    return list(zip(found["kit"], found["part"], found["short_by"], strict=True))


def test_the_kit_that_is_needed_last_goes_short_of_what_the_burst_takes():
    tables = build_fleet(stock=[on_shelf("E-6", 4), REEL])
    kits = kit(tables, "soon", "2027-01-10"), kit(tables, "late", "2027-03-01")
    assert displaced(tables, *kits) == [("late", "E-6", 2.0)]


def test_the_kit_of_the_position_itself_falls_away_and_nobody_goes_short():
    tables = build_fleet(stock=[on_shelf("E-6", 4), REEL])
    kits = kit(tables, "own", "2027-01-10", freed=True), kit(tables, "late", "2027-03-01")
    assert displaced(tables, *kits) == []


def test_what_a_kit_lacked_already_is_not_told_again():
    tables = build_fleet(stock=[on_shelf("E-6", 1), REEL])
    assert displaced(tables, kit(tables, "late", "2027-03-01")) == [("late", "E-6", 1.0)]
    tables = build_fleet(stock=[REEL])
    assert displaced(tables, kit(tables, "late", "2027-03-01")) == []


def test_a_kit_that_stands_by_goes_short_before_one_for_a_stop():
    tables = build_fleet(stock=[on_shelf("E-6", 4), REEL])
    kits = kit(tables, "standby", "2027-01-01", purpose="standby"), kit(tables, "stop", "2027-03-01")
    assert displaced(tables, *kits) == [("standby", "E-6", 2.0)]


def test_hose_is_missed_as_a_cut_that_no_piece_gives_any_more():
    tables = build_fleet(stock=[on_shelf("E-6", 9), on_shelf("H-6", 1.0, piece="offcut")])
    ((name, part, short_by),) = displaced(tables, kit(tables, "late", "2027-03-01"))
    assert (name, part) == ("late", "H-6") and short_by > 0


def test_the_shelf_of_another_site_is_not_touched():
    tables = build_fleet(stock=[on_shelf("E-6", 2), REEL])
    assert displaced(tables, kit(tables, "theirs", site="South")) == []


def test_what_is_missing_comes_on_the_open_order_or_as_if_ordered_today_or_nobody_knows():
    parts = [hose(), hose_end(lead_time_days=30)]
    for orders, part, day in (
        ([an_order()], parts, "2027-01-20"),
        ([], parts, "2027-01-31"),
        ([], [hose(), hose_end(lead_time_days=None)], None),
    ):
        tables = build_fleet(parts=part, open_orders=orders, stock=[on_shelf("E-6", 2), REEL])
        late = kit(tables, "late", "2027-03-01")
        found = find_displaced(late, kit(tables, "burst"), tables, Settings(), AS_OF)
        (available_on,) = found["available_on"]
        assert (None if pd.isna(available_on) else str(available_on.date())) == day


def test_no_kit_asks_for_those_parts():
    tables = build_fleet(stock=[on_shelf("E-6", 2), REEL])
    other = kit(tables, "late").assign(part="X-1")
    assert displaced(tables, other) == []
