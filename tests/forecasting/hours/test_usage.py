import datetime

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from forecasting.hours.usage import ASSUMED_HOURS_PER_DAY, fit_usage
from tests.forecasting.builders import build_tables

AS_OF = datetime.date(2024, 7, 1)


def usage_of(readings=(), *, noted=(), as_of=AS_OF, **machine):
    """Usage of a machine with readings (day, hours[, yes: new meter]) and notes (on, hours[, off, hours])."""
    tables = build_tables(
        machines=[{"machine": "EX-01", "site": "north", **machine}],
        meter_readings=[
            {"machine": "EX-01", "read_on": day, "hours": hours, "meter_replaced": bool(new) or None}
            for day, hours, *new in readings
        ],
        installations=[
            {
                "assembly": f"A{number}",
                "machine": "EX-01",
                "position": "boom",
                "installed_on": note[0],
                "installed_hours": note[1],
                "removed_on": note[2] if len(note) > 2 else None,
                "removed_hours": note[3] if len(note) > 2 else None,
            }
            for number, note in enumerate(noted)
        ],
    )
    return fit_usage(tables["machines"], tables["meter_readings"], tables["installations"], as_of)


def hours_on(usage, *days):
    return usage.hours_at(pd.Series(["EX-01"] * len(days)), pd.Series(pd.to_datetime(list(days))))


def test_hours_between_two_readings_run_evenly():
    usage = usage_of([("2024-01-01", 1000), ("2024-01-11", 1100)])
    assert hours_on(usage, "2024-01-01", "2024-01-05", "2024-01-11") == pytest.approx([1000, 1040, 1100])


def test_hours_are_carried_forward_at_the_rate_of_the_last_year():
    usage = usage_of([("2022-01-01", 0), ("2023-01-01", 730), ("2024-01-01", 4380)])
    assert usage.rates["hours_per_day"].item() == pytest.approx(10)
    assert usage.rates["basis"].item() == "readings"
    assert hours_on(usage, "2024-01-31") == pytest.approx([4380 + 300])


def test_hours_run_back_before_the_first_reading_until_the_meter_stood_at_nought():
    usage = usage_of([("2023-06-01", 500), ("2024-06-01", 500 + 3660)])
    assert hours_on(usage, "2023-05-12", "2020-01-01") == pytest.approx([300, 0])


def test_a_replaced_meter_goes_on_where_the_old_one_stopped():
    readings = [("2023-01-01", 5000), ("2023-07-20", 7000), ("2023-08-09", 0, "yes"), ("2024-02-25", 2000)]
    usage = usage_of(readings)
    # Ten hours a day on both meters, so 200 ran in the 20 days that neither showed.
    assert hours_on(usage, "2023-08-09", "2024-02-25") == pytest.approx([7200, 9200])


def test_a_new_meter_may_start_at_what_the_old_one_showed():
    usage = usage_of([("2023-01-01", 5000), ("2023-07-20", 7000), ("2023-08-09", 7200, "yes")])
    assert hours_on(usage, "2023-08-09") == pytest.approx([7200])


def test_replacing_the_meter_of_a_machine_at_a_steady_rate_changes_nothing():
    days = pd.date_range("2022-01-01", "2024-06-01", freq="30D")
    steady = [(day, 8.0 * (day - days[0]).days) for day in days]
    replaced = [(day, hours - 1000 if hours > 3000 else hours) for day, hours in steady]
    first_new = next(place for place, (_, hours) in enumerate(steady) if hours > 3000)
    replaced[first_new] = (*replaced[first_new], "yes")
    asked = ["2021-06-01", "2023-01-17", "2024-12-01"]
    one, two = usage_of(steady), usage_of(replaced)
    assert hours_on(two, *asked) == pytest.approx(hours_on(one, *asked))
    pd.testing.assert_frame_equal(one.rates, two.rates)


def test_a_first_reading_of_a_new_meter_leaves_the_hours_before_it_to_the_rate():
    usage = usage_of([("2023-01-01", 20, "yes"), ("2024-01-01", 20 + 3650)], commissioned_on="2022-01-01")
    assert hours_on(usage, "2022-01-01", "2023-01-01") == pytest.approx([0, 3650])


