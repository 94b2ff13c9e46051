"""Demand for a part is a whole distribution, mixed over what assemblies share."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from forecasting.supply.demand import mix_demand, spread_lead_times


def enumerate_demand(chances: np.ndarray, takes: np.ndarray, planned: float) -> dict[float, float]:
    """Every sum with its chance, by going through all outcomes."""
    found: dict[float, float] = {}
    for outcome in np.ndindex(*(2,) * len(takes)):
        failed = np.array(outcome, dtype=bool)
        level = round(planned + takes[failed].sum(), 6)
        found[level] = found.get(level, 0.0) + float(np.where(failed, chances, 1 - chances).prod())
    return found


@pytest.mark.parametrize("takes", [[1, 1, 1, 1], [2, 2, 2, 2], [1, 2, 4, 1], [0.8, 0.8, 1.6, 0.8]])
def test_takings_that_are_multiples_of_the_least_are_followed_exactly(takes):
    chances, takes = np.array([0.1, 0.5, 0.02, 0.3]), np.array(takes, float)
    demand = mix_demand(chances[None, :], takes, 3.0)
    exact = enumerate_demand(chances, takes, 3.0)
    held = dict(zip(demand.levels.round(6), demand.chances, strict=True))
    assert {level: held[level] for level in exact} == pytest.approx(exact, abs=1e-12)


def test_cut_lengths_round_up_to_the_millimetre():
    demand = mix_demand(np.array([[0.2, 0.4]]), np.array([0.8158, 1.2345]))
    assert demand.least_level(1.0) == pytest.approx(0.816 + 1.235)
    assert demand.chances.sum() == pytest.approx(1.0)


def test_many_different_takings_agree_with_simulation():
    rng = np.random.default_rng(3)
    chances, takes = rng.beta(0.5, 10, 300), rng.uniform(0.3, 3.0, 300)
    demand = mix_demand(chances[None, :], takes)
    drawn = (rng.random((40_000, 300)) < chances) @ takes
    for level in (0.5, 0.9, 0.95, 0.99):
        assert demand.least_level(level) == pytest.approx(np.quantile(drawn, level), rel=0.03)


def test_what_assemblies_share_widens_the_demand():
    apart = mix_demand(np.full((2, 100), 0.1), np.ones(100))
    shared = mix_demand(np.repeat([[0.02], [0.18]], 100, axis=1), np.ones(100))
    assert shared.mean == pytest.approx(apart.mean)
    assert shared.least_level(0.95) > apart.least_level(0.95)


def test_what_is_planned_in_some_scenarios_only_shifts_those():
    demand = mix_demand(np.zeros((4, 1)), np.ones(1), np.array([0.0, 0.0, 2.0, 2.0]))
    held = dict(zip(demand.levels, demand.chances, strict=True))
    assert held[0.0] == pytest.approx(0.5) and held[2.0] == pytest.approx(0.5)


def test_no_demand_is_none_for_certain():
    demand = mix_demand(np.zeros((4, 3)), np.ones(3))
    assert demand.mean == 0 and demand.least_level(0.999) == 0


@given(
    mean=st.floats(0, 200),
    longer=st.floats(0, 100),
    sd=st.floats(0, 60),
)
def test_a_longer_mean_gives_a_longer_lead_time_in_every_scenario(mean, longer, sd):
    assert (spread_lead_times(mean + longer, sd, 16) >= spread_lead_times(mean, sd, 16)).all()


@given(
    chances=st.lists(st.floats(0.001, 0.4), min_size=1, max_size=30),
    growth=st.floats(1.0, 2.0),
    level=st.floats(0.5, 0.995),
    more=st.floats(0.0, 0.004),
)
def test_higher_chances_or_levels_never_lower_what_must_be_held(chances, growth, level, more):
    takes = np.linspace(0.4, 2.1, len(chances))
    now = mix_demand(np.array([chances]), takes)
    later = mix_demand(np.array([chances]) * growth, takes)
    assert later.least_level(level) >= now.least_level(level) - 1e-9
    assert now.least_level(level + more) >= now.least_level(level)
