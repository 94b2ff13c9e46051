"""Lives become machines watched, and what is told of them by fleet and machine model."""

from datetime import date, timedelta

import numpy as np
import pandas as pd
import pytest

from forecasting.hindsight.trends import WATCHED_AT_ONCE, tell_trends
from forecasting.life.standing import Standing
from tests.forecasting.builders import AS_OF, a_machine, a_site, build_fleet

REGISTER_BEGAN = date(2022, 1, 4)


def hoses_in_turn(machine: str, position: str, failed_on: list[str]) -> list[dict]:
    """The hoses of one position, each put in when the one before it failed; the last is still there."""
    began = ["2020-01-01", *failed_on]
    return [
        {
            "assembly": f"{machine}/{position}/{number}",
            "machine": machine,
            "position": position,
            "design": "D-1",
            "installed_on": installed_on,
            "removed_on": removed_on,
            "removal_cause": "failed" if removed_on else None,
        }
        for number, (installed_on, removed_on) in enumerate(zip(began, [*failed_on, None], strict=True))
    ]


def trends_of(failed_on: dict[str, list[str]], machines: list[dict] | None = None, **site) -> list[dict]:
    """Of machines of ten hours a day, each with one position whose failures are given."""
    machines = machines or [a_machine(name) for name in failed_on]
    tables = build_fleet(
        sites=[a_site(register_began_on=REGISTER_BEGAN) | site],
        machines=machines,
        positions=[{"machine": name, "position": "boom 1", "design": "D-1"} for name in failed_on],
        installations=[
            one for name, days in failed_on.items() for one in hoses_in_turn(name, "boom 1", days)
        ],
        meter_readings=[
            {"machine": one["machine"], "read_on": day, "hours": 10.0 * (day - date(2020, 1, 1)).days}
            for one in machines
            for day in (date(2020, 1, 1), AS_OF)
        ],
    )
    standing = Standing.on(tables, AS_OF)
    return tell_trends(standing.lives, standing.usage)


def days(*after_begin: int) -> list[str]:
    return [str(REGISTER_BEGAN + timedelta(days=one)) for one in after_begin]


LATE = {f"M-{one}": days(950 + 10 * one, 1200 + 9 * one, 1500 + 8 * one) for one in range(8)}
WATCHED_DAYS = (AS_OF - REGISTER_BEGAN).days
EVEN = {
    f"N-{one}": days(*early) if one % 2 else days(*(WATCHED_DAYS - day for day in reversed(early)))
    for one, early in ((one, (300 + 10 * one, 900 + one, 1400 - 10 * one)) for one in range(8))
}
MACHINES = [a_machine(name) for name in LATE] + [a_machine(name, model="Digger 30") for name in EVEN]


def test_fleet_and_models_are_told_each_with_its_own_words():
    everything, digger, loader = trends_of(LATE | EVEN, MACHINES)
    assert [one["scope"] for one in (everything, digger, loader)] == [
        "all", "machine_model:Digger 30", "machine_model:Loader 20",
    ]  # fmt: skip
    assert (everything["machines"], everything["failures"]) == (16, 48)
    assert loader["trend"] == "closer" and (loader["earlier"], loader["later"]) == (0, 24)
    assert digger["trend"] == "none" and digger["p_value"] > 0.2
    alone = trends_of(LATE)[1]
    assert loader["p_value"] == pytest.approx(2 * alone["p_value"])  # of two models looked at


def test_what_failed_before_the_register_began_counts_nowhere():
    early = {name: [str(date(2021, 6, 1)), *failed_on] for name, failed_on in EVEN.items()}
    machines = [a_machine(name) for name in EVEN]
    told, without = trends_of(early, machines), trends_of(EVEN, machines)
    assert told == without
    assert told[0]["failures"] == 24


def test_spans_of_machine_hours_begin_with_the_register_and_hold_the_rate():
    # From 7,340 h on, ten a day: three failures of each machine in 18,260 h.
    (everything, _) = trends_of(EVEN)
    spans = pd.DataFrame(everything["spans"])
    assert spans["from_hours"].iloc[0] == 5_000 and spans["until_hours"].iloc[-1] == 30_000
    assert spans["failures"].sum() == 24 and (spans["machines"] == 8).all()
    watched = np.minimum(spans["until_hours"], 25_600) - np.maximum(spans["from_hours"], 7_340)
    assert (spans["per_1000_hours"] * watched).tolist() == pytest.approx(
        (1000 * spans["failures"] / 8).tolist()
    )
    some = spans[spans["failures"] > 0]
    assert (some["low"] < some["per_1000_hours"]).all() and (some["per_1000_hours"] < some["high"]).all()
    assert spans.loc[spans["failures"] == 0, ["low", "high"]].isna().all(axis=None)


def test_few_machines_have_a_rate_and_no_interval():
    few = dict(list(EVEN.items())[: WATCHED_AT_ONCE - 1])
    told = trends_of(few)[0]
    assert all(span["low"] is None and span["high"] is None for span in told["spans"])
    assert sum(span["failures"] for span in told["spans"]) == 12


def test_a_fleet_of_which_nothing_was_watched_is_told_nothing_of():
    assert trends_of({}) == []
    assert trends_of({"M-1": []}, register_began_on=AS_OF) == []


def test_a_machine_without_a_model_counts_in_the_fleet_alone():
    told = trends_of(EVEN, [a_machine(name, model=None) for name in EVEN])
    assert [one["scope"] for one in told] == ["all"]
