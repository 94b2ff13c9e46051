"""The likelihood that the service uses, held to published figures."""

from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from statsmodels.duration.survfunc import SurvfuncRight

from forecasting.ahead.counts import poisson_binomial
from forecasting.life.beginnings import Beginnings
from forecasting.life.fitting import TIGHT, Directions, maximise
from forecasting.life.fitting import fit as fit_law
from forecasting.life.hazards import AT_LIFE, Clock
from forecasting.life.likelihood import Likelihood
from forecasting.life.luck import Luck
from forecasting.life.parameters import PLAIN, Layout, Parts
from forecasting.life.priors import EFFECTS, Belief
from forecasting.life.rows import Rows
from forecasting.life.simple_models import fit_plain

REFERENCES = Path(__file__).parents[1] / "references"


@dataclass
class Weibull:
    """The service's likelihood with age, early failures, luck and bend switched off, at its maximum."""

    shape: float
    scale: float
    log_likelihood: float

    def life(self, share: float) -> float:
        """The life that `share` do not reach."""
        return self.scale * (-np.log1p(-share)) ** (1 / self.shape)


def fit_weibull(entry, exit, event) -> Weibull:
    theta = fit_plain(entry, exit, event)
    shape = float(np.exp(theta[1]))
    scale = float(np.exp(theta[0])) * AT_LIFE ** (-1 / shape)
    return Weibull(shape, scale, plain_likelihood(entry, exit, event).value(theta))


def plain_likelihood(entry, exit, event) -> Likelihood:
    return Likelihood(Rows.plain(entry, exit, event), Layout.of(PLAIN, effects=0, populations=0))


def fit_watched_from_zero(times, event) -> Weibull:
    return fit_weibull(np.zeros(len(times)), np.asarray(times, dtype=float), np.asarray(event, dtype=float))


def test_failures_and_ten_still_running_give_the_nist_weibull():
    # NIST/SEMATECH e-Handbook of Statistical Methods, 8.4.1.
    failures = [54, 187, 216, 240, 244, 335, 361, 373, 375, 386]
    fit = fit_watched_from_zero(failures + [500] * 10, [1] * 10 + [0] * 10)
    assert fit.shape == pytest.approx(1.7208, rel=1e-4)
    assert fit.scale == pytest.approx(606.528, rel=1e-4)
    assert fit.log_likelihood == pytest.approx(-75.1346, rel=1e-4)


def test_those_who_entered_late_count_from_their_entry():
    # Hyde (1980), Channing House, women, age in months ÷ 100; three programs agree on these figures.
    people = pd.read_csv(REFERENCES / "channing.csv")
    women = people[(people["sex"] == "Female") & (people["exit"] > people["entry"])]
    entry, exit, died = women["entry"] / 100, women["exit"] / 100, women["cens"]
    fit = fit_weibull(entry, exit, died)
    assert fit.shape == pytest.approx(9.61577, rel=1e-4)
    assert fit.scale == pytest.approx(10.58395, rel=1e-4)
    assert fit.log_likelihood == pytest.approx(-207.6801, rel=1e-4)
    blind_to_late_entry = fit_watched_from_zero(exit, died)
    assert blind_to_late_entry.shape == pytest.approx(14.85, abs=0.005)


def test_six_failures_of_1703_bearing_cages():
    # Meeker & Escobar (1998), example 8.15.
    cages = pd.read_csv(REFERENCES / "bearing_cages.csv")
    cages = cages.loc[cages.index.repeat(cages["count"])]
    assert len(cages) == 1703
    fit = fit_watched_from_zero(cages["hours"], cages["event"] == "Failed")
    assert fit.shape == pytest.approx(2.0353, rel=1e-4)
    assert fit.scale == pytest.approx(11792.2, rel=1e-4)
    assert fit.log_likelihood == pytest.approx(-76.4369, rel=1e-4)
    assert fit.life(0.1) == pytest.approx(3903, abs=0.5)


def test_failures_of_bearing_cages_in_the_next_300_hours():
    # The data of Meeker & Escobar (1998), example 8.15: those still running, each at its own hours. Computed
    # with a general-purpose library; the bound is the naive one, which takes the fitted law for the true one.
    cages = pd.read_csv(REFERENCES / "bearing_cages.csv")
    cages = cages.loc[cages.index.repeat(cages["count"])]
    fit = fit_watched_from_zero(cages["hours"], cages["event"] == "Failed")
    hours = cages.loc[cages["event"] == "Censored", "hours"].to_numpy(float)
    ahead = (((hours + 300) / fit.scale) ** fit.shape) - (hours / fit.scale) ** fit.shape
    chances = -np.expm1(-ahead)
    assert chances.sum() == pytest.approx(5.0582, rel=1e-4)
    below = np.cumsum(poisson_binomial(chances[None, :])[0])
    assert np.searchsorted(below, 0.95) == 9


