"""What is changed in which window, what gets a special stop, and what is left."""

from datetime import date, timedelta

import numpy as np
import pandas as pd
import pytest

from forecasting.policies import Settings
from forecasting.stops.changeouts import plan_changeouts
from forecasting.stops.due import find_due
from forecasting.stops.prospects import look_ahead
from tests.forecasting.builders import (
    AS_OF,
    KnownLaw,
    a_machine,
    a_position,
    a_site,
    a_window,
    an_installation,
    build_fleet,
    limits_of,
    margins_of,
)

MONTHLY = [a_window(starts_on=f"2027-{month:02d}-10") for month in range(1, 13)]


def plan(tables, *, law=None, limits=None, verdicts=None, settings=None, announced=None):
    """The changeouts and the gap; hoses last for ever where no law is given."""
    law, settings = law or KnownLaw(tables, scale_days=1e6), settings or Settings()
    prospects = look_ahead(law, tables, settings)
    due = find_due(
        prospects,
        margins_of(tables, **(verdicts or {})),
        limits_of(tables, **(limits or {})),
        tables["inspections"],
        AS_OF,
    )
    return plan_changeouts(due, prospects, tables, settings, AS_OF, announced)


def aged_fleet(machine_count=6, position_count=5, *, seed=3, **more):
    """Machines with hoses of all ages, monthly windows, and a law under which some are due each month."""
    rng = np.random.default_rng(seed)
    places = [(f"M-{m}", f"P-{p}") for m in range(1, machine_count + 1) for p in range(1, position_count + 1)]
    usual = {
        "positions": [
            a_position(m, p, changeout_minutes=float(rng.integers(30, 90)), failure_cost=float(cost))
            for (m, p), cost in zip(places, rng.integers(800, 4_000, len(places)), strict=True)
        ],
        "installations": [
            an_installation(f"{m}/{p}", m, p, built_on=date(2024, 1, 1) + timedelta(days=int(days)))
            for (m, p), days in zip(places, rng.integers(0, 1_000, len(places)), strict=True)
        ],
        "service_windows": [
            a_window(f"M-{m}", str(date(2027, 1, 6) + timedelta(days=30 * k + m)))
            for m in range(1, machine_count + 1)
            for k in range(12)
        ],
    }
    tables = build_fleet(machine_count, position_count, **{**usual, **more})
    return tables, KnownLaw(tables, scale_days=1_600, shape=2.6)


def cost_of(changeouts, law, settings):
    """What the changed ones cost less than left, as the plan itself says, set-ups included."""
    stops = changeouts["changeout"].nunique()
    saved = changeouts["expected_cost_if_left"] - changeouts["expected_cost_now"]
    return stops * settings.stop_setup_cost - saved.sum()


def test_a_fleet_that_lasts_needs_no_changeout():
    changeouts, gap = plan(build_fleet(2, 3, service_windows=MONTHLY))
    assert changeouts.empty
    assert gap == 0


def test_each_changeout_lies_in_a_window_of_its_machine_or_is_a_special_stop():
    tables, law = aged_fleet()
    changeouts, _ = plan(tables, law=law, limits={"age_limit_days": 1_000, "risk_limit": 0.3})
    assert len(changeouts) > 8
    in_window = changeouts[~changeouts["special_stop"].astype(bool)]
    windows = tables["service_windows"].rename(columns={"starts_on": "window_starts_on"})
    placed = in_window.merge(windows, on=["machine", "window_starts_on"])
    assert len(placed) == len(in_window)
    assert placed["planned_on"].between(placed["window_starts_on"], placed["ends_on"]).all()
    assert changeouts.loc[changeouts["special_stop"].astype(bool), "window_starts_on"].isna().all()


def test_a_hose_is_changed_in_the_window_nearest_its_best_age():
    # scale 1000, shape 2.5, failure five times planned: best age 493.05; this one is 300 days old.
    tables = build_fleet(
        positions=[a_position(position="P-1", planned_cost=100.0, failure_cost=500.0)],
        installations=[an_installation(position="P-1", built_on=AS_OF - timedelta(days=300))],
        service_windows=MONTHLY,
    )
    changeouts, gap = plan(tables, law=KnownLaw(tables, scale_days=1_000))
    assert changeouts["changeout"].tolist() == ["M-1 2027-07-10"]  # due 16 July
    assert changeouts["special_stop"].tolist() == [False]
    assert gap == pytest.approx(0)
    assert changeouts["expected_cost_now"].iloc[0] < changeouts["expected_cost_if_left"].iloc[0]


