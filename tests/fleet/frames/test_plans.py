"""Plan lines go to the database and come back as they were."""

import datetime

import pandas as pd
import pytest

from fleet.frames.plans import plan_tables, previous_tables, store_plan_lines
from fleet.models import Organization, Plan, RunState
from forecasting.outputs import OUTPUTS
from forecasting.tables import make_table

SPRING = datetime.date(2024, 4, 1)
SUMMER = datetime.date(2024, 7, 1)


@pytest.fixture
def gravel(db):
    return Organization.objects.create(name="Gravel Works", slug="gravel-works")


def empty_tables() -> dict[str, pd.DataFrame]:
    return {name: make_table(None, table) for name, table in OUTPUTS.items()}


def tables_with_one_changeout() -> dict[str, pd.DataFrame]:
    changeout = {
        "changeout": ["C1", "C2"],
        "machine": ["EX-1", "EX-2"],
        "planned_on": ["2024-05-01", "2024-05-02"],
        "window_starts_on": [None, "2024-05-01"],
        "special_stop": [True, False],
        "assembly": ["A-1", "A-2"],
        "position": ["boom lift", "bucket"],
        "design": [None, "D-7"],
        "due_on": [None, "2024-06-01"],
        "due_reason": ["unfit", "risk"],
        "expected_cost_now": [None, 120.5],
        "expected_cost_if_left": [None, 480.25],
        "minutes": [None, 45.0],
        "reason": ["rated below what is asked of it", "chance of failing above the limit"],
    }
    return empty_tables() | {"changeouts": make_table(changeout, OUTPUTS["changeouts"])}


def done_plan(organization: Organization, as_of: datetime.date, tables: dict[str, pd.DataFrame]) -> Plan:
    plan = Plan.objects.create(organization=organization, as_of=as_of, state=RunState.DONE)
    store_plan_lines(plan, tables)
    return plan


def test_lines_come_back_as_they_were_stored(gravel):
    tables = tables_with_one_changeout()

    back = plan_tables(done_plan(gravel, SPRING, tables))

    assert set(back) == set(OUTPUTS)
    for name, table in tables.items():
        pd.testing.assert_frame_equal(back[name], table)


def test_the_previous_plan_is_the_newest_of_an_earlier_day(gravel):
    tables = tables_with_one_changeout()
    done_plan(gravel, SPRING, tables)

    before_summer = previous_tables(gravel, SUMMER)

    assert before_summer is not None
    pd.testing.assert_frame_equal(before_summer["changeouts"], tables["changeouts"])


def test_a_run_for_the_same_day_or_a_later_one_is_not_the_previous_plan(gravel):
    done_plan(gravel, SUMMER, empty_tables())

    assert previous_tables(gravel, SUMMER) is None
    assert previous_tables(gravel, SPRING) is None


def test_another_organizations_plan_is_not_the_previous_plan(gravel):
    quarry = Organization.objects.create(name="Quarry", slug="quarry")
    done_plan(quarry, SPRING, empty_tables())

    assert previous_tables(gravel, SUMMER) is None
