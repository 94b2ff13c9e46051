"""What is not known, and what knowing it could save."""

import numpy as np
import pytest

from fleet.trade.ratings import load_ratings
from forecasting.policies import Settings
from forecasting.stops.gaps import find_gaps
from forecasting.stops.knowing import value_of_knowing
from forecasting.stops.prospects import look_ahead
from forecasting.stops.renewal import Curves
from tests.forecasting.builders import (
    KnownLaw,
    a_design,
    a_position,
    an_installation,
    build_fleet,
    hose,
    hose_end,
    margins_of,
)

TWO_OF_E_8 = ("D-1", "D-2", "D-2")
READINGS = [{"machine": "M-1", "read_on": "2026-12-01", "hours": 9_000.0}]


def gaps_in(tables, *, law=None, **verdicts):
    law = law or KnownLaw(tables, scale_days=1_200)
    return find_gaps(tables, look_ahead(law, tables, Settings()), margins_of(tables, **verdicts))


def named(gaps):
    return list(gaps[["kind", "name", "column"]].itertuples(index=False, name=None))


def test_a_register_without_gaps_has_none():
    assert gaps_in(build_fleet(meter_readings=READINGS)).empty


def test_a_part_without_a_rating_is_worth_all_assemblies_it_keeps_from_being_judged():
    def worth(count):
        tables = build_fleet(
            1, count, parts=[hose(rated_pressure_bar=None), hose_end()], meter_readings=READINGS
        )
        gaps = gaps_in(tables, **{f"M_1_P_{p}": "unknown" for p in range(1, count + 1)})
        assert named(gaps) == [("parts", "H-6", "rated_pressure_bar")]
        return gaps["worth"].iloc[0]

    assert worth(1) > 0
    assert worth(3) == pytest.approx(3 * worth(1))


def test_a_rating_that_is_missing_but_keeps_nothing_from_being_judged_is_no_gap():
    tables = build_fleet(parts=[hose(rated_pressure_bar=None), hose_end()], meter_readings=READINGS)
    assert gaps_in(tables).empty


def test_a_rating_that_a_found_table_gives_is_not_asked_for():
    # 100R4 dash 12: 300 psi, common practice, no source; 100R2 from memory only
    def asked(**of_hose):
        parts = [hose(rated_pressure_bar=None, **of_hose), hose_end(rated_pressure_bar=None)]
        tables = build_fleet(parts=parts, meter_readings=READINGS) | {"ratings": load_ratings()}
        return set(named(gaps_in(tables, M_1_P_1="unknown")))

    of_end = ("parts", "E-6", "rated_pressure_bar")
    assert asked(construction="100R4", dash=12.0) == {of_end}
    assert asked(construction="100R2", dash=6.0) == {of_end, ("parts", "H-6", "rated_pressure_bar")}


def test_the_limits_of_a_hose_are_asked_for_where_its_place_is_known_to_be_hot_or_bent():
    place = a_position(position="P-1", fluid_temperature_c=90.0, bend_radius_mm=150.0)

    def asked(**of_hose):
        parts = [hose(**of_hose), hose_end()]
        gaps = gaps_in(build_fleet(parts=parts, positions=[place], meter_readings=READINGS))
        assert (gaps["worth"] > 0).all()
        return {column for _, _, column in named(gaps)}

    assert asked() == {"maximum_temperature_c", "minimum_bend_radius_mm"}
    assert asked(maximum_temperature_c=100.0, minimum_bend_radius_mm=130.0) == set()


def test_a_suction_line_asks_for_its_pressure_and_what_its_hose_is_made_for():
    def asked(**pressure):
        place = a_position(position="P-1", line="suction", flow_lpm=5.0, **pressure)
        return set(named(gaps_in(build_fleet(positions=[place], meter_readings=READINGS), M_1_P_1="unknown")))

    made_for = ("parts", "H-6", "construction")
    assert asked(working_pressure_bar=1.0, peak_pressure_bar=None) == {made_for}
    unpressed = asked(working_pressure_bar=None, peak_pressure_bar=None)
    assert unpressed == {made_for, ("positions", "M-1/P-1", "working_pressure_bar")}