def test_a_limit_forbids_every_later_window():
    tables = build_fleet(service_windows=MONTHLY)
    age = (AS_OF - date(2024, 1, 4)).days
    changeouts, _ = plan(tables, limits={"age_limit_days": age + 100})  # reached on 14 April
    assert changeouts["planned_on"].tolist() == [pd.Timestamp("2027-04-10")]
    assert "age limit on 14 Apr 2027" in changeouts["reason"].iloc[0]


def test_without_costs_a_limit_is_used_to_the_last_window_and_the_reason_says_so():
    positions = [a_position(position="P-1", planned_cost=None, failure_cost=None, design=None)]
    tables = build_fleet(positions=positions, service_windows=MONTHLY)
    age = (AS_OF - date(2024, 1, 4)).days
    changeouts, _ = plan(tables, limits={"age_limit_days": age + 200})
    assert changeouts["planned_on"].tolist() == [pd.Timestamp("2027-07-10")]
    assert "costs are not known" in changeouts["reason"].iloc[0]
    assert changeouts[["expected_cost_now", "expected_cost_if_left"]].isna().all(axis=None)


def test_what_has_no_window_in_time_gets_a_special_stop_on_its_last_day():
    tables = build_fleet(service_windows=[a_window(starts_on="2027-06-01")])
    age = (AS_OF - date(2024, 1, 4)).days
    changeouts, _ = plan(tables, limits={"age_limit_days": age + 67})
    assert changeouts["special_stop"].tolist() == [True]
    assert changeouts["planned_on"].tolist() == [pd.Timestamp("2027-03-12")]
    assert changeouts["changeout"].tolist() == ["M-1 2027-03-12 special"]
    assert changeouts["reason"].iloc[0] == (
        "It reaches its age limit on 12 Mar 2027; no window of this machine by 12 Mar 2027: a special stop."
    )


def test_a_limit_reached_by_the_plans_day_is_told_without_a_day_that_nobody_reckoned():
    tables = build_fleet(service_windows=[a_window(starts_on="2027-06-01")])
    changeouts, _ = plan(tables, limits={"age_limit_days": 100})
    assert changeouts["reason"].iloc[0].startswith("It has reached its age limit; no window")


def test_an_unfit_hose_is_stopped_for_today_but_in_a_window_that_runs():
    shut = build_fleet(service_windows=MONTHLY)
    changeouts, _ = plan(shut, verdicts={"M_1_P_1": "short"})
    assert changeouts["special_stop"].tolist() == [True]
    assert changeouts["planned_on"].tolist() == [pd.Timestamp(AS_OF)]
    running = build_fleet(service_windows=[a_window(starts_on="2027-01-02", days=7)])
    changeouts, _ = plan(running, verdicts={"M_1_P_1": "short"})
    assert changeouts["special_stop"].tolist() == [False]
    assert changeouts["planned_on"].tolist() == [pd.Timestamp(AS_OF)]
    assert changeouts["changeout"].tolist() == ["M-1 2027-01-02"]


def test_a_window_that_is_over_is_not_used():
    tables = build_fleet(service_windows=[a_window(starts_on="2026-12-20", days=3)])
    changeouts, _ = plan(tables, verdicts={"M_1_P_1": "short"})
    assert changeouts["special_stop"].tolist() == [True]


def test_a_machine_without_windows_is_stopped_on_the_day_cost_says():
    tables = build_fleet(
        positions=[a_position(position="P-1", planned_cost=100.0, failure_cost=500.0)],
        installations=[an_installation(position="P-1", built_on=AS_OF - timedelta(days=300))],
    )
    changeouts, _ = plan(tables, law=KnownLaw(tables, scale_days=1_000))
    assert changeouts["special_stop"].tolist() == [True]
    assert changeouts["planned_on"].tolist() == changeouts["due_on"].tolist()
    assert "no window of this machine within 365 days" in changeouts["reason"].iloc[0]


