"""The reckoning of one part at one site: reorder point, order-up-to, what to order, what lies too long.

The reorder point is the least level that demand over lead time and review does not pass with the service
level's chance. An order is placed when what is on hand and due is below it: at the level itself the chance of
getting through until an order of the next review arrives is still the one asked for.
"""

from dataclasses import dataclass, replace

import numpy as np
import pandas as pd
from scipy.stats import poisson

from .demand import Demand
from .takings import KitTakings

KEEP_CHANCE = 0.99  # stock is surplus only where demand until it expires does not use it with this chance
EVEN = 1e-9
DAYS_AHEAD = 365
YEAR = 365.0
NO_DEMAND = Demand(0.0, 1.0, np.ones(1))


@dataclass(frozen=True, slots=True)
class Lots:
    """What lies on the shelf, first to expire first: quantities, and days until each expires (∞: never)."""

    quantities: np.ndarray
    days_left: np.ndarray


@dataclass(frozen=True, slots=True)
class Terms:
    """On what terms a part is bought and kept at a site. `may_buy` is no where it is obsolete."""

    unit: str
    pack: float
    economic_quantity: float
    service_level: float
    may_buy: bool = True


@dataclass(frozen=True, slots=True)
class Reckoning:
    """What the stock of one part at one site comes to, in units of the part.

    `unplanned_mean` is expected of failures within lead time and review, `planned` asked by kits within them;
    `taking` is what one demand takes on average, `left_out` what lies there but cannot be used, `perishing`
    what expires unused before an order of the next review arrives. `awaited` is
    what planned kits lack and only an order of today brings in time (`arrivals`).
    `expected_fill_rate` is NaN where nothing is demanded.
    """

    terms: Terms
    demand: Demand
    demand_at_half_review: Demand
    planned: float
    unplanned_mean: float
    yearly_demand: float
    taking: float
    usable: float
    left_out: float
    perishing: float
    due: float
    awaited: float
    reorder_point: float
    order_up_to: float
    order_now: float
    expected_fill_rate: float
    surplus: float
    expires_unused: float

    @property
    def lasting(self) -> float:
        return self.usable - self.perishing

    @property
    def position(self) -> float:
        return self.lasting + self.due


def reckon(
    terms: Terms,
    demand: Demand,
    demand_at_half_review: Demand,
    planned: float,
    unplanned_mean: float,
    yearly_demand: float,
    taking: float,
    usable: float,
    left_out: float,
    due: float,
    lots: Lots,
    kits: KitTakings,
    window_days: float,
    horizon_days: float,
    awaited: float = 0.0,
) -> Reckoning:
    """The reckoning of a part at a site, whose lead time and review are `window_days`.

    `demand` is that over lead time and review, `demand_at_half_review` the same with failures up to the
    middle of the review only: a shortage lasts half of it on average, which the fill rate counts.
    """
    reorder_point, order_up_to = _levels(terms, demand, yearly_demand)
    perishing = min(expires_unused(lots, kits, yearly_demand, window_days), usable)
    lasting = usable - perishing
    return Reckoning(
        terms=terms,
        demand=demand,
        demand_at_half_review=demand_at_half_review,
        planned=planned,
        unplanned_mean=unplanned_mean,
        yearly_demand=yearly_demand,
        taking=taking,
        usable=usable,
        left_out=left_out,
        perishing=perishing,
        due=due,
        awaited=awaited,
        reorder_point=reorder_point,
        order_up_to=order_up_to,
        order_now=order_now(terms, lasting + due, reorder_point, order_up_to, awaited),
        expected_fill_rate=_fill_rate(
            terms, demand_at_half_review, planned, unplanned_mean, lasting, reorder_point, order_up_to
        ),
        surplus=_surplus(terms, usable, order_up_to, yearly_demand, taking, lots, horizon_days),
        expires_unused=expires_unused(lots, kits, yearly_demand),
    )


def at_level(one: Reckoning, service_level: float) -> Reckoning:
    """The same part kept at another service level: its two levels and its fill rate are others."""
    terms = replace(one.terms, service_level=service_level)
    reorder_point, order_up_to = _levels(terms, one.demand, one.yearly_demand)
    fill_rate = _fill_rate(
        terms,
        one.demand_at_half_review,
        one.planned,
        one.unplanned_mean,
        one.lasting,
        reorder_point,
        order_up_to,
    )
    return replace(
        one,
        terms=terms,
        reorder_point=reorder_point,
        order_up_to=order_up_to,
        expected_fill_rate=fill_rate,
    )


