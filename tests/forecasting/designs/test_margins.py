import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from forecasting.designs.margins import judge_margins
from forecasting.inputs import INPUTS
from forecasting.outputs import MARGINS
from forecasting.policies import position_limits
from forecasting.tables import check_table, make_table
from forecasting.units import BAR_PER_PSI
from tests.forecasting.builders import (
    a_design,
    a_position,
    an_installation,
    hose,
    hose_end,
)
from tests.forecasting.margin_builders import judge, judge_all


def test_a_peak_above_the_rating_is_short():
    margin = judge(peak=380)
    assert margin["verdict"] == "short"
    assert margin["limiting_part"] == "H-6"
    assert margin["margin_percent"] == pytest.approx((330 - 380) / 330 * 100)
    assert margin["reason"] == "peak 380 bar is above the 330 bar rating of hose H-6 (weakest part)"


def test_what_differs_by_less_than_is_usually_told_is_told_so_far_that_it_differs():
    assert (
        judge(peak=330.04)["reason"]
        == "peak 330.04 bar is above the 330 bar rating of hose H-6 (weakest part)"
    )
    thin = judge(peak=297.1)["reason"]
    assert "leaves 9.97 % under the 330 bar rating" in thin and "less than the 10 % asked for" in thin
    assert (
        "peak 296 bar leaves 9.2 % under the 326 bar"
        in judge(peak=296, of_hose={"rated_pressure_bar": 326})["reason"]
    )


def test_a_peak_at_the_rating_is_not_short_and_leaves_nothing_to_spare():
    margin = judge(peak=330)
    assert (margin["verdict"], margin["margin_percent"]) == ("thin", 0)


def test_a_rating_entered_in_psi_is_not_passed_by_the_same_figure_in_bar():
    assert (
        judge(peak=5000 * 0.0689475729, of_hose={"rated_pressure_bar": 5000 * BAR_PER_PSI})["verdict"]
        == "thin"
    )


def test_the_lowest_rated_part_governs():
    # SAE J517 and ISO 18752: an assembly carries what its lowest-rated component carries
    margin = judge(peak=320, of_end={"rated_pressure_bar": 250})
    assert (margin["verdict"], margin["rated_pressure_bar"], margin["limiting_part"]) == ("short", 250, "E-6")
    assert margin["reason"] == "peak 320 bar is above the 250 bar rating of end E-6 (weakest part)"


def test_adapters_count_and_ferrules_without_a_rating_do_not():
    parts = [
        hose(),
        hose_end(),
        {"part": "AD-6", "kind": "adapter", "rated_pressure_bar": 210},
        {"part": "FE-6", "kind": "ferrule"},
    ]
    design_parts = [{"design": "D-1", "place": "a", "part": part, "quantity": 1} for part in ("AD-6", "FE-6")]
    margin = judge(peak=205, parts=parts, design_parts=design_parts)
    assert (margin["verdict"], margin["limiting_part"]) == ("thin", "AD-6")
    assert judge(peak=205, parts=parts, design_parts=design_parts[1:])["verdict"] == "sound"


@pytest.mark.parametrize("kind", ["ferrule", "sleeve"])
def test_what_stands_in_the_place_of_an_end_needs_a_rating_whatever_it_is_called(kind):
    margin = judge(peak=205, of_end={"kind": kind, "rated_pressure_bar": None})
    assert margin["verdict"] == "unknown"
    assert margin["reason"] == "the rating of end E-6 is not known"


def test_without_a_peak_the_working_pressure_counts_with_its_surge_allowance():
    assert judge(working=240)["demanded_pressure_bar"] == 300
    margin = judge(working=240, policies=[{"scope": "all", "surge_allowance_percent": 50}])
    assert margin["demanded_pressure_bar"] == 360
    assert margin["reason"].startswith("working pressure with surge 360 bar is above the 330 bar rating")


def test_a_peak_below_the_working_pressure_is_no_peak():
    assert judge(working=280, peak=28)["demanded_pressure_bar"] == 350


