"""Stock advice in words: one sentence a line, with the numbers it rests on."""

import pandas as pd

from ..policies import Settings
from .reckoning import EVEN, Reckoning
from .transfers import Move

LONG_PACK_YEARS = 3.0


def tell_stock(
    one: Reckoning,
    order_now: float,
    *,
    awaited: float,
    due_later_on: pd.Timestamp | None,
    window_days: float,
    assumed_lead_time: float | None,
    moved_in: dict[str, float],
    successor: str | None,
) -> str:
    """Why this much is to be ordered, as one sentence.

    `awaited` of the order is what planned kits lack and an order of today brings soonest, sooner than the
    open order that is due on `due_later_on`; `moved_in` is what comes from each other site.
    """
    unit = one.terms.unit
    position = amount(one.position, unit)
    asked = (
        f"{amount(one.planned, unit)} for planned kits and {amount(one.unplanned_mean, unit, fine=True)} "
        f"expected of failures within {window_days:.0f} days"
    )
    covered = f"at a service level of {100 * one.terms.service_level:.4g} %"
    needed = f"the reorder point of {amount(one.reorder_point, unit)}, which covers {asked} {covered}"
    short = one.position < one.reorder_point - EVEN
    if not one.terms.may_buy:
        told = "Order none, it is no longer made: "
        told += f"{successor} takes its place" if successor else "no part is known that takes its place"
        told += f" when the {position} on hand and due are used"
    elif order_now > 0 and short:
        told = f"Order {amount(order_now, unit)}: {position} on hand and due are below {needed}"
        if awaited > EVEN:
            told += f"; planned kits count on {amount(awaited, unit)} of it"
    elif order_now > 0:
        told = (
            f"Order {amount(order_now, unit)}: planned kits lack {amount(awaited, unit)} that an order of "
            f"today brings soonest, though {position} on hand and due reach {needed}"
        )
    elif short:
        told = f"Order none: {position} on hand and due are below {needed}, but another site can spare some"
    elif one.planned + one.unplanned_mean > 0:
        told = f"Order none: {position} on hand and due reach {needed}"
    else:
        told = f"Order none: no demand is expected within {window_days:.0f} days"
        told += f", {position} on hand and due"
    if order_now > 0 and awaited > EVEN and due_later_on is not None:
        told += f"; to bring forward what is due on {due_later_on:%-d %B %Y} would do as well"
    told += "".join(f"; {amount(quantity, unit)} come from {site}" for site, quantity in moved_in.items())
    if order_now > 0 and one.terms.pack > max(LONG_PACK_YEARS * one.yearly_demand, 1.0):
        told += (
            f"; the pack of {amount(one.terms.pack, unit)} is more than {LONG_PACK_YEARS:.0f} years' demand"
        )
    if one.surplus > 0:
        told += f"; {amount(one.surplus, unit)} are surplus"
    if one.left_out > EVEN:
        reason = (
            "past their shelf life or too short for a cut" if unit == "metre" else "past their shelf life"
        )
        told += f"; {amount(one.left_out, unit)} are {reason} and do not count"
    if assumed_lead_time is not None:
        told += f"; the lead time is not known and {assumed_lead_time:.0f} days are assumed"
    return told + "."


def tell_move(move: Move, donor: Reckoning, receiver: Reckoning, settings: Settings) -> str:
    """Why this is moved, as one sentence."""
    unit = receiver.terms.unit
    spare = (
        f"has {amount(donor.surplus, unit)} surplus"
        if donor.surplus > 0
        else f"has {amount(donor.usable, unit)}, its reorder point is {amount(donor.reorder_point, unit)}"
    )
    return (
        f"{move.from_site} {spare}, while {move.to_site} with {amount(receiver.position, unit)} is below "
        f"its reorder point of {amount(receiver.reorder_point, unit)}; moving {amount(move.quantity, unit)} "
        f"saves {money(move.saves, settings)} for a freight of {money(settings.freight_cost, settings)}."
    )


def amount(quantity: float, unit: str, *, fine: bool = False) -> str:
    """A quantity as a person reads it: whole pieces, metres with one decimal, means with two."""
    if unit == "metre":
        return f"{quantity:,.{2 if fine else 1}f} m"
    return f"{quantity:,.2f}" if fine and abs(quantity - round(quantity)) > EVEN else f"{quantity:,.0f}"


def money(value: float, settings: Settings) -> str:
    return f"{value:,.0f} {settings.currency}"
