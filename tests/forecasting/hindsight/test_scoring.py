"""What became of hoses after a forecast, and how near the forecast was to it."""

import numpy as np
import pandas as pd
import pytest
import statsmodels.api as sm
from statsmodels.duration.survfunc import SurvfuncRight

from forecasting.errors import BadTable
from forecasting.hindsight.calibration import BANDS, add_bands, band_rows, regress, tell_bands
from forecasting.hindsight.scoring import (
    Fates,
    Watching,
    brier,
    chance_while_watched,
    log_loss,
    outcomes_after,
    score,
)
from forecasting.tables import make_table
from tests.forecasting.life_builders import make_lives

# Six hoses and a horizon of 100 days: two fail, two are taken out ahead, two outlast it.
SIX = pd.DataFrame(
    {
        "assembly": list("ABCDEF"),
        "watched_days": [20.0, 40.0, 100.0, 60.0, 80.0, 200.0],
        "failed": [True, False, False, True, False, True],
    }
)


def told(*chances, days=100):
    return pd.DataFrame({days: chances})


def outcomes(watched_days, failed):
    names = [f"A{number}" for number in range(len(watched_days))]
    return pd.DataFrame({"assembly": names, "watched_days": watched_days, "failed": failed})


def test_those_whose_fate_is_known_stand_for_those_taken_out_ahead():
    # By hand: of B C D E F one goes on day 40, of C E F one on day 80; so the chance still to be watched is
    # 1 up to day 40, 4/5 up to day 80, 8/15 beyond. D weighs 5/4, C and F 15/8, and all six weigh six.
    fates = Fates.within(SIX, 100)
    assert fates.failed.tolist() == [True, False, False, True, False, False]
    assert fates.weights == pytest.approx([1, 0, 15 / 8, 5 / 4, 0, 15 / 8])
    assert fates.weights.sum() == pytest.approx(6)


def test_log_loss_and_brier_by_hand():
    fates = Fates.within(SIX, 100)
    chance = np.array([0.5, 0.9, 0.2, 0.4, 0.9, 0.1])
    by_hand = -(np.log(0.5) + 1.25 * np.log(0.4) + 1.875 * (np.log(0.8) + np.log(0.9))) / 6
    assert log_loss(chance, fates) == pytest.approx(by_hand)
    assert brier(chance, fates) == pytest.approx((0.5**2 + 1.25 * 0.6**2 + 1.875 * (0.2**2 + 0.1**2)) / 6)


def test_failures_are_expected_only_as_long_as_a_hose_is_watched():
    # A, failed on day 20, would have been watched 20 + 20 + 40 · 4/5 + 20 · 8/15 days on average, D
    # 60 + (20 · 4/5 + 20 · 8/15) ÷ 4/5; the others were watched as long as they were.
    fates = Fates.within(SIX, 100)
    assert fates.watched_days == pytest.approx([20 + 20 + 32 + 32 / 3, 40, 100, 60 + 80 / 3 / 0.8, 80, 100])
    steady = told(*[1 - np.exp(-0.3)] * 6)
    assert chance_while_watched(steady, fates) == pytest.approx(-np.expm1(-0.003 * fates.watched_days))


def test_a_failure_on_the_day_another_is_taken_out_is_seen_first():
    watching = Watching.of(np.array([30.0, 30.0, 90.0]), np.array([True, False, False]), 90)
    assert watching.until(np.array([30.0, 31.0])) == pytest.approx([1.0, 0.5])


def test_the_curve_of_watching_is_the_kaplan_meier_of_statsmodels():
    rng = np.random.default_rng(4)
    days, failed = rng.permutation(400)[:200] + 1.0, rng.random(200) < 0.4
    watching = Watching.of(days, failed, 365)
    curve = SurvfuncRight(days, (~failed & (days < 365)).astype(int))
    for day in (1.0, 90.0, 200.0, 365.0):
        before = curve.surv_prob[curve.surv_times < day]
        assert watching.until(np.array([day])) == pytest.approx([before[-1] if len(before) else 1.0])


def test_nobody_taken_out_leaves_the_plain_scores():
    happened = outcomes([10.0, 400.0, 400.0], [True, False, False])
    made = score(told(0.6, 0.2, 0.1, days=365), happened, 365)
    assert made["log_loss"] == pytest.approx(-np.log([0.6, 0.8, 0.9]).mean())
    assert made["expected"] == pytest.approx(0.9)
    assert (made["installed"], made["observed"]) == (3, 1)


