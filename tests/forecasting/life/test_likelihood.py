"""The likelihood of the life model: its gradient, and what must not change it."""

from dataclasses import fields, replace

import numpy as np
import pytest

from forecasting.life import likelihood as likelihood_module
from forecasting.life.likelihood import Likelihood
from forecasting.life.luck import Luck
from forecasting.life.parameters import PLAIN, WHOLE, Layout, Parts
from forecasting.life.rows import Rows

HOURS = ("entry_hours", "exit_hours", "hours_per_day")


def invented_rows(rng, size=160, places=60) -> Rows:
    """Lives of all sorts: late, found, failed, of unknown cause, of a crimper and lot nobody knows."""
    place = np.sort(np.concatenate([np.arange(places), rng.integers(0, places, size - places)]))
    entry = np.where(rng.random(size) < 0.4, rng.uniform(0, 3000, size), 0.0)
    exit = entry + rng.uniform(10, 5000, size)
    first = np.diff(place, prepend=-1) > 0
    return Rows(
        entry_hours=entry,
        exit_hours=exit,
        entry_days=entry / 8,
        exit_days=exit / 7,
        event=(rng.random(size) < 0.5).astype(float),
        other_rate=np.where(rng.random(size) < 0.1, 1e-4, 0.0),
        hours_per_day=rng.uniform(2, 10, size),
        place=place,
        population=rng.integers(0, 3, size),
        crimper=rng.integers(0, 4, size),
        lot=rng.integers(0, 6, size),
        stress=rng.normal(size=(size, 2)),
        heat=rng.normal(size=size),
        faults=rng.integers(0, 2, (size, 3)).astype(float),
        found=first & (entry > 0),
    )


def layout_of(parts: Parts) -> Layout:
    return Layout.of(parts, effects=2, populations=3, faults=3, crimpers=3, lots=5)


def invented_theta(rng, layout: Layout) -> np.ndarray:
    theta = rng.normal(0, 0.3, layout.size)
    usual = {"log_life": 8, "log_age_life": 7, "log_early_hours": 6, "early": -2, "lemon_odds": -2}
    for name, value in usual.items():
        if name in layout.blocks:
            theta[layout.blocks[name]] += value
    return theta


@pytest.mark.parametrize("told_of_beginnings", [False, True])
@pytest.mark.parametrize(
    "parts", [WHOLE, PLAIN, Parts(luck=False), Parts(age=False), Parts(early=False), Parts(bend=False)]
)
def test_the_gradient_is_that_of_the_likelihood(parts, told_of_beginnings, monkeypatch):
    monkeypatch.setattr(likelihood_module, "BLOCK", 50)  # several blocks
    rng = np.random.default_rng(1)
    rows, layout = invented_rows(rng), layout_of(parts)
    theta = invented_theta(rng, layout)
    values = len(Luck.of(theta, layout).values)
    beginnings = rng.normal(size=(values, rows.places)) if told_of_beginnings else None
    likelihood = Likelihood(rows, layout, beginnings)
    assert len(likelihood.blocks) > 2
    value, gradient = likelihood.value_and_gradient(theta)
    assert value == pytest.approx(likelihood.value(theta), rel=1e-12)
    step = 1e-5
    for one, name in enumerate(layout.names()):
        off = np.zeros(layout.size)
        off[one] = step
        slope = (likelihood.value(theta + off) - likelihood.value(theta - off)) / (2 * step)
        assert gradient[one] == pytest.approx(slope, rel=1e-5, abs=1e-4), name


def test_a_life_split_at_a_reading_counts_as_one():
    rng = np.random.default_rng(2)
    rows, layout = invented_rows(rng), layout_of(WHOLE)
    rows = replace(rows, found=np.zeros(len(rows), dtype=bool))
    middle_hours = (rows.entry_hours + rows.exit_hours) / 2
    middle_days = (rows.entry_days + rows.exit_days) / 2
    none = np.zeros(len(rows))
    before = replace(rows, exit_hours=middle_hours, exit_days=middle_days, event=none, other_rate=none)
    after = replace(rows, entry_hours=middle_hours, entry_days=middle_days)
    both = {
        one.name: np.concatenate([getattr(before, one.name), getattr(after, one.name)])
        for one in fields(Rows)
    }
    order = np.argsort(both["place"], kind="stable")
    split = Rows(**{name: values[order] for name, values in both.items()})
    theta = invented_theta(rng, layout)
    assert Likelihood(split, layout).value(theta) == pytest.approx(
        Likelihood(rows, layout).value(theta), rel=1e-10
    )


def test_the_unit_of_time_changes_nothing():
    rng = np.random.default_rng(3)
    rows, layout = invented_rows(rng), layout_of(WHOLE)
    in_minutes = replace(rows, **{name: getattr(rows, name) * 60 for name in HOURS})
    theta = invented_theta(rng, layout)
    moved = theta.copy()
    for name in ("log_life", "log_early_hours"):
        moved[layout.blocks[name]] += np.log(60)
    assert Likelihood(in_minutes, layout).value(moved) == pytest.approx(
        Likelihood(rows, layout).value(theta), rel=1e-10
    )


def test_entry_that_is_exit_adds_nothing():
    rng = np.random.default_rng(4)
    rows, layout = invented_rows(rng), layout_of(WHOLE)
    none = np.zeros(len(rows))
    nothing_watched = replace(
        rows, entry_hours=rows.exit_hours, entry_days=rows.exit_days, event=none, found=none.astype(bool)
    )
    value, gradient = Likelihood(nothing_watched, layout).value_and_gradient(invented_theta(rng, layout))
    assert value == pytest.approx(0.0, abs=1e-9)
    assert gradient == pytest.approx(0.0, abs=1e-9)


def test_expected_failures_sum_to_those_that_happen():
    # Simulated by the law itself: positions of gamma-like luck, hose after hose until the register ends.
    rng = np.random.default_rng(5)
    layout = layout_of(Parts(age=False, early=False, bend=False))
    theta = np.zeros(layout.size)
    theta[layout.blocks["log_life"]] = np.log(3000.0)
    theta[layout.blocks["log_shape"]] = np.log(2.0)
    theta[layout.blocks["effects"]] = -20.0
    theta[layout.blocks["log_luck_sd"]] = np.log(0.8)
    theta[layout.blocks["lemon_odds"]] = -2.5
    luck = Luck.of(theta, layout)
    place, exit, event = [], [], []
    for number in range(800):
        z, left = rng.choice(luck.values, p=np.exp(luck.log_chances)), 12_000.0
        while left > 0:
            life = 3000.0 * (rng.exponential() / z / 0.3) ** 0.5
            place.append(number)
            exit.append(min(life, left))
            event.append(float(life < left))
            left -= life
    size = len(place)
    rows = replace(Rows.plain(np.zeros(size), exit, event, np.zeros((size, 2))), place=np.array(place))
    rows = replace(rows, population=np.full(size, 3))
    expected = Likelihood(rows, layout).expected(theta)
    later = np.diff(rows.place, prepend=-1) == 0  # these profit from what was learned of the place
    for group in (later, ~later):
        failures = rows.event[group].sum()
        assert expected[group].sum() == pytest.approx(failures, abs=3 * np.sqrt(failures))
