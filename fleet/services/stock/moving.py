"""What moves the stock: parts are ordered (or not any more), received, counted and carried between sites.

Each of these holds the organization's row before any other (see `signing`). A row keeps its history: who
changed it, when and for what. Hose is in metres, everything else by number. What begun kits hold of a piece
is for nobody else.
"""

import datetime
import math
from dataclasses import dataclass

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from fleet.models import OpenOrder, Organization, Part, Site, StockMove, StockPiece, User

from ..signing import hold_organization, save_signed, sign
from .errors import (
    CancelledWithoutReason,
    DayRefused,
    MoreThanOrdered,
    NotEnough,
    OrderMoved,
    OrderNotOpen,
    OrderTaken,
    PartNoLongerMade,
    SamePlace,
    StockMoved,
)
from .shelves import (
    AT_LEAST,
    AT_MOST,
    DUST,
    free_name,
    held_of,
    lay_down,
    measured,
    part_of,
    pieces_of,
    refuse_made_ahead,
    right_quantity,
    set_on_hand,
    site_of,
)


@dataclass(frozen=True, slots=True)
class Receipt:
    """Where what came was laid, and how much of the order is still to come."""

    piece: StockPiece
    still_open: float


@transaction.atomic(durable=True)
def order_part(
    *,
    organization: Organization,
    user: User | None,
    part: str,
    site: str,
    quantity: float,
    expected_on: datetime.date | None = None,
    order: str = "",
    today: datetime.date | None = None,
) -> OpenOrder:
    """The open order: so much of `part` to `site`, expected after the part's lead time where no day is given.

    Without `order` it gets a number of its own (`next_order_number`). Raises ServiceError.
    """
    hold_organization(organization)
    today = today or timezone.localdate()
    bought, place = part_of(organization, part), site_of(organization, site)
    if bought.obsolete:
        successor = bought.superseded_by
        right = (
            _("Order its successor %(successor)s.") % {"successor": successor}
            if successor
            else _("Look for one that may stand in for it.")
        )
        raise PartNoLongerMade(part=part, right=right)
    quantity = right_quantity(bought, quantity)
    if expected_on is not None and expected_on < today:
        raise DayRefused(
            what=_("An order placed today cannot be expected on"),
            day=expected_on,
            wrong=_("which is past"),
            right=_("Give the day on which it is to come, or none."),
        )
    if expected_on is None and bought.lead_time_days is not None:
        expected_on = today + datetime.timedelta(days=math.ceil(bought.lead_time_days))
    free = next_order_number(organization, today)
    if OpenOrder.objects.of(organization).filter(order=order, part=bought, site=place).exists():
        raise OrderTaken(order=order, part=part, site=site, free=free)
    line = OpenOrder(
        organization=organization,
        order=order or free,
        part=bought,
        site=place,
        quantity=quantity,
        expected_on=expected_on,
    )
    save_signed(line, user, "ordered")
    return line


def next_order_number(organization: Organization, today: datetime.date) -> str:
    """A number that no order of the organization has or had: the day, and the place in it from 1."""
    given = OpenOrder.history.filter(organization=organization, order__startswith=f"{today:%Y%m%d}-")
    taken = set(given.values_list("order", flat=True))
    return free_name(f"{today:%Y%m%d}", taken | {f"{today:%Y%m%d}"}, first=1)


