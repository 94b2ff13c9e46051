"""What the ways of working ask of the shelves: changeouts at one age, and what stock is worth."""

import numpy as np
import pandas as pd
import pytest

from forecasting.comparison import changeouts_at_age
from forecasting.inputs import PARTS
from forecasting.outputs import STOCK_ADVICE
from forecasting.policies import Settings
from forecasting.supply.holdings import value_stock
from forecasting.tables import make_table
from tests.forecasting.builders import AS_OF, KnownLaw, an_installation, build_fleet, hose_end


def advice(**more) -> pd.DataFrame:
    usual = {
        "part": "E-6",
        "site": "North",
        "unit": "each",
        "on_hand": 0.0,
        "on_order": 0.0,
        "planned_demand": 4.0,
        "unplanned_demand_mean": 2.0,
        "lead_time_days": 14.0,
        "reorder_point": 10.0,
        "order_up_to": 20.0,
        "order_now": 0.0,
        "service_level": 0.95,
        "surplus": 0.0,
        "expires_unused": 0.0,
        "demand_low": 0.0,
        "demand_high": 0.0,
        "why": "It covers 21 days.",
    }
    return make_table([usual | more], STOCK_ADVICE)


def test_stock_lies_halfway_between_its_levels_less_what_is_taken_over_the_lead_time():
    # (10 + 20) / 2 − 6 · 14 / 21 = 11 ends at 8 each.
    parts = make_table([hose_end(unit_cost=8.0)], PARTS)
    assert value_stock(advice(), parts, review_days=7.0) == pytest.approx(88.0)


def test_stock_is_never_worth_less_than_nothing():
    parts = make_table([hose_end(unit_cost=8.0)], PARTS)
    assert value_stock(advice(reorder_point=1.0, order_up_to=2.0), parts, review_days=7.0) == 0


def test_stock_whose_costs_are_not_known_has_no_value_named():
    parts = make_table([hose_end(unit_cost=None)], PARTS)
    assert np.isnan(value_stock(advice(), parts, review_days=7.0))


def two_of_ages(old_built_on: str, young_built_on: str):
    installations = [
        an_installation("old", "M-1", "P-1", built_on=old_built_on),
        an_installation("young", "M-1", "P-2", built_on=young_built_on),
    ]
    return build_fleet(1, 2, installations=installations)


def test_at_a_fixed_age_the_overdue_go_at_once_and_the_young_later():
    tables = two_of_ages("2024-01-04", "2026-01-04")  # 1,096 and 365 days old
    told = changeouts_at_age(500.0, KnownLaw(tables), tables, Settings(), AS_OF)
    assert told["assembly"].tolist() == ["old", "young"]
    assert [f"{day:%Y-%m-%d}" for day in told["planned_on"]] == ["2027-01-04", "2027-05-19"]
    assert told["changeout"].nunique() == 2


def test_what_reaches_the_age_beyond_the_horizon_is_left():
    tables = two_of_ages("2026-12-01", "2026-12-01")
    assert changeouts_at_age(500.0, KnownLaw(tables), tables, Settings(), AS_OF).empty


def test_where_no_age_pays_nothing_is_planned():
    tables = two_of_ages("2014-01-04", "2014-01-04")
    assert changeouts_at_age(None, KnownLaw(tables), tables, Settings(), AS_OF).empty