def test_two_things_missing_for_one_assembly_share_what_it_is_worth():
    rating = build_fleet(parts=[hose(rated_pressure_bar=None), hose_end()], meter_readings=READINGS)
    both = build_fleet(
        parts=[hose(rated_pressure_bar=None), hose_end()],
        positions=[a_position(position="P-1", working_pressure_bar=None, peak_pressure_bar=None)],
        meter_readings=READINGS,
    )
    one, two = (gaps_in(tables, M_1_P_1="unknown") for tables in (rating, both))
    assert set(named(two)) == {
        ("parts", "H-6", "rated_pressure_bar"),
        ("positions", "M-1/P-1", "working_pressure_bar"),
    }
    assert two["worth"].sum() == pytest.approx(one["worth"].sum())


def test_the_reason_says_where_to_enter_it():
    tables = build_fleet(parts=[hose(rated_pressure_bar=None), hose_end()], meter_readings=READINGS)
    assert gaps_in(tables, M_1_P_1="unknown")["why"].tolist() == [
        "One assembly could be judged if the rated pressure of this part were known. "
        "Enter it in parts under rated_pressure_bar."
    ]


def test_a_machine_whose_meter_nobody_read_is_a_gap_the_more_so_without_an_estimate():
    unread = gaps_in(build_fleet(1, 2))
    machines = [{"machine": "M-1", "site": "North", "hours_per_day": 8.0}]
    estimated = gaps_in(build_fleet(1, 2, machines=machines))
    assert named(unread) == named(estimated) == [("meter_readings", "M-1", "hours")]
    assert unread["worth"].iloc[0] > estimated["worth"].iloc[0] > 0


def test_an_assembly_without_a_build_date_is_a_gap_unless_its_build_was_recorded():
    installations = [an_installation("A-1", position="P-1", built_on=None)]
    builds = [{"assembly": "A-1", "design": "D-1", "built_on": "2023-12-01"}]
    without = build_fleet(installations=installations, meter_readings=READINGS)
    recorded = build_fleet(installations=installations, builds=builds, meter_readings=READINGS)
    assert named(gaps_in(without)) == [("installations", "A-1", "built_on")]
    assert gaps_in(recorded).empty


def removed(assembly, cause):
    return an_installation(
        assembly, position="P-1", installed_on="2022-01-01", removed_on="2023-12-01", removal_cause=cause
    )


def test_a_removal_without_a_cause_matters_less_the_more_failures_are_known():
    def worth(failures):
        known = [removed(f"F-{n}", "failed") for n in range(failures)]
        known += [removed(f"S-{n}", "planned") for n in range(failures)]
        tables = build_fleet(
            installations=[an_installation("A-1", position="P-1"), removed("X-1", None), *known],
            meter_readings=READINGS,
        )
        gaps = gaps_in(tables)
        assert named(gaps) == [("installations", "X-1", "removal_cause")]
        return gaps["worth"].iloc[0]

    assert worth(1) > worth(5) > worth(25) > 0


def test_each_removal_without_a_cause_is_named():
    tables = build_fleet(
        installations=[
            an_installation("A-1", position="P-1"),
            removed("X-1", None),
            removed("X-2", "unknown"),
            removed("F-1", "failed"),
        ],
        meter_readings=READINGS,
    )
    gaps = gaps_in(tables)
    assert {name for _, name, _ in named(gaps)} == {"X-1", "X-2"}
    assert gaps["worth"].nunique() == 1


def test_a_missing_failure_cost_is_worth_what_the_best_age_saves():
    # planned 1, failure 5, scale 1000, shape 2.5: .003462043 a day at best age (Barlow & Proschan's
    # condition), 5/887.264 left to fail.
    positions = [
        a_position(position="P-1", planned_cost=1.0, failure_cost=5.0),
        a_position(position="P-2", planned_cost=1.0, failure_cost=None),
    ]
    tables = build_fleet(1, 2, positions=positions, meter_readings=READINGS)
    gaps = gaps_in(tables, law=KnownLaw(tables, scale_days=1_000))
    assert named(gaps) == [("positions", "M-1/P-2", "failure_cost")]
    assert gaps["worth"].iloc[0] == pytest.approx(365 * (5 / 887.264 - 0.003462043), rel=1e-3)


