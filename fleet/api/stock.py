"""What moves the stock: an order noted, moved, cancelled or received, a shelf counted, parts carried.

What lies there and what is open are read under `stock/` and `open_orders/`. Hose is in metres.
"""

from typing import Any

from django.urls import URLPattern, path
from drf_spectacular.utils import extend_schema
from rest_framework import serializers, status
from rest_framework.request import Request
from rest_framework.response import Response

from fleet.permissions import Action
from fleet.services.stock.moving import (
    cancel_order,
    count_stock,
    expect_order,
    move_stock,
    order_part,
    receive_order,
)

from .columns import Text
from .fields import DayField, NumberField
from .members import MemberView

KEY: dict[str, Any] = {"max_length": 80}
MAYBE: dict[str, Any] = {**KEY, "required": False, "allow_blank": True}
DAY: dict[str, Any] = {"required": False, "allow_null": True}


class OrderSent(serializers.Serializer):
    """So much of a part for a site. Without `order` it gets a number, without a day that of its lead time."""

    part = serializers.CharField(**KEY)
    site = serializers.CharField(**KEY)
    quantity = NumberField()
    expected_on = DayField(**DAY)
    order = serializers.CharField(**MAYBE)


class OrderShown(serializers.Serializer):
    """What is still to come of one part on one order."""

    order = serializers.CharField()
    part = serializers.CharField(source="part.key")
    site = serializers.CharField(source="site.key")
    quantity = serializers.FloatField()
    expected_on = serializers.DateField(allow_null=True)


class CancellationSent(serializers.Serializer):
    """What is still to come of a part on an order, and will not."""

    order = serializers.CharField(**KEY)
    part = serializers.CharField(**KEY)
    site = serializers.CharField(**KEY)
    reason = serializers.CharField(**KEY, help_text="kept in the order's history")
    seen_open = NumberField(
        required=False, allow_null=True, help_text="what was still to come when the person looked"
    )


class CancellationShown(serializers.Serializer):
    """What does not come any more."""

    order = serializers.CharField()
    part = serializers.CharField()
    site = serializers.CharField()
    cancelled = serializers.FloatField()


class ExpectedDaySent(serializers.Serializer):
    """The day on which an open order is expected now."""

    order = serializers.CharField(**KEY)
    part = serializers.CharField(**KEY)
    site = serializers.CharField(**KEY)
    expected_on = DayField(allow_null=True, help_text="null: nobody names one any more")
    reason = serializers.CharField(**MAYBE)


class ReceiptSent(serializers.Serializer):
    """What came on an order: each reel or lot by itself."""

    order = serializers.CharField(**KEY)
    part = serializers.CharField(**KEY)
    site = serializers.CharField(**KEY)
    quantity = NumberField()
    lot = serializers.CharField(**MAYBE)
    made_on = DayField(**DAY)
    piece = serializers.CharField(
        **MAYBE, help_text="empty: hose gets a name of its own, other parts join those of their lot"
    )
    seen_open = NumberField(
        required=False, allow_null=True, help_text="what was still to come when the person looked"
    )
    confirmed = serializers.BooleanField(required=False, help_text="more may have come than was ordered")


class PieceShown(serializers.Serializer):
    """A reel, offcut or lot on a shelf."""

    part = serializers.CharField(source="part.key")
    site = serializers.CharField(source="site.key")
    piece = Text(allow_null=True)
    lot = Text(allow_null=True)
    on_hand = serializers.FloatField()
    made_on = serializers.DateField(allow_null=True)


class ReceiptShown(serializers.Serializer):
    """Where what came was laid, and what is still to come of the order."""

    piece = PieceShown()
    still_open = serializers.FloatField()


class CountSent(serializers.Serializer):
    """What was counted of one piece."""

    part = serializers.CharField(**KEY)
    site = serializers.CharField(**KEY)
    piece = serializers.CharField(**MAYBE)
    on_hand = NumberField()
    lot = serializers.CharField(**MAYBE)
    made_on = DayField(**DAY)


class MoveSent(serializers.Serializer):
    """So much of one piece from site to site."""

    part = serializers.CharField(**KEY)
    from_site = serializers.CharField(**KEY)
    to_site = serializers.CharField(**KEY)
    piece = serializers.CharField(**MAYBE)
    quantity = NumberField()
    seen_on_hand = NumberField(
        required=False, allow_null=True, help_text="what the piece held when the person looked"
    )


class StockView(MemberView):
    """A view that changes the stock by one service; `sends` reads what it is asked with."""

    sends: type[serializers.Serializer]

    def asked(self, request: Request) -> dict[str, Any]:
        sent = self.sends(data=request.data)
        sent.is_valid(raise_exception=True)
        return {"organization": self.organization, "user": request.user, **sent.validated_data}


class Orders(StockView):
    asks = {"POST": Action.ORDER}
    sends = OrderSent

    @extend_schema(request=OrderSent, responses={201: OrderShown})
    def post(self, request: Request) -> Response:
        """Notes an order, so that the next plan counts on it. Nothing is sent to a supplier."""
        line = order_part(**self.asked(request))
        return Response(OrderShown(line).data, status=status.HTTP_201_CREATED)


class Cancellations(StockView):
    asks = {"POST": Action.ORDER}
    sends = CancellationSent

    @extend_schema(request=CancellationSent, responses=CancellationShown)
    def post(self, request: Request) -> Response:
        """Cancels what is still to come of an order. Nothing is sent to a supplier."""
        asked = self.asked(request)
        named = {name: asked[name] for name in ("order", "part", "site")}
        return Response(CancellationShown(named | {"cancelled": cancel_order(**asked)}).data)


class ExpectedDays(StockView):
    asks = {"POST": Action.ORDER}
    sends = ExpectedDaySent

    @extend_schema(request=ExpectedDaySent, responses=OrderShown)
    def post(self, request: Request) -> Response:
        """Has an open order expected on another day."""
        return Response(OrderShown(expect_order(**self.asked(request))).data)


class Receipts(StockView):
    asks = {"POST": Action.CHANGE_STOCK}
    sends = ReceiptSent

    @extend_schema(request=ReceiptSent, responses={201: ReceiptShown})
    def post(self, request: Request) -> Response:
        """Lays what came on an order on the shelf, in full or in part; 409 where another was there first."""
        receipt = receive_order(**self.asked(request))
        return Response(ReceiptShown(receipt).data, status=status.HTTP_201_CREATED)


class Counts(StockView):
    asks = {"POST": Action.CHANGE_STOCK}
    sends = CountSent

    @extend_schema(request=CountSent, responses=PieceShown)
    def post(self, request: Request) -> Response:
        """Puts what was counted in place of what stood."""
        return Response(PieceShown(count_stock(**self.asked(request))).data)


class Moves(StockView):
    asks = {"POST": Action.CHANGE_STOCK}
    sends = MoveSent

    @extend_schema(request=MoveSent, responses=PieceShown)
    def post(self, request: Request) -> Response:
        """Moves so much of a piece to another site, and answers with the piece it lies in there."""
        return Response(PieceShown(move_stock(**self.asked(request))).data)


def addresses() -> list[URLPattern]:
    return [
        path("stock/orders/", Orders.as_view(), name="stock-orders"),
        path("stock/cancellations/", Cancellations.as_view(), name="stock-cancellations"),
        path("stock/expected-days/", ExpectedDays.as_view(), name="stock-expected-days"),
        path("stock/receipts/", Receipts.as_view(), name="stock-receipts"),
        path("stock/counts/", Counts.as_view(), name="stock-counts"),
        path("stock/moves/", Moves.as_view(), name="stock-moves"),
    ]
