"""What the age of a hose found in its place tells of the luck of that place."""

import numpy as np
import pytest

from forecasting.life.beginnings import Beginnings
from forecasting.life.likelihood import Likelihood
from forecasting.life.luck import Luck
from forecasting.life.parameters import Layout, Parts
from forecasting.life.rows import Rows

LIFE, SHAPE, SD = 1000.0, 2.0, 0.8
REMOVAL_RATE = 1 / 4000


def a_law() -> tuple[np.ndarray, Layout]:
    layout = Layout.of(Parts(age=False, early=False, bend=False), effects=0, populations=0)
    theta = np.zeros(layout.size)
    values = {
        "log_life": np.log(LIFE),
        "log_shape": np.log(SHAPE),
        "log_luck_sd": np.log(SD),
        "lemon_odds": -2.5,
    }
    for name, value in values.items():
        theta[layout.blocks[name]] = value
    return theta, layout


def places_found(rng, theta, layout, age_days: float, count: int = 4000):
    """Hoses follow one another for so long; of each place its luck, and when the last was put in."""
    luck = Luck.of(theta, layout)
    z = rng.choice(luck.values, size=count, p=np.exp(luck.log_chances))
    installed, going = np.zeros(count), np.ones(count, dtype=bool)
    while going.any():
        life = LIFE * (rng.exponential(size=count) / z / 0.3) ** (1 / SHAPE)
        until = installed + np.minimum(life, rng.exponential(1 / REMOVAL_RATE, count))
        going &= until < age_days
        installed = np.where(going, until, installed)
    return z, installed


@pytest.mark.parametrize("machine_age", [600.0, 3000.0])
@pytest.mark.parametrize("machine_age_known", [True, False])
def test_the_luck_of_a_place_is_told_rightly_by_the_age_of_what_is_found(machine_age, machine_age_known):
    rng = np.random.default_rng(1)
    theta, layout = a_law()
    z, installed = places_found(rng, theta, layout, machine_age)
    age = machine_age - installed
    rows = Rows.plain(age, age, np.zeros(len(age)))
    rows = Rows(**{**{name: getattr(rows, name) for name in Rows.__dataclass_fields__}, "found": age > 0})
    came_later = installed > 0
    since = installed if machine_age_known else np.full(len(age), np.nan)
    beginnings = Beginnings(
        rows.some(came_later), since[came_later], since[came_later], REMOVAL_RATE, len(age)
    )
    likelihood = Likelihood(rows, layout, beginnings.weights(theta, layout))
    told = Luck.of(theta, layout).values @ likelihood.posterior(theta)

    for group in (~came_later, came_later & (age < 400), came_later & (age >= 400)):
        if group.sum() < 200 or (not machine_age_known and machine_age < 1000):
            continue  # a young machine of unknown age is taken for an old one: nothing better can be said
        error = z[group].std() / np.sqrt(group.sum())
        assert told[group].mean() == pytest.approx(z[group].mean(), abs=4 * error + 0.06)


def test_without_what_the_age_tells_old_survivors_would_count_as_ordinary():
    theta, layout = a_law()
    age = np.array([100.0, 2000.0])
    rows = Rows.plain(age, age, np.zeros(2))
    rows = Rows(**{**{name: getattr(rows, name) for name in Rows.__dataclass_fields__}, "found": age > 0})
    none_followed = Beginnings(rows.some(slice(0, 0)), np.zeros(0), np.zeros(0), REMOVAL_RATE, 2)
    values = Luck.of(theta, layout).values
    blind = values @ Likelihood(rows, layout).posterior(theta)
    told = values @ Likelihood(rows, layout, none_followed.weights(theta, layout)).posterior(theta)
    assert blind[0] == pytest.approx(blind[1])
    assert told[1] < 0.6 * told[0]


@pytest.mark.parametrize("shape", [1.0, 2.0, 6.0])
@pytest.mark.parametrize("life_days", [20.0, 45.0, 300.0, 4000.0])
def test_a_hose_of_unknown_machine_age_weighs_one_by_its_mean_life_however_short(life_days, shape):
    theta, layout = a_law()
    theta[layout.blocks["log_life"]], theta[layout.blocks["log_shape"]] = np.log(life_days), np.log(shape)
    age, luck = np.array([10.0]), Luck.of(theta, layout)
    found = Beginnings(Rows.plain(age, age, np.zeros(1)), *[np.array([np.nan])] * 2, REMOVAL_RATE, 1)
    days = np.geomspace(1e-3, 20 * 365.25, 200_001)
    survival = np.exp(-0.3 * luck.values[:, None] * (days / life_days) ** shape - REMOVAL_RATE * days)
    mean_days = days[0] + np.trapezoid(survival, days, axis=1)
    assert np.exp(-found.weights(theta, layout)[:, 0]) == pytest.approx(mean_days, rel=0.02)


def test_of_hoses_that_all_give_out_at_one_early_age_nothing_is_told_beyond_measure():
    theta, layout = a_law()
    theta[layout.blocks["log_life"]], theta[layout.blocks["log_shape"]] = np.log(20.0), np.log(25.0)
    age = np.array([15.0, 15.0])
    since = np.array([1500.0, np.nan])
    found = Beginnings(Rows.plain(age, age, np.zeros(2)), since, since, REMOVAL_RATE, 2)
    with np.errstate(divide="raise"):
        assert np.isfinite(found.weights(theta, layout)).all()
