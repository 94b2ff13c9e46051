"""Past dates replayed: what would have been said, held against what then happened."""

from datetime import date, timedelta

import numpy as np
import pandas as pd
import pytest

from forecasting.hindsight.backtest import (
    SERVICE,
    forecast_on,
    last_recorded_day,
    past_days,
    replay,
    tell_scores,
)
from forecasting.inputs import INPUTS
from forecasting.tables import make_table
from tests.benchmarks.laws import AS_OF, KINDS, small
from tests.benchmarks.worlds import simulate
from tests.forecasting.builders import (
    a_machine,
    a_position,
    a_site,
    an_installation,
    build_tables,
    hose,
    hose_end,
)

ORIGIN = AS_OF - timedelta(days=400)


def chance() -> np.random.Generator:
    return np.random.default_rng(0)


@pytest.fixture(scope="module")
def tables():
    return simulate(small(KINDS["gamma_luck"], 200), 3).tables


@pytest.fixture(scope="module")
def made(tables):
    return replay(tables, [ORIGIN, AS_OF - timedelta(days=100)], AS_OF, chance)


def test_each_date_and_horizon_that_is_over_is_scored_for_three_models(made):
    scored = made.scores.groupby(["as_of", "model"])["horizon_days"].agg(list)
    for model in ("service", "age_only", "one_life_table"):
        assert scored[pd.Timestamp(ORIGIN), model] == [30, 90, 180, 365]
        assert scored[pd.Timestamp(AS_OF - timedelta(days=100)), model] == [30, 90]
    assert len(made.passed_over) == 2
    assert "180 days from then are not over" in made.passed_over[0]


def test_the_models_are_scored_on_the_same_assemblies(made):
    alike = made.scores.groupby(["as_of", "horizon_days"])[["installed", "observed"]].nunique()
    assert (alike == 1).all(axis=None)


def test_failures_come_about_as_expected(made):
    year = made.scores[(made.scores["horizon_days"] == 365) & (made.scores["model"] == SERVICE)].iloc[0]
    assert year["low_95"] <= year["observed"] <= year["high_95"]
    assert 0 < year["log_loss"] < np.log(2)


def test_what_was_recorded_later_changes_no_forecast(tables):
    later = ORIGIN + timedelta(days=1)
    installations = tables["installations"].copy()
    installed = installations["removed_on"].isna()
    installations.loc[installed, "removed_on"] = pd.Timestamp(later)
    installations.loc[installed, "removal_cause"] = "failed"
    readings = tables["meter_readings"]
    after = readings["read_on"] > pd.Timestamp(ORIGIN)
    spun = readings.assign(hours=readings["hours"].where(~after, readings["hours"] * 2))
    changed = tables | {"installations": installations, "meter_readings": spun}

    before, now = (forecast_on(one, ORIGIN, chance()) for one in (tables, changed))
    assert not (after.sum() == 0 or installed.sum() == 0)
    assert before.assemblies.equals(now.assemblies)
    for model, chances in before.chances.items():
        pd.testing.assert_frame_equal(chances, now.chances[model])


def test_the_words_say_how_many_came_of_how_many_expected(made):
    words = tell_scores(made)
    year = made.scores[(made.scores["horizon_days"] == 365) & (made.scores["model"] == SERVICE)].iloc[0]
    assert any(
        f"Within 365 days of 1 past date: {year['expected']:,.1f} failures expected" in one
        and f"{year['observed']} came" in one
        for one in words
    )
    assert any(one.startswith("Of ") and " assemblies given 20–30 %, " in one for one in words)


def test_a_date_before_any_record_is_passed_over_with_the_reason(tables):
    long_ago = date(1990, 1, 1)
    made = replay(tables, [long_ago], AS_OF, chance)
    assert made.scores.empty
    assert made.passed_over == ["1990-01-01: no assembly was installed and watched on that day."]
    assert tell_scores(made) == []


def test_what_came_off_after_its_machines_last_day_is_not_scored_in_between():
    def register(removed_on: str | None) -> dict[str, pd.DataFrame]:
        cause = "machine_retired" if removed_on else None
        left = an_installation("A-0", "M-2", removed_on=removed_on, removal_cause=cause)
        kept = [an_installation(f"A-{n}", position=f"boom {n}") for n in (1, 2, 3)]
        return build_tables(
            sites=[a_site(register_began_on="2020-01-01")],
            machines=[
                a_machine(hours_per_day=8.0),
                a_machine("M-2", hours_per_day=8.0, retired_on="2025-01-01"),
            ],
            parts=[hose(), hose_end()],
            positions=[a_position("M-2"), *(a_position(position=f"boom {n}") for n in (1, 2, 3))],
            installations=[left, *kept],
        )

    day, until = date(2025, 1, 20), date(2026, 1, 25)
    stripped, forgotten = (replay(register(on), [day], until, chance).scores for on in ("2025-02-03", None))
    assert stripped["installed"].eq(3).all()
    assert stripped.equals(forgotten)
    alone = register("2025-02-03")
    alone["installations"] = alone["installations"].head(1)
    assert replay(alone, [day], until, chance).scores.empty


def test_no_register_at_all_gives_no_scores():
    empty = {name: make_table(None, table) for name, table in INPUTS.items()}
    assert last_recorded_day(empty, AS_OF) is None
    assert replay(empty, [ORIGIN], AS_OF, chance).scores.empty


def test_two_hoses_without_a_failure_are_scored_without_a_calibration_line():
    tables = build_tables(
        sites=[a_site()],
        machines=[a_machine(hours_per_day=8.0)],
        parts=[hose(), hose_end()],
        positions=[a_position(), a_position(position="boom 2")],
        installations=[an_installation("A-1"), an_installation("A-2", position="boom 2")],
        inspections=[{"assembly": "A-1", "inspected_on": "2026-01-05", "grade": "fit"}],
    )
    until = last_recorded_day(tables, date(2027, 1, 1))
    assert until == date(2026, 1, 5)
    scores = replay(tables, [date(2025, 1, 4)], until, chance).scores
    assert scores["observed"].eq(0).all()
    assert scores[["log_loss", "brier"]].notna().all(axis=None)
    assert scores[["calibration_slope", "calibration_intercept"]].isna().all(axis=None)


def test_past_days_end_where_the_shortest_horizon_is_not_over():
    days = list(past_days(date(2026, 1, 1), 30, date(2026, 4, 1)))
    assert days == [date(2026, 1, 1), date(2026, 1, 31), date(2026, 3, 2)]