def test_a_bound_that_counts_what_six_failures_leave_unknown_is_the_calibrated_one():
    # Meeker & Escobar (1998), the same cages, next 300 hours: the naive 95 % bound of 9 holds 90 times of
    # 100; calibrated it is 11. The service's bootstrap keeps what is believed of any fleet's shape and life.
    cages = pd.read_csv(REFERENCES / "bearing_cages.csv")
    cages = cages.loc[cages.index.repeat(cages["count"])]
    hours, failed = cages["hours"].to_numpy(float), (cages["event"] == "Failed").to_numpy(float)
    alike = np.zeros((len(hours), len(EFFECTS)))
    rows = Rows.plain(np.zeros(len(hours)), hours, failed, alike)
    likelihood = Likelihood(rows, Layout.of(PLAIN, effects=len(EFFECTS), populations=0))
    none_found = Beginnings(rows.some(slice(0)), np.empty(0), np.empty(0), 0.0, rows.places)
    found, _ = fit_law(likelihood, none_found, np.random.default_rng(0))
    draws = found.draw(400, likelihood.layout, np.random.default_rng(0))
    draws = found.bootstrap(draws, likelihood, np.random.default_rng(0))
    law = Clock(draws[:, :1], np.exp(draws[:, 1:2]))
    running = hours[failed == 0][None, :]
    chances = -np.expm1(law.hazard(running) - law.hazard(running + 300))
    below = np.cumsum(poisson_binomial(chances).mean(axis=0))
    assert np.searchsorted(below, 0.95) == 11
    assert chances.sum(axis=1).mean() == pytest.approx(5.0582, rel=0.05)


@pytest.mark.parametrize(
    ("modes", "location", "spread"),
    [
        (["mode 1", "mode 2"], 10.2299, 0.31641),
        (["mode 1"], 10.3484, 0.29551),
        (["mode 2"], 10.6181, 0.35433),
    ],
)
def test_shock_absorbers_by_mode_of_failure(modes, location, spread):
    # Meeker & Escobar (1998), chapter 8: location and spread of log life. Both modes together are printed
    # there; the single modes were computed with a general-purpose library.
    absorbers = pd.read_csv(REFERENCES / "shock_absorbers.csv")
    fit = fit_watched_from_zero(absorbers["km"], absorbers["event"].isin(modes))
    assert np.log(fit.scale) == pytest.approx(location, rel=1e-4)
    assert 1 / fit.shape == pytest.approx(spread, rel=1e-4)
    if len(modes) == 2:
        assert fit.log_likelihood == pytest.approx(-123.995, rel=1e-4)


def test_ball_bearings_that_all_failed():
    # Lieblein & Zelen (1956), millions of revolutions.
    lives = [17.88, 28.92, 33.0, 41.52, 42.12, 45.6, 48.4, 51.84, 51.96, 54.12, 55.56, 67.8]
    lives += [68.64, 68.64, 68.88, 84.12, 93.12, 98.64, 105.12, 105.84, 127.92, 128.04, 173.4]
    fit = fit_watched_from_zero(lives, np.ones(23))
    assert fit.shape == pytest.approx(2.1019, rel=1e-4)
    assert fit.scale == pytest.approx(81.875, rel=1e-4)
    assert fit.log_likelihood == pytest.approx(-113.69, rel=1e-4)


def test_with_a_known_shape_the_scale_is_the_exact_formula():
    # scale^k = Σ(exit^k − entry^k) / failures, for any k: the likelihood is flat there in the scale.
    entry, exit = np.array([0.0, 2.0, 5.0, 1.0]), np.array([4.0, 9.0, 6.0, 3.0])
    event = np.array([1.0, 1.0, 0.0, 1.0])
    for shape in (1.0, 1.7, 3.0):
        scale = (np.sum(exit**shape - entry**shape) / 3) ** (1 / shape)
        log_life = np.log(scale) + np.log(AT_LIFE) / shape
        theta = np.array([log_life, np.log(shape)])
        _, gradient = plain_likelihood(entry, exit, event).value_and_gradient(theta)
        assert gradient[0] == pytest.approx(0.0, abs=1e-9)


def power_law(failed_at: np.ndarray, watched: float | None = None) -> Weibull:
    """A machine that each repair leaves as it was: a life is entered at the age the last failure left it."""
    entry = np.append(0.0, failed_at)
    exit = np.append(failed_at, watched if watched else failed_at[-1])
    event = np.append(np.ones(len(failed_at)), 0.0)
    return fit_weibull(entry, exit, event)


LOADERS = {1: 1.6281, 3: 1.4925, 9: 1.6539, 11: 1.3163, 17: 1.5284, 20: 1.2198}


