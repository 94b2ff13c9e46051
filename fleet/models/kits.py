"""Kits that the shop has begun: what each holds of which piece of stock, and what was made of it.

A plan's kit is a proposal that names change with. Once the shop begins it, a row of its own stands here and
keeps what it took, until every assembly of it is made or it is taken apart.
"""

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from .assemblies import Assembly
from .machines import Machine, Site
from .organizations import Owned, User
from .parts import Design, Part
from .positions import Position
from .stock import StockPiece


class KitState(models.TextChoices):
    BEGUN = "begun", _("Being built")
    MADE = "made", _("Made")
    TAKEN_APART = "taken_apart", _("Taken apart")


class Kit(Owned):
    """One kit that the shop has begun. `key` is the name it had in the plan it was begun from."""

    key = models.CharField(max_length=200)
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="kits")
    machine = models.ForeignKey(Machine, on_delete=models.PROTECT, related_name="kits", null=True, blank=True)
    purpose = models.CharField(max_length=10)
    needed_by = models.DateField(null=True, blank=True)
    state = models.CharField(max_length=12, choices=KitState.choices, default=KitState.BEGUN)
    begun_on = models.DateField()
    begun_by = models.ForeignKey(User, on_delete=models.SET_NULL, null=True, blank=True, related_name="+")
    closed_on = models.DateField(null=True, blank=True)

    class Meta:
        ordering = ["needed_by", "key"]
        constraints = [models.UniqueConstraint(fields=["organization", "key"], name="kit_unique_key")]
        indexes = [models.Index(fields=["organization", "state"], name="kit_by_state")]

    def __str__(self) -> str:
        return self.key


class KitAssembly(Owned):
    """One assembly that a kit is for; `assembly` is there once it was made and accepted."""

    kit = models.ForeignKey(Kit, on_delete=models.CASCADE, related_name="assemblies")
    number = models.PositiveIntegerField()
    design = models.ForeignKey(Design, on_delete=models.PROTECT, related_name="kit_assemblies")
    position = models.ForeignKey(
        Position, on_delete=models.PROTECT, related_name="kit_assemblies", null=True, blank=True
    )
    assembly = models.OneToOneField(
        Assembly, on_delete=models.PROTECT, related_name="kit_assembly", null=True, blank=True
    )

    class Meta:
        ordering = ["kit", "number"]
        verbose_name_plural = "kit assemblies"
        constraints = [
            models.UniqueConstraint(fields=["kit", "number"], name="kit_assembly_unique_number"),
        ]

    def __str__(self) -> str:
        return f"{self.kit} no. {self.number}"


class KitPartState(models.TextChoices):
    RESERVED = "reserved", _("Reserved")
    USED = "used", _("Used")
    GIVEN_BACK = "given_back", _("Given back")


class KitPart(Owned):
    """What one assembly of a kit takes of one piece of stock; hose in metres, everything else by number.

    While reserved it still lies in its piece and nobody else may have it; used, it has left the stock. What
    the piece was (name, lot, made date) stands here too, since an empty piece goes. `kerf_mm` is what the saw
    takes with a cut and `scrap_mm` what was left too short to keep: with the quantity they are all that left
    the piece. `scrapped_because` says why what was used is in no assembly.
    """

    kit_assembly = models.ForeignKey(KitAssembly, on_delete=models.CASCADE, related_name="parts")
    place = models.CharField(
        max_length=4, choices=[("a", _("End a")), ("b", _("End b")), ("hose", _("Hose"))]
    )
    part = models.ForeignKey(Part, on_delete=models.PROTECT, related_name="kit_parts")
    substitute_for = models.ForeignKey(
        Part, on_delete=models.PROTECT, related_name="+", null=True, blank=True
    )
    quantity = models.FloatField()
    cut_length_mm = models.FloatField(null=True, blank=True)
    kerf_mm = models.FloatField(default=0.0)
    scrap_mm = models.FloatField(default=0.0)
    piece = models.ForeignKey(
        StockPiece, on_delete=models.SET_NULL, related_name="kit_parts", null=True, blank=True
    )
    piece_name = models.CharField(max_length=80, blank=True)
    lot = models.CharField(max_length=80, blank=True)
    made_on = models.DateField(null=True, blank=True)
    state = models.CharField(max_length=10, choices=KitPartState.choices, default=KitPartState.RESERVED)
    scrapped_because = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ["kit_assembly", "pk"]
        constraints = [
            models.CheckConstraint(condition=Q(quantity__gt=0), name="kit_part_positive"),
            models.CheckConstraint(
                condition=Q(kerf_mm__gte=0) & Q(scrap_mm__gte=0), name="kit_part_loss_not_negative"
            ),
            models.CheckConstraint(
                condition=~Q(state=KitPartState.RESERVED) | Q(piece__isnull=False),
                name="kit_part_reserved_of_a_piece",
            ),
        ]
        indexes = [
            models.Index(fields=["organization", "state"], name="kit_part_by_state"),
            models.Index(fields=["organization", "lot"], name="kit_part_by_lot"),
        ]

    def __str__(self) -> str:
        return f"{self.kit_assembly}: {self.quantity:g} × {self.part}"
