"""Stock advice in words: one sentence a line, its clauses side by side, with the numbers it rests on."""

import numpy as np
import pandas as pd

from ..policies import Settings
from ..units import decimals_apart, tell_numbers
from ..wording import gettext as _
from ..wording import tell_day
from .reckoning import EVEN, Reckoning
from .transfers import Move

LONG_PACK_YEARS = 3.0
LITTLE_METRES = 10.0  # of which the hundredths are told, as pages do


def tell_stock(
    one: Reckoning,
    order_now: float,
    *,
    awaited: float,
    unpromised: float,
    due_later_on: pd.Timestamp | None,
    lead_days: float,
    review_days: float,
    assumed_lead_time: float | None,
    moved_in: dict[str, float],
    successor: str | None,
) -> str:
    """Why this much is to be ordered, as one sentence.

    `awaited` of the order is what planned kits lack and an order of today brings soonest, sooner than the
    open order that is due on `due_later_on`; of `unpromised` on order nobody knows the day, or it is past;
    `moved_in` is what comes from each other site.
    """
    unit = one.terms.unit
    position, point = amounts_apart(one.position, one.reorder_point, unit)
    places = {
        "order": amount(order_now, unit),
        "position": position,
        "awaited": amount(awaited, unit),
        "point": point,
        "planned": amount(one.planned, unit),
        "unplanned": amount(one.unplanned_mean, unit, fine=True),
        "reserve": amount(max(one.reorder_point - one.planned - one.unplanned_mean, 0.0), unit),
        "lead": f"{lead_days:.0f}",
        "review": f"{review_days:.0f}",
        "days": f"{lead_days + review_days:.0f}",
        "level": f"{100 * one.terms.service_level:.4g}",
        "successor": successor,
    }
    places["covered"] = (
        _(
            "%(planned)s for planned kits, %(unplanned)s expected of failures and %(reserve)s against more "
            "of them within %(days)s days (%(lead)s to come, %(review)s to the next review) at a service "
            "level of %(level)s %%"
        )
        % places
    )
    short = one.position < one.reorder_point - EVEN
    told = [_what_to_order(one, short=short, ordered=order_now > 0, stood_in=bool(successor)) % places]
    if one.terms.may_buy and order_now > 0 and short and awaited > EVEN:
        told.append(_("planned kits count on %(awaited)s of it") % places)
    if order_now > 0 and awaited > EVEN and due_later_on is not None:
        forward = _("to bring forward what is due on %(day)s would do as well")
        told.append(forward % {"day": tell_day(due_later_on)})
    if unpromised > EVEN:
        late = _("%(quantity)s on order are overdue or name no day and count as if they were ordered today")
        told.append(late % {"quantity": amount(unpromised, unit)})
    for site, quantity in moved_in.items():
        told.append(_("%(quantity)s come from %(site)s") % {"quantity": amount(quantity, unit), "site": site})
    if order_now > 0 and short and one.order_up_to - one.reorder_point > one.terms.pack + EVEN:
        fills = _("ordering and keeping cost least where it is filled up to %(up_to)s")
        told.append(fills % {"up_to": amount(one.order_up_to, unit)})
    if order_now > 0 and one.terms.pack > 1.0:
        told.append(_("it comes in packs of %(pack)s") % {"pack": amount(one.terms.pack, unit)})
    if order_now > 0 and one.terms.pack > max(LONG_PACK_YEARS * one.yearly_demand, 1.0):
        told.append(_("a pack is more than %(years)s years' demand") % {"years": f"{LONG_PACK_YEARS:.0f}"})
    if one.surplus > 0:
        told.append(_("%(quantity)s are surplus") % {"quantity": amount(one.surplus, unit)})
    if one.perishing > EVEN:
        perishing = _("%(quantity)s expire before they are used and do not count")
        told.append(perishing % {"quantity": amount(one.perishing, unit)})
    if one.left_out > EVEN:
        left_out = (
            _("%(quantity)s are past their shelf life or too short for a cut and do not count")
            if unit == "metre"
            else _("%(quantity)s are past their shelf life and do not count")
        )
        told.append(left_out % {"quantity": amount(one.left_out, unit)})
    if assumed_lead_time is not None:
        assumed = _("the lead time is not known and %(days)s days are assumed")
        told.append(assumed % {"days": f"{assumed_lead_time:.0f}"})
    return "; ".join(told) + "."


