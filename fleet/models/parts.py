"""Parts, the crimp data that join them, and the designs that are made from them."""

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from .organizations import Measured, Owned


class PartKind(models.TextChoices):
    BULK_HOSE = "bulk_hose", _("Bulk hose")
    HOSE_END = "hose_end", _("Hose end")
    FERRULE = "ferrule", _("Ferrule")
    SLEEVE = "sleeve", _("Sleeve")
    ADAPTER = "adapter", _("Adapter")
    ASSEMBLY = "assembly", _("Bought assembly")


class Part(Measured, Owned):
    """Anything that is bought and kept on a shelf."""

    key = models.CharField(max_length=80)
    kind = models.CharField(max_length=12, choices=PartKind.choices)
    description = models.CharField(max_length=300, blank=True)
    construction = models.CharField(max_length=80, blank=True)
    edition = models.CharField(max_length=80, blank=True)
    dash = models.FloatField(null=True, blank=True)
    connection_dash = models.FloatField(null=True, blank=True)
    end_style = models.CharField(max_length=120, blank=True)
    thread = models.CharField(max_length=80, blank=True)
    bore_mm = models.FloatField(null=True, blank=True)
    outside_diameter_mm = models.FloatField(null=True, blank=True)
    material = models.CharField(max_length=120, blank=True)
    conductive = models.BooleanField(null=True, blank=True)
    rated_pressure_bar = models.FloatField(null=True, blank=True)
    minimum_temperature_c = models.FloatField(null=True, blank=True)
    maximum_temperature_c = models.FloatField(null=True, blank=True)
    minimum_bend_radius_mm = models.FloatField(null=True, blank=True)
    cutoff_mm = models.FloatField(null=True, blank=True)
    insertion_depth_mm = models.FloatField(null=True, blank=True)
    unit = models.CharField(max_length=8, blank=True)
    unit_cost = models.DecimalField(max_digits=16, decimal_places=4, null=True, blank=True)
    lead_time_days = models.FloatField(null=True, blank=True)
    lead_time_sd_days = models.FloatField(null=True, blank=True)
    pack_quantity = models.FloatField(null=True, blank=True)
    shelf_life_days = models.FloatField(null=True, blank=True)
    superseded_by = models.ForeignKey(
        "self", on_delete=models.SET_NULL, null=True, blank=True, related_name="supersedes"
    )
    obsolete = models.BooleanField(null=True, blank=True)

    class Meta:
        ordering = ["key"]
        constraints = [
            models.UniqueConstraint(fields=["organization", "key"], name="part_unique_key"),
            models.CheckConstraint(condition=Q(rated_pressure_bar__gte=0), name="part_rating_not_negative"),
            models.CheckConstraint(condition=Q(unit_cost__gte=0), name="part_cost_not_negative"),
            models.CheckConstraint(condition=Q(cutoff_mm__gte=0), name="part_cutoff_not_negative"),
            models.CheckConstraint(condition=Q(pack_quantity__gte=0), name="part_pack_not_negative"),
            models.CheckConstraint(condition=Q(lead_time_days__gte=0), name="part_lead_time_not_negative"),
        ]

    def __str__(self) -> str:
        return self.key


class CrimpSpec(Measured, Owned):
    """The crimp for one hose with one end, from that pair's own chart and no other."""

    hose_part = models.ForeignKey(Part, on_delete=models.CASCADE, related_name="crimps_as_hose")
    end_part = models.ForeignKey(Part, on_delete=models.CASCADE, related_name="crimps_as_end")
    ferrule_part = models.ForeignKey(
        Part, on_delete=models.CASCADE, related_name="crimps_as_ferrule", null=True, blank=True
    )
    crimp_diameter_mm = models.FloatField()
    crimp_over_mm = models.FloatField(null=True, blank=True)
    crimp_under_mm = models.FloatField(null=True, blank=True)
    die = models.CharField(max_length=80, blank=True)
    chart = models.CharField(max_length=120, blank=True)

    class Meta:
        ordering = ["hose_part", "end_part", "ferrule_part"]
        constraints = [
            models.UniqueConstraint(
                fields=["hose_part", "end_part", "ferrule_part"], name="crimp_spec_unique_parts"
            ),
            models.UniqueConstraint(
                fields=["hose_part", "end_part"],
                condition=Q(ferrule_part=None),
                name="crimp_spec_unique_without_ferrule",
            ),
            models.CheckConstraint(condition=Q(crimp_diameter_mm__gt=0), name="crimp_diameter_positive"),
            models.CheckConstraint(
                condition=Q(crimp_over_mm__gte=0) & Q(crimp_under_mm__gte=0), name="crimp_band_not_negative"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.hose_part} with {self.end_part}: {self.crimp_diameter_mm:g} mm"


class Design(Measured, Owned):
    """A drawing of an assembly: hose, two ends, length and angle."""

    key = models.CharField(max_length=80)
    hose_part = models.ForeignKey(Part, on_delete=models.PROTECT, related_name="designs_as_hose")
    end_a_part = models.ForeignKey(Part, on_delete=models.PROTECT, related_name="designs_as_end_a")
    end_b_part = models.ForeignKey(Part, on_delete=models.PROTECT, related_name="designs_as_end_b")
    overall_length_mm = models.FloatField()
    orientation_deg = models.FloatField(null=True, blank=True)

    class Meta:
        ordering = ["key"]
        constraints = [
            models.UniqueConstraint(fields=["organization", "key"], name="design_unique_key"),
            models.CheckConstraint(condition=Q(overall_length_mm__gt=0), name="design_length_positive"),
        ]

    def __str__(self) -> str:
        return self.key


class DesignPart(Owned):
    """A ferrule, sleeve or adapter that a design takes besides its hose and ends."""

    design = models.ForeignKey(Design, on_delete=models.CASCADE, related_name="parts")
    place = models.CharField(
        max_length=4, choices=[("a", _("End a")), ("b", _("End b")), ("hose", _("Hose"))]
    )
    part = models.ForeignKey(Part, on_delete=models.PROTECT, related_name="designs_with")
    quantity = models.FloatField()

    class Meta:
        ordering = ["design", "place", "part"]
        constraints = [
            models.UniqueConstraint(fields=["design", "place", "part"], name="design_part_unique"),
            models.CheckConstraint(condition=Q(quantity__gte=0), name="design_part_not_negative"),
        ]

    def __str__(self) -> str:
        return f"{self.quantity:g} × {self.part} at {self.place} of {self.design}"
