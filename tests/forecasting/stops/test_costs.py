"""What a year costs under each way of working, against exact figures."""

import numpy as np
import pytest

from forecasting.outputs import CHANGEOUTS
from forecasting.policies import Settings
from forecasting.stops.costs import compare_policies
from forecasting.stops.prospects import look_ahead
from forecasting.tables import make_table
from tests.forecasting.builders import (
    KnownLaw,
    a_position,
    a_window,
    build_fleet,
)

NOTHING_PLANNED = make_table(None, CHANGEOUTS)
USUAL = Settings()


def costs_of(tables, law, settings=USUAL, *, changeouts=NOTHING_PLANNED):
    return compare_policies(changeouts, look_ahead(law, tables, settings), law, tables, settings)


def one_position(planned=1.0, failure=5.0, **more):
    positions = [a_position(position="P-1", planned_cost=planned, failure_cost=failure)]
    return build_fleet(positions=positions, **more)


def test_one_position_costs_a_year_what_barlow_and_proschan_say():
    # planned 1, failure 5, scale 1000, shape 2.5: age 493.05, cost rate .003462043 a day (computed from
    # Barlow & Proschan's condition); run to failure costs 5 a mean life of 1000·Γ(1 + 1/2.5) = 887.264 days.
    tables = one_position()
    costs = costs_of(tables, KnownLaw(tables, scale_days=1_000))
    assert costs["plan"] == pytest.approx(365 * 0.003462043, rel=1e-4)
    assert costs["best_fixed_age"] == pytest.approx(costs["plan"], rel=1e-3)
    assert costs["best_fixed_age_days"] == pytest.approx(493.05, rel=0.02)
    assert costs["run_to_failure"] == pytest.approx(365 * 5 / 887.264, rel=1e-4)
    assert costs["run_to_failure_failures"] == pytest.approx(365 / 887.264, rel=1e-4)
    assert costs["run_to_failure_planned_changeouts"] == 0


def test_hoses_of_different_lives_are_cheaper_each_at_its_own_age():
    tables = build_fleet(1, 2)
    law = KnownLaw(tables, scale_days=np.array([600.0, 3_000.0]), shape=3)
    costs = costs_of(tables, law)
    assert costs["plan"] < 0.95 * costs["best_fixed_age"] < costs["run_to_failure"]


def test_a_falling_hazard_is_cheapest_left_to_fail():
    tables = one_position()
    costs = costs_of(tables, KnownLaw(tables, shape=0.7))
    assert costs["plan"] == pytest.approx(costs["run_to_failure"])
    assert costs["best_fixed_age"] == pytest.approx(costs["run_to_failure"])
    assert costs["best_fixed_age_days"] is None
    assert costs["plan_planned_changeouts"] == 0


@pytest.mark.parametrize(
    "policy", [{"age_limit_days": 200}, {"hours_limit": 1_600}, {"risk_limit": 0.05, "risk_horizon_days": 90}]
)
def test_a_limit_below_the_best_age_costs_money_and_saves_failures(policy):
    free, held = one_position(), one_position(policies=[{"scope": "all", **policy}])
    without = costs_of(free, KnownLaw(free, scale_days=1_000))
    limited = costs_of(held, KnownLaw(held, scale_days=1_000))
    assert limited["plan"] > without["plan"]
    assert limited["plan_failures"] < without["plan_failures"]
    assert limited["plan_planned_changeouts"] > without["plan_planned_changeouts"]


def test_without_any_costs_no_money_is_named():
    tables = one_position(planned=None, failure=None)
    costs = costs_of(tables, KnownLaw(tables))
    assert costs["plan"] is None
    assert costs["run_to_failure"] is None
    assert costs["best_fixed_age"] is None
    assert costs["assemblies_without_costs"] == 1


def test_a_risk_limit_that_new_hose_breaks_too_does_not_mean_a_changeout_a_day():
    hasty = one_position(policies=[{"scope": "all", "risk_limit": 1e-6, "risk_horizon_days": 365}])
    free = one_position()
    limited, without = (costs_of(one, KnownLaw(one, scale_days=1_000)) for one in (hasty, free))
    assert limited["plan_planned_changeouts"] == without["plan_planned_changeouts"]