@transaction.atomic(durable=True)
def receive_order(
    *,
    organization: Organization,
    user: User | None,
    order: str,
    part: str,
    site: str,
    quantity: float,
    lot: str = "",
    made_on: datetime.date | None = None,
    piece: str = "",
    seen_open: float | None = None,
    confirmed: bool = False,
    today: datetime.date | None = None,
) -> Receipt:
    """Where so much of the order was laid; the order shrinks by it, or is gone where nothing is left to come.

    Hose becomes a piece of its own, because hose is not spliced; other parts join those of the same lot and
    made date, or become a piece named by their lot. `seen_open` is what was still to come when the person
    looked: where that has changed, another may have received the same delivery. Only when `confirmed` may
    more come than was ordered. Raises ServiceError.
    """
    hold_organization(organization)
    came, place = part_of(organization, part), site_of(organization, site)
    open_line = _open_line(organization, order, came, place, seen_open)
    quantity = right_quantity(came, quantity)
    if quantity > open_line.quantity + DUST and not confirmed:
        expected = measured(came, open_line.quantity)
        raise MoreThanOrdered(order=order, part=part, quantity=measured(came, quantity), open=expected)
    refuse_made_ahead(made_on, today)
    reason = f"received {measured(came, quantity)} on order {order}"
    laid = lay_down(came, place, quantity, lot, made_on, piece, order, user, reason)
    still_open = round(max(open_line.quantity - quantity, 0.0), 6)
    if still_open > DUST:
        open_line.quantity = still_open
        save_signed(open_line, user, reason)
    else:
        sign(open_line, user, reason)
        open_line.delete()
        still_open = 0.0
    return Receipt(laid, still_open)


@transaction.atomic(durable=True)
def cancel_order(
    *,
    organization: Organization,
    user: User | None,
    order: str,
    part: str,
    site: str,
    reason: str,
    seen_open: float | None = None,
) -> float:
    """How much of the order was still to come and now is not; what came before stays on its shelf.

    The reason stands in the order's history. `seen_open` is what was still to come when the person looked.
    Raises CancelledWithoutReason and what else a receipt raises about the order.
    """
    hold_organization(organization)
    line = _open_line(
        organization, order, part_of(organization, part), site_of(organization, site), seen_open
    )
    if not reason.strip():
        raise CancelledWithoutReason(order=order, part=part)
    rest = line.quantity
    sign(line, user, f"cancelled what was to come of it, {measured(line.part, rest)}: {reason.strip()}")
    line.delete()
    return rest


@transaction.atomic(durable=True)
def expect_order(
    *,
    organization: Organization,
    user: User | None,
    order: str,
    part: str,
    site: str,
    expected_on: datetime.date | None,
    reason: str = "",
    today: datetime.date | None = None,
) -> OpenOrder:
    """The open order, expected on another day from today on; None where nobody names one any more.

    Who moved it, from which day and why stand in its history. Raises DayRefused, OrderNotOpen, NotInRegister.
    """
    hold_organization(organization)
    line = _open_line(organization, order, part_of(organization, part), site_of(organization, site))
    if expected_on is not None and expected_on < (today or timezone.localdate()):
        raise DayRefused(
            what=_("What is still to come cannot be expected on"),
            day=expected_on,
            wrong=_("which is past"),
            right=_("Give the day on which it is to come now, or none."),
        )
    told = f"moved it from {line.expected_on or 'no day'} to {expected_on or 'no day'}"
    line.expected_on = expected_on
    save_signed(line, user, f"{told}: {reason.strip()}" if reason.strip() else told)
    return line


@transaction.atomic(durable=True)
def count_stock(
    *,
    organization: Organization,
    user: User | None,
    part: str,
    site: str,
    on_hand: float,
    piece: str = "",
    lot: str = "",
    made_on: datetime.date | None = None,
    today: datetime.date | None = None,
) -> StockPiece:
    """The piece with what was counted in place of what stood; one that nobody knew of is new.

    A lot and a made date that are given replace those that stood; where none is given they stay. A piece
    that is not there is counted as 0, but never less than begun kits hold of it. Raises ServiceError.
    """
    hold_organization(organization)
    counted, place = part_of(organization, part), site_of(organization, site)
    on_hand = right_quantity(counted, on_hand, least=0.0)
    refuse_made_ahead(made_on, today)
    row = pieces_of(counted, place).filter(piece=piece).first()
    if row is None:
        row = StockPiece(organization=organization, part=counted, site=place, piece=piece)
    held = held_of(row)
    if on_hand < held.least - DUST:
        least = measured(counted, held.least, AT_LEAST)
        raise held.refusal(
            row,
            _("Count %(least)s or more; or take a kit apart first, if its parts are not there.")
            % {"least": least},
        )
    row.lot, row.made_on = lot or row.lot, made_on or row.made_on
    set_on_hand(row, on_hand)
    save_signed(row, user, "counted")
    return row


