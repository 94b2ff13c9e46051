"""A kit is what a stop needs, laid out: its bill of materials, cut lengths, and what is short until when."""

from datetime import date

import pandas as pd
import pytest

from forecasting.supply.kits import list_bill
from forecasting.units import MM_PER_INCH
from tests.forecasting.builders import a_design, a_machine, a_position, build_fleet, hose, hose_end
from tests.forecasting.stock_builders import a_changeout, an_order, on_shelf, supply

PLENTY = [on_shelf("E-6", 100), on_shelf("H-6", 100.0, piece="reel")]


def line_of(lines: pd.DataFrame, part: str) -> pd.Series:
    found = lines[lines["part"] == part]
    assert len(found), f"no line for {part}"
    return found.iloc[0]


def test_an_assembly_35_and_a_half_inches_overall_with_ends_of_3_and_a_half_is_cut_at_32():
    # Common practice, no source.
    tables = build_fleet(
        parts=[hose(), hose_end(cutoff_mm=1.75 * MM_PER_INCH)],
        designs=[a_design(overall_length_mm=35.5 * MM_PER_INCH)],
        stock=PLENTY,
    )
    line = line_of(supply(tables, a_changeout()).lines, "H-6")
    assert line["cut_length_mm"] == pytest.approx(32 * MM_PER_INCH)
    assert line["quantity"] == pytest.approx(32 * MM_PER_INCH / 1000)
    assert line["unit"] == "metre"


def test_two_ends_of_one_part_are_two_lines():
    lines = supply(build_fleet(stock=PLENTY), a_changeout()).lines
    ends = lines[lines["part"] == "E-6"]
    assert ends["quantity"].tolist() == [1.0, 1.0]
    assert lines["line"].tolist() == [1, 2, 3]


def test_ferrules_sleeves_and_adapters_belong_in_the_kit():
    extra = [("a", "F-6", "ferrule", 1.0), ("b", "F-6", "ferrule", 1.0), ("hose", "SL-1", "sleeve", 2.0)]
    tables = build_fleet(
        parts=[hose(), hose_end(), *({"part": p, "kind": k, "unit": "each"} for _, p, k, _ in extra[1:])],
        design_parts=[
            {"design": "D-1", "place": place, "part": part, "quantity": quantity}
            for place, part, _, quantity in extra
        ],
    )
    lines = supply(tables, a_changeout()).lines
    assert lines["kind"].tolist() == ["bulk_hose", "hose_end", "hose_end", "ferrule", "ferrule", "sleeve"]
    assert line_of(lines, "SL-1")["quantity"] == 2.0


def test_a_sleeve_is_taken_by_the_metre():
    sleeve = {"part": "SL-1", "kind": "sleeve", "unit": "metre"}
    of_design = {"design": "D-1", "place": "hose", "part": "SL-1", "quantity": 0.8}
    tables = build_fleet(
        parts=[hose(unit=None), hose_end(unit=None), sleeve],
        design_parts=[of_design],
        stock=[*PLENTY, on_shelf("SL-1", 1.0)],
    )
    made = supply(tables, a_changeout())
    assert made.lines["unit"].tolist() == ["metre", "each", "each", "metre"]
    assert made.kits["ready"].tolist() == [True]
    assert made.advice_on("SL-1")["unit"] == "metre"


def test_an_assembly_bought_ready_made_is_one_line():
    bought = {"part": "A-100", "kind": "assembly", "unit": "each", "lead_time_days": 5.0}
    tables = build_fleet(parts=[bought, hose_end()], designs=[a_design(hose_part="A-100")])
    made = supply(tables, a_changeout())
    assert made.lines[["part", "kind", "quantity"]].values.tolist() == [["A-100", "assembly", 1.0]]
    assert made.cuts.empty


def test_without_a_cut_off_the_cut_length_is_not_told_and_the_overall_length_is_reserved():
    tables = build_fleet(parts=[hose(), hose_end(cutoff_mm=None)], stock=PLENTY)
    made = supply(tables, a_changeout())
    line = line_of(made.lines, "H-6")
    assert pd.isna(line["cut_length_mm"])
    assert line["quantity"] == pytest.approx(0.9017)
    assert line["short_by"] == 0 and made.cuts.empty