def years_with_windows(starts: list[str], law: dict, **more) -> dict[str, float]:
    windows = [a_window(starts_on=day) for day in starts]
    tables = one_position(planned=100.0, failure=500.0, service_windows=windows, **more)
    return costs_of(tables, KnownLaw(tables, **law))


def test_waiting_for_rare_windows_is_borne_by_every_planned_policy_alike():
    law = {"scale_days": 1_000}
    often = years_with_windows(["2027-02-01", "2027-03-03"], law)  # 30 days
    rarely = years_with_windows(["2027-02-01", "2028-02-01"], law)  # 365 days
    assert rarely["plan"] > 1.005 * often["plan"]
    assert rarely["best_fixed_age"] == pytest.approx(rarely["plan"], rel=1e-4)
    assert rarely["run_to_failure"] == often["run_to_failure"]


def test_a_changeout_that_waits_comes_anywhere_between_two_windows():
    # The cost of an age uniform over [T, T + w], by the trapezium rule on 2,001 ages and the best T of 1,500.
    scale, shape, wait = 1_000.0, 2.5, 365.0
    day = np.linspace(0, 2_000, 20_001)
    survival = np.exp(-((day / scale) ** shape))
    served = np.concatenate([[0], np.cumsum((survival[1:] + survival[:-1]) / 2 * np.diff(day))])

    def rate(due: float) -> float:
        ages = np.linspace(due, due + wait, 2_001)
        alive, time = np.interp(ages, day, survival).mean(), np.interp(ages, day, served).mean()
        return (500 - 400 * alive) / time

    best = min(rate(due) for due in np.arange(1, 1_500, 1.0))
    costs = years_with_windows(["2027-02-01", "2028-02-01"], {"scale_days": scale, "shape": shape})
    assert costs["plan"] == pytest.approx(365 * best, rel=1e-3)


def test_no_limit_is_waited_past():
    law, limit = {"scale_days": 1_000}, [{"scope": "all", "age_limit_days": 400}]
    rarely = years_with_windows(["2027-02-01", "2028-02-01"], law, policies=limit)
    often = years_with_windows(["2027-02-01", "2027-02-11"], law, policies=limit)
    # Changed at 217 and at 395 days on average: the fewer windows, the earlier each must go.
    assert rarely["plan_failures"] < often["plan_failures"]
    assert rarely["plan_planned_changeouts"] > 1.5 * often["plan_planned_changeouts"]


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_where_hoses_wear_and_failures_are_dear_the_plan_beats_the_fixed_age_and_that_run_to_failure(seed):
    rng = np.random.default_rng(seed)
    windows = [a_window(f"M-{m}", f"2027-{month:02d}-01") for m in (1, 2, 3) for month in (2, 5, 8, 11)]
    tables = build_fleet(3, 10, service_windows=windows)
    law = KnownLaw(tables, scale_days=rng.uniform(700, 4_000, 30), shape=rng.uniform(1.8, 3.5, 30))
    costs = costs_of(tables, law, Settings(stop_setup_cost=150.0))
    assert costs["plan"] < costs["best_fixed_age"] < costs["run_to_failure"]


def test_stops_that_are_shared_are_shared_under_every_policy():
    tables = build_fleet(1, 3)
    law, settings = KnownLaw(tables, scale_days=1_000), Settings(stop_setup_cost=300.0)
    rows = [
        {"changeout": "M-1 2027-02-01", "machine": "M-1", "planned_on": "2027-02-01", "special_stop": False}
        | {"assembly": f"M-1/P-{n}", "position": f"P-{n}", "design": "D-1", "due_reason": "economy"}
        | {"reason": "It is due."}
        for n in (1, 2, 3)
    ]
    apart = [row | {"changeout": f"{row['changeout']} {n}"} for n, row in enumerate(rows)]
    shared, alone = (
        costs_of(tables, law, settings, changeouts=make_table(one, CHANGEOUTS)) for one in (rows, apart)
    )
    assert shared["plan"] < alone["plan"]
    assert shared["best_fixed_age"] == pytest.approx(shared["plan"], rel=1e-3)
    assert alone["best_fixed_age"] == pytest.approx(alone["plan"], rel=1e-3)


