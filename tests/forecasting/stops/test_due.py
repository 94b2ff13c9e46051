"""From which day on a hose should be off, and which rule says so first."""

from datetime import date, timedelta

import numpy as np
import pandas as pd
import pytest

from forecasting.policies import Settings
from forecasting.stops.due import find_due
from forecasting.stops.prospects import look_ahead
from tests.forecasting.builders import (
    AS_OF,
    KnownLaw,
    a_position,
    an_installation,
    build_fleet,
    limits_of,
    margins_of,
)

NO_COSTS = {"planned_cost": None, "failure_cost": None, "design": None}


def due_in(tables, *, law=None, limits=None, verdicts=None, settings=None):
    law = law or KnownLaw(tables, scale_days=1e6)
    limits = limits_of(tables, **(limits or {}))
    prospects = look_ahead(law, tables, settings or Settings())
    return find_due(prospects, margins_of(tables, **(verdicts or {})), limits, tables["inspections"], AS_OF)


def after(days):
    return pd.Timestamp(AS_OF + timedelta(days=days))


def test_a_hose_that_lasts_and_is_held_to_no_limit_is_not_due():
    due = due_in(build_fleet())
    assert due["due_reason"].tolist() == ["none"]
    assert due["due_on"].isna().all()
    assert due["limit_on"].isna().all()


def test_a_hose_short_of_rating_is_due_at_once_whatever_its_age():
    tables = build_fleet(installations=[an_installation("A-1", position="P-1", installed_on=AS_OF)])
    due = due_in(tables, verdicts={"A_1": "short"})
    assert due["due_reason"].tolist() == ["unfit"]
    assert due["due_on"].tolist() == [after(0)]
    assert due["limit_on"].tolist() == [after(0)]


def test_a_thin_margin_alone_makes_nothing_due():
    assert due_in(build_fleet(), verdicts={"M_1_P_1": "thin"})["due_reason"].tolist() == ["none"]


def test_the_latest_inspection_decides():
    inspections = [
        {"assembly": "M-1/P-1", "inspected_on": "2026-03-01", "grade": "replace"},
        {"assembly": "M-1/P-1", "inspected_on": "2026-09-01", "grade": "watch"},
        {"assembly": "M-1/P-2", "inspected_on": "2026-03-01", "grade": "fit"},
        {"assembly": "M-1/P-2", "inspected_on": "2026-09-01", "grade": "replace"},
    ]
    due = due_in(build_fleet(position_count=2, inspections=inspections))
    assert due["due_reason"].tolist() == ["none", "inspection"]
    assert due["due_on"].iloc[1] == after(0)


def test_calendar_age_counts_from_the_day_it_was_built():
    tables = build_fleet(
        position_count=2,
        installations=[
            an_installation("A-1", position="P-1", built_on="2022-01-04", installed_on="2023-01-04"),
            an_installation("A-2", position="P-2", built_on=None, installed_on="2023-01-04"),
        ],
    )
    due = due_in(tables, limits={"age_limit_days": 2_000})
    born = pd.to_datetime(["2022-01-04", "2023-01-04"])
    assert due["due_on"].tolist() == list(born + pd.Timedelta(days=2_000))
    assert due["due_reason"].tolist() == ["age_limit"] * 2


def test_hours_left_are_spent_at_the_machines_usage():
    tables = build_fleet()
    law = KnownLaw(tables, scale_days=1e6, hours_per_day=10.0)
    law.installed["age_hours"] = 4_000.0
    due = due_in(tables, law=law, limits={"hours_limit": 5_000})
    assert due["due_on"].tolist() == [after(100)]
    assert due["due_reason"].tolist() == ["hours_limit"]


def test_a_machine_that_stands_reaches_no_hours_limit_but_one_already_passed_is_due():
    tables = build_fleet(position_count=2)
    law = KnownLaw(tables, scale_days=1e6, hours_per_day=0.0)
    law.installed["age_hours"] = [4_000.0, 6_000.0]
    due = due_in(tables, law=law, limits={"hours_limit": 5_000})
    assert due["due_reason"].tolist() == ["none", "hours_limit"]
    assert due["due_on"].iloc[1] == after(0)