def test_kit_lines_add_up_to_the_bills_of_their_designs():
    designs = [a_design("D-1"), a_design("D-2", overall_length_mm=1_500.0)]
    tables = build_fleet(2, 3, designs=designs, stock=PLENTY)
    work = [
        a_changeout("M-1/P-1"),
        a_changeout("M-1/P-2", design="D-2"),
        a_changeout("M-2/P-3", design="D-2"),
    ]
    lines = supply(tables, *work).lines
    bill = list_bill(tables).groupby(["design", "part"])["quantity"].sum()
    asked = lines.groupby(["design", "part"])["quantity"].sum()
    assert asked.loc["D-1"].to_dict() == pytest.approx(bill.loc["D-1"].to_dict())
    assert asked.loc["D-2"].to_dict() == pytest.approx((2 * bill.loc["D-2"]).to_dict())


def test_assemblies_done_in_one_stop_share_a_kit():
    kits = supply(build_fleet(1, 2, stock=PLENTY), a_changeout("M-1/P-1"), a_changeout("M-1/P-2")).kits
    assert kits[["kit", "purpose", "machine", "site"]].values.tolist() == [
        ["K-C-M-1-2027-02-01", "changeout", "M-1", "North"]
    ]
    assert kits["needed_by"].tolist() == [pd.Timestamp("2027-02-01")]
    assert kits["ready"].tolist() == [True]


def test_a_kit_of_a_later_day_keeps_its_name_when_what_goes_before_it_is_done():
    stop = {"changeout": "C-M-1", "window_starts_on": "2027-02-01"}
    first, later = a_changeout("M-1/P-1", **stop), a_changeout("M-1/P-2", "2027-02-20", **stop)
    tables, done_on = build_fleet(1, 2, stock=PLENTY), date(2027, 2, 2)
    assert supply(tables, first, later).kits["kit"].tolist() == ["K-C-M-1", "K-C-M-1 2027-02-20"]
    assert supply(tables, later, as_of=done_on).kits["kit"].tolist() == ["K-C-M-1 2027-02-20"]
    assert supply(tables, later, as_of=date(2027, 2, 20)).kits["kit"].tolist() == ["K-C-M-1"]


def test_a_scarce_part_claimed_by_two_kits_goes_to_the_one_needed_first():
    tables = build_fleet(2, 1, stock=[on_shelf("E-6", 3), on_shelf("H-6", 20.0)])
    made = supply(tables, a_changeout("M-1/P-1", "2027-03-01"), a_changeout("M-2/P-1", "2027-02-01"))
    ready = made.kits.set_index("machine")["ready"]
    assert ready.to_dict() == {"M-1": False, "M-2": True}
    short = made.lines[made.lines["short_by"] > 0]
    assert short[["kit", "part", "short_by"]].values.tolist() == [["K-C-M-1-2027-03-01", "E-6", 1.0]]


def test_what_is_short_comes_with_the_first_order_that_covers_it_in_time():
    orders = [
        an_order("E-6", 1, "2027-01-20"),
        an_order("E-6", 5, "2027-01-30", order="PO-2"),
    ]
    tables = build_fleet(1, 1, stock=[on_shelf("H-6", 20.0)], open_orders=orders)
    ends = supply(tables, a_changeout(planned_on="2027-02-01")).lines.query("part == 'E-6'")
    assert ends["available_on"].tolist() == [pd.Timestamp("2027-01-20"), pd.Timestamp("2027-01-30")]


def test_an_order_that_comes_too_late_is_overtaken_by_one_of_today():
    orders = [an_order("E-6", 1, "2027-01-20"), an_order("E-6", 5, "2027-02-20", order="PO-2")]
    tables = build_fleet(1, 1, stock=[on_shelf("H-6", 20.0)], open_orders=orders)

    def ends(parts):
        lines = supply({**tables, "parts": parts}, a_changeout(planned_on="2027-02-01")).lines
        return [str(day.date()) for day in lines.loc[lines["part"] == "E-6", "available_on"]]

    assert ends(tables["parts"]) == ["2027-01-20", "2027-01-18"]
    slow = build_fleet(parts=[hose(), hose_end(lead_time_days=90.0)])["parts"]
    assert ends(slow) == ["2027-01-20", "2027-02-20"]
    no_more = build_fleet(parts=[hose(), hose_end(obsolete=True)])["parts"]
    assert ends(no_more) == ["2027-01-20", "2027-02-20"]


