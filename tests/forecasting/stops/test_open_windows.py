"""What is changed on a later day of a window that is open while its parts come."""

from datetime import timedelta
from itertools import pairwise

import numpy as np
import pandas as pd
import pytest

from forecasting.policies import Settings
from tests.forecasting.builders import AS_OF, KnownLaw, a_position, a_window, an_installation
from tests.forecasting.parts_builders import a_fleet, day, days_of, is_in_time, on_hand, on_order, plan
from tests.forecasting.stops.test_changeouts import cost_of

HOSE = on_hand("H-6", 20.0)


def opens(begins, ends, machine="M-1", **more):
    """A window from one day after the as-of date to another, both in it."""
    return a_window(machine, str(day(begins).date()), days=ends - begins + 1, **more)


def reaching_age_in(days):
    return {"age_limit_days": (AS_OF - pd.Timestamp("2024-01-04").date()).days + float(days)}


def test_parts_that_come_while_the_last_window_is_open_are_fitted_then():
    changeouts, gap, lines = plan(a_fleet(service_windows=[opens(3, 62)]))
    assert days_of(changeouts) == [40]
    assert changeouts["window_starts_on"].tolist() == [day(3)]
    assert changeouts["changeout"].tolist() == ["M-1 2027-01-07"]
    assert not changeouts["special_stop"].any()
    assert (
        changeouts["reason"]
        .iloc[0]
        .endswith("its parts are there from 13 Feb 2027, while this window is open.")
    )
    assert gap == pytest.approx(0, abs=1e-6)
    assert set(lines["needed_by"]) == {day(40)}
    assert is_in_time(changeouts, lines)


@pytest.mark.parametrize(("ends", "planned"), [(39, []), (40, [40])])
def test_a_window_that_closes_before_the_parts_come_is_not_used(ends, planned):
    assert days_of(plan(a_fleet(service_windows=[opens(3, ends)]))[0]) == planned


def test_with_the_parts_on_hand_a_window_is_used_on_its_first_day():
    stock = [HOSE, on_hand("E-6", 10)]
    assert days_of(plan(a_fleet(service_windows=[opens(3, 62)], stock=stock))[0]) == [3]
    assert days_of(plan(a_fleet(service_windows=[opens(-5, 62)], stock=stock))[0]) == [0]


def test_what_is_not_due_yet_gains_nothing_by_waiting_inside_a_window():
    tables = a_fleet(service_windows=[opens(3, 62)], stock=[HOSE, on_hand("E-6", 2)])
    tables["installations"]["built_on"] = pd.Timestamp(AS_OF).as_unit("s")
    law = KnownLaw(tables, scale_days=300.0, shape=5.0)
    changeouts, _, _ = plan(tables, law=law)
    assert changeouts["due_on"].iloc[0] > day(62)
    assert days_of(changeouts) == [3]


def test_a_window_that_is_open_is_not_left_for_the_next():
    tables = a_fleet(service_windows=[opens(3, 62), opens(70, 70)])
    assert days_of(plan(tables)[0]) == [40]


def test_under_a_limit_no_special_stop_is_put_into_an_open_window():
    changeouts, _, lines = plan(a_fleet(service_windows=[opens(3, 62)]), limits=reaching_age_in(60))
    assert days_of(changeouts) == [40]
    assert not changeouts["special_stop"].any()
    assert is_in_time(changeouts, lines)


@pytest.mark.parametrize("due_in", [20, 35])
def test_no_hose_goes_after_its_limit_in_a_window_that_goes_on_beyond_it(due_in):
    tables = a_fleet(service_windows=[opens(3, 62)], stock=[HOSE], open_orders=[on_order("E-6", 2, due_in)])
    changeouts, _, _ = plan(tables, limits=reaching_age_in(30))
    assert days_of(changeouts) == [20 if due_in == 20 else 3]
    assert ("Its kit is short" in changeouts["reason"].iloc[0]) == (due_in == 35)


def two_hoses(*, ends, dearer="P-2", **more):
    positions = [
        a_position("M-1", position, failure_cost=5_000.0 if position == dearer else 1_500.0)
        for position in ("P-1", "P-2")
    ]
    stock = [HOSE, on_hand("E-6", ends)]
    return a_fleet(1, 2, service_windows=[opens(3, 62, **more)], positions=positions, stock=stock)