@pytest.mark.parametrize("limits", [{"age_limit_days": 100}, {"hours_limit": 10}, {"risk_limit": 1e-9}])
def test_nothing_is_due_before_today(limits):
    due = due_in(build_fleet(), law=None, limits=limits)
    assert due["due_on"].tolist() == [after(0)]


def test_the_risk_limit_bounds_the_chance_over_its_own_horizon():
    # Exact for shape 2: the chance over H days of one aged t passes p at t = (−ln(1 − p)·scale² − H²)/2H.
    tables = build_fleet(installations=[an_installation("A-1", position="P-1", built_on=AS_OF)])
    law = KnownLaw(tables, scale_days=1_500, shape=2)
    limits = {"risk_limit": 0.1, "risk_horizon_days": 180}
    due = due_in(tables, law=law, limits=limits, settings=Settings())
    exact = (-np.log(0.9) * 1_500**2 - 180**2) / 360
    assert (due["limit_on"].iloc[0] - after(0)).days == pytest.approx(exact, rel=0.02)
    assert due["limit_reason"].tolist() == ["risk"]


def test_on_cost_a_hose_is_due_at_its_best_age():
    # scale 1000, shape 2.5, failure five times planned: best age 493.05 (Barlow & Proschan's condition).
    tables = build_fleet(
        positions=[a_position(position="P-1", planned_cost=100.0, failure_cost=500.0)],
        installations=[an_installation("A-1", position="P-1", built_on=AS_OF - timedelta(days=300))],
    )
    due = due_in(tables, law=KnownLaw(tables, scale_days=1_000, shape=2.5))
    assert due["due_reason"].tolist() == ["economy"]
    assert (due["due_on"].iloc[0] - after(0)).days == pytest.approx(193, abs=4)
    assert due["limit_on"].isna().all()


def test_cost_is_a_limit_only_where_the_position_is_critical():
    positions = [a_position(position="P-1", critical=True), a_position(position="P-2", critical=False)]
    tables = build_fleet(position_count=2, positions=positions)
    due = due_in(tables, law=KnownLaw(tables, scale_days=1_000))
    assert due["due_reason"].tolist() == ["economy", "economy"]
    assert due["limit_reason"].tolist() == ["economy", "none"]


@pytest.mark.parametrize(
    "change", [{"failure_cost": 200.0}, {"failure_cost": 150.0}, {"failure_cost": None}, NO_COSTS]
)
def test_without_a_failure_dearer_than_planned_nothing_is_due_on_cost(change):
    tables = build_fleet(positions=[a_position(position="P-1", **change)])
    assert due_in(tables, law=KnownLaw(tables, scale_days=800))["due_reason"].tolist() == ["none"]


def test_a_falling_hazard_is_never_due_on_cost():
    tables = build_fleet()
    assert due_in(tables, law=KnownLaw(tables, scale_days=800, shape=0.7))["due_reason"].tolist() == ["none"]


def test_the_earliest_reason_is_named():
    tables = build_fleet()
    law = KnownLaw(tables, scale_days=1e6)
    age = int(law.installed["age_days"].iloc[0])
    law.installed["age_hours"] = 0.0
    due = due_in(tables, law=law, limits={"age_limit_days": age + 50, "hours_limit": 8 * 40})
    assert due["due_reason"].tolist() == ["hours_limit"]
    assert due["due_on"].tolist() == [after(40)]


def test_a_fleet_without_assemblies_has_nothing_due():
    assert due_in(build_fleet(installations=[])).empty


def test_the_day_of_today_is_an_argument():
    tables = build_fleet()
    later = find_due(
        look_ahead(KnownLaw(tables, scale_days=1e6, as_of=date(2028, 1, 4)), tables, Settings()),
        margins_of(tables),
        limits_of(tables, age_limit_days=2_000),
        tables["inspections"],
        date(2028, 1, 4),
    )
    assert later["due_on"].tolist() == [pd.Timestamp("2024-01-04") + pd.Timedelta(days=2_000)]