def test_a_standby_kit_has_no_day_and_waits_for_what_is_due():
    machines = [a_machine(downtime_cost_per_hour=500.0)]
    orders = [an_order("E-6", 50, "2027-02-20")]
    tables = build_fleet(1, 1, machines=machines, stock=[on_shelf("H-6", 20.0)], open_orders=orders)
    lines = supply(tables, standby_budget=50.0).lines.query("part == 'E-6'")
    assert set(lines["available_on"]) == {pd.Timestamp("2027-02-20")}


def test_hose_that_is_due_serves_as_many_cuts_as_each_reel_gives():
    reels = [an_order("H-6", 1.2, "2027-01-20"), an_order("H-6", 1.7, "2027-01-25", order="PO-2")]
    tables = build_fleet(4, 1, stock=[on_shelf("E-6", 20)], open_orders=reels)
    changeouts = [a_changeout(f"M-{number}/P-1", "2027-02-01") for number in range(1, 5)]
    cuts = supply(tables, *changeouts, kerf_mm=3.0).lines.query("part == 'H-6'")
    assert [str(day.date()) for day in cuts["available_on"]] == [
        "2027-01-20",
        "2027-01-25",
        "2027-01-25",
        "2027-01-18",  # 2.9 m are due, but the rests of the reels give no fourth cut
    ]


def test_what_is_not_on_order_comes_a_lead_time_from_now():
    lines = supply(build_fleet(), a_changeout()).lines
    assert set(lines["available_on"]) == {pd.Timestamp("2027-01-18")}


def test_without_a_lead_time_nobody_says_when_a_short_part_comes():
    tables = build_fleet(parts=[hose(lead_time_days=None), hose_end(lead_time_days=None)])
    assert supply(tables, a_changeout()).lines["available_on"].isna().all()


def test_stock_of_another_site_makes_no_kit_ready():
    tables = build_fleet(stock=[on_shelf("E-6", 9, "South"), on_shelf("H-6", 20.0)])
    assert supply(tables, a_changeout()).kits["ready"].tolist() == [False]


def test_a_lot_that_expires_before_the_changeout_does_not_count():
    lots = [
        on_shelf("E-6", 1, piece="old", made_on="2026-01-20"),  # good until 2027-01-20
        on_shelf("E-6", 1, piece="new", made_on="2026-06-01"),
    ]
    tables = build_fleet(parts=[hose(), hose_end(shelf_life_days=365)], stock=[*lots, on_shelf("H-6", 20.0)])
    soon = supply(tables, a_changeout(planned_on="2027-01-10"))
    later = supply(tables, a_changeout(planned_on="2027-02-01"))
    assert soon.kits["ready"].tolist() == [True]
    assert later.lines["short_by"].sum() == 1.0


def test_a_kit_with_a_position_of_unknown_design_is_not_ready():
    tables = build_fleet(1, 2, stock=PLENTY)
    made = supply(tables, a_changeout("M-1/P-1"), a_changeout("M-1/P-2", design=None))
    assert made.kits["ready"].tolist() == [False]
    assert len(made.lines) == 3


def test_what_must_not_be_built_stands_beside_its_lines_and_cuts_and_in_its_kit_by_position():
    tables = build_fleet(1, 2, stock=PLENTY)
    stop, told = {"changeout": "C-1"}, "Do not build D-1 for it: 312 bar is above 300 bar."
    made = supply(tables, a_changeout("M-1/P-1", not_to_build=told, **stop), a_changeout("M-1/P-2", **stop))
    (kit,) = made.kits["not_to_build"]
    assert kit == f"P-1: {told}"
    warned = made.lines.dropna(subset="not_to_build")
    assert warned["position"].tolist() == ["P-1"] * 3 and set(warned["not_to_build"]) == {told}
    assert made.cuts.set_index("line")["not_to_build"].dropna().to_dict() == {1: told}
    assert supply(tables, a_changeout()).kits["not_to_build"].isna().all()


