"""What of a hose's place but its pressure counts: heat, bend, age when built, flow, vacuum."""

import numpy as np
import pytest

from forecasting.designs.margins import VELOCITY_FACTOR
from tests.forecasting.margin_builders import judge


@pytest.mark.parametrize(
    ("position", "words"),
    [
        ({"fluid_temperature_c": 110}, "fluid at 110 °C is hotter than the 100 °C of hose H-6"),
        ({"ambient_temperature_c": 101}, "ambient at 101 °C is hotter than the 100 °C of hose H-6"),
        ({"ambient_temperature_c": -45}, "ambient at −45 °C is colder than the −40 °C of hose H-6"),
    ],
)
def test_a_temperature_outside_the_hose_s_limits_is_short(position, words):
    limits = {"minimum_temperature_c": -40, "maximum_temperature_c": 100}
    margin = judge(peak=100, position=position, of_hose=limits)
    assert (margin["verdict"], margin["reason"]) == ("short", words)
    assert judge(peak=100, position={"fluid_temperature_c": 100}, of_hose=limits)["verdict"] == "sound"


def test_the_limits_of_an_end_count_too():
    margin = judge(
        peak=100,
        position={"fluid_temperature_c": 95},
        of_end={"maximum_temperature_c": 90},
        of_hose={"maximum_temperature_c": 100},
    )
    assert (margin["verdict"], margin["reason"]) == (
        "short",
        "fluid at 95 °C is hotter than the 90 °C of end E-6",
    )


def test_a_bend_tighter_than_the_hose_allows_is_short():
    of_hose = {"minimum_bend_radius_mm": 130}
    margin = judge(peak=100, position={"bend_radius_mm": 100}, of_hose=of_hose)
    assert (margin["verdict"], margin["reason"]) == (
        "short",
        "bent to 100 mm, tighter than the 130 mm of hose H-6",
    )
    assert judge(peak=100, position={"bend_radius_mm": 130}, of_hose=of_hose)["verdict"] == "sound"


def test_a_limit_from_memory_outside_which_a_hose_lies_leaves_it_unknown():
    for position in ({"bend_radius_mm": 100}, {"fluid_temperature_c": 105}):
        margin = judge(peak=100, position=position)
        assert margin["verdict"] == "unknown"
        assert "from memory" in margin["reason"]


def test_a_hose_past_its_shelf_life_when_built_is_thin():
    built = {"built_on": "2024-01-04", "hose_made_on": "2019-01-04"}
    margin = judge(peak=100, installation=built, of_hose={"shelf_life_days": 1460})
    assert (margin["verdict"], margin["reason"]) == (
        "thin",
        "hose H-6 was 1,826 days old when built, past its shelf life of 1,460 days",
    )
    assert judge(peak=100, installation=built, of_hose={"shelf_life_days": 1826})["verdict"] == "sound"


def test_the_day_of_the_build_record_counts_where_the_installation_has_none():
    margin = judge(
        peak=100,
        installation={"built_on": None, "hose_made_on": "2019-01-04"},
        of_hose={"shelf_life_days": 1460},
        builds=[{"assembly": "A-1", "design": "D-1", "built_on": "2024-01-04"}],
    )
    assert margin["verdict"] == "thin"


def test_velocity_is_flow_over_bore():
    # One metre a second through the nominal bore of dash 8 is 7.6 L/min: computed, v = 21.22 Q / d².
    assert pytest.approx(1, abs=0.005) == VELOCITY_FACTOR * 7.6 / 12.7**2
    assert pytest.approx(1000 / 60 * 4 / np.pi, abs=0.005) == VELOCITY_FACTOR


def test_a_fast_flow_in_a_pressure_line_is_a_remark():
    margin = judge(peak=100, position={"flow_lpm": 50})
    assert margin["verdict"] == "sound"
    assert (
        margin["reason"]
        == "50 L/min through 9.5 mm run at 11.7 m/s, above the usual 10 m/s in a pressure line"
    )


SUCTION = {"line": "suction", "flow_lpm": 5}


@pytest.mark.parametrize("rated", [20.0, None])
def test_a_suction_line_without_a_pressure_is_unknown_though_its_hose_is_made_for_it(rated):
    margin = judge(position=SUCTION, of_hose={"construction": "SAE 100R4", "rated_pressure_bar": rated})
    assert margin["verdict"] == "unknown"
    assert margin["reason"].startswith("neither peak nor working pressure of the position is known")
    assert np.isnan([margin["demanded_pressure_bar"], margin["margin_percent"]]).all()


def test_no_hose_but_one_made_for_suction_is_known_to_hold_in_a_suction_line():
    textile = judge(position=SUCTION, working=1, of_hose={"construction": "100R6"})
    assert (textile["verdict"], np.isnan(textile["margin_percent"])) == ("unknown", True)
    assert textile["reason"] == (
        "hose H-6 is in a suction line, where 100R6 without a wire helix may fall in, and nothing states "
        "what vacuum it stands; 100R4 is made for it"
    )
    stated = judge(position=SUCTION, working=1, of_hose={"construction": "100R6 suction"})
    assert stated["verdict"] == "sound"
    margin = judge(position=SUCTION, working=1, of_hose={"construction": "100R2"})
    assert (margin["verdict"], margin["reason"]) == (
        "unknown",
        "hose H-6 is in a suction line and its construction does not say that it stands vacuum",
    )


def test_a_pressure_stated_of_a_suction_line_counts_without_surge():
    of_hose = {"construction": "100R4", "rated_pressure_bar": 10}
    assert judge(working=9, position=SUCTION, of_hose=of_hose)["demanded_pressure_bar"] == 9
    assert judge(working=11, position=SUCTION, of_hose=of_hose)["verdict"] == "short"


def test_a_table_s_rating_that_was_found_counts_where_the_part_states_none():
    of_hose = {"construction": "100R4", "dash": 12, "rated_pressure_bar": None}
    margin = judge(working=3, position=SUCTION, of_hose=of_hose)
    assert (margin["verdict"], margin["rated_pressure_bar"]) == (
        "sound",
        21,
    )  # 300 psi: common practice, no source


def test_a_fast_flow_in_a_suction_line_is_thin():
    fast = {"line": "suction", "flow_lpm": 20}
    assert judge(working=1, position=fast, of_hose={"construction": "100R4"})["verdict"] == "thin"


@pytest.mark.parametrize(
    "of_end", [{}, {"maximum_temperature_c": 200.0}], ids=["no limit", "an end's limit only"]
)
def test_a_sound_hose_of_unknown_heat_limit_says_that_heat_is_not_judged(of_end):
    unmarked = {"construction": None}
    margin = judge(peak=200, position={"fluid_temperature_c": 150.0}, of_hose=unmarked, of_end=of_end)
    assert margin["verdict"] == "sound"
    assert margin["reason"] == "heat is not judged: the hottest that hose H-6 may be is not known"
    stated = unmarked | {"maximum_temperature_c": 160.0}
    assert judge(peak=200, position={"fluid_temperature_c": 150.0}, of_hose=stated)["reason"] == ""


def test_a_sound_hose_of_unknown_least_radius_says_that_its_bend_is_not_judged():
    unmarked = {"construction": None}
    margin = judge(peak=200, position={"bend_radius_mm": 10.0}, of_hose=unmarked)
    assert margin["verdict"] == "sound"
    assert margin["reason"] == "the bend is not judged: the least radius of hose H-6 is not known"
    stated = unmarked | {"minimum_bend_radius_mm": 10.0}
    assert judge(peak=200, position={"bend_radius_mm": 10.0}, of_hose=stated)["reason"] == ""
