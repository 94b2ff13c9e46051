"""What it tells of the law that a place still held its machine's first hose when the register began."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from forecasting.life import first_fills as first_fills_module
from forecasting.life.first_fills import BANDS, FirstFills, removals_by_age
from forecasting.life.hazards import AT_LIFE
from forecasting.life.life_model import describe_populations, fit_life_model
from forecasting.life.likelihood import Likelihood
from forecasting.life.observations import Groups, observe
from forecasting.life.parameters import WHOLE, Layout, Parts
from forecasting.life.priors import YEAR_DAYS
from forecasting.life.rows import Rows
from tests.forecasting.life_builders import make_lives

from .test_likelihood import invented_rows, invented_theta, layout_of

HOURS_A_DAY, LIFE_HOURS, SHAPE = 10.0, 12_000.0, 2.0


def invented_first_fills(rng, rows) -> FirstFills:
    some = rows.some(np.flatnonzero(rows.found)).of_unknown_build()
    return FirstFills(some, rng.random(len(some)) < 0.4, rng.uniform(0, 0.8, len(some)))


@pytest.mark.parametrize("parts", [WHOLE, Parts(luck=False), Parts(age=False), Parts(early=False)])
def test_the_gradient_is_that_of_the_likelihood(parts, monkeypatch):
    monkeypatch.setattr(first_fills_module, "BLOCK", 7)  # several blocks
    rng = np.random.default_rng(1)
    rows, layout = invented_rows(rng), layout_of(parts)
    theta = invented_theta(rng, layout)
    likelihood = Likelihood(rows, layout, first_fills=invented_first_fills(rng, rows))
    value, gradient = likelihood.value_and_gradient(theta)
    assert value == pytest.approx(likelihood.value(theta), rel=1e-12)
    step = 1e-5
    for one, name in enumerate(layout.names()):
        off = np.zeros(layout.size)
        off[one] = step
        slope = (likelihood.value(theta + off) - likelihood.value(theta - off)) / (2 * step)
        assert gradient[one] == pytest.approx(slope, rel=1e-5, abs=1e-4), name


def test_chances_to_hold_and_to_have_lost_the_first_hose_sum_to_one():
    rng = np.random.default_rng(2)
    rows, layout = invented_rows(rng), layout_of(WHOLE)
    theta, fills = invented_theta(rng, layout), invented_first_fills(rng, rows)
    held, lost = (
        replace(fills, held=np.full(len(fills.held), one)).values(theta, layout) for one in (True, False)
    )
    assert np.exp(held) + np.exp(lost) == pytest.approx(1.0)


@pytest.mark.parametrize("shape", [1.0, 2.2])
def test_machines_of_one_age_tell_the_hazard_to_that_age_exactly(shape):
    # 12 of 40 still there: the likeliest cumulative hazard is −ln(12/40), less what was removed unfailed.
    age, removals, share = 5000.0, 0.3, 12 / 40
    parts = Parts(age=False, early=False, luck=False, bend=False)
    layout = Layout.of(parts, effects=0, populations=0)
    rows = Rows.plain(np.zeros(40), np.full(40, age), np.zeros(40))
    fills = FirstFills(rows, np.arange(40) < 12, np.full(40, removals))
    hazard = -np.log(share) - removals
    theta = np.array([np.log(age) - np.log(hazard / AT_LIFE) / shape, np.log(shape), 0.0])
    gradient = np.zeros(3)
    value = fills.add_slopes(theta, layout, gradient)
    assert gradient == pytest.approx(0.0, abs=1e-9)
    assert value == pytest.approx(12 * np.log(share) + 28 * np.log(1 - share))


def young_register(rng, places: int, watched_days: float = 30.0) -> pd.DataFrame:
    """Hoses found at places of machines of all ages, watched for a month, no failure among them."""
    machine_days = rng.uniform(200, 4000, places)
    installed = np.zeros(places)
    going = np.ones(places, dtype=bool)
    while going.any():
        life = LIFE_HOURS / HOURS_A_DAY * rng.weibull(SHAPE, places)
        going &= installed + life < machine_days
        installed = np.where(going, installed + life, installed)
    age = machine_days - installed
    return make_lives(
        entry_hours=age * HOURS_A_DAY, exit_hours=(age + watched_days) * HOURS_A_DAY,
        with_machine=installed == 0, place_days=installed, place_hours=installed * HOURS_A_DAY,
    )  # fmt: skip


def test_a_register_of_a_month_without_a_failure_learns_from_old_machines_how_long_hoses_last():
    lives = young_register(np.random.default_rng(3), 1500)
    model = fit_life_model(lives, np.random.default_rng(0))
    likelihood, seen = model.observe(lives)
    told = likelihood.first_fills.values(model.fit.theta, model.layout)
    chance_held = np.where(seen.first_fills.held, np.exp(told), -np.expm1(told))
    days = seen.first_fills.rows.exit_days
    true = np.exp(-((days * HOURS_A_DAY / LIFE_HOURS) ** SHAPE))
    assert np.abs(chance_held - true).mean() < 0.04
    unknown = lives.assign(with_machine=False, place_days=np.nan, place_hours=np.nan)
    blind = fit_life_model(unknown, np.random.default_rng(0))
    assert len(blind.observe(unknown)[0].first_fills.rows) == 0
    spread, blind_spread = (one.draws[:, one.layout.blocks["log_life"]].std() for one in (model, blind))
    assert spread < 0.7 * blind_spread


def test_what_was_there_from_the_first_day_on_record_adds_nothing():
    lives = make_lives(40, place_days=0.0, place_hours=0.0)
    assert len(observe(lives, Groups.learn(lives)).first_fills.rows) == 0


def test_removals_ahead_of_failure_count_at_the_age_at_which_they_come():
    # A hundred hoses watched from new to their fifth year, then half of them changed; a usual rate of 1 a
    # hundred years weighs as one removal a year of age.
    exit = np.full(100, 4.5 * YEAR_DAYS)
    removed = np.where(np.arange(100) < 50, 1.0, 0.0)
    usual = 0.01 / YEAR_DAYS
    reached = removals_by_age(np.zeros(100), exit, removed, usual)
    by_year = np.diff(reached)
    assert len(reached) == len(BANDS) and reached[0] == 0
    assert by_year[:4] == pytest.approx(1 / (100 + 100))
    assert by_year[4] == pytest.approx(51 / (50 + 100))
    assert by_year[5:] == pytest.approx(0.01)


SCALE_HOURS, LIVED_SHAPE, OTHER_A_DAY, SEEN_DAYS = 7_000.0, 2.5, 0.1 / YEAR_DAYS, 30.0


def lived_register(rng: np.random.Generator, places: int = 400) -> pd.DataFrame:
    """A month on record of places that have lived: hoses wear out or come off for other causes, and the next
    goes in, since their machines began 200 to 3,000 days before; ends are dated by whole days."""
    began = np.ceil(rng.uniform(200, 3000, places))
    ends, installed, here, lives = began + SEEN_DAYS, np.zeros(places), np.arange(places), []
    while len(here):
        lasts = SCALE_HOURS / HOURS_A_DAY * rng.weibull(LIVED_SHAPE, len(here))
        other = rng.exponential(1 / OTHER_A_DAY, len(here))
        until = np.ceil(installed[here] + np.minimum(lasts, other))
        life = pd.DataFrame({"place": here, "since": installed[here], "until": until, "wore": lasts <= other})
        lives.append(life)
        installed[here] = until
        here = here[until < ends[here]]
    seen = pd.concat(lives, ignore_index=True)
    seen = seen[seen["until"] > began[seen["place"]]].reset_index(drop=True)
    until = np.minimum(seen["until"], ends[seen["place"]])
    off = seen["until"] < ends[seen["place"]]
    entry_days = (began[seen["place"]] - seen["since"]).clip(lower=0.0)
    return make_lives(
        machine="M" + seen["place"].astype(str), position="P",
        installed_on=pd.Timestamp("2026-01-01") + pd.to_timedelta(seen["since"], unit="D"),
        entry_days=entry_days, exit_days=until - seen["since"],
        entry_hours=entry_days * HOURS_A_DAY, exit_hours=(until - seen["since"]) * HOURS_A_DAY,
        end=np.where(off & seen["wore"], "failed", "watched"), installed=~off,
        removal_cause=np.select([off & seen["wore"], off], ["failed", "planned"], None),
        found=entry_days > 0, with_machine=seen["since"] == 0,
        place_days=seen["since"], place_hours=seen["since"] * HOURS_A_DAY,
    )  # fmt: skip


def test_over_many_young_registers_what_first_hoses_tell_is_right_on_average():
    # One such register, of some twenty failures, tells the scale to 5 % and the shape to 9 %, so the mean of
    # twelve is known to 1.3 and 2.5 %. It has to lie within 5 and 8 % of the truth.
    plain = Parts(age=False, early=False, luck=False, bend=False)
    told = []
    for seed in range(12):
        lives = lived_register(np.random.default_rng(seed))
        model = fit_life_model(lives, np.random.default_rng(0), plain)
        assert len(model.observe(lives)[1].first_fills.rows) > 380
        (population,) = describe_populations(model, lives)
        told.append([population["scale"], population["shape"]])
    scale, shape = np.exp(np.log(told).mean(axis=0))
    assert scale == pytest.approx(SCALE_HOURS, rel=0.05)
    assert shape == pytest.approx(LIVED_SHAPE, rel=0.08)
