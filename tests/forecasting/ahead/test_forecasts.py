"""Chances of failing for what is installed, given the age reached."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from forecasting.ahead.forecasts import HORIZONS, MEDIAN_WITHIN_DAYS, Forecaster
from forecasting.life.life_model import fit_life_model
from tests.forecasting.life_builders import make_lives, weibull_lives

CHANCES = [f"p_fail_{horizon}d" for horizon in HORIZONS]


def forecaster_of(
    installed: pd.DataFrame, size=3000, shape=2.5, scale=9000.0, draws: int | None = None
) -> Forecaster:
    """A forecaster that has seen many hoses of one Weibull law and is asked about `installed`."""
    past = weibull_lives(np.random.default_rng(11), size, shape, scale, 9000)
    past = past.assign(installed=False, assembly="past " + past["assembly"])
    past["installed"] = past["installed"].astype("boolean")
    lives = pd.concat([past, installed], ignore_index=True)
    model = fit_life_model(lives, np.random.default_rng(0))
    return Forecaster(replace(model, draws=model.draws[:draws]), lives)


def test_chances_are_those_of_the_law_given_the_age_reached():
    ages = np.array([3000.0, 8000.0])
    told = forecaster_of(make_lives(2, exit_hours=ages, hours_per_day_sd=0.0)).table()
    for horizon in HORIZONS:
        ahead = ((ages + 10 * horizon) / 9000) ** 2.5 - (ages / 9000) ** 2.5
        assert told[f"p_fail_{horizon}d"].to_numpy() == pytest.approx(1 - np.exp(-ahead), rel=0.35)


def test_chances_rise_with_the_horizon_and_lie_between_0_and_1():
    rng = np.random.default_rng(12)
    installed = make_lives(200, exit_hours=rng.uniform(1, 30_000, 200), hours_per_day=rng.uniform(0, 24, 200))
    installed = installed.assign(machine="M" + installed["assembly"])
    told = forecaster_of(installed).table()
    chances = told[CHANCES].to_numpy()
    assert (np.diff(chances, axis=1) >= 0).all()
    assert ((chances >= 0) & (chances <= 1)).all()
    assert (told["p_fail_365d_low"] <= told["p_fail_365d"]).all()
    assert (told["p_fail_365d"] <= told["p_fail_365d_high"]).all()


def test_curve_table_and_draws_say_the_same():
    forecaster = forecaster_of(make_lives(5, exit_hours=[100.0, 2000.0, 4000.0, 7000.0, 9000.0]))
    told = forecaster.table()[CHANCES].to_numpy()
    assert 1 - forecaster.survival(np.array(HORIZONS)) == pytest.approx(told, rel=1e-6)
    for place, horizon in enumerate(HORIZONS):
        drawn = forecaster.chance_draws(horizon, forecaster.draws).mean(axis=0)
        assert drawn == pytest.approx(told[:, place], rel=1e-6)


def test_the_curve_between_its_knots_is_that_of_the_draws():
    forecaster = forecaster_of(make_lives(3, exit_hours=[50.0, 2000.0, 9000.0]))
    days = np.array([0.0, 0.5, 3.0, 21.0, 75.0, 300.0, 600.0, 3000.0])
    drawn = forecaster.survival(days)
    exact = np.column_stack([1 - forecaster.chance_draws(day, forecaster.draws).mean(axis=0) for day in days])
    assert drawn == pytest.approx(exact, abs=3e-3)
    assert (np.diff(forecaster.survival(np.arange(0.0, 40_000.0, 7.0)), axis=1) <= 0).all()


def test_a_new_hose_lasts_longer_than_an_old_one_that_wears():
    forecaster = forecaster_of(make_lives(1, exit_hours=8000.0))
    days = np.array([0.0, 30.0, 365.0])
    fresh, old = forecaster.fresh_survival(days), forecaster.survival(days)
    assert fresh[0, 0] == old[0, 0] == 1.0
    assert (fresh[0, 1:] > old[0, 1:]).all()


def test_a_new_hose_of_which_nothing_is_known_lasts_as_long_as_the_one_after_it():
    """Both by the same draws: where these lie far apart, another few of them would tell of another hose."""
    lives = make_lives(1, exit_hours=0.0)
    forecaster = Forecaster(fit_life_model(lives, np.random.default_rng(0)), lives)
    days = np.array([30.0, 365.0, 3650.0, 14_610.0])
    assert forecaster.fresh_survival(days) == pytest.approx(forecaster.survival(days), rel=1e-6)


def test_successors_are_followed_one_draw_at_a_time():
    installed = make_lives(40, exit_hours=np.linspace(1.0, 9000.0, 40))
    forecaster = forecaster_of(installed, size=60, draws=64)
    days, rows = np.array(HORIZONS, float), np.array([3, 17, 38])
    drawn = np.array([survival(days) for survival in forecaster.fresh_draws(rows)])
    assert drawn.shape == (64, 3, len(HORIZONS))
    assert drawn.mean(axis=0) == pytest.approx(forecaster.fresh_survival(days)[rows], rel=1e-6)
    assert (drawn[:, :, -1].std(axis=0) > 0.01).all()  # sixty lives leave much open


def test_median_days_left_is_empty_beyond_ten_years():
    installed = make_lives(2, exit_hours=[4000.0, 5.0], hours_per_day=[10.0, 0.05], hours_per_day_sd=0.0)
    forecaster = forecaster_of(installed.assign(machine=["M1", "M2"]))
    days = forecaster.table()["median_days_left"]
    assert forecaster.survival(days.iloc[:1])[0, 0] == pytest.approx(0.5, abs=0.01)
    assert days[0] < MEDIAN_WITHIN_DAYS
    assert np.isnan(days[1])


def test_a_machine_that_stands_still_gives_no_chance_but_that_of_age():
    still = make_lives(1, machine="EX-2", hours_per_day=0.0, hours_per_day_sd=0.0).assign(assembly="B1")
    told = forecaster_of(pd.concat([make_lives(1), still], ignore_index=True)).table()
    assert 0 < told.loc[1, "p_fail_365d"] < told.loc[0, "p_fail_365d"] / 4


def test_usage_that_is_not_well_known_widens_the_interval():
    known = make_lives(1, machine="M1", exit_hours=4000.0, hours_per_day_sd=0.1)
    unknown = make_lives(1, machine="M2", exit_hours=4000.0, hours_per_day_sd=5.0).assign(assembly="B1")
    told = forecaster_of(pd.concat([known, unknown], ignore_index=True)).table()
    width = told["p_fail_365d_high"] - told["p_fail_365d_low"]
    assert width[1] > 1.2 * width[0]


def factors_of(lives: pd.DataFrame) -> pd.DataFrame:
    return Forecaster(fit_life_model(lives, np.random.default_rng(0)), lives).factors()


def test_factors_stand_heaviest_first_as_multiples_of_the_population():
    installed = make_lives(2, exit_hours=[4000.0, 4000.0], pressure_ratio=[0.94, 0.47])
    factors = forecaster_of(installed).factors()
    assert factors["assembly"].drop_duplicates().tolist() == ["A1", "A2"]
    heavy = factors[factors["factor"].str.endswith("of rating")].set_index("assembly")
    assert heavy["factor"].tolist() == ["runs at 94 % of rating", "runs at 47 % of rating"]
    assert heavy.loc["A1", "multiple"] > 1 > heavy.loc["A2", "multiple"]
    weight = np.log(factors["multiple"]).abs()
    assert (weight.groupby(factors["assembly"]).diff().dropna() <= 1e-12).all()


def test_a_position_that_has_worn_hoses_out_says_so():
    rng = np.random.default_rng(14)
    quiet = weibull_lives(rng, 600, 2.5, 9000, 8000)
    many = make_lives(
        4, position="SWING", exit_hours=[900.0, 800.0, 900.0, 500.0],
        end=["failed", "failed", "failed", "watched"],
        installed_on=["2023-01-01", "2023-04-01", "2023-07-01", "2023-10-01"],
        ended_on=["2023-04-01", "2023-07-01", "2023-10-01", "2025-01-01"],
    )  # fmt: skip
    lives = pd.concat([quiet, many.assign(assembly="S" + many["assembly"])], ignore_index=True)
    told = factors_of(lives).set_index("assembly").loc["SA4"]
    luck = told[told["factor"] == "fourth hose here in 2.0 years, 3 failed or worn"]
    assert luck["multiple"].item() > 2


def test_a_hose_that_is_alone_of_its_kind_is_held_against_the_fleet():
    pressures = {"pressure_ratio": [0.5] * 9 + [1.9], "population": ["100R2/-8"] * 9 + ["100R1/-10"]}
    told = forecaster_of(make_lives(10, exit_hours=6000.0, **pressures)).factors()
    alone = told[told["assembly"] == "A10"].set_index("factor")["multiple"]
    assert alone["runs at 190 % of rating"] > 2


def test_the_age_of_a_hose_is_told_in_hours_and_time():
    ages = {"exit_hours": [50.0] * 5 + [9000.0] * 5, "age_days": [20.0] * 5 + [1461.0] * 5}
    told = forecaster_of(make_lives(10, **ages)).factors().groupby("factor")["multiple"].median()
    assert told["has run 50 h in 20 days"] < 1 < told["has run 9,000 h in 4.0 years"]


def test_a_bench_with_a_name_for_early_failures_is_a_factor():
    rng = np.random.default_rng(15)
    bench = rng.choice(["Bench 1", "Bench 2", "Bench 3"], 3000)
    early = rng.random(3000) < np.where(bench == "Bench 3", 0.25, 0.01)
    life = np.where(early, rng.exponential(300, 3000), 9000 * rng.weibull(2.5, 3000))
    watched = rng.uniform(50, 4000, 3000)
    lives = make_lives(
        exit_hours=np.minimum(life, watched),
        end=np.where(life < watched, "failed", "watched"),
        crimped_by=bench,
    )
    told = factors_of(lives)
    told = told[told["assembly"].isin(lives.loc[lives["exit_hours"] < 300, "assembly"])]
    multiple = told.groupby("factor")["multiple"].median()
    assert multiple["crimped by Bench 3"] > 2
    assert multiple["crimped by Bench 1"] < 0.7
    new = told[told["factor"].str.startswith("still new, has run")]
    assert len(new) > 50 and (new["multiple"] > 1).all()


def test_a_successor_fails_early_as_the_fleet_is_built_not_as_its_usual_bench_builds():
    """Four benches build as many hoses; a sixth of those of the worst fails within a few hundred hours."""
    rng = np.random.default_rng(15)
    bench = np.arange(4000) % 4
    early = rng.random(4000) < np.array([0.01, 0.01, 0.01, 0.17])[bench]
    ended = np.where(early, rng.exponential(200, 4000), 2000.0)
    lives = make_lives(
        exit_hours=ended,
        end=np.where(early, "failed", "watched"),
        crimped_by=np.char.add("Bench ", (bench + 1).astype(str)),
    )
    forecaster = Forecaster(fit_life_model(lives, np.random.default_rng(0)), lives)
    failing = 1 - forecaster.fresh_survival(np.array([200.0]))[:, 0]
    assert failing.mean() == pytest.approx(early.mean(), rel=0.2)  # 5 %, where an ordinary bench has 1


def test_a_fleet_with_nothing_installed_has_empty_answers():
    forecaster = forecaster_of(make_lives(0))
    assert forecaster.table().empty
    assert forecaster.factors().empty
    assert forecaster.survival(np.array([30.0])).shape == (0, 1)
    assert forecaster.chance_draws(30.0, 7).shape == (7, 0)


def test_a_fleet_without_failures_has_finite_chances():
    lives = make_lives(1, exit_hours=300.0)
    told = Forecaster(fit_life_model(lives, np.random.default_rng(0)), lives).table()
    assert 0 < told.loc[0, "p_fail_30d"] < told.loc[0, "p_fail_365d"] < 0.9