def test_what_takes_longer_than_every_window_is_changed_on_the_day_cost_says():
    positions = [
        a_position(position=f"P-{n}", changeout_minutes=minutes, planned_cost=100.0, failure_cost=500.0)
        for n, minutes in ((1, 240.0), (2, 40.0))
    ]
    installations = [
        an_installation(f"A{n}", position=f"P-{n}", built_on=AS_OF - timedelta(days=300)) for n in (1, 2)
    ]
    windows = [a_window(starts_on=f"2027-{month:02d}-10", labour_minutes=180.0) for month in range(1, 13)]
    tables = build_fleet(positions=positions, installations=installations, service_windows=windows)
    changeouts, gap = plan(tables, law=KnownLaw(tables, scale_days=1_000))
    told = changeouts.set_index("position")
    assert told["special_stop"].to_dict() == {"P-1": True, "P-2": False}
    assert told.loc["P-1", "planned_on"] == told.loc["P-1", "due_on"]
    assert "no window of this machine has the 240 minutes that it takes" in told.loc["P-1", "reason"]
    assert gap == pytest.approx(0)


def test_what_takes_longer_than_every_window_goes_by_its_limit():
    positions = [a_position(position="P-1", changeout_minutes=240.0)]
    windows = [a_window(starts_on="2027-01-10", labour_minutes=180.0)]
    tables = build_fleet(positions=positions, service_windows=windows)
    age = (AS_OF - date(2024, 1, 4)).days
    changeouts, _ = plan(tables, limits={"age_limit_days": age + 67})
    assert changeouts["special_stop"].tolist() == [True]
    assert changeouts["planned_on"].tolist() == [pd.Timestamp("2027-03-12")]
    assert "has the 240 minutes that it takes" in changeouts["reason"].iloc[0]


def test_only_what_fits_no_window_goes_in_a_special_stop():
    tables = build_fleet(1, 2, service_windows=[a_window(starts_on="2027-01-20")])
    law = KnownLaw(tables, scale_days=np.array([1e6, 700.0]))  # the second is overdue on cost alone
    changeouts, _ = plan(
        tables, law=law, verdicts={"M_1_P_1": "short"}, settings=Settings(stop_setup_cost=150)
    )
    stop = changeouts.set_index("position")["changeout"]
    assert stop["P-1"] == "M-1 2027-01-04 special"
    assert stop["P-2"] == "M-1 2027-01-20"


def test_special_stops_of_one_machine_are_shared_where_a_stop_is_dear():
    installations = [
        an_installation("A-1", position="P-1", built_on="2022-01-04"),
        an_installation("A-2", position="P-2", built_on="2022-01-24"),
    ]
    tables = build_fleet(
        1, 2, installations=installations, service_windows=[a_window(starts_on="2027-11-01")]
    )
    age = (AS_OF - date(2022, 1, 4)).days
    dear, _ = plan(tables, limits={"age_limit_days": age + 30}, settings=Settings(stop_setup_cost=500))
    assert dear["changeout"].tolist() == ["M-1 2027-02-03 special"] * 2
    assert dear["reason"].iloc[1].endswith("done in a special stop that this machine needs.")


def test_a_critical_position_is_not_deferred_past_its_due_date():
    def planned(critical):
        tables = build_fleet(
            positions=[a_position(position="P-1", planned_cost=100.0, failure_cost=500.0, critical=critical)],
            installations=[an_installation(position="P-1", built_on=AS_OF - timedelta(days=300))],
            service_windows=[a_window(starts_on="2027-03-01"), a_window(starts_on="2027-07-20")],
        )
        return plan(tables, law=KnownLaw(tables, scale_days=1_000))[0]["planned_on"].tolist()

    assert planned(False) == [pd.Timestamp("2027-07-20")]  # nearest to the due date of 16 July
    assert planned(True) == [pd.Timestamp("2027-03-01")]


