"""Usage to come: how far the mean rate of some days may lie from that of the past year."""

import numpy as np
import pytest

from forecasting.hours.to_come import DRIFTING_DAYS, UsageToCome

DAYS = np.array([30.0, 91.0, 364.0, 3640.0])
FIRST = np.array([0])


def usage(level=0.0, noise=0.0, drift=0.0, rate=10.0, draws=4000) -> UsageToCome:
    of_machine = (np.array([one]) for one in (rate, level, noise, drift))
    return UsageToCome.draw(*of_machine, draws, np.random.default_rng(3))


def spread(drawn: UsageToCome) -> np.ndarray:
    """Standard deviation of the mean rate of DAYS over the draws, in hours a day."""
    rates = [drawn.hours(draw, FIRST, DAYS)[0] / DAYS for draw in range(len(drawn.steps))]
    return np.std(rates, axis=0)


def test_the_noise_of_quarters_averages_out():
    assert spread(usage(noise=1.0)) == pytest.approx(
        [np.sqrt(91 / 30), 1.0, 0.5, np.sqrt(91 / 3640)], rel=0.08
    )


def test_a_level_not_well_known_does_not_average_out():
    assert spread(usage(level=1.0)) == pytest.approx(np.ones(4), rel=0.05)


def test_a_drift_moves_the_mean_of_a_year_by_a_third_of_its_square():
    # The mean of a random walk of four steps of 1: variance 4 / 3, in the limit of small steps.
    told = spread(usage(drift=1.0))
    assert told[2] == pytest.approx(np.sqrt(4 / 3), rel=0.08)
    assert told[3] == pytest.approx(np.sqrt(DRIFTING_DAYS / 91 / 3), rel=0.08)


def test_the_mean_rate_is_kept_and_no_day_has_more_than_24_hours():
    wide = usage(level=2.0, noise=2.0, drift=1.0)
    hours = np.stack([wide.hours(draw, FIRST, DAYS)[0] for draw in range(len(wide.steps))])
    assert (hours / DAYS).mean(axis=0) == pytest.approx(10.0, rel=0.03)
    assert (hours <= 24 * DAYS).all()


def test_all_hoses_of_a_machine_share_its_draw_and_each_may_have_its_own_days():
    drawn = usage(level=2.0)
    together = drawn.hours(5, np.array([0, 0]), DAYS)
    assert together[0].tolist() == together[1].tolist()
    own = drawn.hours(5, np.array([0, 0]), np.array([[30.0], [364.0]]))
    assert own[:, 0].tolist() == [together[0, 0], together[0, 2]]


def test_more_days_never_run_fewer_hours():
    drawn = usage(level=3.0, noise=3.0, drift=1.5, draws=400)
    days = np.linspace(0.5, 1500, 500)
    for draw in range(400):
        assert (np.diff(drawn.hours(draw, FIRST, days)[0]) >= 0).all()


def test_a_machine_that_stands_still_stays_so():
    assert usage(rate=0.0, draws=1).hours(0, FIRST, DAYS).tolist() == [[0.0] * 4]