def test_a_margin_below_the_policy_is_thin():
    assert judge(peak=297)["verdict"] == "sound"  # 10 % to spare, as asked for by default
    margin = judge(peak=300)
    assert margin["verdict"] == "thin"
    assert margin["reason"] == (
        "peak 300 bar leaves 9.1 % under the 330 bar rating of hose H-6 (weakest part), "
        "less than the 10 % asked for"
    )
    assert (
        judge(peak=300, policies=[{"scope": "machine:M-1", "thin_margin_percent": 5}])["verdict"] == "sound"
    )


def test_an_end_without_a_rating_is_not_known_to_hold():
    margin = judge(peak=100, of_end={"rated_pressure_bar": None})
    assert margin["verdict"] == "unknown"
    assert np.isnan(margin["margin_percent"])
    assert np.isnan(margin["rated_pressure_bar"])
    assert margin["reason"] == "the rating of end E-6 is not known"
    assert judge(peak=340, of_end={"rated_pressure_bar": None})["verdict"] == "short"


def test_without_any_pressure_the_verdict_is_unknown():
    margin = judge()
    assert margin["verdict"] == "unknown"
    assert margin["reason"] == "neither peak nor working pressure of the position is known"


def test_without_a_design_the_verdict_is_unknown():
    margin = judge(peak=100, position={"design": None}, installation={"design": None})
    assert (margin["verdict"], margin["reason"]) == ("unknown", "its design is not known")


def test_an_assembly_without_a_design_of_its_own_has_its_position_s():
    assert judge(peak=100, installation={"design": None})["verdict"] == "sound"


def test_a_rating_from_memory_may_fail_a_hose_and_never_passes_it():
    unrated = {"rated_pressure_bar": None, "dash": 8}
    passed = judge(peak=100, of_hose=unrated)
    assert (passed["verdict"], passed["rated_pressure_bar"]) == ("unknown", 241)
    assert np.isnan(passed["margin_percent"])
    assert passed["reason"] == (
        "the rating of hose H-6 is not known; a table gives 100R2 241 bar, from memory"
    )
    failed = judge(peak=300, of_hose=unrated)
    assert (failed["verdict"], failed["limiting_part"]) == ("short", "H-6")
    assert failed["reason"] == (
        "peak 300 bar is too high for hose H-6, whose rating is not known: "
        "a table gives 100R2 241 bar, from memory"
    )


@pytest.mark.parametrize(
    ("edition", "rated_bar"),
    # SAE J517, from memory: two-braid hose of dash 8 before and since 2006
    [(None, 241), ("SAE J517 JUL2003", 241), ("current", 275), ("JUL2020", 275), ("2012", 275), ("?", 241)],
)
def test_a_table_s_rating_goes_by_edition_and_is_the_lower_where_that_is_not_known(edition, rated_bar):
    margin = judge(peak=100, of_hose={"rated_pressure_bar": None, "dash": 8, "edition": edition})
    assert margin["rated_pressure_bar"] == rated_bar


def test_every_type_of_an_iso_18752_class_has_the_rating_of_its_class():
    of_hose = {"rated_pressure_bar": None, "construction": "ISO 18752-210 DC"}
    assert judge(peak=250, of_hose=of_hose)["verdict"] == "short"


def test_a_known_part_that_is_too_weak_does_not_hide_a_hose_that_is_weaker_still():
    margin = judge(peak=400, of_hose={"rated_pressure_bar": None, "dash": 8})
    assert (margin["verdict"], margin["rated_pressure_bar"], margin["limiting_part"]) == ("short", 241, "H-6")


def test_a_hose_of_4800_psi_may_stand_in_for_one_of_3000_as_far_as_pressure_goes():
    # common practice, no source
    high, low = 4800 * BAR_PER_PSI, 3000 * BAR_PER_PSI
    in_place_of_low = judge(peak=0.9 * low, of_hose={"rated_pressure_bar": high})
    in_place_of_high = judge(peak=0.9 * high, of_hose={"rated_pressure_bar": low})
    assert (in_place_of_low["verdict"], in_place_of_high["verdict"]) == ("sound", "short")


def test_reasons_stand_gravest_first():
    margin = judge(
        peak=380,
        position={"flow_lpm": 50},
        of_hose={"shelf_life_days": 100},
        of_end={"rated_pressure_bar": None},
        installation={"built_on": "2024-01-04", "hose_made_on": "2019-01-04"},
    )
    assert margin["verdict"] == "short"
    begins = [reason[:20] for reason in margin["reason"].split("; ")]
    assert begins == [
        "peak 380 bar is abov",
        "the rating of end E-",
        "hose H-6 was 1,826 d",
        "50 L/min through 9.5",
    ]


