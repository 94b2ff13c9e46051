"""What to order of one part at one site, whatever lies there and however it is bought."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from forecasting.supply.demand import mix_demand
from forecasting.supply.reckoning import Lots, Reckoning, Terms, at_level, reckon
from forecasting.supply.takings import NO_KITS

TERMS = Terms(unit="each", pack=1.0, economic_quantity=6.0, service_level=0.9)


def reckoned(
    terms: Terms = TERMS, *, usable: float = 0.0, due: float = 0.0, awaited: float = 0.0
) -> Reckoning:
    demand = mix_demand(np.full((1, 20), 0.15), np.full(20, 2.0))
    return reckon(
        terms,
        demand,
        demand,
        planned=0.0,
        unplanned_mean=6.0,
        yearly_demand=40.0,
        taking=2.0,
        usable=usable,
        left_out=0.0,
        due=due,
        lots=Lots(np.array([usable]), np.array([np.inf])),
        kits=NO_KITS,
        window_days=21.0,
        horizon_days=365,
        awaited=awaited,
    )


@given(
    usable=st.integers(0, 30),
    due=st.integers(0, 30),
    awaited=st.integers(0, 12),
    pack=st.sampled_from([1.0, 2.0, 7.0, 50.0]),
    economic=st.floats(0, 40),
    levels=st.tuples(st.floats(0.5, 0.999), st.floats(0.5, 0.999)),
)
def test_a_higher_service_level_never_lowers_an_order(usable, due, awaited, pack, economic, levels):
    orders = []
    for level in sorted(levels):
        terms = Terms("each", pack, economic, level)
        one = reckoned(terms, usable=usable, due=due, awaited=awaited)
        assert (one.order_now / pack).is_integer() and one.order_now >= awaited
        assert at_level(one, level) == replace(one, terms=terms)
        orders.append(one.order_now)
    assert orders[0] <= orders[1]


@pytest.mark.parametrize(("usable", "ordered"), [(0, 16), (5, 11), (14, 3), (40, 3)])
def test_what_kits_count_on_is_ordered_where_the_shelf_alone_would_order_less(usable, ordered):
    # Of twenty that fail with .15, five or fewer do with a chance of .93 and four of .83: 10 ends, up to 16.
    assert reckoned(usable=usable, awaited=3).order_now == ordered


def test_what_is_no_longer_made_is_not_ordered_whatever_counts_on_it():
    assert reckoned(replace(TERMS, may_buy=False), awaited=3).order_now == 0