def test_nothing_is_ordered_for_what_must_not_be_built():
    tables, soon = build_fleet(1, 1), {"planned_on": "2027-01-08"}
    made = supply(tables, a_changeout("M-1/P-1", **soon))
    assert made.advice_on("E-6")["planned_demand"] == 2 and made.advice_on("E-6")["order_now"] >= 2
    barred = supply(tables, a_changeout("M-1/P-1", not_to_build="Do not build D-1 for it.", **soon))
    told = barred.advice_on("E-6")
    assert (told["planned_demand"], told["unplanned_demand_mean"], told["order_now"]) == (0, 0, 0)


def superseded_end(**successor) -> dict:
    """A fleet whose end E-6 is followed by E-6N, of which alone there is stock."""
    parts = [hose(), hose_end(superseded_by="E-6N"), hose_end("E-6N", **successor)]
    return build_fleet(parts=parts, stock=[on_shelf("E-6N", 5), on_shelf("H-6", 20.0)])


def test_a_superseded_part_is_filled_by_its_successor_and_the_line_says_so():
    made = supply(superseded_end(), a_changeout())
    ends = made.lines[made.lines["kind"] == "hose_end"]
    assert ends[["part", "substitute_for"]].values.tolist() == [["E-6N", "E-6"]] * 2
    assert made.kits["ready"].tolist() == [True]


def test_a_critical_position_takes_no_substitute():
    tables = {**superseded_end(), "positions": build_fleet(positions=[])["positions"]}
    critical = build_fleet(positions=[a_position(position="P-1", critical=True)])["positions"]
    made = supply({**tables, "positions": critical}, a_changeout())
    assert made.lines["substitute_for"].isna().all()
    assert made.kits["ready"].tolist() == [False]


@pytest.mark.parametrize(
    "successor",
    [
        {"rated_pressure_bar": 200.0},
        {"rated_pressure_bar": None},
        {"thread": "M22x1.5", "dash": 8.0},
        {"cutoff_mm": 50.0},
        {"obsolete": True},
        {"kind": "adapter"},
    ],
    ids=["weaker", "of unknown rating", "of another size", "of another cut-off", "obsolete", "another thing"],
)
def test_a_successor_that_does_not_fit_fills_nothing(successor):
    assert supply(superseded_end(**successor), a_changeout()).lines["substitute_for"].isna().all()


@pytest.mark.parametrize("psi, stands_in", [(4_800, True), (3_000, True), (2_250, False)])
def test_a_hose_stands_in_for_one_of_3000_psi_where_it_is_rated_no_less(psi, stands_in):
    # A hose rated 4,800 psi may stand in for one of 3,000 psi, never the other way round: common practice,
    # no source.
    parts = [
        hose(rated_pressure_bar=206.84, superseded_by="H-6N"),
        hose("H-6N", rated_pressure_bar=psi * 0.0689476),
        hose_end(),
    ]
    tables = build_fleet(parts=parts, stock=[on_shelf("E-6", 4), on_shelf("H-6N", 20.0, piece="reel")])
    made = supply(tables, a_changeout())
    assert made.kits["ready"].tolist() == [stands_in]
    assert made.cuts["hose_part"].tolist() == (["H-6N"] if stands_in else [])


@pytest.mark.parametrize("rated, stands_in", [(400.0, True), (206.84, False), (None, True)])
def test_of_a_hose_of_unknown_rating_none_known_to_be_under_what_a_table_remembers_stands_in(
    rated, stands_in
):
    remembered = {"construction": "100R2", "edition": "current", "dash": 6.0, "rated_pressure_bar": 330.0}
    parts = [
        hose(rated_pressure_bar=None, superseded_by="H-6N"),
        hose("H-6N", rated_pressure_bar=rated),
        hose_end(),
    ]
    tables = build_fleet(
        parts=parts,
        ratings=[remembered | {"mark": "memory", "source": "none"}],
        stock=[on_shelf("E-6", 4), on_shelf("H-6N", 20.0, piece="reel")],
    )
    assert supply(tables, a_changeout()).kits["ready"].tolist() == [stands_in]


def test_a_successor_without_a_crimp_for_these_ends_fills_nothing():
    crimp = {"hose_part": "H-6", "end_part": "E-6", "crimp_diameter_mm": 21.2}
    parts = [hose(superseded_by="H-6N"), hose("H-6N"), hose_end()]
    stock = [on_shelf("E-6", 4), on_shelf("H-6N", 20.0)]
    without = build_fleet(parts=parts, stock=stock, crimp_specs=[crimp])
    having = build_fleet(parts=parts, stock=stock, crimp_specs=[crimp, crimp | {"hose_part": "H-6N"}])
    assert supply(without, a_changeout()).kits["ready"].tolist() == [False]
    assert supply(having, a_changeout()).kits["ready"].tolist() == [True]