def test_where_the_fleet_knows_no_cost_the_gap_stands_without_a_worth():
    tables = build_fleet(
        positions=[a_position(position="P-1", planned_cost=None, failure_cost=None)],
        parts=[hose(unit_cost=None), hose_end()],
        meter_readings=READINGS,
    )
    gaps = gaps_in(tables)
    assert set(named(gaps)) == {("positions", "M-1/P-1", "failure_cost"), ("parts", "H-6", "unit_cost")}
    assert gaps["worth"].isna().all()


def test_an_end_asks_what_it_adds_to_the_length_of_what_is_built_with_it_next():
    def asked(**tables):
        parts = [hose(), hose("R-6", kind="assembly"), hose_end(cutoff_mm=None), hose_end("E-8")]
        designs = [a_design(), a_design("D-2", hose_part="R-6"), a_design("D-3", end_b_part="E-8")]
        designs.append(a_design("D-4", end_a_part="E-8", end_b_part="E-8"))
        installations = [an_installation("A-1", position="P-1", design="D-1")]
        tables = {"parts": parts, "designs": designs, "installations": installations} | tables
        return gaps_in(build_fleet(meter_readings=READINGS, **tables))

    told = asked()
    assert named(told) == [("parts", "E-6", "cutoff_mm")] and told["worth"].isna().all()
    assert told["why"].tolist() == [
        "One assembly could be cut to length if it were known what this end adds to it. "
        "Enter it in parts under cutoff_mm."
    ]
    for design, asks in (("D-2", False), ("D-3", True), ("D-4", False)):
        assert asked(positions=[a_position(position="P-1", design=design)]).empty is not asks


def test_what_has_no_worth_comes_after_what_has_by_the_assemblies_that_it_touches():
    tables = build_fleet(
        1,
        3,
        parts=[hose(rated_pressure_bar=None), hose_end(cutoff_mm=None), hose_end("E-8", cutoff_mm=None)],
        designs=[a_design(), a_design("D-2", end_a_part="E-8", end_b_part="E-8")],
        positions=[a_position(position=f"P-{n}", design=design) for n, design in enumerate(TWO_OF_E_8, 1)],
        meter_readings=READINGS,
    )
    assert named(gaps_in(tables, M_1_P_1="unknown")) == [
        ("parts", "H-6", "rated_pressure_bar"),
        ("parts", "E-8", "cutoff_mm"),
        ("parts", "E-6", "cutoff_mm"),
    ]


def test_the_dearest_gap_comes_first():
    tables = build_fleet(
        2,
        1,
        parts=[hose(rated_pressure_bar=None), hose_end(), hose("H-8")],
        designs=[a_design(), a_design("D-2", hose_part="H-8")],
        positions=[
            a_position("M-1", "P-1", failure_cost=9_000.0),
            a_position("M-2", "P-1", failure_cost=300.0, peak_pressure_bar=None, working_pressure_bar=None),
        ],
        installations=[
            an_installation("A-1", "M-1", "P-1"),
            an_installation("A-2", "M-2", "P-1", design="D-2"),
        ],
        meter_readings=[*READINGS, {"machine": "M-2", "read_on": "2026-12-01", "hours": 9_000.0}],
    )
    gaps = gaps_in(tables, A_1="unknown", A_2="unknown")
    assert named(gaps) == [
        ("parts", "H-6", "rated_pressure_bar"),
        ("positions", "M-2/P-1", "working_pressure_bar"),
    ]
    assert gaps["worth"].is_monotonic_decreasing


def test_knowing_a_rate_that_is_known_already_saves_nothing_and_more_doubt_saves_more():
    fresh = Curves.follow(lambda days: np.exp(-((days[None, :] / 1_000) ** 2.5)))
    rows = np.zeros(4, int)
    worth = value_of_knowing(fresh, rows, np.ones(4), np.full(4, 5.0), np.array([0.0, 0.3, 0.6, 0.9]))
    assert worth[0] == pytest.approx(0, abs=1e-12)
    assert (np.diff(worth) > 0).all()


def test_knowing_saves_nothing_where_a_failure_costs_no_more_than_a_changeout():
    fresh = Curves.follow(lambda days: np.exp(-((days[None, :] / 1_000) ** 2.5)))
    worth = value_of_knowing(fresh, np.zeros(1, int), np.ones(1), np.ones(1), np.array([0.8]))
    assert worth == pytest.approx(0, abs=1e-9)
