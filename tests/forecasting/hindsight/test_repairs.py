"""The mean count of failures of machines watched over different spans, and the test for a trend in them."""

import numpy as np
import pytest
from scipy import stats

from forecasting.hindsight.repairs import FEWEST_FAILURES, FEWEST_MACHINES, Watch


def failing_by_power_law(
    rng: np.random.Generator, machines: int, shape: float, per_machine: float, begin: float = 0.0
) -> Watch:
    """Machines of 10,000 h watched since `begin` at the latest, each with a rate of its own; shape 1 is no
    trend."""
    end = np.full(machines, 10_000.0)
    since = rng.uniform(0.0, begin, machines)
    own = rng.gamma(2.0, per_machine / 2.0, machines)
    machine = np.repeat(np.arange(machines), rng.poisson(own))
    hours = end[machine] * rng.uniform(size=len(machine)) ** (1 / shape)
    return Watch.through(since, end, machine, hours)


def test_of_machines_watched_alike_the_error_is_that_of_a_mean():
    rng = np.random.default_rng(1)
    counts = rng.poisson(3.0, 30)
    machine = np.repeat(np.arange(30), counts)
    watch = Watch.through(np.zeros(30), np.full(30, 9.0), machine, rng.uniform(0.0, 9.0, len(machine)))
    told = watch.mean_count(np.array([0.0, 9.0])).iloc[0]
    assert told["mean"] == pytest.approx(counts.mean())
    assert told["se"] == pytest.approx(counts.std() / np.sqrt(30))


def test_three_machines_reckoned_by_hand():
    # Watched until 12, 16 and 20; failures at 5 and 8, none, at 1, 8 and 16: three are watched, then two.
    watch = Watch.through(
        np.zeros(3), np.array([12.0, 17.0, 20.0]), np.array([0, 0, 2, 2, 2]), np.array([5.0, 8, 1, 8, 16])
    )
    told = watch.mean_count(np.array([0.0, 20.0])).iloc[0]
    assert told["mean"] == pytest.approx(1 / 3 + 1 / 3 + 2 / 3 + 1 / 2)
    others = [-1 / 9 + 2 / 9 + 1 / 9, -1 / 9 - 1 / 9 - 2 / 9 - 1 / 4, 2 / 9 - 1 / 9 + 1 / 9 + 1 / 4]
    assert told["se"] == pytest.approx(np.sqrt(np.square(others).sum()))
    assert told["se_poisson"] == pytest.approx(np.sqrt(4 / 9 + 1 / 4))
    assert told["at_once"] == pytest.approx(5 / told["mean"])


def test_a_machine_counts_only_while_it_is_watched():
    # Of four machines two are watched from 100 h on; what failed at 50 h, failed among two.
    watch = Watch.through(
        np.array([0.0, 0.0, 100.0, 100.0]), np.full(4, 200.0), np.array([0, 2, 3]), np.array([50.0, 90, 150])
    )
    told = watch.mean_count(np.array([0.0, 100.0, 200.0]))
    assert told["mean"].tolist() == pytest.approx([1 / 2, 1 / 4])
    assert told["machines"].tolist() == [2, 4]
    assert told["failures"].tolist() == [1, 1]  # the failure at 90 h came before its machine was watched


def test_hours_in_which_nobody_watched_are_left_out():
    watch = Watch.through(
        np.array([10.0, 20.0, 60.0]), np.array([30.0, 40.0, 80.0]), np.array([0]), np.array([15.0])
    )
    assert watch.mean_count(np.array([0.0, 50.0, 100.0]))["watched_hours"].tolist() == [30.0, 20.0]


