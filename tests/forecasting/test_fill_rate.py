"""The advice followed for years: the fill rate it promises is the one that is reached."""

import numpy as np
import pandas as pd
import pytest

from forecasting.supply.demand import economic_quantity, mix_demand, spread_lead_times
from forecasting.supply.reckoning import Lots, Reckoning, Terms, order_now, reckon
from forecasting.supply.takings import NO_KITS

REVIEW_DAYS = 7
STARTING_DAYS = 150


def advice_for(
    assemblies: int, failures_a_day: float, lead_days: float, sd_days: float, terms: Terms
) -> Reckoning:
    lead_times = spread_lead_times(lead_days, sd_days, 64)

    def chances(days: np.ndarray) -> np.ndarray:
        return np.repeat(-np.expm1(-failures_a_day * days)[:, None], assemblies, axis=1)

    takes = np.ones(assemblies)
    return reckon(
        terms,
        mix_demand(chances(lead_times + REVIEW_DAYS), takes),
        mix_demand(chances(lead_times + REVIEW_DAYS / 2), takes),
        planned=0.0,
        unplanned_mean=float(chances(lead_times + REVIEW_DAYS).sum(axis=1).mean()),
        yearly_demand=365 * assemblies * failures_a_day,
        taking=1.0,
        usable=0.0,
        left_out=0.0,
        due=0.0,
        lots=Lots(np.zeros(0), np.zeros(0)),
        kits=NO_KITS,
        window_days=lead_days + REVIEW_DAYS,
        horizon_days=365.0,
    )


def follow(advice: Reckoning, demand_by_day: np.ndarray, lead_times: np.ndarray) -> tuple[float, float]:
    """What was asked for and what of it met from the shelf; backorders are filled when parts come."""
    arriving = np.zeros(len(demand_by_day) + 400)
    on_hand, due, asked, met = advice.order_up_to, 0.0, 0.0, 0.0
    for today, demanded in enumerate(demand_by_day):
        on_hand, due = on_hand + arriving[today], due - arriving[today]
        if today % REVIEW_DAYS == 0:
            quantity = order_now(advice.terms, on_hand + due, advice.reorder_point, advice.order_up_to)
            arriving[today + lead_times[today]] += quantity
            due += quantity
        if today >= STARTING_DAYS:
            asked, met = asked + demanded, met + min(max(on_hand, 0.0), demanded)
        on_hand -= demanded
    return asked, met


def live_through(part: int, years: int, seed: int) -> dict:
    """A part drawn from the seed, its advice followed: what was promised, and what of the demand was met."""
    rng = np.random.default_rng([seed, part])
    days = STARTING_DAYS + 365 * years
    assemblies, failures_a_day = int(rng.integers(20, 300)), rng.uniform(0.2, 0.6) / 365
    lead_days, sd_days = float(rng.integers(4, 60)), float(rng.choice([0, 3, 6]))
    yearly = 365 * assemblies * failures_a_day
    terms = Terms(
        unit="each",
        pack=float(rng.choice([1, 5, 10])),
        economic_quantity=economic_quantity(25.0, yearly, 0.2 * rng.uniform(2, 60)),
        service_level=float(rng.choice([0.8, 0.9, 0.95])),
    )
    advice = advice_for(assemblies, failures_a_day, lead_days, sd_days, terms)
    lead_times = np.maximum(rng.normal(lead_days, sd_days, days).round(), 1).astype(int)
    demand = rng.binomial(assemblies, -np.expm1(-failures_a_day), days)
    asked, met = follow(advice, demand, lead_times)
    return {
        "pack": terms.pack,
        "lead_time_sd_days": sd_days,
        "service_level": terms.service_level,
        "asked": asked,
        "met": met,
        "promised_met": advice.expected_fill_rate * asked,
    }


def test_the_fill_rate_promised_is_the_fill_rate_reached():
    lived = pd.DataFrame([live_through(part, years=5, seed=11) for part in range(200)])
    asked, met, promised = lived["asked"], lived["met"], lived["promised_met"]
    assert met.sum() / asked.sum() == pytest.approx(promised.sum() / asked.sum(), abs=0.003)
    assert np.mean(met / asked) == pytest.approx(np.mean(promised / asked), abs=0.003)
    for pack in (1, 5, 10):
        same = lived["pack"] == pack
        assert met[same].sum() / asked[same].sum() == pytest.approx(
            promised[same].sum() / asked[same].sum(), abs=0.015
        )
