"""The fleets in which policies are lived with: common lives, honest counts, and costs added up by hand."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from tests.benchmarks.laws import AS_OF_DAY, KINDS
from tests.benchmarks.lived_cost import (
    MONTHS,
    change_as_planned,
    change_at_age,
    change_knowing,
    know_luck,
    learn_luck,
    live_under,
    tell_shares,
)
from tests.benchmarks.lived_fleets import LivedFleet, first_day_of

LAST_DAY = first_day_of(MONTHS)


def a_fleet(kind: str = "gamma_luck", positions: int = 40, seed: int = 1, **more) -> LivedFleet:
    return LivedFleet.begin(replace(KINDS[kind], positions=positions), seed, **more)


def ended(fleet: LivedFleet) -> pd.DataFrame:
    lives = fleet.lives()[["position", "assembly", "start_day", "removed_day", "cause"]]
    return lives.sort_values(["position", "start_day"], ignore_index=True)


def test_a_fleet_that_nobody_plans_is_the_same_month_by_month_and_in_one_go():
    by_month, at_once = live_under(a_fleet(), change_at_age(np.inf)), a_fleet()
    at_once.live(np.full(40, np.inf), AS_OF_DAY, LAST_DAY)
    assert by_month.planned == by_month.stops == 0 and by_month.failures > 10
    pd.testing.assert_frame_equal(ended(by_month), ended(at_once))


def test_what_a_policy_leaves_alone_lives_as_under_any_other():
    left, touched = a_fleet(), a_fleet()
    left.live(np.full(40, np.inf), AS_OF_DAY, LAST_DAY)
    day = np.where(np.arange(40) < 20, AS_OF_DAY + 10.0, np.inf)
    touched.live(day, AS_OF_DAY, LAST_DAY)
    assert touched.planned == 20
    others = [ended(fleet).query("position >= 20").reset_index(drop=True) for fleet in (left, touched)]
    pd.testing.assert_frame_equal(*others)
    assert not ended(left).equals(ended(touched))


def test_the_next_hose_wears_by_its_own_number_whenever_it_is_fitted():
    law = replace(KINDS["gamma_luck"], positions=20, damage_per_year=1e-9, age_years=1e4)
    early, late = (LivedFleet.begin(replace(law, early_share=(0.0,) * 4), 3) for _ in range(2))
    run = []
    for fleet, wait in ((early, 5.0), (late, 11.0)):
        fleet.hoses["fails_on"] = np.inf
        fleet.live(np.full(20, AS_OF_DAY + wait), AS_OF_DAY, AS_OF_DAY + 20)
        hoses = fleet.hoses[np.isfinite(fleet.hoses["fails_on"])]
        machine = hoses["machine"].to_numpy()
        at_end = fleet.usage.hours_at(machine, hoses["fails_on"].to_numpy())
        run.append(pd.Series(at_end - hoses["start_hours"].to_numpy(), index=hoses.index))
    assert len(run[0]) > 5
    both = pd.concat(run, axis=1).dropna()
    assert both[0].to_numpy() == pytest.approx(both[1].to_numpy(), abs=24.0)  # days are whole


def test_two_positions_by_hand():
    fleet = LivedFleet.begin(replace(KINDS["no_luck"], positions=2, per_machine=2), 1)
    fleet.fates.damage_days[:] = np.inf
    fleet.hoses["fails_on"] = [AS_OF_DAY + 4.0, AS_OF_DAY + 900.0]
    # The first is gone before its stop, which is still made for the second.
    fleet.live(np.full(2, AS_OF_DAY + 9.0), AS_OF_DAY, AS_OF_DAY + 9)
    assert (fleet.failures, fleet.planned, fleet.stops) == (1, 1, 1)
    assert fleet.cost == 2_500 + 300 + 150
    assert fleet.hoses["start_day"].tolist() == [AS_OF_DAY + 4, AS_OF_DAY + 9]
    gone = fleet.lives().iloc[-4:-2]
    assert gone["removed_day"].tolist() == [AS_OF_DAY + 4, AS_OF_DAY + 9]
    assert gone["cause"].iloc[0] in ("failed", "worn", "unknown") and gone["cause"].iloc[1] == "planned"


def test_a_stop_of_two_hoses_is_set_up_once():
    fleet = LivedFleet.begin(replace(KINDS["no_luck"], positions=2, per_machine=2), 1)
    fleet.fates.damage_days[:] = np.inf
    fleet.hoses["fails_on"] = np.inf
    fleet.live(np.full(2, AS_OF_DAY + 9.0), AS_OF_DAY, AS_OF_DAY + 9)
    assert fleet.cost == 2 * 300 + 150


@pytest.mark.parametrize("kind", ["lemons", "bad_lots"])
def test_as_many_fail_as_the_law_lets_expect(kind):
    fleet = live_under(a_fleet(kind, 200), change_at_age(1.5))
    assert fleet.failures == pytest.approx(fleet.hazard, abs=3.5 * fleet.hazard**0.5)


def test_the_oldest_go_first_where_a_window_has_little_labour():
    fleet = a_fleet(labour_minutes=120.0)
    changed = change_at_age(1.0)(fleet, 0)
    for _, hoses in fleet.hoses.groupby("machine"):
        done = np.isfinite(changed[hoses.index])
        old = AS_OF_DAY + 30 - hoses["built_day"] > 400
        assert done.sum() <= 2
        assert done.sum() == 2 or old.sum() < 2
        assert hoses["built_day"][done].max() <= hoses["built_day"][~done & old].min() or old.sum() <= 2


@pytest.mark.parametrize(
    "decide", [change_as_planned(1), change_knowing(know_luck), change_knowing(learn_luck)]
)
def test_a_month_is_planned_from_its_register_and_done(decide):
    fleet = live_under(a_fleet(positions=20), decide, months=2)
    assert fleet.planned > 0 and fleet.stops > 0
    assert fleet.tables()["installations"]["assembly"].is_unique


def test_shares_are_sums_over_the_fleets_of_a_kind():
    costs = {
        "run_to_failure": (100.0, 200.0),
        "fixed_age 1.00": (90.0, 150.0),
        "fixed_age 2.00": (80.0, 190.0),
    }
    costs |= {"knows_law": (60.0, 110.0), "knows_luck": (50.0, 100.0), "plan": (60.0, 105.0)}
    results = pd.DataFrame(
        [
            {
                "kind": "k",
                "seed": seed,
                "policy": policy,
                "cost": paid,
                "expected_cost": paid,
                "end_cost": 0.0,
                "failures": 1,
                "planned": 1,
            }
            for policy, both in costs.items()
            for seed, paid in enumerate(both)
        ]
    )
    told = tell_shares(results).iloc[0]
    assert told["plan"] == pytest.approx(135 / 150)
    assert told["fixed_age"] == pytest.approx(70 / 150)  # each fleet its own best age
    assert told["knows_law"] == pytest.approx(130 / 150)
