import datetime

import pandas as pd
from hypothesis import given, settings
from hypothesis import strategies as st

from forecasting.history import known_on
from forecasting.inputs import INPUTS
from forecasting.tables import check_table, make_table
from tests.forecasting.builders import build_tables

AS_OF = datetime.date(2024, 3, 31)
BEFORE, ON, AFTER = "2024-01-15", "2024-03-31", "2024-04-01"


def installation(assembly="A1", **more):
    return {"assembly": assembly, "machine": "EX-01", "position": "boom", "installed_on": BEFORE, **more}


def test_an_assembly_removed_later_is_still_in_its_place():
    removal = {"removed_hours": 900, "removal_cause": "failed", "failure_mode": "burst"}
    tables = build_tables(
        installations=[
            installation("A1", removed_on=AFTER, **removal),
            installation("A2", removed_on=ON, **removal),
        ]
    )
    known = known_on(tables, AS_OF)["installations"].set_index("assembly")
    assert known.loc["A1", ["removed_on", *removal]].isna().all()
    assert known.loc["A2", list(removal)].tolist() == [900, "failed", "burst"]


def test_an_assembly_installed_later_is_not_there_nor_what_was_seen_of_it():
    tables = build_tables(
        installations=[installation("A1", installed_on=ON), installation("A2", installed_on=AFTER)],
        inspections=[{"assembly": name, "inspected_on": BEFORE, "grade": "fit"} for name in ("A1", "A2")],
    )
    known = known_on(tables, AS_OF)
    assert known["installations"]["assembly"].tolist() == ["A1"]
    assert known["inspections"]["assembly"].tolist() == ["A1"]


def test_a_decision_counts_from_its_day_until_it_is_withdrawn():
    made = {"decision": "refuse", "reason": "the crane is away"}
    tables = build_tables(
        installations=[installation("A1"), installation("A2"), installation("A3")],
        decisions=[
            {"assembly": "A1", "decided_on": ON, **made},
            {"assembly": "A2", "decided_on": AFTER, **made},
            {"assembly": "A3", "decided_on": BEFORE, "withdrawn_on": AFTER, **made},
        ],
    )
    known = known_on(tables, AS_OF)["decisions"]
    assert known["assembly"].tolist() == ["A1", "A3"]
    assert known["withdrawn_on"].isna().all()


def test_later_readings_inspections_and_builds_do_not_exist():
    tables = build_tables(
        installations=[installation()],
        meter_readings=[
            {"machine": "EX-01", "read_on": day, "hours": hours} for day, hours in ((ON, 10), (AFTER, 20))
        ],
        inspections=[
            {"assembly": "A1", "inspected_on": day, "grade": grade}
            for day, grade in ((ON, "fit"), (AFTER, "replace"))
        ],
        builds=[
            {"assembly": name, "design": "D1", "built_on": day} for name, day in (("A1", ON), ("A2", AFTER))
        ],
        crimp_readings=[
            {"assembly": name, "end": "a", "number": 1, "diameter_mm": 21.2} for name in ("A1", "A2")
        ],
    )
    known = known_on(tables, AS_OF)
    assert known["meter_readings"]["hours"].tolist() == [10]
    assert known["inspections"]["grade"].tolist() == ["fit"]
    assert known["builds"]["assembly"].tolist() == ["A1"]
    assert known["crimp_readings"]["assembly"].tolist() == ["A1"]


def test_a_machine_retired_later_still_works_and_one_commissioned_later_is_not_there():
    tables = build_tables(
        machines=[
            {"machine": "EX-01", "site": "north", "retired_on": AFTER},
            {"machine": "EX-02", "site": "north", "retired_on": ON},
            {"machine": "EX-03", "site": "north", "commissioned_on": AFTER},
        ],
        positions=[{"machine": name, "position": "boom"} for name in ("EX-01", "EX-02", "EX-03")],
    )
    known = known_on(tables, AS_OF)
    assert known["machines"]["machine"].tolist() == ["EX-01", "EX-02"]
    assert known["machines"]["retired_on"].isna().tolist() == [True, False]
    assert known["positions"]["machine"].tolist() == ["EX-01", "EX-02"]


def test_a_retired_machine_waits_for_no_parts_and_a_kit_that_stands_by_does():
    tables = build_tables(
        machines=[
            {"machine": "EX-01", "site": "north", "retired_on": AFTER},
            {"machine": "EX-02", "site": "north", "retired_on": ON},
        ],
        waiting_builds=[
            {"kit": kit, "number": 1, "site": "north", "machine": machine, "design": "D-1"}
            for kit, machine in (("K-1", "EX-01"), ("K-2", "EX-02"), ("K-3", None))
        ],
    )
    assert known_on(tables, AS_OF)["waiting_builds"]["kit"].tolist() == ["K-1", "K-3"]


def test_a_machine_with_hoses_before_its_commissioning_is_there_and_not_yet_commissioned():
    tables = build_tables(
        machines=[{"machine": "EX-01", "site": "north", "commissioned_on": AFTER}],
        installations=[installation()],
    )
    assert known_on(tables, AS_OF)["machines"]["commissioned_on"].isna().tolist() == [True]


def test_what_carries_no_date_or_lies_ahead_on_purpose_stays():
    tables = build_tables(
        machines=[{"machine": "EX-01", "site": "north"}],
        positions=[{"machine": "EX-01", "position": "boom"}],
        stock=[{"part": "H1", "site": "north", "on_hand": 20}],
        open_orders=[{"order": "1", "part": "H1", "site": "north", "quantity": 5, "expected_on": AFTER}],
        service_windows=[{"machine": "EX-01", "starts_on": AFTER, "ends_on": AFTER}],
        policies=[{"scope": "all", "age_limit_days": 2190}],
    )
    known = known_on(tables, AS_OF)
    for name, frame in tables.items():
        pd.testing.assert_frame_equal(known[name], frame)


DAYS = st.dates(datetime.date(2023, 1, 1), datetime.date(2025, 12, 31))


@st.composite
def lives(draw):
    installed, removed = sorted((draw(DAYS), draw(DAYS)))
    ended = draw(st.booleans())
    return {
        "installed_on": installed,
        "removed_on": removed if ended else None,
        "removed_hours": 500 if ended else None,
        "removal_cause": draw(st.sampled_from(["failed", "planned"])) if ended else None,
    }


@settings(max_examples=20, deadline=None)
@given(spans=st.lists(lives(), max_size=8), days=st.lists(DAYS, max_size=8, unique=True))
def test_adding_later_rows_changes_nothing(spans, days):
    def folder(last_day):
        """What a folder written on `last_day` would have held."""
        told = []
        for number, span in enumerate(spans):
            if span["installed_on"] <= last_day:
                ended = span["removed_on"] is not None and span["removed_on"] <= last_day
                told.append(
                    installation(f"A{number}", **(span if ended else {"installed_on": span["installed_on"]}))
                )
        return build_tables(
            machines=[{"machine": "EX-01", "site": "north"}],
            installations=told,
            meter_readings=[
                {"machine": "EX-01", "read_on": day, "hours": 8 * day.toordinal()}
                for day in sorted(days)
                if day <= last_day
            ],
        )

    then, later = folder(AS_OF), known_on(folder(datetime.date(2026, 1, 1)), AS_OF)
    for name, frame in known_on(then, AS_OF).items():
        pd.testing.assert_frame_equal(later[name], frame)
        check_table(later[name], INPUTS[name])
        assert make_table(frame, INPUTS[name]).equals(frame)