@pytest.mark.parametrize("loader", LOADERS)
def test_hydraulic_systems_of_mining_loaders_wear_by_the_power_law(loader):
    # Kumar & Klefsjö (1992); n / Σ ln(T/tᵢ) computed with a general-purpose library.
    gaps = pd.read_csv(REFERENCES / "loader_hydraulics.csv").query("loader == @loader")
    failed_at = gaps["hours_since_previous"].cumsum().to_numpy(float)
    assert power_law(failed_at).shape == pytest.approx(LOADERS[loader], rel=1e-4)


def test_loaders_of_one_shape_and_lives_of_their_own():
    # The same data, the common shape Σn / ΣΣ ln(T/tᵢ): populations free in life, held to one shape.
    gaps = pd.read_csv(REFERENCES / "loader_hydraulics.csv")
    exit = gaps.groupby("loader")["hours_since_previous"].cumsum().to_numpy(float)
    entry = exit - gaps["hours_since_previous"].to_numpy(float)
    rows = replace(Rows.plain(entry, exit, np.ones(len(exit))), population=pd.factorize(gaps["loader"])[0])
    layout = Layout.of(PLAIN, effects=0, populations=len(LOADERS))
    free, held = 1e3, 1e-6
    sd = np.full(layout.size, free)
    sd[layout.blocks["population_shape"]] = held
    mean = np.zeros(layout.size)
    mean[layout.blocks["log_life"]] = 5.0
    theta = maximise(
        Likelihood(rows, layout), Belief(mean, sd), mean, Directions.straight(np.minimum(sd, 1.0)), TIGHT
    )
    assert np.exp(layout.value(theta, "log_shape")) == pytest.approx(1.4568, rel=1e-4)


def test_luck_of_loaders_that_hardly_differ_stays_near_its_boundary_quietly():
    # Kvaløy & Lindqvist (2020) find no sign that the six loaders differ.
    gaps = pd.read_csv(REFERENCES / "loader_hydraulics.csv")
    exit = gaps.groupby("loader")["hours_since_previous"].cumsum().to_numpy(float)
    entry = exit - gaps["hours_since_previous"].to_numpy(float)
    rows = replace(Rows.plain(entry, exit, np.ones(len(exit))), place=pd.factorize(gaps["loader"])[0])
    layout = Layout.of(Parts(age=False, early=False, bend=False, past=False), effects=0, populations=0)
    flat = Belief(np.array([5.0, 0.3, -0.7, -3.0, 1.0]), np.full(5, 10.0))
    theta = maximise(Likelihood(rows, layout), flat, flat.mean, Directions.straight(np.ones(5)), TIGHT)
    assert np.isfinite(theta).all()
    assert Luck.of(theta, layout).sd < 0.2
    without = plain_likelihood(entry, exit, np.ones(len(exit))).value(
        fit_plain(entry, exit, np.ones(len(exit)))
    )
    assert Likelihood(rows, layout).value(theta) - without < 1.35  # 5 % of twice it at a boundary: 2.71


def test_reliability_growth_of_the_nist_handbook():
    # NIST/SEMATECH e-Handbook of Statistical Methods, 8.4.2.
    failed_at = np.array([5, 40, 43, 175, 389, 712, 747, 795, 1299, 1478], dtype=float)
    fit = power_law(failed_at, watched=1500.0)
    unbiased = fit.shape * (len(failed_at) - 1) / len(failed_at)  # as the handbook takes it
    assert 1 - unbiased == pytest.approx(0.5165, abs=5e-5)
    assert 1500 / (len(failed_at) * unbiased) == pytest.approx(310.23, abs=5e-3)


def test_the_curves_of_the_6_mp_arm():
    # Klein & Moeschberger, Survival Analysis: remission in weeks under 6-MP.
    weeks = [6, 6, 6, 6, 7, 9, 10, 10, 11, 13, 16, 17, 19, 20, 22, 23, 25, 32, 32, 34, 35]
    ended = [1, 1, 1, 0, 1, 0, 1, 0, 0, 1, 1, 0, 0, 0, 1, 1, 0, 0, 0, 0, 0]
    curve = SurvfuncRight(np.array(weeks, dtype=float), np.array(ended))
    kaplan_meier = [0.85714, 0.80672, 0.75294, 0.69020, 0.62745, 0.53782, 0.44818]
    nelson_aalen = [0.14286, 0.20168, 0.26835, 0.35168, 0.44259, 0.58545, 0.75211]
    assert curve.surv_times.tolist() == [6, 7, 10, 13, 16, 22, 23]
    assert curve.surv_prob == pytest.approx(kaplan_meier, abs=1e-5)
    assert np.cumsum(curve.n_events / curve.n_risk) == pytest.approx(nelson_aalen, abs=1e-5)