def test_a_machine_commissioned_with_a_new_meter_began_at_nought():
    usage = usage_of([("2023-12-31", 2920)], commissioned_on="2022-12-31")
    assert hours_on(usage, "2022-12-31", "2023-07-01") == pytest.approx([0, 1456])
    assert usage.rates[["hours_per_day", "basis"]].iloc[0].tolist() == [pytest.approx(8), "readings"]


def test_a_used_machine_did_not_run_its_hours_since_it_came():
    usage = usage_of([("2023-01-11", 9000), ("2024-01-11", 9000 + 3650)], commissioned_on="2023-01-01")
    assert hours_on(usage, "2023-01-01") == pytest.approx([8900])


def test_a_meter_that_shows_too_little_for_the_age_was_changed_before_the_records():
    usage = usage_of([("2023-01-01", 50), ("2024-01-01", 3700)], commissioned_on="2013-01-03")
    assert hours_on(usage, "2023-01-01") == pytest.approx([36500])


def test_an_estimate_counts_until_readings_exist():
    usage = usage_of(hours_per_day=6, commissioned_on="2024-01-01")
    assert hours_on(usage, "2024-01-11") == pytest.approx([60])
    assert usage.rates["basis"].item() == "estimate"
    read = usage_of([("2023-01-01", 0), ("2024-01-01", 3650)], hours_per_day=6)
    assert read.rates["hours_per_day"].item() == pytest.approx(10)


def test_what_nobody_read_is_wider_than_what_was_read():
    read = usage_of([("2023-01-01", 0), ("2024-01-01", 3650)])
    assert usage_of(hours_per_day=10).rates["hours_per_day_sd"].item() > read.rates["hours_per_day_sd"].item()


def test_a_machine_without_a_word_takes_the_fleet_s_median():
    tables = build_tables(
        machines=[{"machine": name, "site": "north"} for name in ("A", "B", "C", "D")],
        meter_readings=[
            {"machine": name, "read_on": day, "hours": hours}
            for name, rate in (("A", 4), ("B", 7), ("C", 20))
            for day, hours in (("2023-01-01", 100), ("2024-01-01", 100 + 365 * rate))
        ],
    )
    rates = fit_usage(tables["machines"], tables["meter_readings"], tables["installations"], AS_OF).rates
    assert rates.iloc[3][["hours_per_day", "basis"]].tolist() == [pytest.approx(7), "fleet"]


def test_a_fleet_without_a_word_is_assumed_to_work_one_shift():
    rates = usage_of().rates
    assert rates["hours_per_day"].item() == ASSUMED_HOURS_PER_DAY  # common practice, no source
    assert rates["basis"].item() == "assumed"


def test_hours_noted_when_a_hose_is_changed_are_a_reading():
    usage = usage_of(
        [("2023-01-01", 0), ("2023-12-31", 3640)], noted=[("2023-03-02", 1000, "2023-05-01", 1500)]
    )
    assert hours_on(usage, "2023-03-02", "2023-05-01") == pytest.approx([1000, 1500])


@pytest.mark.parametrize(
    "hours", [4000, 2, 15], ids=["above the next", "far below the last", "just below the last"]
)
def test_hours_noted_that_would_make_the_meter_run_backward_are_not_taken(hours):
    readings = [("2022-12-31", 20), ("2023-01-01", 30), ("2023-12-31", 3670)]
    usage = usage_of(readings, noted=[("2023-07-02", hours)])
    assert hours_on(usage, "2023-07-02") == pytest.approx([30 + 1820])


def test_one_slip_among_the_hours_noted_costs_itself_alone():
    noted = [
        ("2023-01-01", 0),
        ("2023-02-10", 400),
        ("2023-03-22", 8000),
        ("2023-05-01", 1200),
        ("2023-06-10", 1600),
    ]
    usage = usage_of(noted=noted)
    assert hours_on(usage, "2023-02-10", "2023-03-22", "2023-06-10") == pytest.approx([400, 800, 1600])


def test_a_retired_machine_stops():
    usage = usage_of([("2023-01-01", 0), ("2024-01-01", 3650)], retired_on="2024-01-31")
    assert hours_on(usage, "2024-01-31", "2024-07-01") == pytest.approx([3950, 3950])
    assert usage.rates[["hours_per_day", "hours_per_day_sd"]].iloc[0].tolist() == [0, 0]