def test_planned_cost_is_read_off_the_bill_of_materials_where_none_is_given():
    # Hose 901.7 − 2 · 44.45 mm = 0.8128 m at 10, two ends at 8, 45 minutes at 60 an hour: 69.128.
    bare = one_position(planned=None, failure=500.0)
    told = one_position(planned=0.8128 * 10 + 2 * 8 + 45, failure=500.0)
    settings = Settings(labour_cost_per_hour=60.0)
    costs = [costs_of(t, KnownLaw(t), settings)["plan"] for t in (bare, told)]
    assert costs[0] == pytest.approx(costs[1])


LASTS = np.linspace(0.5, 2.0, 41)  # times as long as a known law, each as likely


def costs_if_lives_are_not_known(tables):
    return costs_of(tables, KnownLaw(tables, scale_days=1_000, scale_draws=LASTS))


def test_a_year_is_the_mean_of_what_the_draws_of_the_law_leave_open_and_has_their_range():
    # Left to fail, whoever lives d times as long fails a d-th as often, whatever the place held before.
    tables = build_fleet(3, 4)
    certain = costs_of(tables, KnownLaw(tables, scale_days=1_000))
    costs = costs_if_lives_are_not_known(tables)
    low, high = np.quantile(1 / LASTS, [0.1, 0.9])
    for name in ("run_to_failure", "run_to_failure_failures"):
        assert costs[name] == pytest.approx(np.mean(1 / LASTS) * certain[name], rel=1e-3)
        assert costs[f"{name}_low"] == pytest.approx(low * certain[name], rel=1e-3)
        assert costs[f"{name}_high"] == pytest.approx(high * certain[name], rel=1e-3)
    assert costs["plan_low"] < costs["plan"] < costs["plan_high"]


@pytest.mark.parametrize("shape", [1.2, 2.5])
def test_no_other_age_is_told_to_cost_less_than_the_best_fixed_age(shape):
    # Lives between a tenth and ten times as long: mixed, they have another best age than taken one by one.
    lasts = np.geomspace(0.1, 10.0, 41)

    def cost(**more):
        tables = one_position(planned=100.0, failure=2_000.0, **more)
        return costs_of(tables, KnownLaw(tables, shape=shape, scale_draws=lasts))

    told = cost()
    at_ages = [
        cost(policies=[{"scope": "all", "age_limit_days": float(age)}])["plan"]
        for age in np.geomspace(told["best_fixed_age_days"] / 8, told["best_fixed_age_days"], 25)
    ]
    assert told["best_fixed_age"] < told["run_to_failure"]
    assert told["plan"] == pytest.approx(told["best_fixed_age"], rel=1e-3)
    assert min(at_ages) > told["best_fixed_age"] * (1 - 1e-3)


def test_what_is_saved_is_told_draw_by_draw():
    # Both cost more where hoses live less: what they differ by swings less than the dearer one.
    costs = costs_if_lives_are_not_known(build_fleet(3, 4))
    low, high = (costs[f"saved_against_run_to_failure_{end}"] for end in ("low", "high"))
    assert 0 < low < costs["run_to_failure"] - costs["plan"] < high
    assert high - low < costs["run_to_failure_high"] - costs["run_to_failure_low"]
    assert low > costs["run_to_failure_low"] - costs["plan_high"]


def test_a_law_known_for_certain_leaves_nothing_open():
    tables = build_fleet(3, 4)
    costs = costs_of(tables, KnownLaw(tables, scale_days=1_000))
    for name in ("plan", "plan_failures", "best_fixed_age"):
        assert costs[f"{name}_low"] == pytest.approx(costs[name]) == costs[f"{name}_high"]


def test_a_large_fleet_is_followed_in_part_and_told_whole():
    few, many = (build_fleet(size, 20) for size in (50, 150))  # 1,000 positions are followed
    drawn = {"scale_days": 1_000, "scale_draws": np.linspace(0.5, 2.0, 11)}
    small, large = (costs_of(tables, KnownLaw(tables, **drawn)) for tables in (few, many))
    for name in ("plan_low", "plan_high", "saved_against_best_fixed_age_high"):
        assert large[name] == pytest.approx(3 * small[name], rel=1e-6, abs=1e-3)


def test_without_costs_no_range_is_told():
    tables = build_fleet(positions=[a_position(position="P-1", planned_cost=None, failure_cost=None)])
    costs = costs_of(tables, KnownLaw(tables))
    assert (costs["plan"], costs["plan_failures"], costs["plan_planned_changeouts"]) == (None, 0.0, 0.0)
    assert not [name for name in costs if name.endswith(("_low", "_high"))]
