"""On which day what lies on the shelf, with what comes, is used up on average."""

import numpy as np
import pandas as pd

from forecasting.supply.reckoning import days_until_empty
from forecasting.supply.takings import NO_KITS, KitTakings

NO_ORDERS = pd.DataFrame()


def test_failures_take_evenly():
    assert days_until_empty(3.0, NO_ORDERS, NO_KITS, 0.1) == 30


def test_an_order_lasts_as_long_as_what_it_brings():
    orders = pd.DataFrame({"days": [20.0], "quantity": [2.0]})
    assert days_until_empty(3.0, orders, NO_KITS, 0.1) == 50


def test_an_order_that_comes_too_late_leaves_the_shelf_empty_before():
    orders = pd.DataFrame({"days": [40.0], "quantity": [2.0]})
    assert days_until_empty(3.0, orders, NO_KITS, 0.1) == 30


def test_an_overdue_order_counts_from_today():
    orders = pd.DataFrame({"days": [-5.0], "quantity": [2.0]})
    assert days_until_empty(0.0, orders, NO_KITS, 0.1) == 20  # two pieces, one taken every ten days


def test_a_kit_takes_its_parts_on_its_day():
    kits = KitTakings(np.array([10.0]), np.array([4.0]))
    assert days_until_empty(4.0, NO_ORDERS, kits, 0.0) == 10


def test_where_nothing_is_there_and_something_is_wanted_it_is_empty_today():
    assert days_until_empty(0.0, NO_ORDERS, NO_KITS, 0.001) == 0


def test_what_a_year_does_not_use_does_not_run_out():
    assert days_until_empty(40.0, NO_ORDERS, NO_KITS, 0.1) == np.inf
    assert days_until_empty(0.0, NO_ORDERS, NO_KITS, 0.0) == np.inf
