"""Failures ahead: the law of a count, and its limits in whole numbers."""

from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from forecasting.ahead.counts import ONE_BY_ONE, count_failures, count_limits, poisson_binomial
from forecasting.ahead.forecasts import HORIZONS, Forecaster
from forecasting.life.life_model import fit_life_model
from tests.forecasting.life_builders import weibull_lives


def test_the_count_of_unequal_chances_is_poisson_binomial():
    # Exact arithmetic: p = i/20, i = 1 … 10.
    pmf = poisson_binomial(np.arange(1, 11)[None, :] / 20)[0]
    assert pmf[0] == pytest.approx(0.03273645375, rel=1e-9)
    assert pmf[3] == pytest.approx(0.279306304375, rel=1e-9)
    assert pmf[10] == pytest.approx(3.54375e-7, rel=1e-9)
    assert poisson_binomial(np.array([[0.1, 0.2, 0.3]]))[0] == pytest.approx([0.504, 0.398, 0.092, 0.006])


def test_many_units_at_risk_give_the_published_interval():
    # Escobar & Meeker (1999), product A: Weibull 1152 months, shape 1.518, 9,920 units from month 48 to 60.
    surviving = np.exp(-((np.array([48.0, 60.0]) / 1152) ** 1.518))
    chances = np.full((1, 9920), 1 - surviving[1] / surviving[0])
    pmf = poisson_binomial(chances)[0]
    assert chances.sum() == pytest.approx(32.07, abs=0.005)
    below = np.cumsum(pmf)
    assert [int(np.searchsorted(below, level)) for level in (0.025, 0.05, 0.95, 0.975)] == [21, 23, 42, 44]


@pytest.mark.parametrize(("size", "rarity"), [(200, 6), (ONE_BY_ONE + 400, 60), (ONE_BY_ONE + 400, 6)])
def test_however_a_count_is_computed_it_is_that_of_exact_arithmetic(size, rarity):
    chances = np.random.default_rng(21).beta(0.5, rarity, (2, size))
    chances[:, :6] = [0.0, 0.0, 0.0, 1.0, 1.0, 1.0]
    quick = poisson_binomial(chances)
    for draw in range(2):
        exact = stats.poisson_binom.pmf(np.arange(quick.shape[1]), chances[draw])
        assert quick[draw] == pytest.approx(exact, abs=2e-4)


def held(limits: dict[str, int], percent: int, pmf: np.ndarray) -> float:
    return pmf[limits[f"low_{percent}"] : limits[f"high_{percent}"] + 1].sum()


def test_95_of_100_counts_or_more_lie_between_the_wider_limits():
    for mean in np.geomspace(0.05, 60, 80):
        pmf = stats.poisson.pmf(np.arange(200), mean)
        limits = count_limits(pmf)
        assert held(limits, 95, pmf) >= 0.95
        assert limits["low_95"] <= limits["low_80"] <= limits["high_80"] <= limits["high_95"]


def test_80_of_100_counts_lie_between_the_narrower_limits_on_average():
    share = []
    for mean in np.linspace(3, 60, 200):
        pmf = stats.poisson.pmf(np.arange(200), mean)
        share.append(held(count_limits(pmf), 80, pmf))
    assert np.mean(share) == pytest.approx(0.8, abs=0.01)
    assert count_limits(stats.poisson.pmf(np.arange(60), 12.0)) == {
        "low_80": 8, "high_80": 16, "low_95": 6, "high_95": 19
    }  # fmt: skip


def test_nothing_to_fail_counts_none():
    assert count_limits(poisson_binomial(np.zeros((3, 0))).mean(axis=0)) == {
        "low_80": 0, "high_80": 0, "low_95": 0, "high_95": 0
    }  # fmt: skip


def fleet_forecaster() -> Forecaster:
    rng = np.random.default_rng(22)
    lives = weibull_lives(
        rng, 400, 2.5, 9000, 8000,
        site=rng.choice(["North", "South"], 400),
        population=rng.choice(["100R2/-8", "100R2/-12"], 400),
    )  # fmt: skip
    return Forecaster(fit_life_model(lives, np.random.default_rng(0)), lives)


