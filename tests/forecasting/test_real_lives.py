"""Real lives with delayed entry, forecast over rolling origins."""

import numpy as np
import pandas as pd
from surpyval.datasets import load_framingham

from forecasting.ahead.forecasts import HORIZONS, Forecaster
from forecasting.hindsight.scoring import chances_by_horizon, outcomes_after, score
from forecasting.life.life_model import fit_life_model
from forecasting.life.simple_models import one_life_table
from tests.forecasting.life_builders import make_lives

# The Framingham Heart Study's teaching data as surpyval ships them: 4,434 people first examined at an age of
# 32 to 70 and followed for 24 years, 1,550 deaths. Age is the clock, so everybody enters late.
FIRST_EXAMINED = pd.Timestamp("1956-01-01")
ORIGINS = (3000, 4500, 6000, 7500)  # days after the first examination
LAST_DAY = 8766
A_YEAR = 365


def people_on(day: int) -> pd.DataFrame:
    """LIVES of what was known so many days after the first examination, from which alone covariates come.

    A person stands in a position of their own; blood pressure is the pressure, with 200 mmHg as rating.
    """
    people = load_framingham()
    people = people[people["PERIOD"] == 1].reset_index(drop=True)
    watched = people["TIMEDTH"].clip(upper=day)
    died = (people["DEATH"] == 1) & (people["TIMEDTH"] <= day)
    age = people["AGE"] * 365.25
    sex = people["SEX"].map({1: "men", 2: "women"})
    return make_lives(
        assembly=people["RANDID"].astype(str),
        machine=people["RANDID"].astype(str),
        position="P",
        population=sex,
        construction=sex,
        crimped_by=None,
        entry_days=age,
        exit_days=age + watched,
        age_days=age + watched,
        entry_hours=age / 100,
        exit_hours=(age + watched) / 100,
        age_hours=(age + watched) / 100,
        hours_per_day=0.01,
        hours_per_day_sd=0.0,
        end_hours_per_day=0.01,
        pressure_ratio=people["SYSBP"] / 200,
        abrasive=people["CURSMOKE"].astype(float),
        hot=people["DIABETES"].astype(float),
        end=np.where(died, "failed", "watched"),
        installed=~died,
        installed_on=FIRST_EXAMINED,
        ended_on=FIRST_EXAMINED + pd.to_timedelta(watched, unit="D"),
    )


def test_rolling_forecasts_of_real_lives_beat_the_plain_life_table_at_every_origin():
    happened = people_on(LAST_DAY)
    expected = observed = 0.0
    for origin in ORIGINS:
        lives = people_on(origin)
        outcomes = outcomes_after(happened, FIRST_EXAMINED + pd.Timedelta(days=origin))
        forecaster = Forecaster(fit_life_model(lives, np.random.default_rng(origin)), lives)
        own, plain = (
            score(
                chances_by_horizon(told.set_index("assembly").loc[outcomes["assembly"]], HORIZONS),
                outcomes,
                A_YEAR,
            )
            for told in (forecaster.table(), one_life_table(lives, HORIZONS))
        )
        assert own["log_loss"] < plain["log_loss"]
        expected, observed = expected + own["expected"], observed + own["observed"]
    assert 250 < observed < 300
    assert abs(expected / observed - 1) < 0.12
