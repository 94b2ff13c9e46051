"""Published answers on stock, asked of the very functions that the advice is made with.

Snyder & Shen, Fundamentals of Supply Chain Theory, where an example or problem is named; its figures were
computed anew with a general-purpose library.
"""

import numpy as np
import pytest
from scipy.stats import norm, poisson

from forecasting.supply.demand import Demand, economic_quantity, mix_demand, spread_lead_times
from forecasting.supply.reckoning import Terms, order_now

MANY = 20_000  # so many assemblies, each hardly ever failing, demand as a Poisson law does


def poisson_demand(mean: float) -> Demand:
    return mix_demand(np.full((1, MANY), mean / MANY), np.ones(MANY))


def test_newsvendor_with_normal_demand():
    # Snyder & Shen, example 4.3: holding .18, penalty .70, demand N(50, 8): 56.6040, cost 1.99761.
    step = 2e-4
    levels = np.arange(0, 100, step)
    demand = Demand(0.0, step, np.diff(norm.cdf(np.append(levels, 100) - step / 2, 50, 8), prepend=0.0)[1:])
    best = demand.least_level(0.70 / (0.18 + 0.70))
    assert best == pytest.approx(56.6040, abs=2 * step)
    short = demand.expected_short(best)
    assert 0.18 * (best - 50 + short) + 0.70 * short == pytest.approx(1.99761, rel=1e-3)


def test_newsvendor_with_poisson_demand():
    # The same with demand Poisson(50): 56, cost 1.7972352.
    demand = poisson_demand(50)
    best = demand.least_level(0.70 / (0.18 + 0.70))
    assert best == 56
    short = demand.expected_short(best)
    assert 0.18 * (best - 50 + short) + 0.70 * short == pytest.approx(1.7972352, rel=1e-3)


def test_reorder_point_and_quantity_with_poisson_demand():
    # Snyder & Shen, example 5.8: h 20, p 150, K 100, λ 1.5, L 2: (3, 5), cost 107.923581; its fill rate
    # .866633 and expected backorders .105433.
    demand = poisson_demand(1.5 * 2)
    assert demand.fill_rate(3, 8) == pytest.approx(0.866633, rel=1e-4)

    def backorders(point: int, quantity: int) -> float:
        return np.mean([demand.expected_short(level) for level in range(point + 1, point + quantity + 1)])

    def cost(point: int, quantity: int) -> float:
        short = backorders(point, quantity)
        return 100 * 1.5 / quantity + 20 * (point + (quantity + 1) / 2 - 3 + short) + 150 * short

    assert backorders(3, 5) == pytest.approx(0.105433, rel=1e-3)
    assert cost(3, 5) == pytest.approx(107.923581, rel=1e-4)
    others = [(point, quantity) for point in range(7) for quantity in range(1, 12)]
    assert min(others, key=lambda pair: cost(*pair)) == (3, 5)


def test_economic_quantity():
    # Snyder & Shen, example 3.1: K 8, h .225, λ 1300: 304.0468, cost 68.4105.
    quantity = economic_quantity(8.0, 1300.0, 0.225)
    assert quantity == pytest.approx(304.0468, rel=1e-6)
    assert 8 * 1300 / quantity + 0.225 * quantity / 2 == pytest.approx(68.4105, rel=1e-6)


def test_the_spread_of_the_lead_time_counts():
    # Demand rate 2, lead time 1 or 3 equally likely: mean 4, variance 8, 95 % point 9; a fixed lead time of 2
    # gives 8. Exact: the mixture of Poisson(2) and Poisson(6).
    spread = mix_demand(np.outer([1.0, 3.0], np.full(MANY, 2 / MANY)), np.ones(MANY))
    assert spread.mean == pytest.approx(4, rel=1e-4)
    assert (spread.levels - 4) ** 2 @ spread.chances == pytest.approx(8, rel=1e-3)
    assert spread.least_level(0.95) == 9
    assert poisson_demand(4).least_level(0.95) == 8


def test_lead_times_keep_their_mean_and_spread():
    times = spread_lead_times(30.0, 5.0, 64)
    assert times.mean() == pytest.approx(30.0) and times.std() == pytest.approx(5.0)


def test_expected_backorders_and_fill_rate_of_a_base_stock():
    # Poisson demand of mean 1, base stock 0 … 3: 1, .3679, .1036, .0233; its fill rate is P(demand ≤ S − 1).
    demand = poisson_demand(1)
    backorders = [demand.expected_short(level) for level in range(4)]
    assert backorders == pytest.approx([1, 0.3679, 0.1036, 0.0233], abs=1e-4)
    for stock in (1, 2, 3):
        assert demand.fill_rate(stock - 1, stock) == pytest.approx(poisson.cdf(stock - 1, 1), rel=1e-4)


def test_poisson_binomial_counts():
    # Exact by convolution: p = i/20, i = 1 … 10.
    demand = mix_demand(np.arange(1, 11)[None, :] / 20, np.ones(10))
    assert demand.chances[0] == pytest.approx(0.03273645375, rel=1e-9)
    assert demand.chances[3] == pytest.approx(0.279306304375, rel=1e-9)
    assert demand.chances[10] == pytest.approx(3.54375e-7, rel=1e-6)
    few = mix_demand(np.array([[0.1, 0.2, 0.3]]), np.ones(3))
    assert few.chances == pytest.approx([0.504, 0.398, 0.092, 0.006], rel=1e-9)


def test_an_order_is_whole_packs_that_do_not_pass_order_up_to():
    terms = Terms(unit="each", pack=4.0, economic_quantity=0.0, service_level=0.95)
    orders = [order_now(terms, position, 5.0, 15.0) for position in (0, 3, 4, 5)]
    assert [str(one) for one in orders] == ["12.0", "12.0", "8.0", "0.0"]  # -0.0 would be told as -0