def test_past_assemblies_are_judged_too_in_the_order_given():
    margins = judge_all(
        installations=[
            an_installation("A-2"),
            an_installation("A-1", removed_on="2023-01-01", installed_on="2022-01-01"),
        ]
    )
    assert margins["assembly"].tolist() == ["A-2", "A-1"]
    assert margins["verdict"].tolist() == ["sound", "sound"]


def test_no_assemblies_give_an_empty_table():
    tables = {name: make_table(None, table) for name, table in INPUTS.items()}
    check_table(judge_margins(tables["installations"], tables, position_limits(tables)), MARGINS)


PRESSURES = st.one_of(st.none(), st.floats(0, 600))
HOSES = st.fixed_dictionaries(
    {
        "rated_pressure_bar": PRESSURES,
        "construction": st.sampled_from([None, "100R2", "100R6", "SAE 100R4", "4SP", "odd"]),
        "dash": st.sampled_from([None, 6, 8, 16]),  # the one size with a rating that was found is 12
        "maximum_temperature_c": st.one_of(st.none(), st.floats(50, 150)),
    }
)
PLACES = st.fixed_dictionaries(
    {
        "working_pressure_bar": PRESSURES,
        "peak_pressure_bar": PRESSURES,
        "line": st.sampled_from([None, "pressure", "return", "suction"]),
        "fluid_temperature_c": st.one_of(st.none(), st.floats(-60, 150)),
        "bend_radius_mm": st.one_of(st.none(), st.floats(10, 500)),
        "flow_lpm": st.one_of(st.none(), st.floats(0, 500)),
    }
)
GRAVITY = {"sound": 0, "thin": 1, "unknown": 2, "short": 3}


def fleet_of(hoses, places):
    numbers = range(len(hoses))
    return {
        "parts": [*(hose(f"H-{n}", **one) for n, one in enumerate(hoses)), hose_end()],
        "designs": [a_design(f"D-{n}", hose_part=f"H-{n}") for n in numbers],
        "positions": [a_position("M-1", f"P-{n}", design=f"D-{n}", **one) for n, one in enumerate(places)],
        "installations": [an_installation(f"A-{n}", "M-1", f"P-{n}", design=f"D-{n}") for n in numbers],
    }


@settings(max_examples=15, deadline=None)
@given(pairs=st.lists(st.tuples(HOSES, PLACES), min_size=1, max_size=12), more=st.floats(1, 200))
def test_more_pressure_never_adds_margin_and_nothing_from_memory_is_sound(pairs, more):
    hoses, places = zip(*pairs, strict=True)
    pressed = [
        {
            name: value + more if name.endswith("pressure_bar") and value is not None else value
            for name, value in place.items()
        }
        for place in places
    ]
    before, after = judge_all(**fleet_of(hoses, places)), judge_all(**fleet_of(hoses, pressed))
    assert not (after["margin_percent"] > before["margin_percent"] + 1e-9).any()
    assert (after["verdict"].map(GRAVITY) >= before["verdict"].map(GRAVITY)).all()

    unstated = pd.Series([not one["rated_pressure_bar"] for one in hoses])
    assert not before["verdict"][unstated].isin(["sound", "thin"]).any()
    unpressed = before["demanded_pressure_bar"].isna()
    assert not before["verdict"][unpressed].isin(["sound", "thin"]).any()
    assert (before["margin_percent"].notna() <= (before["verdict"] != "unknown")).all()
    assert (before["reason"].isna() <= (before["verdict"] == "sound")).all()


@settings(max_examples=15, deadline=None)
@given(
    pairs=st.lists(st.tuples(HOSES, PLACES), min_size=1, max_size=8), order=st.randoms(use_true_random=False)
)
def test_row_order_is_irrelevant(pairs, order):
    rows = fleet_of(*zip(*pairs, strict=True))
    mixed = {name: order.sample(table, len(table)) for name, table in rows.items()}
    by_assembly = [judge_all(**tables).sort_values("assembly", ignore_index=True) for tables in (rows, mixed)]
    pd.testing.assert_frame_equal(*by_assembly)
