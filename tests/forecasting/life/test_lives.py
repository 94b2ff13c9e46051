"""Installations become lives: when each was watched, until when, on which clock, and how it ended."""

from datetime import date

import numpy as np
import pandas as pd
import pytest

from forecasting.hours.usage import fit_usage
from forecasting.inputs import INPUTS
from forecasting.life.lives import build_lives
from forecasting.tables import make_table

AS_OF = date(2026, 1, 1)


def fleet(installations: list[dict], **files) -> dict[str, pd.DataFrame]:
    """One excavator at North, commissioned 2020-01-01, ten hours a day, hose H8 (100R2, dash 8)."""
    ordinary = {"machine": "EX-1", "position": "BOOM", "installed_on": "2020-01-01"}
    given = {
        "sites": [{"site": "North"}],
        "machines": [{"machine": "EX-1", "site": "North", "model": "E20", "commissioned_on": "2020-01-01"}],
        "meter_readings": [
            {"machine": "EX-1", "read_on": "2020-01-01", "hours": 0.0},
            {"machine": "EX-1", "read_on": "2026-01-01", "hours": 21_920.0},
        ],
        "positions": [{"machine": "EX-1", "position": "BOOM", "design": "D1", "fluid_temperature_c": 70.0}],
        "designs": [
            {
                "design": "D1",
                "hose_part": "H8",
                "end_a_part": "E8",
                "end_b_part": "E8",
                "overall_length_mm": 900.0,
            }
        ],
        "parts": [{"part": "H8", "kind": "bulk_hose", "construction": "SAE 100R2", "dash": 8.0}],
        "installations": [
            {"assembly": f"A{number}"} | ordinary | one for number, one in enumerate(installations, start=1)
        ],
    } | files
    return {name: make_table(given.get(name), table) for name, table in INPUTS.items()}


def lives_of(installations: list[dict], margins: list[dict] | None = None, **files) -> pd.DataFrame:
    tables = fleet(installations, **files)
    usage = fit_usage(tables["machines"], tables["meter_readings"], tables["installations"], AS_OF)
    columns = ["assembly", "rated_pressure_bar", "demanded_pressure_bar"]
    judged = pd.DataFrame(margins or [], columns=columns).astype({"assembly": "str"})
    return build_lives(tables, usage, judged, AS_OF)


def test_a_hose_removed_sound_counts_as_censored():
    causes = ["planned", "damaged", "machine_retired", "unknown", None]
    for cause in causes:
        life = lives_of([{"removed_on": "2022-01-01", "removal_cause": cause}]).iloc[0]
        assert life["end"] == "watched"
        assert not life["installed"]


def test_a_cause_left_empty_is_one_that_is_unknown():
    left_empty, said_so = (
        lives_of([{"removed_on": "2022-01-01", "removal_cause": cause}, {"position": "STICK"}])
        for cause in (None, "unknown")
    )
    assert said_so["removal_cause"].fillna("").tolist() == ["unknown", ""]
    pd.testing.assert_frame_equal(left_empty, said_so)


def test_a_hose_that_failed_or_was_found_worn_ended_its_life():
    for cause in ("failed", "worn"):
        life = lives_of([{"removed_on": "2022-01-01", "removal_cause": cause}]).iloc[0]
        assert life["end"] == cause
        assert life["exit_days"] == 731
        assert life["exit_hours"] == pytest.approx(7310, rel=1e-3)


def test_what_nobody_took_off_a_retired_machine_went_with_it():
    retired = {
        "machine": "EX-1",
        "site": "North",
        "commissioned_on": "2020-01-01",
        "retired_on": "2022-01-01",
    }
    hoses = [{}, {"position": "STICK", "removed_on": "2021-01-01", "removal_cause": "failed"}]
    lives = lives_of(hoses, machines=[retired])
    assert lives["installed"].tolist() == [False, False]
    assert lives["end"].tolist() == ["watched", "failed"]
    assert lives["removal_cause"].tolist() == ["machine_retired", "failed"]
    assert lives["exit_days"].tolist() == [731, 366], "nobody has watched it on a scrapped machine"


def test_what_comes_off_after_its_machines_last_day_was_watched_until_then():
    retired = {
        "machine": "EX-1",
        "site": "North",
        "commissioned_on": "2020-01-01",
        "retired_on": "2022-01-01",
    }
    causes = ["planned", "unknown", None, "failed", "worn"]
    hoses = [
        {"assembly": f"A-{n}", "position": f"P-{n}", "removed_on": "2024-06-01", "removal_cause": cause}
        for n, cause in enumerate(causes)
    ]
    again = {"position": "STICK", "installed_on": "2023-01-01", "removed_on": "2023-04-11"}
    sites = [{"site": "North", "register_began_on": "2019-01-01"}]
    lives = lives_of([*hoses, again | {"removal_cause": "failed"}], machines=[retired], sites=sites)
    assert lives["exit_days"].tolist() == [731] * 5 + [100], "what was fitted later shows that it worked on"
    assert lives["exit_hours"].iloc[0] == pytest.approx(7_310, rel=1e-3)
    assert lives["end"].tolist() == ["watched"] * 3 + ["failed", "worn", "failed"]
    assert lives["removal_cause"].tolist() == ["machine_retired"] * 3 + ["failed", "worn", "failed"]