@transaction.atomic(durable=True)
def move_stock(
    *,
    organization: Organization,
    user: User | None,
    part: str,
    from_site: str,
    to_site: str,
    quantity: float,
    piece: str = "",
    seen_on_hand: float | None = None,
) -> StockPiece:
    """The piece at `to_site` that so much of `piece` at `from_site` now lies in, with its lot and made date.

    `seen_on_hand` is what the piece held when the person looked; where that has changed, the move may have
    been done already. Raises ServiceError.
    """
    hold_organization(organization)
    moved = part_of(organization, part)
    source, target = site_of(organization, from_site), site_of(organization, to_site)
    if source == target:
        raise SamePlace(part=part, site=from_site)
    quantity = right_quantity(moved, quantity)
    named = _(", piece %(piece)s") % {"piece": piece} if piece else ""
    row = pieces_of(moved, source).filter(piece=piece).first()
    there = row.on_hand if row else 0.0
    if seen_on_hand is not None and abs(seen_on_hand - there) > DUST:
        seen, now = measured(moved, seen_on_hand), measured(moved, there)
        raise StockMoved(part=part, site=from_site, piece=named, seen=seen, now=now)
    if row is None or quantity > there + DUST:
        there_now, asked = measured(moved, there, AT_MOST), measured(moved, quantity)
        raise NotEnough(part=part, site=from_site, piece=named, there=there_now, quantity=asked)
    held = held_of(row)
    if quantity > there - held.reserved + DUST and held.kits:
        free = measured(moved, max(there - held.reserved, 0.0), AT_MOST)
        raise held.refusal(row, _("Move %(free)s at most, or take a kit apart first.") % {"free": free})
    much = measured(moved, quantity)
    set_on_hand(row, max(round(there - quantity, 6), 0.0))
    save_signed(row, user, f"moved {much} to {target}")
    StockMove.objects.create(
        organization=organization,
        part=moved,
        from_site=source,
        to_site=target,
        quantity=quantity,
        moved_at=timezone.now(),
    )
    reason = f"moved {much} from {source}"
    # Hose goes under its own name, or under one like it where the other site has a piece of that name.
    return lay_down(moved, target, quantity, row.lot, row.made_on, "", piece, user, reason)


def _open_line(
    organization: Organization, order: str, part: Part, site: Site, seen_open: float | None = None
) -> OpenOrder:
    """What is to come on the order. Raises OrderNotOpen, and OrderMoved where it is not what was seen."""
    rows = OpenOrder.objects.of(organization).select_for_update()
    line = rows.filter(order=order, part=part, site=site).first()
    if line is None:
        why = _told(_last(organization, order, part, site)) or _(
            "no such order was placed. Check its number."
        )
        raise OrderNotOpen(order=order, part=part, site=site, why=why)
    if seen_open is not None and abs(seen_open - line.quantity) > DUST:
        why = _told(_last(organization, order, part, site))
        seen, now = measured(part, seen_open), measured(part, line.quantity)
        raise OrderMoved(order=order, part=part, seen=seen, now=now, why=why)
    return line


def _last(organization: Organization, order: str, part: Part, site: Site):
    records = OpenOrder.history.filter(organization=organization, order=order, part=part, site=site)
    return records.select_related("history_user").order_by("-history_date", "-history_id").first()


def _told(record) -> str:
    """Who changed an order last, what for and when; nothing where nobody did."""
    if record is None:
        return ""
    who = record.history_user or "somebody"
    done = record.history_change_reason or (_("closed it") if record.history_type == "-" else _("changed it"))
    return _("%(who)s %(done)s on %(history_date)s.") % {
        "who": who,
        "done": done,
        "history_date": f"{timezone.localtime(record.history_date):%Y-%m-%d at %H:%M}",
    }