def test_the_rate_before_and_after_a_day_is_told():
    usage = usage_of([("2023-01-01", 0), ("2023-04-11", 1000), ("2023-07-20", 1500)])
    before, after = usage.rates_at(pd.Series(["EX-01"]), pd.Series(pd.to_datetime(["2023-04-11"])))
    assert (before.item(), after.item()) == (pytest.approx(10), pytest.approx(5))


def test_a_machine_nobody_has_and_a_missing_day_are_refused():
    usage = usage_of()
    with pytest.raises(ValueError, match="Machine EX-99 is not among the machines"):
        usage.hours_at(pd.Series(["EX-99"]), AS_OF)
    with pytest.raises(ValueError, match="missing day"):
        usage.hours_at(pd.Series(["EX-01"]), pd.Series([pd.NaT]))


def rates_of_quarters(rates_by_machine: np.ndarray) -> pd.DataFrame:
    """Rates of machines read once a quarter, whose hours a day in each quarter are given."""
    days = pd.to_datetime(AS_OF) - pd.to_timedelta(91 * np.arange(rates_by_machine.shape[1] + 1)[::-1], "D")
    names = [f"M{number}" for number in range(len(rates_by_machine))]
    readings = [
        {"machine": name, "read_on": day, "hours": hours}
        for name, rates in zip(names, rates_by_machine, strict=True)
        for day, hours in zip(days, np.append(0.0, np.cumsum(91 * rates)), strict=True)
    ]
    tables = build_tables(
        machines=[{"machine": name, "site": "north"} for name in names], meter_readings=readings
    )
    return fit_usage(tables["machines"], tables["meter_readings"], tables["installations"], AS_OF).rates


def test_quarters_that_differ_by_chance_are_noise_and_no_drift():
    rng = np.random.default_rng(5)
    rates = rates_of_quarters(10 + rng.normal(0, 2.0, (300, 8)))
    assert rates["hours_per_day_noise"].median() == pytest.approx(2.0, abs=0.3)
    assert rates["hours_per_day_drift"].max() < 0.5
    # Of a year's mean, four quarters: half the spread of one.
    assert (rates["hours_per_day_sd"] / rates["hours_per_day_noise"]).median() == pytest.approx(0.5, abs=0.03)


def test_rates_that_wander_from_quarter_to_quarter_are_drift():
    rng = np.random.default_rng(6)
    rates = rates_of_quarters(10 * np.exp(np.cumsum(rng.normal(0, 0.12, (300, 8)), axis=1)))
    share = rates["hours_per_day_drift"] / rates["hours_per_day"]
    assert share.median() == pytest.approx(0.12, abs=0.03)


READINGS = st.lists(st.tuples(st.integers(1, 200), st.floats(0, 24), st.booleans()), min_size=0, max_size=12)


@settings(max_examples=30, deadline=None)
@given(steps=READINGS, split=st.integers(0, 10), share=st.floats(0.05, 0.95))
def test_hours_never_fall_and_a_reading_on_the_line_changes_nothing(steps, split, share):
    day, hours, readings = pd.Timestamp("2019-01-01"), 0.0, []
    for days, rate, replaced in steps:
        day, hours = day + pd.Timedelta(days=days), 0.0 if replaced else hours + rate * days
        readings.append((day, hours, replaced))
    one = usage_of(readings)
    asked = pd.date_range("2017-01-01", "2027-01-01", freq="17D")
    course = hours_on(one, *asked)
    assert np.isfinite(course).all()
    assert (np.diff(course) >= -1e-6).all()
    assert (one.rates["hours_per_day_sd"] >= 0).all()

    if split + 1 < len(readings) and not readings[split + 1][2] and steps[split + 1][0] > 1:
        (start, low, _), (end, high, _) = readings[split : split + 2]
        between = start + pd.Timedelta(days=max(1, int(share * (end - start).days)))
        value = low + (high - low) * (between - start) / (end - start)
        two = usage_of([*readings, (between, value, False)])
        assert hours_on(two, *asked) == pytest.approx(course, abs=1e-3)
        pd.testing.assert_frame_equal(one.rates, two.rates, rtol=1e-6)


def test_row_order_is_irrelevant():
    rows = [("2023-01-01", 0), ("2023-07-20", 2000), ("2023-08-09", 0, "yes"), ("2024-02-25", 2000)]
    days = ["2022-06-01", "2023-07-29", "2024-06-01"]
    assert hours_on(usage_of(rows[::-1]), *days).tolist() == hours_on(usage_of(rows), *days).tolist()