def test_a_hose_in_place_is_watched_until_the_as_of_date():
    life = lives_of([{}]).iloc[0]
    assert life["installed"]
    assert life["end"] == "watched"
    assert life["exit_days"] == 2192
    assert life["exit_hours"] == pytest.approx(21_920)


def test_days_count_from_the_building_and_hours_from_the_installing():
    life = lives_of([{"built_on": "2019-10-01"}]).iloc[0]
    assert life["entry_days"] == 92
    assert life["entry_hours"] == 0


def test_a_hose_older_than_its_register_enters_late():
    life = lives_of([{}], sites=[{"site": "North", "register_began_on": "2023-01-01"}]).iloc[0]
    assert life["entry_days"] == 1096
    assert life["entry_hours"] == pytest.approx(10_960, rel=1e-3)
    assert life["exit_days"] == 2192


def test_a_hose_removed_before_its_register_began_teaches_nothing():
    lives = lives_of(
        [{"removed_on": "2021-01-01", "removal_cause": "failed"}, {"installed_on": "2021-01-01"}],
        sites=[{"site": "North", "register_began_on": "2023-01-01"}],
    )
    assert lives["end"].tolist() == ["watched", "watched"]
    assert lives.loc[0, "entry_days"] == lives.loc[0, "exit_days"]
    assert lives.loc[0, "entry_hours"] == lives.loc[0, "exit_hours"]


def test_a_register_complete_from_commissioning_is_watched_from_commissioning():
    lives = lives_of(
        [{"removed_on": "2022-01-01", "removal_cause": "failed"}, {"installed_on": "2022-01-01"}]
    )
    assert lives["entry_days"].tolist() == [0, 0]


def test_a_hose_whose_forerunner_nobody_recorded_tells_that_the_register_began_late():
    # Two positions filled in 2022 on a machine of 2020: their first hoses left unrecorded. The first removal
    # on record is that of 2024.
    positions = [{"machine": "EX-1", "position": place, "design": "D1"} for place in ("BOOM", "ARM")]
    lives = lives_of(
        [
            {"installed_on": "2022-01-01", "removed_on": "2024-01-01", "removal_cause": "failed"},
            {"installed_on": "2024-01-01"},
            {"installed_on": "2022-06-01", "position": "ARM"},
        ],
        positions=positions,
    )
    assert lives["entry_days"].tolist()[1:] == [0, 579]
    assert lives["end"].tolist() == ["watched", "watched", "watched"]
    assert lives.loc[0, "exit_days"] == lives.loc[0, "entry_days"], "what opened the watching was not watched"


def test_a_hose_that_failed_on_the_day_it_was_installed_lasted_half_a_day():
    life = lives_of([{"removed_on": "2020-01-01", "removal_cause": "failed"}]).iloc[0]
    assert life["exit_days"] - life["entry_days"] == 0.5
    assert life["exit_hours"] > life["entry_hours"]
    assert life["age_days"] == 0


def test_population_is_construction_and_dash():
    lives = lives_of([{}, {"position": "ARM"}])
    assert lives["population"].tolist() == ["100R2/-8", "unknown"]
    assert lives["construction"].tolist() == ["100R2", "unknown"]


def test_pressure_ratio_is_demanded_over_rated():
    margins = [{"assembly": "A1", "rated_pressure_bar": 280.0, "demanded_pressure_bar": 210.0}]
    assert lives_of([{}], margins).loc[0, "pressure_ratio"] == 0.75
    assert np.isnan(lives_of([{}]).loc[0, "pressure_ratio"])


def test_exposures_joined_with_plus_each_count_and_an_empty_one_is_not_known():
    positions = [
        {"machine": "EX-1", "position": "BOOM", "exposure": "hot+flexing"},
        {"machine": "EX-1", "position": "ARM"},
    ]
    lives = lives_of([{}, {"position": "ARM"}], positions=positions)
    flags = lives[["sheltered", "abrasive", "hot", "flexing"]]
    assert flags.iloc[0].tolist() == [0, 0, 1, 1]
    assert flags.iloc[1].isna().all()


def test_bench_and_lot_come_from_the_build_where_the_installation_is_silent():
    builds = [
        {"assembly": "A1", "design": "D1", "built_on": "2019-12-20", "built_by": "Bench 3", "hose_lot": "L7"}
    ]
    life = lives_of([{}], builds=builds).iloc[0]
    assert (life["crimped_by"], life["hose_lot"]) == ("Bench 3", "L7")
    assert life["entry_days"] == 12


