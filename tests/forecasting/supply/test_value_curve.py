"""What all stock is worth, and the share of demand it meets, at every service level."""

import pytest

from forecasting.supply.holdings import value_stock
from tests.forecasting.builders import build_fleet, build_tables, hose, hose_end
from tests.forecasting.stock_builders import supply

PARTS = {"parts": [hose() | {"unit_cost": 12.0}, hose_end() | {"unit_cost": 9.0}]}


def test_a_higher_level_costs_no_less_and_meets_no_less():
    curve = supply(build_fleet(**PARTS)).curve
    values, rates = ([row[name] for row in curve] for name in ("stock_value", "fill_rate"))
    assert values == sorted(values) and values[0] < values[-1]
    assert rates == sorted(rates) and rates[0] < rates[-1] <= 1


def test_at_the_level_the_advice_goes_by_the_curve_tells_the_value_of_the_advice():
    tables = build_fleet(**PARTS)
    made = supply(tables)
    assert set(made.advice["service_level"]) == {0.95}
    (at_own_level,) = (row["stock_value"] for row in made.curve if row["service_level"] == 0.95)
    assert at_own_level == pytest.approx(value_stock(made.advice, tables["parts"], 7), rel=1e-6)


def test_where_no_part_has_a_cost_no_money_is_named():
    parts = [hose() | {"unit_cost": None}, hose_end() | {"unit_cost": None}]
    curve = supply(build_fleet(parts=parts)).curve
    assert {(row["stock_value"], row["fill_rate"]) for row in curve} == {(None, None)}


def test_an_empty_register_has_a_curve_of_nothing():
    assert {row["stock_value"] for row in supply(build_tables()).curve} == {None}
