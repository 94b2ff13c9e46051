"""The values that the luck of a position may have, and its quantiles."""

import numpy as np
import pytest
from scipy import stats

from forecasting.life.luck import LEMON_LEAST, Luck
from forecasting.life.parameters import PLAIN, WHOLE, Layout


def a_luck(sd: float, lemon_odds: float) -> Luck:
    layout = Layout.of(WHOLE, effects=0, populations=0)
    theta = np.zeros(layout.size)
    theta[layout.blocks["log_luck_sd"]] = np.log(sd)
    theta[layout.blocks["lemon_odds"]] = lemon_odds
    return Luck.of(theta, layout)


def test_ordinary_luck_has_mean_one_and_lemons_fail_more():
    luck = a_luck(0.6, -3.0)
    chances = np.exp(luck.log_chances)
    assert chances.sum() == pytest.approx(1.0)
    ordinary = chances[:-1] / chances[:-1].sum()
    assert ordinary @ luck.values[:-1] == pytest.approx(1.0, abs=1e-6)
    assert ordinary @ luck.values[:-1] ** 2 == pytest.approx(np.exp(0.6**2), rel=1e-4)
    assert luck.values[-1] > LEMON_LEAST


@pytest.mark.parametrize("level", [0.1, 0.3, 0.5, 0.7, 0.9])
def test_quantiles_are_those_of_the_lognormal_between_the_nodes(level):
    luck = a_luck(0.6, -30.0)
    told = luck.quantile(np.exp(luck.log_chances)[:, None], level)[0]
    exact = np.exp(0.6 * stats.norm.ppf(level) - 0.6**2 / 2)
    assert np.log(told) == pytest.approx(np.log(exact), abs=0.1)


def test_the_highest_quantiles_are_those_of_a_lemon():
    luck = a_luck(0.6, 0.0)
    assert luck.quantile(np.exp(luck.log_chances)[:, None], 0.7)[0] == luck.values[-1]


def test_with_luck_switched_off_every_place_is_alike():
    luck = Luck.of(np.zeros(2), Layout.of(PLAIN, effects=0, populations=0))
    assert luck.values.tolist() == [1.0]
    assert luck.quantile(np.ones((1, 3)), 0.9).tolist() == [1.0, 1.0, 1.0]