@pytest.mark.parametrize("law", [{"shape": 0.8, "scale_days": 600}, {"shape": 1.0, "scale_days": 600}])
def test_a_hazard_that_does_not_rise_brings_no_changeout(law):
    tables, _ = aged_fleet()
    assert plan(tables, law=KnownLaw(tables, **law))[0].empty


def test_failures_no_dearer_than_changeouts_bring_none():
    positions = [a_position("M-1", f"P-{p}", planned_cost=200.0, failure_cost=150.0) for p in range(1, 6)]
    tables, law = aged_fleet(1, 5, positions=positions)
    assert plan(tables, law=law)[0].empty


def test_a_dear_stop_is_shared():
    tables, law = aged_fleet(3, 10)
    free, _ = plan(tables, law=law, settings=Settings(stop_setup_cost=0))
    dear, gap = plan(tables, law=law, settings=Settings(stop_setup_cost=400))
    assert dear["changeout"].nunique() < free["changeout"].nunique()
    assert len(dear) / dear["changeout"].nunique() > len(free) / free["changeout"].nunique()
    assert gap == pytest.approx(0, abs=1e-6)


def test_a_window_holds_no_more_work_than_its_labour():
    tables, law = aged_fleet(2, 12)
    tables["service_windows"]["labour_minutes"] = 100.0
    changeouts, gap = plan(tables, law=law)
    assert changeouts.groupby("changeout")["minutes"].sum().max() <= 100
    assert changeouts["changeout"].nunique() > 2
    assert gap < 0.1


def test_what_its_windows_have_no_labour_for_gets_a_special_stop():
    age = (AS_OF - date(2024, 1, 4)).days
    tables = build_fleet(
        1, 3, service_windows=[a_window(starts_on="2027-02-10", labour_minutes=100.0)]
    )  # two of 45 minutes each
    changeouts, _ = plan(tables, limits={"age_limit_days": age + 60})
    assert sorted(changeouts["special_stop"]) == [False, False, True]
    crowded_out = changeouts[changeouts["special_stop"].astype(bool)]
    assert crowded_out["planned_on"].tolist() == [pd.Timestamp(AS_OF + timedelta(days=60))]
    assert "have no labour left" in crowded_out["reason"].iloc[0]


def test_what_takes_more_than_its_site_ever_has_gets_a_special_stop_and_the_others_their_window():
    age = (AS_OF - date(2024, 1, 4)).days
    minutes = {"P-1": 400.0, "P-2": 20.0, "P-3": 20.0}
    tables = build_fleet(
        1,
        3,
        positions=[a_position("M-1", name, changeout_minutes=much) for name, much in minutes.items()],
        service_windows=[a_window(starts_on="2027-02-10")],
        site_labour=site_labour(60.0),
    )
    changeouts, gap = plan(tables, limits={"age_limit_days": age + 60})
    special = changeouts.set_index("position")["special_stop"].astype(bool)
    assert special.to_dict() == {"P-1": True, "P-2": False, "P-3": False}
    assert gap == pytest.approx(0.0, abs=1e-6)


def site_labour(minutes):
    return [
        {
            "site": "North",
            "starts_on": AS_OF + timedelta(days=7 * week),
            "ends_on": AS_OF + timedelta(days=7 * week + 6),
            "labour_minutes": minutes,
        }
        for week in range(53)
    ]


def minutes_by_week(changeouts):
    weeks = (changeouts["planned_on"] - pd.Timestamp(AS_OF)).dt.days // 7
    return changeouts[~changeouts["special_stop"].astype(bool)].groupby(weeks)["minutes"].sum()


@pytest.mark.parametrize("minutes", [60.0, 200.0])
def test_all_machines_of_a_site_stay_within_its_labour(minutes):
    tables, law = aged_fleet(5, 5, site_labour=site_labour(minutes))
    changeouts, gap = plan(tables, law=law, settings=Settings(stop_setup_cost=50))
    assert minutes_by_week(changeouts).max() <= minutes
    assert 0 <= gap < 1.0