@pytest.mark.parametrize("dearer", ["P-1", "P-2"])
def test_what_is_on_hand_for_one_goes_to_who_gains_most_and_the_other_waits_in_the_same_stop(dearer):
    changeouts, _, lines = plan(two_hoses(ends=2, dearer=dearer), settings=Settings(stop_setup_cost=300))
    planned = dict(zip(changeouts["position"], days_of(changeouts), strict=True))
    other = {"P-1": "P-2", "P-2": "P-1"}[dearer]
    assert planned == {dearer: 3, other: 40}
    assert changeouts["changeout"].nunique() == 1
    assert dict(zip(lines["kit"], lines["needed_by"], strict=True)) == {
        "K-M-1 2027-01-07": day(3),
        "K-M-1 2027-01-07 2027-02-13": day(40),
    }
    assert is_in_time(changeouts, lines)


def test_a_stop_on_two_days_of_a_window_pays_its_set_up_once():
    tables = two_hoses(ends=2)
    free, _, _ = plan(tables)
    saved = (free["expected_cost_if_left"] - free["expected_cost_now"]).sort_values().tolist()
    dear = Settings(stop_setup_cost=1.01 * saved[0])  # a second one would not pay
    changeouts, gap, _ = plan(tables, settings=dear)
    assert sorted(days_of(changeouts)) == [3, 40]
    assert gap == pytest.approx(0, abs=1e-3)


def test_the_labour_of_a_window_is_that_of_all_its_days():
    changeouts, _, _ = plan(two_hoses(ends=2, labour_minutes=60.0))
    assert changeouts["position"].tolist() == ["P-2"]
    changeouts, _, _ = plan(two_hoses(ends=2, labour_minutes=60.0), limits=reaching_age_in(60))
    assert sorted(zip(days_of(changeouts), changeouts["special_stop"], strict=True)) == [
        (3, False),
        (60, True),
    ]


def test_the_labour_of_a_site_is_shared_by_all_days_of_a_window():
    tables = two_hoses(ends=2)
    labour = {"site": "North", "starts_on": AS_OF, "ends_on": day(90), "labour_minutes": 60.0}
    tables["site_labour"] = pd.concat([tables["site_labour"], pd.DataFrame([labour])]).astype(
        tables["site_labour"].dtypes
    )
    changeouts, _, _ = plan(tables)
    assert changeouts["position"].tolist() == ["P-2"]


def test_once_its_parts_are_ordered_the_day_stays_from_plan_to_plan():
    windows = [opens(-2, 50)]
    first, _, lines = plan(a_fleet(1, 2, service_windows=windows, stock=[HOSE, on_hand("E-6", 2)]))
    assert sorted(days_of(first)) == [0, 40]
    waits = first.loc[first["planned_on"] == day(40), "assembly"].iloc[0]
    ordered = lines.groupby("part")["short_by"].sum()
    assert ordered.to_dict() == {"E-6": 2.0, "H-6": 0.0}
    tables = a_fleet(
        1, 2, service_windows=windows, stock=[HOSE, on_hand("E-6", 2)], open_orders=[on_order("E-6", 2, 40)]
    )
    announced = first
    for passed in (1, 2, 20, 39, 40):
        as_of = AS_OF + timedelta(days=passed)
        announced, _, _ = plan(tables, announced=announced, as_of=as_of)
        planned = announced.set_index("assembly")["planned_on"]
        assert planned[waits] == day(40)
        assert planned.drop(waits).tolist() == [day(passed)], "what has its parts is done at once"
        assert announced["changeout"].unique().tolist() == first["changeout"].unique().tolist()


def test_the_day_stays_where_the_window_ends_on_it_and_where_nothing_was_announced():
    tables = a_fleet(service_windows=[opens(0, 40)], stock=[HOSE], open_orders=[on_order("E-6", 2, 40)])
    for passed in (0, 1, 2, 39):
        changeouts, _, _ = plan(tables, as_of=AS_OF + timedelta(days=passed))
        assert days_of(changeouts) == [40]


def test_a_hose_whose_window_was_kept_waits_in_it_for_its_parts():
    kept = {
        "assembly": "M-1/P-1", "decision": "keep", "day": day(10).date(), "decided_on": day(-1).date(),
    }  # fmt: skip
    changeouts, _, lines = plan(a_fleet(service_windows=[opens(3, 62), opens(70, 70)], decisions=[kept]))
    assert days_of(changeouts) == [40]
    assert is_in_time(changeouts, lines)