def _what_to_order(one: Reckoning, *, short: bool, ordered: bool, stood_in: bool) -> str:
    """What to order and why, its places not yet filled."""
    if not one.terms.may_buy and stood_in:
        return _(
            "Order none, it is no longer made: %(successor)s takes its place when the %(position)s on hand "
            "and due are used"
        )
    if not one.terms.may_buy:
        return _(
            "Order none, it is no longer made: no part is known that takes its place when the %(position)s "
            "on hand and due are used"
        )
    if ordered and short:
        return _(
            "Order %(order)s: %(position)s on hand and due are below the reorder point of %(point)s, which "
            "covers %(covered)s"
        )
    if ordered:
        return _(
            "Order %(order)s: planned kits lack %(awaited)s that an order of today brings soonest, though "
            "%(position)s on hand and due reach the reorder point of %(point)s, which covers %(covered)s"
        )
    if short:
        return _(
            "Order none: %(position)s on hand and due are below the reorder point of %(point)s, which covers "
            "%(covered)s, but another site can spare some"
        )
    if one.planned + one.unplanned_mean > 0:
        return _(
            "Order none: %(position)s on hand and due reach the reorder point of %(point)s, which covers "
            "%(covered)s"
        )
    return _("Order none: no demand is expected within %(days)s days, %(position)s on hand and due")


def tell_move(move: Move, donor: Reckoning, receiver: Reckoning, settings: Settings) -> str:
    """Why this is moved, as one sentence."""
    unit = receiver.terms.unit
    position, point = amounts_apart(receiver.position, receiver.reorder_point, unit)
    gives = (
        _(
            "%(from_site)s has %(surplus)s surplus, while %(to_site)s with %(position)s is below its reorder "
            "point of %(point)s"
        )
        if donor.surplus > 0
        else _(
            "%(from_site)s has %(usable)s, its reorder point is %(donor_point)s, while %(to_site)s with "
            "%(position)s is below its reorder point of %(point)s"
        )
    ) % {
        "from_site": move.from_site,
        "to_site": move.to_site,
        "surplus": amount(donor.surplus, unit),
        "usable": amount(donor.usable, unit),
        "donor_point": amount(donor.reorder_point, unit),
        "position": position,
        "point": point,
    }
    saves = _(
        "moving %(quantity)s saves %(saved)s of standstill and purchase to be expected, for a freight of "
        "%(freight)s"
    ) % {
        "quantity": amount(move.quantity, unit),
        "saved": money(move.saves, settings),
        "freight": money(settings.freight_cost, settings),
    }
    return f"{gives}; {saves}."


def amount(quantity: float, unit: str, *, fine: bool = False) -> str:
    """A quantity as a person reads it: pieces whole, hose to a tenth, little hose and what is `fine` to a
    hundredth."""
    (told,) = _amounts([quantity], unit, fine=fine)
    return told


def amounts_apart(one: float, other: float, unit: str) -> list[str]:
    """Two quantities held against each other, as `amount` tells each; where they differ, so they read."""
    return _amounts([one, other], unit)


def _amounts(quantities: list[float], unit: str, *, fine: bool = False) -> list[str]:
    hose = unit == "metre"
    decimals = 2 if fine or (hose and max(quantities) < LITTLE_METRES) else 1 if hose else 0
    amounts = [np.array([quantity]) for quantity in quantities]
    finest = decimals_apart(amounts, decimals)
    return [told + (" m" if hose else "") for (told,) in (tell_numbers(one, finest) for one in amounts)]


def money(value: float, settings: Settings) -> str:
    return f"{value:,.0f} {settings.currency}"