def _levels(terms: Terms, demand: Demand, yearly_demand: float) -> tuple[float, float]:
    """The reorder point and the order-up-to level; none where nothing is wanted."""
    reorder_point = demand.least_level(terms.service_level)
    wanted = yearly_demand > 0 or demand.mean > 0
    return reorder_point, reorder_point + order_quantity(terms, yearly_demand) if wanted else 0.0


def order_quantity(terms: Terms, yearly_demand: float) -> float:
    """A pack or the economic quantity, whichever is more; parts bought one by one in whole numbers."""
    economic = terms.economic_quantity
    if terms.unit == "each":
        economic = float(np.round(economic))
    return max(terms.pack, economic)


def order_now(
    terms: Terms, position: float, reorder_point: float, order_up_to: float, awaited: float = 0.0
) -> float:
    """As many whole packs as fit below order-up-to, where the position is below the reorder point.

    No fewer than what is `awaited` of an order of today takes.
    """
    if not terms.may_buy:
        return 0.0
    packs = max(0.0, np.ceil(awaited / terms.pack - EVEN))  # in this order: of nothing it is 0, not -0
    if position < reorder_point - EVEN:
        packs = max(packs, 1.0, np.floor((order_up_to - position) / terms.pack + EVEN))
    return float(packs * terms.pack)


def _fill_rate(
    terms: Terms,
    demand: Demand,
    planned: float,
    unplanned_mean: float,
    usable: float,
    reorder_point: float,
    order_up_to: float,
) -> float:
    """The share of demand met from the shelf: planned kits are foreseen, failures met by `Demand.fill_rate`.

    Where no more can be bought it is the share that what is on hand will meet.
    """
    if planned + unplanned_mean <= 0:
        return np.nan
    if not terms.may_buy:
        return float(np.clip(1 - demand.expected_short(usable) / demand.mean, 0.0, 1.0))
    if unplanned_mean <= 0:
        return 1.0
    order_at = reorder_point - demand.step  # an order is placed when the position is below the point
    packs = max(1.0, np.floor((order_up_to - order_at) / terms.pack + EVEN))
    met = demand.fill_rate(order_at, order_at + packs * terms.pack)
    return (planned + unplanned_mean * met) / (planned + unplanned_mean)


def _surplus(
    terms: Terms,
    usable: float,
    order_up_to: float,
    yearly_demand: float,
    taking: float,
    lots: Lots,
    horizon_days: float,
) -> float:
    """What is on hand beyond order-up-to and beyond the demand, with 99 % chance, until the last lot expires.

    Where a lot never expires the demand within the planning horizon is kept.
    """
    finite = np.isfinite(lots.days_left)
    days = lots.days_left.max() if len(lots.days_left) and finite.all() else horizon_days
    takings = poisson.ppf(KEEP_CHANCE, yearly_demand * days / 365 / taking)
    over = max(usable - max(order_up_to, takings * taking), 0.0)
    return float(np.floor(over + EVEN)) if terms.unit == "each" else over


def days_until_empty(usable: float, arrivals: pd.DataFrame, kits: KitTakings, failures_a_day: float) -> float:
    """The first of the next 365 days on which the mean demand has taken all that is there by then; ∞: none.

    0 where nothing is there and something is wanted.

    `arrivals` has the days and quantity of each open order; kits take on their day, failures evenly.
    """
    days = np.arange(DAYS_AHEAD + 1.0)
    there = np.full(len(days), usable)
    if len(arrivals):
        due = np.clip(np.ceil(arrivals["days"].to_numpy(float)), 0, len(days)).astype(int)
        coming = np.bincount(due, arrivals["quantity"].to_numpy(float), len(days) + 1)
        there = there + coming[: len(days)].cumsum()
    wanted = kits.within(days) + failures_a_day * days
    empty = (wanted >= there - EVEN) & (wanted[-1] > 0)
    return float(days[empty.argmax()]) if empty.any() else np.inf


def expires_unused(lots: Lots, kits: KitTakings, yearly_demand: float, within_days: float = np.inf) -> float:
    """How much of the lots expires within so many days before a use comes to it, first to expire first.

    For a year kits take on their day and failures evenly; beyond it no kit is planned yet, and both go on as
    in that year. On the day on which it expires a lot serves no kit any more.
    """
    failures_a_day = (yearly_demand - float(kits.within(YEAR))) / YEAR
    stacked, wasted = 0.0, 0.0
    for quantity, days in zip(lots.quantities, lots.days_left, strict=True):
        if not np.isfinite(days) or days > within_days:
            break
        stacked += quantity
        used = (
            float(kits.within(days - EVEN)) + failures_a_day * days
            if days < YEAR
            else yearly_demand * days / YEAR
        )
        wasted = max(wasted, stacked - used)
    return wasted
