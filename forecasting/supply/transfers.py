"""Moves between sites before buying: what one site has to spare where another is below its reorder point."""

from dataclasses import dataclass, replace

import numpy as np

from ..policies import Settings
from .reckoning import EVEN, Reckoning, order_now

# How long a machine stands for want of a part: nobody waits out a long lead time, a part is found elsewhere
# or brought by courier within two working days of one shift. Common practice, no source.
LONGEST_WAIT_DAYS = 2.0
WORKING_HOURS_PER_DAY = 8.0
FINEST_METRES = 0.1


@dataclass(frozen=True, slots=True)
class Move:
    """`quantity` of a part from one site to another, and what that saves in money, freight not yet paid."""

    part: str
    from_site: str
    to_site: str
    quantity: float
    saves: float


def plan_moves(
    part: str,
    at_sites: dict[str, Reckoning],
    unit_cost: float,
    lead_time_days: float,
    downtime_cost_per_hour: dict[str, float],
    settings: Settings,
) -> tuple[list[Move], dict[str, Reckoning]]:
    """The moves of one part that save more than their freight, and the reckonings after them.

    A donor gives its surplus, up to the receiver's order-up-to, or what it has above its own reorder point,
    up to the receiver's. A move saves the wait of the shortages it averts (half a lead time each, at most
    LONGEST_WAIT_DAYS, at the downtime cost of the receiver's site), the price of what then need not be bought
    because it was surplus, and the cost of an order that falls away. What is not known saves nothing.
    """
    after, moves = dict(at_sites), []
    needy = sorted(
        (site for site, one in after.items() if one.position < one.reorder_point - EVEN),
        key=lambda site: (after[site].position - after[site].reorder_point, site),
    )
    for to_site in needy:
        for from_site in sorted(after, key=lambda site: (-after[site].surplus, -_above(after[site]), site)):
            receiver, donor = after[to_site], after[from_site]
            quantity = _quantity(donor, receiver)
            if from_site == to_site or quantity <= 0:
                continue
            helped = _received(receiver, quantity)
            averted = receiver.demand.expected_short(receiver.position)
            averted -= helped.demand.expected_short(helped.position)
            wait_hours = min(lead_time_days / 2, LONGEST_WAIT_DAYS) * WORKING_HOURS_PER_DAY
            wait = wait_hours * downtime_cost_per_hour.get(to_site, 0.0)
            not_bought = min(receiver.order_now - helped.order_now, donor.surplus)
            saves = averted / receiver.taking * wait + not_bought * unit_cost
            if receiver.order_now > 0 and helped.order_now == 0:
                saves += settings.order_cost
            if saves > settings.freight_cost:
                moves.append(Move(part, from_site, to_site, quantity, saves))
                after[to_site], after[from_site] = helped, _given(donor, quantity)
    return moves, after


def _above(one: Reckoning) -> float:
    return max(one.lasting - one.reorder_point, 0.0)


def _quantity(donor: Reckoning, receiver: Reckoning) -> float:
    grain = 1.0 if receiver.terms.unit == "each" else FINEST_METRES
    to_point = np.ceil((receiver.reorder_point - receiver.position) / grain - EVEN) * grain
    if to_point <= 0:
        return 0.0
    from_surplus = min(donor.surplus, donor.lasting, receiver.order_up_to - receiver.position)
    quantity = max(from_surplus, min(_above(donor), to_point))
    return float(np.round(np.floor(quantity / grain + EVEN) * grain, 6))


def _received(one: Reckoning, quantity: float) -> Reckoning:
    due, awaited = one.due + quantity, max(one.awaited - quantity, 0.0)
    order = order_now(one.terms, one.lasting + due, one.reorder_point, one.order_up_to, awaited)
    return replace(one, due=due, awaited=awaited, order_now=order)


def _given(one: Reckoning, quantity: float) -> Reckoning:
    return replace(one, usable=one.usable - quantity, surplus=max(one.surplus - quantity, 0.0))
