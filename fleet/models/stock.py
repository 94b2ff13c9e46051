"""What lies on the shelves and what is on its way there."""

from typing import ClassVar

from django.db import models
from django.db.models import F, FloatField, Max, Q, Sum, Value
from django.db.models.functions import Coalesce, Greatest, Round

from .machines import Site
from .organizations import Measured, Organization, Owned, OwnedQuerySet
from .parts import Part

MICRO = 1e6  # amounts are kept to the millionth of a metre; what adding leaves beyond that is nothing


class StockPieceQuerySet(OwnedQuerySet):
    def with_reserved(self):
        """The pieces with what begun kits hold of each: `reserved`, each cut with its kerf, and `last_kerf`.

        Where nothing is left beyond the last cut it needs no kerf, so a piece must hold `reserved` less
        `last_kerf` at least, and what is on hand beyond `reserved`, `free`, is for anybody. In metres or by
        number.
        """
        held = Q(kit_parts__state="reserved")
        zero = Value(0.0, output_field=FloatField())
        taken = F("kit_parts__quantity") + F("kit_parts__kerf_mm") / 1000.0
        left = F("on_hand") - F("reserved")
        return self.annotate(
            reserved=Coalesce(Sum(taken, filter=held), zero),
            last_kerf=Coalesce(Max(F("kit_parts__kerf_mm") / 1000.0, filter=held), zero),
        ).annotate(free=Greatest(Round(left * MICRO) / MICRO, zero))


class StockPiece(Measured, Owned):
    """One reel, offcut or lot of a part at a site; hose in metres, everything else by number."""

    part = models.ForeignKey(Part, on_delete=models.PROTECT, related_name="pieces")
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="pieces")
    piece = models.CharField(max_length=80, blank=True)
    lot = models.CharField(max_length=80, blank=True)
    on_hand = models.FloatField()
    made_on = models.DateField(null=True, blank=True)

    objects: ClassVar = StockPieceQuerySet.as_manager()

    class Meta:
        ordering = ["part", "site", "piece"]
        constraints = [
            models.UniqueConstraint(fields=["part", "site", "piece"], name="stock_unique_piece"),
            models.CheckConstraint(condition=Q(on_hand__gte=0), name="stock_not_negative"),
        ]

    def __str__(self) -> str:
        return f"{self.part} at {self.site} {self.piece}: {self.on_hand:g}".replace("  ", " ")


class OpenOrder(Owned):
    """What is still to come of one part on one order."""

    order = models.CharField(max_length=80)
    part = models.ForeignKey(Part, on_delete=models.PROTECT, related_name="open_orders")
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="open_orders")
    quantity = models.FloatField()
    expected_on = models.DateField(null=True, blank=True)

    class Meta:
        ordering = ["order", "part", "site"]
        constraints = [
            models.UniqueConstraint(
                fields=["organization", "order", "part", "site"], name="order_unique_line"
            ),
            models.CheckConstraint(condition=Q(quantity__gte=0), name="order_not_negative"),
        ]

    def __str__(self) -> str:
        return f"{self.order}: {self.quantity:g} × {self.part} to {self.site}"


class StockMove(models.Model):
    """So much of a part that was carried from one site to another, and when. It is never changed."""

    organization = models.ForeignKey(Organization, on_delete=models.CASCADE, related_name="+")
    part = models.ForeignKey(Part, on_delete=models.CASCADE, related_name="+")
    from_site = models.ForeignKey(Site, on_delete=models.CASCADE, related_name="+")
    to_site = models.ForeignKey(Site, on_delete=models.CASCADE, related_name="+")
    quantity = models.FloatField()
    moved_at = models.DateTimeField()

    objects = OwnedQuerySet.as_manager()

    class Meta:
        ordering = ["moved_at", "pk"]

    def __str__(self) -> str:
        return f"{self.quantity:g} × {self.part} from {self.from_site} to {self.to_site}"