def test_more_labour_never_costs_more_than_the_gap():
    settings = Settings(stop_setup_cost=50)
    costs, gaps = [], []
    for minutes in (60.0, 200.0, 1e6):
        tables, law = aged_fleet(5, 5, site_labour=site_labour(minutes))
        changeouts, gap = plan(tables, law=law, settings=settings)
        costs.append(cost_of(changeouts, law, settings))
        spent = changeouts["expected_cost_now"].sum() + settings.stop_setup_cost * len(changeouts)
        gaps.append(gap / 100 * spent * 2)
    assert gaps[-1] == pytest.approx(0, abs=1e-6)
    for less, more, gap in zip(costs[:-1], costs[1:], gaps[1:], strict=True):
        assert more <= less + gap + 1e-6


def test_one_more_window_never_costs_more():
    settings = Settings(stop_setup_cost=80)
    tables, law = aged_fleet(4, 8)
    fewer, _ = plan(tables, law=law, settings=settings)
    tables["service_windows"] = pd.concat(
        [
            tables["service_windows"],
            build_fleet(service_windows=[a_window("M-2", "2027-02-20")])["service_windows"],
        ],
        ignore_index=True,
    )
    more, _ = plan(tables, law=law, settings=settings)
    assert cost_of(more, law, settings) <= cost_of(fewer, law, settings) + 1e-6


def test_the_order_of_the_rows_changes_nothing():
    tables, _ = aged_fleet()
    turned = {name: frame.iloc[::-1].reset_index(drop=True) for name, frame in tables.items()}
    settings = Settings(stop_setup_cost=60)
    usual, _ = plan(tables, law=KnownLaw(tables, scale_days=1_600, shape=2.6), settings=settings)
    other, _ = plan(turned, law=KnownLaw(turned, scale_days=1_600, shape=2.6), settings=settings)
    pd.testing.assert_frame_equal(usual, other)


def test_an_announced_window_is_kept_unless_moving_saves_enough():
    tables, law = aged_fleet(1, 1, seed=5)
    best, _ = plan(tables, law=law)
    window = tables["service_windows"]["starts_on"]
    later = window[window > best["window_starts_on"].iloc[0]].iloc[0]
    announced = best.assign(window_starts_on=later, planned_on=later)
    kept, _ = plan(tables, law=law, announced=announced, settings=Settings(least_saving_to_move=500))
    moved, _ = plan(tables, law=law, announced=announced, settings=Settings(least_saving_to_move=0))
    assert kept["window_starts_on"].tolist() == [later]
    assert "announced" in kept["reason"].iloc[0]
    assert moved["window_starts_on"].tolist() == best["window_starts_on"].tolist()


def test_an_announced_window_past_a_limit_is_not_kept():
    tables = build_fleet(service_windows=MONTHLY)
    age = (AS_OF - date(2024, 1, 4)).days
    usual, _ = plan(tables, limits={"age_limit_days": age + 100})
    later = pd.Timestamp("2027-08-10").as_unit("s")
    announced = usual.assign(window_starts_on=later, planned_on=later)
    again, _ = plan(tables, limits={"age_limit_days": age + 100}, announced=announced)
    assert again["planned_on"].tolist() == [pd.Timestamp("2027-04-10")]


def test_the_plan_announced_is_the_plan_again():
    tables, law = aged_fleet(3, 6, site_labour=site_labour(60.0))
    settings = Settings(stop_setup_cost=60)
    first, _ = plan(tables, law=law, settings=settings)
    again, _ = plan(tables, law=law, settings=settings, announced=first)
    assert dict(zip(first["assembly"], first["changeout"], strict=True)) == dict(
        zip(again["assembly"], again["changeout"], strict=True)
    )


def test_sites_do_not_share_each_others_labour():
    tables, law = aged_fleet(
        2,
        8,
        sites=[a_site("North"), a_site("South")],
        machines=[a_machine("M-1", site="North"), a_machine("M-2", site="South")],
        site_labour=site_labour(60.0),
    )
    changeouts, _ = plan(tables, law=law)
    north = changeouts[changeouts["machine"] == "M-1"]
    south = changeouts[changeouts["machine"] == "M-2"]
    assert minutes_by_week(north).max() <= 60
    assert minutes_by_week(south).max() > 60