@pytest.mark.parametrize(("starts", "planned"), [(1, 20), (21, 21)])
def test_not_before_a_day_inside_a_window_means_that_day(starts, planned):
    waits = {
        "assembly": "M-1/P-1", "decision": "not_before", "day": day(20).date(), "decided_on": day(-1).date(),
    }  # fmt: skip
    tables = a_fleet(service_windows=[opens(starts, 62)], decisions=[waits], stock=[HOSE, on_hand("E-6", 10)])
    assert days_of(plan(tables)[0]) == [planned]


def test_past_a_limit_the_day_of_an_open_window_is_taken_before_a_special_stop():
    waits = {
        "assembly": "M-1/P-1", "decision": "not_before", "day": day(20).date(), "decided_on": day(-1).date(),
        "reason": "the crane is away", "decided_by": "A. Example",
    }  # fmt: skip
    tables = a_fleet(
        service_windows=[opens(1, 62), opens(80, 80)], decisions=[waits], stock=[HOSE, on_hand("E-6", 10)]
    )
    changeouts, _, _ = plan(tables, limits=reaching_age_in(10))
    assert days_of(changeouts) == [20]
    assert not changeouts["special_stop"].any()


def a_short_fleet(seed, longer=0):
    """Machines with windows of all lengths, and too few parts of two designs, some of them on order."""
    rng = np.random.default_rng(seed)
    places = [(f"M-{m}", f"P-{p}") for m in range(1, 6) for p in range(1, 5)]
    windows = [
        opens(begins, begins + int(rng.integers(0, 25)) + longer, f"M-{m}", labour_minutes=float(minutes))
        for m in range(1, 6)
        for begins, minutes in zip((0, 60, 150), rng.integers(60, 200, 3), strict=True)
    ]
    tables = a_fleet(
        5,
        4,
        service_windows=windows,
        positions=[a_position(m, p, failure_cost=float(rng.integers(800, 4_000))) for m, p in places],
        installations=[
            an_installation(f"{m}/{p}", m, p, built_on=day(-rng.integers(300, 1_400)).date())
            for m, p in places
        ],
        stock=[HOSE, on_hand("E-6", 8)],
        open_orders=[on_order("E-6", 10, due_in=12)],
    )
    return tables, KnownLaw(tables, scale_days=1_100.0)


@pytest.mark.parametrize("seed", range(5))
def test_more_days_of_its_windows_never_make_a_plan_dearer_by_more_than_the_gap(seed):
    settings, told = Settings(stop_setup_cost=60), []
    for longer in (0, 3, 9, 25):
        tables, law = a_short_fleet(seed, longer)
        changeouts, gap, lines = plan(tables, law=law, settings=settings)
        assert is_in_time(changeouts, lines)
        assert keeps_to_its_windows(changeouts, tables)
        told.append((cost_of(changeouts, law, settings), gap / 100 * changeouts["expected_cost_now"].sum()))
    for (fewer, _), (more, gap) in pairwise(told):
        assert more <= fewer + gap + 0.01
    assert told[-1][0] < told[0][0] - 1, "and some are cheaper"


def keeps_to_its_windows(changeouts, tables):
    """Whether each is planned on a day of its window, and no window has more work than labour."""
    placed = changeouts.merge(
        tables["service_windows"], left_on=["machine", "window_starts_on"], right_on=["machine", "starts_on"]
    )
    inside = placed["planned_on"].between(placed["starts_on"], placed["ends_on"]).all()
    work = placed.groupby(["machine", "starts_on"]).agg(
        takes=("minutes", "sum"), has=("labour_minutes", "max")
    )
    return (
        inside and (work["takes"] <= work["has"]).all() and len(placed) == (~changeouts["special_stop"]).sum()
    )


def two_with_parts(**more):
    stock = [HOSE, on_hand("E-6", 10)]
    return a_fleet(1, 2, service_windows=[opens(3, 62, **more)], stock=stock)


