"""The law fitted to the fleet: what it learns, what it borrows, and what it says where little is known."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from forecasting.ahead.forecasts import Forecaster
from forecasting.life import fitting
from forecasting.life.fitting import Directions, Fit
from forecasting.life.laws import Laws
from forecasting.life.life_model import describe_populations, fit_life_model
from forecasting.life.likelihood import Likelihood
from forecasting.life.parameters import PLAIN, Layout
from forecasting.life.priors import Belief
from forecasting.life.rows import Rows
from forecasting.life.standing import Standing
from tests.benchmarks.laws import AS_OF as BENCHMARK_DAY
from tests.benchmarks.laws import KINDS, small
from tests.benchmarks.worlds import simulate
from tests.forecasting.life_builders import make_lives, weibull_lives


def fitted(lives: pd.DataFrame):
    return fit_life_model(lives, np.random.default_rng(0))


def year_chances(lives: pd.DataFrame) -> np.ndarray:
    return Forecaster(fitted(lives), lives).table()["p_fail_365d"].to_numpy()


def with_days(lives: pd.DataFrame, rng) -> pd.DataFrame:
    """The same lives on machines that work five to twenty hours a day, so that the clocks differ."""
    rate = rng.uniform(5, 20, len(lives))
    days = {f"{one}_days": lives[f"{one}_hours"] / rate for one in ("entry", "exit", "age")}
    return lives.assign(hours_per_day=rate, end_hours_per_day=rate, **days)


def test_many_failures_teach_shape_and_scale():
    rng = np.random.default_rng(3)
    lives = with_days(weibull_lives(rng, 4000, shape=2.6, scale=9000, watched=8000), rng)
    (population,) = describe_populations(fitted(lives), lives)
    assert population["shape"] == pytest.approx(2.6, rel=0.15)
    assert population["scale"] == pytest.approx(9000, rel=0.1)
    assert population["shape_low"] < population["shape"] < population["shape_high"]
    assert population["basis"] == "own_history"


def test_higher_pressure_and_heat_shorten_life_as_they_did_in_the_fleet():
    rng = np.random.default_rng(4)
    ratio, temperature = rng.uniform(0.3, 1.0, 6000), rng.uniform(40, 100, 6000)
    scale = 9000 * (ratio / 0.6) ** -2.0 * np.exp(-0.2 * (temperature - 70) / 10)
    lives = weibull_lives(rng, 6000, 2.0, scale, 9000, pressure_ratio=ratio, temperature_c=temperature)
    model = fitted(with_days(lives, rng))
    effects = np.exp(model.layout.block(model.fit.theta, "effects"))
    assert effects[:2] == pytest.approx([2.0, 0.2], rel=0.15)


def test_ageing_by_the_calendar_is_told_from_wear_by_the_hour():
    rng = np.random.default_rng(41)
    rate = rng.uniform(0.5, 12, 5000)
    days = 365.25 * 6 * rng.weibull(4.0, 5000)
    watched = rng.uniform(300, 3000, 5000)
    exit_days = np.minimum(days, watched)
    lives = make_lives(
        exit_hours=exit_days * rate, exit_days=exit_days, age_days=exit_days, hours_per_day=rate,
        end_hours_per_day=rate, end=np.where(days < watched, "failed", "watched"),
    )  # fmt: skip
    model = fitted(lives)
    law = Laws.of(model.fit.theta, model.layout, model.observe(lives)[0].rows)
    six_years = np.full(len(lives), 365.25 * 6)
    assert np.median(law.age.hazard(six_years)) == pytest.approx(1.0, rel=0.25)
    assert np.median(law.wear.hazard(six_years * rate)) < 0.3


def test_lemons_among_the_positions_are_found():
    rng = np.random.default_rng(42)
    lives = []
    for place in range(400):
        scale, left, number = (1500.0 if place < 20 else 9000.0), 10_000.0, 0
        while left > 0:
            life = scale * rng.weibull(2.0)
            exit, end = min(life, left), "failed" if life < left else "watched"
            lives.append((f"P{place:03d}", f"{place:03d}/{number:02d}", exit, end))
            left, number = left - life, number + 1
    place, assembly, exit, end = zip(*lives, strict=True)
    frame = make_lives(position=list(place), assembly=list(assembly), exit_hours=list(exit), end=list(end))
    forecaster = Forecaster(fitted(frame), frame)
    chance = forecaster.survival(np.array([100.0]))[:, 0]
    lemon = forecaster.installed["position"] < "P020"
    ages_alike = (forecaster.installed["age_hours"] < 1000).to_numpy()
    assert np.log(chance[lemon & ages_alike]).mean() < 5 * np.log(chance[~lemon & ages_alike]).mean()


def test_an_unknown_cause_is_part_failure_and_part_not():
    rng = np.random.default_rng(43)
    life, changed = 8000 * rng.weibull(2.5, 1500), rng.exponential(6000, 1500)
    exit = np.minimum(np.minimum(life, changed), 7000.0)
    cause = np.select([life <= exit, changed <= exit], ["failed", "planned"], "")
    lives = make_lives(
        exit_hours=exit, end=np.where(cause == "failed", "failed", "watched"), installed=cause == "",
        removal_cause=np.where(cause == "", None, cause),
    )  # fmt: skip
    hidden = lives["removal_cause"].notna() & (rng.random(1500) < 0.5)
    blind = lives.assign(
        removal_cause=lives["removal_cause"].mask(hidden, "unknown"), end=lives["end"].mask(hidden, "watched")
    )
    believed_sound = blind.assign(removal_cause=blind["removal_cause"].mask(hidden, "planned"))
    true, taken_as_unknown, taken_as_sound = (
        year_chances(one).mean() for one in (lives, blind, believed_sound)
    )
    assert taken_as_unknown == pytest.approx(true, rel=0.12)
    assert taken_as_sound < 0.8 * true


def test_a_population_with_two_lives_borrows_from_the_fleet():
    rng = np.random.default_rng(6)
    many = weibull_lives(rng, 2000, 2.0, 8000, 9000)
    few = make_lives(2, population="100R15/-12", exit_hours=[500.0, 900.0]).assign(assembly=["B1", "B2"])
    lives = pd.concat([many, few], ignore_index=True)
    told = {one["name"]: one for one in describe_populations(fitted(lives), lives)}
    assert told["100R15/-12"]["basis"] == "pooled"
    assert told["100R15/-12"]["scale"] == pytest.approx(told["100R2/-8"]["scale"], rel=0.3)


def test_a_fleet_without_failures_is_led_by_the_prior_and_says_so():
    lives = make_lives(30, exit_hours=1500.0)
    (population,) = describe_populations(fitted(lives), lives)
    assert population["basis"] == "prior_only"
    assert 1.1 < population["shape"] < 3.6
    assert 1500 < population["scale"] < 100_000


def test_the_upper_chance_falls_as_quiet_exposure_grows():
    upper = []
    for count in (1, 10, 100, 1000):
        lives = make_lives(count, exit_hours=3000.0)
        upper.append(Forecaster(fitted(lives), lives).table()["p_fail_365d_high"].iloc[0])
    assert upper == sorted(upper, reverse=True)
    assert upper[-1] < upper[0] / 3


@pytest.mark.parametrize(
    "lives",
    [
        make_lives(1, exit_hours=0.1),
        make_lives(1, exit_hours=10.0, end="failed", installed=True),
        make_lives(2, exit_hours=[50.0, 90_000.0], end=["failed", "watched"], installed=True),
        make_lives(40, exit_hours=2000.0, end="failed", installed=True),
        make_lives(40, exit_hours=2000.0, entry_hours=2000.0),
        make_lives(3, pressure_ratio=None, temperature_c=None, sheltered=None),
        make_lives(3, hours_per_day=0.0, end_hours_per_day=0.0, end="failed", installed=True),
        make_lives(3, crimped_by=None, removal_cause="unknown", installed=True),
    ],
    ids=["one life", "one failed", "two lives", "all failed at once", "nothing watched", "nothing known",
         "machines that stand", "only unknown causes"],
)  # fmt: skip
def test_however_little_there_is_every_chance_is_one(lives):
    told = Forecaster(fitted(lives), lives).table()
    chances = told[["p_fail_30d", "p_fail_365d_low", "p_fail_365d", "p_fail_365d_high"]].to_numpy()
    assert ((chances > 0) & (chances <= 1)).all()
    assert all(np.isfinite(one["scale"]) for one in describe_populations(fitted(lives), lives))


def test_a_register_without_an_installation_gives_no_population():
    lives = make_lives(0)
    assert describe_populations(fitted(lives), lives) == []


def test_a_population_of_which_nothing_was_watched_changes_nothing():
    rng = np.random.default_rng(71)
    lives = weibull_lives(rng, 400, 2.0, 8000, 9000, population=rng.choice(["100R2/-8", "2SN/-6"], 400))
    unseen = make_lives(
        1, population="4SP/-16", exit_hours=500.0, entry_hours=500.0, pressure_ratio=0.95, installed=False
    ).assign(assembly="B1", machine="EX-9")
    alone, together = fitted(lives), fitted(pd.concat([lives, unseen], ignore_index=True))
    for name in alone.layout.blocks:
        before = alone.layout.block(alone.fit.theta, name)
        now = together.layout.block(together.fit.theta, name)[: len(before)]  # the new population is the last
        assert now == pytest.approx(before, abs=1e-6), name
    assert together.groups.populations[-1] == "4SP/-16"


def test_the_order_of_rows_changes_nothing():
    rng = np.random.default_rng(7)
    lives = weibull_lives(rng, 300, 2.0, 8000, 9000, population=rng.choice(["100R2/-8", "2SN/-6"], 300))
    turned = lives.iloc[::-1].reset_index(drop=True)
    assert fitted(turned).fit.theta == pytest.approx(fitted(lives).fit.theta, rel=1e-9)


@pytest.mark.parametrize(
    "worse",
    [
        {"pressure_ratio": 0.95},
        {"temperature_c": 95.0},
        {"age_hours": 7000.0},
        {"age_days": 3000.0},
        {"abrasive": 1.0},
        {"hot": 1.0},
        {"flexing": 1.0},
    ],
    ids=lambda worse: next(iter(worse)),
)
def test_more_of_what_harms_never_lowers_a_chance(worse):
    """Even in a fleet where, by chance, the hoses that failed ran cool, unstressed and young."""
    rng = np.random.default_rng(8)
    lives = weibull_lives(rng, 300, 2.0, 8000, 7000)
    failed = lives["end"] == "failed"
    lives = lives.assign(
        pressure_ratio=np.where(failed, 0.4, 0.9),
        temperature_c=np.where(failed, 40.0, 90.0),
        abrasive=np.where(failed, 0.0, rng.integers(0, 2, 300)),
        hot=np.where(failed, 0.0, rng.integers(0, 2, 300)),
        flexing=np.where(failed, 0.0, rng.integers(0, 2, 300)),
    )
    model = fitted(lives)
    usual = make_lives(1, machine="EX-9", exit_hours=4000.0).assign(assembly="B1")
    probes = pd.concat([lives, usual], ignore_index=True)
    harmed = probes.assign(
        **{name: probes[name].mask(probes["assembly"] == "B1", value) for name, value in worse.items()}
    )
    before, after = (Forecaster(model, one).table().iloc[-1] for one in (probes, harmed))
    for horizon in (30, 90, 180, 365):
        assert after[f"p_fail_{horizon}d"] >= before[f"p_fail_{horizon}d"] - 1e-12


def test_what_is_not_known_of_a_position_counts_as_its_population_middle():
    lives = weibull_lives(np.random.default_rng(9), 200, 2.0, 8000, 9000)
    lives = lives.assign(pressure_ratio=lives["pressure_ratio"].where(lives.index % 2 == 0))
    model = fitted(lives)
    likelihood, seen = model.observe(lives)
    wear = Laws.of(model.fit.theta, model.layout, likelihood.rows).wear
    assert wear.log_life[seen.row[1]] == pytest.approx(wear.log_life[seen.row[0]])


def test_recorded_faults_of_a_build_raise_the_share_of_early_failures():
    rng = np.random.default_rng(44)
    off = (rng.random(3000) < 0.3).astype(float)
    early = rng.random(3000) < np.where(off == 1, 0.3, 0.02)
    life = np.where(early, rng.exponential(300, 3000), 9000 * rng.weibull(2.5, 3000))
    watched = rng.uniform(50, 4000, 3000)
    lives = make_lives(
        exit_hours=np.minimum(life, watched), end=np.where(life < watched, "failed", "watched"), crimp_off=off
    )
    model = fitted(lives)
    law = Laws.of(model.fit.theta, model.layout, model.observe(lives)[0].rows)
    shares = np.unique(law.early.share.round(6))
    assert shares == pytest.approx([0.02, 0.3], abs=0.04)


def test_a_large_fleet_fitted_from_a_part_of_it_gets_the_law_of_the_whole(monkeypatch):
    rng = np.random.default_rng(45)
    lives = weibull_lives(rng, 3000, 2.2, 9000, rng.uniform(2000, 12_000, 3000))
    lives = lives.assign(
        position=[f"P{number // 3}" for number in range(3000)],
        crimped_by=rng.choice(["Bench 1", "Bench 2"], 3000),
    )
    whole = fitted(with_days(lives, np.random.default_rng(1)))
    monkeypatch.setattr(fitting, "SAMPLE_ROWS", 800)
    part = fitted(with_days(lives, np.random.default_rng(1)))
    spread = whole.draws.std(axis=0)
    assert np.abs((part.fit.theta - whole.fit.theta) / spread).max() < 0.7
    # Of a part the curvature is known roughly, and of so many draws their spread.
    assert part.draws.std(axis=0) == pytest.approx(spread, rel=0.75)


@pytest.mark.parametrize("more", ["a lot", "a machine"])
def test_one_hose_of_a_new_lot_or_on_a_new_machine_leaves_the_chances_of_the_others(more):
    lives = weibull_lives(np.random.default_rng(8), 200, 2.0, 9000, 4000)
    lives["hose_lot"] = [f"L-{number % 20:02d}" for number in range(len(lives))]
    after = lives.copy()
    hose = after.index[after["installed"].to_numpy(bool)][-1]
    after.loc[hose, "hose_lot" if more == "a lot" else "machine"] = "Z-1"
    before, now = (Forecaster(fitted(one), one).table().set_index("assembly") for one in (lives, after))
    told = ["p_fail_365d", "p_fail_365d_low", "p_fail_365d_high"]
    others = before.index != after.loc[hose, "assembly"]
    np.testing.assert_allclose(now.loc[others, told], before.loc[others, told], rtol=0.02)


def test_few_failures_leave_a_lopsided_law_and_the_bootstrap_has_its_shape():
    # Three failures of 40 hoses, the shape known: the posterior of the life is got by adding up a fine grid.
    exit = np.concatenate([[900.0, 1500.0, 2100.0], np.full(37, 2500.0)])
    rows = Rows.plain(np.zeros(40), exit, np.arange(40) < 3)
    layout = Layout.of(PLAIN, effects=0, populations=0)
    likelihood = Likelihood(rows, layout)
    belief = Belief(np.array([8.0, np.log(2.0)]), np.array([1.5, 1e-3]))
    top = fitting.maximise(likelihood, belief, belief.mean, Directions.straight(belief.sd), fitting.TIGHT)
    found = Fit(top, belief, {}, fitting._posterior(likelihood, belief, top, 1.0))
    normal = found.draw(4000, layout, np.random.default_rng(1))
    drawn = found.bootstrap(normal, likelihood, np.random.default_rng(2))[:, 0]
    grid = np.linspace(top[0] - 2, top[0] + 4, 2001)
    at = np.column_stack([grid, np.full(2001, top[1])])
    log_chance = np.array([likelihood.value(one) + belief.value(one) for one in at])
    below = np.cumsum(np.exp(log_chance - log_chance.max()))
    true = np.interp([0.05, 0.5, 0.95], below / below[-1], grid)
    assert np.quantile(drawn, [0.05, 0.5, 0.95]) == pytest.approx(true, abs=0.05)
    assert abs(np.quantile(normal[:, 0], 0.95) - true[2]) > 0.1


def test_draws_are_bootstrapped_of_few_failures_alone():
    rng = np.random.default_rng(9)
    lives = weibull_lives(rng, 60, 2.0, 9000, 4000)
    failures = (lives["end"] != "watched").sum()
    assert failures < 20
    assert fitted(lives).bootstrapped
    assert not fitted(weibull_lives(rng, 600, 2.0, 9000, 4000)).bootstrapped


def test_no_draw_is_kept_that_the_past_rules_out():
    # By one of the normal posterior's draws in a hundred, a third of this fleet would fail within a month.
    lives = Standing.on(simulate(small(KINDS["late_register"], 200), 2).tables, BENCHMARK_DAY).lives
    model = fit_life_model(lives, np.random.default_rng(1))
    normal = replace(model, draws=model.fit.draw(400, model.layout, np.random.default_rng(1)))
    by_any, by_kept = (Forecaster(one, lives).chance_draws(30.0, 200).sum(axis=1) for one in (normal, model))
    assert by_any.max() > 10 * np.median(by_any)
    assert by_kept.max() < 3 * np.median(by_kept)
    assert np.median(by_kept) == pytest.approx(np.median(by_any), rel=0.1)


def test_many_lives_with_few_failures_are_no_reason_to_keep_every_draw():
    lives = weibull_lives(np.random.default_rng(1), 6000, 2.0, 9000, 700)
    assert 20 <= (lives["end"] != "watched").sum() < 60
    model = fit_life_model(lives, np.random.default_rng(1))
    assert len(np.unique(model.draws[:, 0])) < 0.9 * len(model.draws)


def test_of_many_lives_most_draws_are_kept():
    lives = weibull_lives(np.random.default_rng(1), 600, 2.0, 9000, 4000)
    model = fit_life_model(lives, np.random.default_rng(1))
    assert len(np.unique(model.draws[:, 0])) > 0.5 * len(model.draws)


@pytest.mark.parametrize("seed", [1, 3])
def test_what_heat_takes_off_ageing_is_found_where_little_was_believed_of_it(seed):
    # 10 °C hotter, hoses age exp(0.5) times as fast; the belief is 3 %, where the likelihood is nearly flat.
    rng, size = np.random.default_rng(seed), 250
    heat, hours_per_day = rng.normal(60, 15, size).round(), rng.uniform(3, 14, size)
    ageing = 6 * 365.25 * np.exp(-0.5 * (heat - 60) / 10) * rng.weibull(5, size)
    wear = 14_000 * rng.weibull(2, size) / hours_per_day
    watched = 5 * 365.25 * rng.uniform(0.3, 1, size)
    days = np.minimum(np.minimum(ageing, wear), watched)
    lives = make_lives(
        exit_days=days,
        exit_hours=days * hours_per_day,
        end=np.where(days < watched, "failed", "watched"),
        temperature_c=heat,
        hours_per_day=hours_per_day,
        end_hours_per_day=hours_per_day,
    )
    model = fit_life_model(lives, np.random.default_rng(1))
    assert np.exp(model.layout.value(model.fit.theta, "log_age_heat")) == pytest.approx(0.5, abs=0.06)