def test_lives_stand_in_the_order_of_installations():
    lives = lives_of([{"position": "Z"}, {"position": "A"}, {"position": "M"}])
    assert lives["assembly"].tolist() == ["A1", "A2", "A3"]
    assert lives["position"].tolist() == ["Z", "A", "M"]


def test_a_hose_that_came_with_the_machine_is_told_from_one_that_followed():
    lives = lives_of(
        [
            {"installed_on": "2020-01-15", "removed_on": "2022-01-01", "removal_cause": "failed"},
            {"installed_on": "2022-01-01"},
        ],
        sites=[{"site": "North", "register_began_on": "2021-06-01"}],
    )
    assert lives["with_machine"].tolist() == [True, False]
    assert lives["found"].tolist() == [True, False]
    assert lives["place_days"].tolist() == [14, 731]
    assert lives["place_hours"].tolist() == pytest.approx([140, 7310], rel=1e-3)
    assert lives["removal_cause"].tolist()[0] == "failed"


def test_a_machine_of_unknown_age_says_nothing_of_what_stood_there_before():
    machines = [{"machine": "EX-1", "site": "North", "model": "E20"}]
    life = lives_of([{"installed_on": "2022-01-01"}], machines=machines).iloc[0]
    assert np.isnan(life["place_days"])
    assert np.isnan(life["place_hours"])
    assert not life["with_machine"]


def test_how_the_machine_ran_about_the_end_is_that_of_its_last_month():
    readings = [
        {"machine": "EX-1", "read_on": day, "hours": hours}
        for day, hours in (("2020-01-01", 0.0), ("2021-12-02", 7010.0), ("2022-01-01", 7010.0))
    ]
    life = lives_of([{"removed_on": "2022-01-01", "removal_cause": "failed"}], meter_readings=readings).iloc[
        0
    ]
    assert life["end_hours_per_day"] == 0.0


def test_how_a_new_machine_ran_about_the_end_is_that_of_the_days_it_has_worked():
    life = lives_of([{"removed_on": "2020-01-06", "removal_cause": "failed"}]).iloc[0]
    assert life["end_hours_per_day"] == pytest.approx(10.0, rel=1e-3)
    at_once = lives_of([{"removed_on": "2020-01-01", "removal_cause": "failed"}]).iloc[0]
    assert at_once["end_hours_per_day"] == 0.0


def test_bend_and_velocity_come_from_the_hose_and_the_position():
    parts = [
        {"part": "H8", "kind": "bulk_hose", "construction": "100R2", "dash": 8.0, "bore_mm": 12.7,
         "minimum_bend_radius_mm": 180.0}
    ]  # fmt: skip
    positions = [
        {"machine": "EX-1", "position": "BOOM", "design": "D1", "bend_radius_mm": 120.0, "flow_lpm": 38.0},
        {"machine": "EX-1", "position": "ARM", "design": "D1"},
    ]
    lives = lives_of([{}, {"position": "ARM"}], parts=parts, positions=positions)
    assert lives["bend_tightness"][0] == 1.5
    assert lives["velocity_m_s"][0] == pytest.approx(5.0, rel=0.01)  # 38 L/min through 1/2 in
    assert lives[["bend_tightness", "velocity_m_s"]].iloc[1].isna().all()


def test_a_builds_record_goes_with_its_life():
    build = {"design": "D1", "built_on": "2019-12-20", "insertion_a_seen": False}
    lives = lives_of([{}, {"position": "ARM"}], builds=[{"assembly": "A1"} | build])
    assert lives["insertion_unseen"][0] == 1.0
    assert np.isnan(lives["insertion_unseen"][1])
    assert lives["crimp_off"].isna().all()


def test_where_only_the_heat_around_is_known_the_fluid_is_as_much_hotter_as_others_are():
    places = [
        {"position": "both known", "fluid_temperature_c": 70.0, "ambient_temperature_c": 20.0},
        {"position": "both known too", "fluid_temperature_c": 60.0, "ambient_temperature_c": 20.0},
        {"position": "around it", "ambient_temperature_c": 14.0},
        {"position": "neither"},
    ]
    lives = lives_of(
        [{"position": one["position"]} for one in places],
        positions=[{"machine": "EX-1", "design": "D1"} | one for one in places],
    )
    assert lives["temperature_c"].tolist()[:3] == [70.0, 60.0, 59.0]
    assert np.isnan(lives["temperature_c"].iloc[3])


def test_where_nobody_knows_a_fluid_the_heat_around_tells_hoses_apart():
    places = [{"position": f"P{heat:g}", "ambient_temperature_c": heat} for heat in (10.0, 40.0)]
    lives = lives_of(
        [{"position": one["position"]} for one in places],
        positions=[{"machine": "EX-1", "design": "D1"} | one for one in places],
    )
    assert lives["temperature_c"].tolist() == [10.0, 40.0]