def changed_on(tables, position, days):
    """The tables after the hose of a position was changed, so many days from the as-of date."""
    old = an_installation(f"M-1/{position}", "M-1", position, removed_on=day(days), removal_cause="planned")
    new = an_installation(f"M-1/{position} new", "M-1", position, installed_on=day(days), built_on=day(days))
    stays = tables["installations"][tables["installations"]["position"] != position]
    rows = pd.concat([stays, pd.DataFrame([old, new])]).reset_index(drop=True)
    return tables | {"installations": rows[stays.columns].astype(stays.dtypes)}


def test_a_window_whose_parts_come_costs_no_more_where_it_opens_sooner():
    planned = {}
    for begins in (1, 39, 40):
        tables = a_fleet(service_windows=[opens(begins, 50), opens(75, 75)], stock=[HOSE])
        tables["installations"]["built_on"] = day(-100).as_unit("s")
        law = KnownLaw(tables, scale_days=300.0, shape=5.0)
        changeouts, gap, _ = plan(tables, law=law, settings=Settings(stop_setup_cost=60))
        planned[begins] = (
            days_of(changeouts),
            changeouts["expected_cost_now"].round(2).tolist(),
            round(gap, 6),
        )
    assert planned[1] == planned[39] == planned[40]
    assert planned[40][0] == [40]


def with_labour_from(tables, first, minutes, then):
    """Site labour to the day before `first`, and other labour from then on."""
    spans = [
        {"site": "North", "starts_on": day(0), "ends_on": day(first - 1), "labour_minutes": minutes},
        {"site": "North", "starts_on": day(first), "ends_on": day(90), "labour_minutes": then},
    ]
    labour = tables["site_labour"]
    return tables | {"site_labour": pd.DataFrame(spans).astype(labour.dtypes)[labour.columns]}


def test_what_the_site_has_no_labour_for_waits_in_the_open_window_until_it_has_and_keeps_that_day():
    tables = with_labour_from(two_with_parts(), 31, 60.0, 600.0)
    announced, planned = None, []
    for later in (0, 1, 10, 25):
        as_of = AS_OF + timedelta(days=later)
        announced, _, _ = plan(tables, announced=announced, as_of=as_of)
        planned.append(sorted(days_of(announced)))
        waits = announced["planned_on"] == day(31)
        assert announced.loc[waits, "reason"].str.endswith("it cannot be done in it sooner.").all()
    assert planned == [[3, 31], [3, 31], [10, 31], [25, 31]]
    limited, _, _ = plan(tables, limits=reaching_age_in(38))
    assert sorted(days_of(limited)) == [3, 31]
    assert not limited["special_stop"].any()


def test_what_was_done_in_an_open_window_has_taken_its_labour_and_paid_its_set_up():
    as_of = AS_OF + timedelta(days=4)
    scarce = two_with_parts(labour_minutes=60.0)
    assert len(plan(scarce)[0]) == 1
    assert len(plan(scarce, as_of=as_of)[0]) == 1
    assert len(plan(changed_on(scarce, "P-2", 3), as_of=as_of)[0]) == 0

    both, _, _ = plan(two_with_parts())
    saving = (both["expected_cost_if_left"] - both["expected_cost_now"]).max()
    settings = Settings(stop_setup_cost=1.5 * saving)
    assert len(plan(two_with_parts(), settings=settings)[0]) == 2
    left, _, _ = plan(changed_on(two_with_parts(), "P-2", 3), settings=settings, as_of=as_of)
    assert left["position"].tolist() == ["P-1"]


def test_what_a_site_did_in_a_span_of_its_labour_has_taken_of_it():
    tables = with_labour_from(two_with_parts(), 80, 60.0, 60.0)
    as_of = AS_OF + timedelta(days=4)
    assert len(plan(tables, as_of=as_of)[0]) == 1
    assert len(plan(changed_on(tables, "P-2", 3), as_of=as_of)[0]) == 0


def test_the_first_hose_of_a_place_was_no_work_of_a_window():
    tables = two_with_parts(labour_minutes=60.0)
    new = an_installation("M-1/P-2", "M-1", "P-2", installed_on=day(3), built_on=day(3))
    rows = tables["installations"]
    first = pd.concat([rows[rows["position"] == "P-1"], pd.DataFrame([new])]).reset_index(drop=True)
    tables = tables | {"installations": first[rows.columns].astype(rows.dtypes)}
    assert plan(tables, as_of=AS_OF + timedelta(days=4))[0]["position"].tolist() == ["P-1"]
