"""The ten lines say what the plan's tables hold, and say so where they hold nothing."""

from datetime import date

import pytest

from fleet.services.plans.telling import ten_lines
from forecasting.outputs import OUTPUTS
from forecasting.tables import make_table

AS_OF = date(2026, 10, 31)
PLACE = {"machine": "WL-01", "position": "tilt base"}


def forecast(assembly, chance_90_days, due_on=None, due_reason="none", **place):
    chances = {f"p_fail_{days}": chance_90_days for days in ("30d", "90d", "180d", "365d")}
    chances |= {"p_fail_365d_low": 0.0, "p_fail_365d_high": 1.0}
    aged = {"age_days": 100, "age_hours": 700, "population": "100R2-8"}
    due = {"due_on": due_on, "due_reason": due_reason}
    return {"assembly": assembly} | PLACE | place | aged | chances | due


def changeout(number, assembly, planned_on, *, special_stop=False):
    said = {"due_reason": "risk", "reason": "likely to fail", "minutes": 45, "special_stop": special_stop}
    return {"changeout": number, "assembly": assembly, "planned_on": planned_on} | PLACE | said


def advice(part, order_now):
    quantities = ("on_hand", "on_order", "planned_demand", "unplanned_demand_mean", "reorder_point")
    quantities += ("order_up_to", "surplus", "expires_unused", "demand_low", "demand_high")
    said = {"site": "S01", "unit": "each", "service_level": 0.95, "why": "short", "order_now": order_now}
    return {"part": part} | said | dict.fromkeys(quantities, 0)


ROWS = {
    "forecasts": [
        forecast("A1", 0.4, "2026-10-31", "inspection"),
        forecast("A2", 0.1, "2026-09-01", "unfit", position="tilt rod"),
        forecast("A3", 0.2, "2027-03-01", "economy", machine="WL-02"),
    ],
    "changeouts": [
        changeout("C1", "A1", "2026-11-02"),
        changeout("C1", "A2", "2026-11-02"),
        changeout("C2", "A3", "2026-11-05", special_stop=True),
        changeout("C3", "A4", "2027-03-01"),
    ],
    "margins": [
        {
            "assembly": "A1",
            "verdict": "short",
            "margin_percent": -50,
            "reason": "240 bar on a hose for 160 bar",
        }
        | PLACE,
        {"assembly": "A2", "verdict": "thin"} | PLACE,
        {"assembly": "A3", "verdict": "sound"} | PLACE,
    ],
    "failures_ahead": [
        {
            "scope": "all",
            "horizon_days": 90,
            "expected": 0.7,
            "low_80": 0,
            "high_80": 2,
            "low_95": 0,
            "high_95": 3,
        }
    ],
    "suspects": [
        {
            "kind": "crimped_by",
            "name": "S01 bench 2",
            "lives": 90,
            "failures": 21,
            "expected": 9.2,
            "ratio": 2.3,
            "ratio_low": 1.5,
            "ratio_high": 3.3,
            "q_value": 0.01,
            "installed_now": 33,
        }
    ],
    "kits": [
        {"kit": "K1", "purpose": "changeout", "site": "S01", "ready": True},
        {"kit": "K2", "purpose": "changeout", "site": "S01", "ready": False},
    ],
    "kit_lines": [
        {
            "kit": "K2",
            "line": 1,
            "part": "E-08",
            "kind": "hose_end",
            "quantity": 2,
            "unit": "each",
            "short_by": 1,
        }
    ],
    "stock_advice": [advice("E-08", 5), advice("F-08", 10), advice("S-08", 0), advice("X-08", 1)],
}


def tables(rows):
    return {name: make_table(rows.get(name), table) for name, table in OUTPUTS.items()}


@pytest.fixture
def lines():
    costs = {"plan": 41_000.0, "run_to_failure": 72_000.4, "best_fixed_age": 48_000.0}
    costs |= {"plan_low": 37_500.0, "plan_high": 46_000.0}
    return ten_lines(tables(ROWS), costs, AS_OF, {"E-08": 12.5, "F-08": 2.0, "S-08": 3.0}, "EUR")


def test_what_is_due_and_stays_is_told_beside_what_is_due():
    later = [one for one in ROWS["changeouts"] if one["assembly"] != "A1"]
    told = ten_lines(tables(ROWS | {"changeouts": later}), {}, AS_OF, {}, "EUR")[1]
    assert told.endswith("unfit); the plan leaves 1 of them in place.")


def test_a_plan_is_told_in_ten_lines_that_its_tables_bear_out(lines):
    assert lines == [
        "As of 2026-10-31: 3 assemblies installed on 2 machines.",
        "Due now: 2 assemblies (1 found worn, 1 rated too low or unfit).",
        "Changeouts in the next 30 days: 3 assemblies in 2 stops, 1 of them outside the service windows; "
        "2 hours of work.",
        "Pressure margins: 1 over the rating, 1 thin, 0 that cannot be judged; the worst is WL-01 tilt base: "
        "240 bar on a hose for 160 bar.",
        "Failures in 90 days if nothing is changed ahead: 0.7 expected, 0 to 2 in four cases of five.",
        "Likeliest to fail in 90 days: WL-01 tilt base 40 %, WL-02 tilt base 20 %, WL-01 tilt rod 10 %.",
        "Groups that fail more than expected: crimped by S01 bench 2 21 against 9.2, 33 still in place.",
        "Kits: 1 of 2 ready; most often short: E-08 (1).",
        "To order now: 3 lines for 82 EUR, 1 of them without a price, the dearest E-08, F-08; "
        "0 transfers between sites.",
        "A year costs by this plan 41,000 EUR (37,500 to 46,000 in four cases of five), by run to failure "
        "72,000 EUR, "
        "by the best fixed age 48,000 EUR.",
    ]


def test_a_plan_of_an_empty_register_is_told_in_ten_lines_too():
    lines = ten_lines(tables({}), {}, AS_OF, {}, "EUR")
    assert lines[1] == "Due now: none."
    assert lines[3] == "Pressure margins: none over its rating, 0 thin, 0 that cannot be judged."
    assert lines[6] == "Groups that fail more than expected: none."
    assert lines[8] == "To order now: nothing; 0 transfers between sites."
    assert len(lines) == 10


def test_a_group_that_another_explains_is_not_named():
    explained = ROWS["suspects"][0] | {"explained_by": "hose_lot 202510-33"}
    told = ten_lines(tables(ROWS | {"suspects": [explained]}), {}, AS_OF, {}, "EUR")
    assert told[6] == "Groups that fail more than expected: none."