def test_hoses_taken_out_at_random_hardly_change_the_score():
    rng = np.random.default_rng(11)
    rate = rng.gamma(2.0, 0.001, 20_000)
    life, taken_out = rng.exponential(1 / rate), rng.exponential(500, 20_000)
    chances = pd.DataFrame({days: -np.expm1(-rate * days) for days in (90, 365)})
    whole = score(chances, outcomes(np.full(20_000, 400.0).clip(max=life), life <= 400), 365)
    seen = score(
        chances,
        outcomes(np.minimum(np.minimum(life, taken_out), 400.0), life <= np.minimum(taken_out, 400)),
        365,
    )
    assert seen["log_loss"] == pytest.approx(whole["log_loss"], rel=0.02)
    assert seen["brier"] == pytest.approx(whole["brier"], rel=0.02)
    assert seen["calibration_slope"] == pytest.approx(1.0, abs=0.06)
    assert seen["calibration_intercept"] == pytest.approx(0.0, abs=0.06)
    assert seen["observed"] < 0.8 * whole["observed"]
    assert seen["expected"] == pytest.approx(seen["observed"], rel=0.03)
    assert seen["low_95"] <= seen["observed"] <= seen["high_95"]


def test_what_is_not_known_for_sure_widens_the_limits_of_the_count():
    chances = told(*[0.1] * 400, days=365)
    happened = outcomes(np.full(400, 365.0), np.zeros(400, dtype=bool))
    sure = score(chances, happened, 365)
    unsure = score(chances, happened, 365, draws=np.repeat([[0.05], [0.15]], 400, axis=1))
    assert (sure["low_95"], sure["high_95"]) == (29, 52)  # binomial of 400 and 0.1
    assert unsure["low_95"] < 20 and unsure["high_95"] > 60


def test_what_befalls_all_hoses_together_widens_the_limits_of_the_count():
    happened = outcomes(np.full(400, 365.0), np.arange(400) < 40)
    chances = told(*np.full(400, 0.1), days=365)
    apart, together = (score(chances, happened, 365, swing=swing) for swing in (0.0, 0.09))
    assert together["high_95"] - together["low_95"] > 1.5 * (apart["high_95"] - apart["low_95"])
    assert together["expected"] == apart["expected"]


def test_an_empty_chance_is_refused():
    with pytest.raises(BadTable, match="row 1: a chance is empty"):
        score(told(0.1, np.nan), outcomes([100.0, 100.0], [False, False]), 100)


def test_a_hose_watched_only_since_the_register_began_is_no_outcome_of_an_earlier_day():
    lives = make_lives(
        assembly=["seen", "found later", "failed"],
        end=["watched", "watched", "failed"],
        installed=[True, True, False],
        ended_on=["2025-01-01", "2025-01-01", "2024-03-01"],
        exit_hours=[9000.0, 9000.0, 3000.0],
        entry_hours=[5000.0, 8000.0, 0.0],
    )
    found = outcomes_after(lives, pd.Timestamp("2024-01-31"))
    assert found["assembly"].tolist() == ["seen", "failed"]
    assert found["watched_days"].tolist() == [336.0, 30.0]
    assert found["failed"].tolist() == [False, True]


def test_the_calibration_line_is_the_logistic_regression_on_the_logit():
    rng = np.random.default_rng(2)
    chance = rng.uniform(0.02, 0.6, 500)
    failed = rng.random(500) < chance
    line = regress(chance, failed, np.ones(500))
    logit = np.log(chance / (1 - chance))
    fitted = sm.Logit(failed.astype(float), sm.add_constant(logit)).fit(disp=0)
    assert [line.intercept, line.slope] == pytest.approx(fitted.params, rel=1e-6)
    assert line.reason == ""


@pytest.mark.parametrize(
    ("chance", "failed", "reason"),
    [
        (np.linspace(0.1, 0.2, 50), np.arange(50) < 9, "9 failed and 41 lasted"),
        (np.full(50, 0.2), np.arange(50) < 20, "the same chance"),
        (np.linspace(0.1, 0.9, 50), np.arange(50) >= 30, "part those that failed"),
    ],
)
def test_where_no_calibration_line_can_be_drawn_it_says_why(chance, failed, reason):
    line = regress(chance, failed, np.ones(50))
    assert np.isnan([line.slope, line.intercept]).all()
    assert reason in line.reason


def test_bands_tell_how_many_failed_of_those_given_a_chance():
    chance = np.array([0.25] * 40 + [0.005] * 100)
    failed = np.array([True] * 11 + [False] * 129)
    rows = band_rows(chance, failed, np.ones(140), 365)
    assert tell_bands(make_table(add_bands([rows]), BANDS), 365) == [
        "Of 100 assemblies given 0–1 %, 0 failed; 0.5 were expected.",
        "Of 40 assemblies given 20–30 %, 11 failed; 10.0 were expected.",
    ]


def test_bands_of_several_dates_add_up_and_tell_of_those_taken_out():
    chance, failed = np.full(10, 0.25), np.arange(10) < 2
    weights = np.where(np.arange(10) < 8, 1.25, 0.0)
    rows = [band_rows(chance, failed, weights, 90)] * 2
    bands = make_table(add_bands(rows), BANDS)
    assert bands["failed_of_all"].tolist() == pytest.approx([5.0])
    assert tell_bands(bands, 90) == [
        "Of 20 assemblies given 20–30 %, 4 failed and 4 were taken out ahead or lost from sight, "
        "as if 5 of all had failed; 5.0 were expected."
    ]