def test_intervals_of_few_machines_that_differ_and_come_late_hold():
    # Gamma-different machines, watched from any hour on; those of five at once too.
    rng, held = np.random.default_rng(2), []
    for _ in range(600):
        begin = rng.uniform(0.0, 3.0, 8)
        end = begin + rng.uniform(3.0, 8.0, 8)
        machine = np.repeat(np.arange(8), rng.poisson(rng.gamma(2.0, 0.5, 8) * (end - begin)))
        watch = Watch.through(begin, end, machine, rng.uniform(begin[machine], end[machine]))
        told = watch.mean_count(np.array([3.0, 5.0])).iloc[0]
        if told["at_once"] >= 5:
            off = stats.t.ppf(0.975, told["at_once"] - 1) * max(told["se"], told["se_poisson"]) / told["mean"]
            held.append(abs(np.log(told["mean"] / 2.0)) <= off)
    assert len(held) > 400
    assert np.mean(held) == pytest.approx(0.95, abs=0.025)


@pytest.mark.parametrize("machines", [6, 40])
def test_without_a_trend_one_is_rarely_seen(machines):
    rng = np.random.default_rng(3)
    p_values = [failing_by_power_law(rng, machines, 1.0, 6.0, 8_000).trend()["p_value"] for _ in range(800)]
    told = np.array([one for one in p_values if one is not None])
    assert len(told) > 600
    assert (told < 0.05).mean() < 0.065


def test_where_the_register_began_late_none_is_seen_that_is_only_its_beginning():
    # Taken as watched since they were new, the same machines seem to fail ever more.
    rng = np.random.default_rng(4)
    watch = failing_by_power_law(rng, 60, 1.0, 6.0, 8_000)
    as_if_new = Watch(np.zeros(60), watch.end, watch.machine, watch.hours)
    assert as_if_new.trend()["p_value"] < 0.001 < 0.05 < watch.trend()["p_value"]


def test_failures_that_come_closer_or_apart_are_told_so():
    rng = np.random.default_rng(5)
    wearing = failing_by_power_law(rng, 30, 2.0, 4.0)
    told = wearing.trend()
    assert told["trend"] == "closer" and told["p_value"] < 0.01 and told["later"] > told["earlier"]
    backward = Watch(wearing.begin, wearing.end, wearing.machine, 10_000.0 - wearing.hours)
    assert backward.trend() | {"earlier": 0, "later": 0} == told | {
        "trend": "apart", "p_value": pytest.approx(told["p_value"]), "earlier": 0, "later": 0,
    }  # fmt: skip


def test_machines_in_another_order_and_hours_in_another_unit_change_nothing():
    rng = np.random.default_rng(6)
    watch = failing_by_power_law(rng, 12, 1.4, 4.0, 5_000)
    order = rng.permutation(12)
    other = Watch(
        watch.begin[order] / 24, watch.end[order] / 24, order.argsort()[watch.machine], watch.hours / 24
    )
    assert other.trend() == watch.trend() | {"p_value": pytest.approx(watch.trend()["p_value"])}
    edges = np.array([0.0, 4_000.0, 10_000.0])
    for name in ("mean", "se"):
        ours, theirs = watch.mean_count(edges)[name], other.mean_count(edges / 24)[name]
        assert theirs.tolist() == pytest.approx(ours.tolist())


def test_too_little_is_said_with_its_reason():
    few = Watch(np.zeros(9), np.full(9, 10.0), np.arange(7), np.full(7, 6.0))
    assert len(few.hours) < FEWEST_FAILURES
    assert few.trend()["why_none"] == "too_few_failures" and few.trend()["p_value"] is None
    of_three = Watch(np.zeros(9), np.full(9, 10.0), np.arange(12) % 3, np.linspace(6.0, 9.0, 12))
    assert len(np.unique(of_three.machine)) < FEWEST_MACHINES
    assert of_three.trend()["why_none"] == "too_few_machines" and of_three.trend()["trend"] == "untold"
    nothing = Watch(np.zeros(2), np.full(2, 10.0), np.zeros(0, int), np.zeros(0))
    assert nothing.trend()["why_none"] == "too_few_failures"
    assert nothing.mean_count(np.array([0.0, 10.0]))[["mean", "se"]].iloc[0].tolist() == [0.0, 0.0]
