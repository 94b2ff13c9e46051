"""What is refused where parts are ordered, received, counted and moved."""

from django.utils.translation import gettext_lazy

from ..errors import Overtaken, ServiceError


class NotInRegister(ServiceError):
    """A part or site that nobody entered."""

    code = "not_in_register"
    message = gettext_lazy("There is no %(noun)s %(key)s in the register. %(hint)s")


class QuantityRefused(ServiceError):
    """A quantity that cannot be laid on a shelf or ordered."""

    code = "quantity_refused"
    message = gettext_lazy("%(quantity)s of %(part)s: %(right)s")


class DayRefused(ServiceError):
    """A day on the wrong side of today."""

    code = "day_refused"
    message = "%(what)s %(day)s %(wrong)s. %(right)s"


class PartNoLongerMade(ServiceError):
    """An order of a part that nobody makes any more."""

    code = "part_no_longer_made"
    message = gettext_lazy("%(part)s is no longer made. %(right)s")


class OrderTaken(Overtaken):
    """An order number that this part and site have already."""

    code = "order_taken"
    message = gettext_lazy(
        "Order %(order)s has %(part)s for %(site)s already. Take another number; %(free)s is "
        "free. If it is the same order, it is placed already."
    )


class OrderNotOpen(Overtaken):
    """Nothing is to come on that order: received meanwhile, or never placed."""

    code = "order_not_open"
    message = gettext_lazy("Nothing of %(part)s is to come to %(site)s on order %(order)s: %(why)s")


class OrderMoved(Overtaken):
    """Somebody received some of it since the person looked."""

    code = "order_moved"
    message = gettext_lazy(
        "Of %(part)s on order %(order)s %(seen)s were to come when you looked and %(now)s are "
        "now: %(why)s Enter only what is not on the shelf yet."
    )


class MoreThanOrdered(ServiceError):
    """More came than was to come, and nobody confirmed it."""

    code = "more_than_ordered"
    message = gettext_lazy(
        "%(quantity)s of %(part)s came on order %(order)s, where %(open)s were to come. Enter "
        "what came on this order, or confirm that more came than was ordered."
    )


class CancelledWithoutReason(ServiceError):
    """An order that is to come no more, and nobody said why."""

    code = "cancelled_without_reason"
    message = gettext_lazy(
        "Say why the rest of %(part)s on order %(order)s will not come: whoever waits for it reads that."
    )


class PieceTaken(ServiceError):
    """A piece that holds something which must stay apart from what is laid down."""

    code = "piece_taken"
    message = gettext_lazy("%(piece)s of %(part)s at %(site)s %(holds)s. %(right)s")


class NotEnough(ServiceError):
    """More is taken than lies there."""

    code = "not_enough"
    message = gettext_lazy(
        "%(there)s of %(part)s lie at %(site)s%(piece)s, not %(quantity)s. Move %(there)s at "
        "most, or count it first."
    )


class HeldByKits(ServiceError):
    """What kits that are being built hold of a piece would not lie there any more."""

    code = "held_by_kits"
    message = gettext_lazy("Of %(part)s at %(site)s%(piece)s %(held)s is set aside for %(kits)s. %(right)s")


class StockMoved(Overtaken):
    """Somebody took or counted it since the person looked."""

    code = "stock_moved"
    message = gettext_lazy(
        "%(part)s at %(site)s%(piece)s was %(seen)s when you looked and is %(now)s now. Look "
        "again, then move it."
    )


class SamePlace(ServiceError):
    """A move that leads nowhere."""

    code = "same_place"
    message = gettext_lazy("%(part)s is at %(site)s already. Name another site to move it to.")