def test_expected_failures_are_the_sum_of_the_assemblies_chances():
    forecaster = fleet_forecaster()
    told, counted = forecaster.table(), count_failures(forecaster, HORIZONS)
    site = forecaster.installed["site"]
    for horizon in HORIZONS:
        of_horizon = counted[counted["horizon_days"] == horizon].set_index("scope")
        chances = told[f"p_fail_{horizon}d"]
        assert of_horizon.loc["all", "expected"] == pytest.approx(chances.sum(), rel=1e-6)
        assert of_horizon.loc["site:North", "expected"] == pytest.approx(
            chances[site == "North"].sum(), rel=1e-6
        )


def test_scopes_are_all_sites_populations_and_constructions():
    counted = count_failures(fleet_forecaster(), HORIZONS)
    assert counted["scope"].drop_duplicates().tolist()[0] == "all"
    assert set(counted["scope"]) == {
        "all", "site:North", "site:South", "population:100R2/-8", "population:100R2/-12", "construction:100R2"
    }  # fmt: skip
    assert (counted.groupby("scope").size() == len(HORIZONS)).all()
    assert (counted["low_95"] <= counted["low_80"]).all()
    assert (counted["low_80"] <= counted["expected"]).all()
    assert (counted["expected"] <= counted["high_80"]).all()
    assert (counted["high_80"] <= counted["high_95"]).all()


def test_what_is_not_known_of_the_law_widens_the_count():
    few = weibull_lives(np.random.default_rng(23), 60, 2.5, 9000, 8000)
    forecaster = Forecaster(fit_life_model(few, np.random.default_rng(0)), few)
    (year,) = count_failures(forecaster, (365,)).query("scope == 'all'").to_dict("records")
    mean_only = count_limits(poisson_binomial(forecaster.table()[["p_fail_365d"]].to_numpy().T)[0])
    assert year["high_95"] - year["low_95"] > mean_only["high_95"] - mean_only["low_95"]


def test_what_befalls_a_scope_together_widens_its_counts_and_moves_no_expectation():
    forecaster = fleet_forecaster()
    apart, together = (count_failures(forecaster, (365,), swings) for swings in (None, {"all": 0.25}))
    assert together["expected"].tolist() == apart["expected"].tolist()
    width = {name: told["high_95"] - told["low_95"] for name, told in (("apart", apart), ("with", together))}
    assert width["with"][0] > 1.5 * width["apart"][0]
    assert (width["with"][1:] == width["apart"][1:]).all()


def test_a_count_whose_mean_is_a_gamma_is_negative_binomial():
    # Poisson of mean 40 times a gamma of mean 1 and variance 1/16: negative binomial, size 16.
    installed = pd.DataFrame({"site": ["North"] * 4000, "population": "100R2/-8", "construction": "100R2"})
    sure = SimpleNamespace(
        installed=installed, draws=200, chance_draws=lambda days, draws: np.full((draws, 4000), 0.01)
    )
    told = count_failures(sure, (365,), {"all": 1 / 16}).set_index("scope").loc["all"]
    exact = count_limits(stats.nbinom.pmf(np.arange(300), 16, 16 / 56))
    for name, limit in exact.items():
        assert told[name] == pytest.approx(limit, abs=1)


def test_an_empty_fleet_has_no_scope_but_all():
    forecaster = fleet_forecaster()
    forecaster.installed = forecaster.installed.iloc[:0]
    nothing = Forecaster(forecaster.model, forecaster.installed)
    counted = count_failures(nothing, (30,))
    assert counted.to_dict("records") == [
        {"scope": "all", "horizon_days": 30, "expected": 0.0} | dict.fromkeys(["low_80", "high_80"], 0)
        | dict.fromkeys(["low_95", "high_95"], 0)
    ]  # fmt: skip


def test_scopes_without_a_name_are_left_out():
    forecaster = fleet_forecaster()
    forecaster.installed["site"] = pd.Series([None] * len(forecaster.installed), dtype="str")
    scopes = set(count_failures(forecaster, (30,))["scope"])
    assert not any(scope.startswith("site:") for scope in scopes)