def standby_fleet(**more) -> dict:
    machines = [a_machine("M-1", downtime_cost_per_hour=more.pop("downtime_cost_per_hour", 120.0))]
    return build_fleet(1, 6, machines=machines, **more)


def test_standby_kits_are_bought_as_far_as_the_budget_goes():
    one_kit_costs = 10.0 * 0.8128 + 2 * 8.0
    tables = standby_fleet()
    none = supply(tables, standby_budget=one_kit_costs - 0.1).kits
    one = supply(tables, standby_budget=one_kit_costs + 0.1)
    two = supply(tables, standby_budget=2 * one_kit_costs + 0.1).kits
    assert [len(none), len(one.kits), len(two)] == [0, 1, 2]
    assert one.kits[["kit", "purpose", "site"]].values.tolist() == [["S-North:D-1:1", "standby", "North"]]
    assert one.kits["changeout"].isna().all() and one.kits["machine"].isna().all()
    assert one.lines["design"].tolist() == ["D-1"] * 3


@pytest.mark.parametrize(
    "unknown",
    [
        {"downtime_cost_per_hour": None},
        {"parts": [hose(lead_time_days=None), hose_end()]},
        {"parts": [hose(), hose_end(unit_cost=None)]},
    ],
    ids=["downtime cost", "lead time", "price"],
)
def test_no_standby_kit_is_advised_on_what_is_not_known(unknown):
    assert supply(standby_fleet(**unknown), standby_budget=1_000.0).kits.empty


def test_a_standby_kit_saves_nothing_where_the_bin_can_make_more_than_are_ever_wanted():
    assert supply(standby_fleet(stock=PLENTY), standby_budget=1_000.0).kits.empty


def test_a_bin_of_offcuts_can_make_no_hose_that_is_longer_than_each():
    offcuts = [on_shelf("H-6", 0.4, piece=f"P{number}") for number in range(20)]
    ends = on_shelf("E-6", 100)
    assert len(supply(standby_fleet(stock=[ends, *offcuts]), standby_budget=1_000.0).kits) > 0
    pieces = [on_shelf("H-6", 0.82, piece=f"P{number}") for number in range(20)]
    assert supply(standby_fleet(stock=[ends, *pieces]), standby_budget=1_000.0).kits.empty


def test_a_standby_kit_is_of_what_belongs_in_the_position_now():
    positions = [a_position(position=f"P-{number}", design="D-2") for number in range(1, 7)]
    tables = standby_fleet(designs=[a_design(), a_design("D-2")], positions=positions)
    assert set(supply(tables, standby_budget=1_000.0).lines["design"]) == {"D-2"}


def test_a_standby_kit_does_not_take_what_a_planned_changeout_needs():
    tables = standby_fleet(stock=[on_shelf("E-6", 2), on_shelf("H-6", 5.0)])
    made = supply(tables, a_changeout("M-1/P-1", "2027-03-01"), standby_budget=30.0)
    assert made.kits.set_index("purpose")["ready"].to_dict() == {"changeout": True, "standby": False}


@pytest.mark.parametrize(
    "old, new, stands_in",
    [
        ({"construction": "100R4"}, {"construction": "100R2"}, False),
        ({"construction": "100R4"}, {"construction": "100R4"}, True),
        ({"conductive": False}, {"conductive": True}, False),
        ({"conductive": False}, {"conductive": None}, False),
        ({"material": "nitrile"}, {"material": "chloroprene"}, False),
        ({"material": "nitrile"}, {"material": "nitrile"}, True),
    ],
)
def test_a_stronger_hose_does_not_stand_in_where_it_bears_less_of_something_else(old, new, stands_in):
    parts = [hose(superseded_by="H-6N", **old), hose("H-6N", rated_pressure_bar=500.0, **new), hose_end()]
    tables = build_fleet(parts=parts, stock=[on_shelf("E-6", 4), on_shelf("H-6N", 20.0, piece="reel")])
    assert supply(tables, a_changeout()).kits["ready"].tolist() == [stands_in]
