"""Hose assemblies: what was built, where it went, how it came off, what was measured and seen on it.

An assembly is installed once, so its one installation stands in its own row.
"""

from typing import ClassVar

from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from .organizations import Measured, Owned, OwnedQuerySet
from .parts import Design
from .positions import Position


class RemovalCause(models.TextChoices):
    """`failed` and `worn` end a life; every other cause only ends the watching."""

    FAILED = "failed", _("Failed in service")
    WORN = "worn", _("Found worn")
    PLANNED = "planned", _("Planned changeout")
    DAMAGED = "damaged", _("Damaged from outside")
    MACHINE_RETIRED = "machine_retired", _("Machine retired")
    UNKNOWN = "unknown", _("Not known")


class AssemblyQuerySet(OwnedQuerySet):
    def installed_on(self, day):
        """The assemblies in a position at the end of `day`."""
        return self.filter(
            Q(removed_on=None) | Q(removed_on__gt=day), position__isnull=False, installed_on__lte=day
        )


class Assembly(Owned):
    """One hose assembly and its one installation. Not yet installed: no position."""

    key = models.CharField(max_length=80)
    design = models.ForeignKey(
        Design, on_delete=models.PROTECT, related_name="assemblies", null=True, blank=True
    )
    position = models.ForeignKey(
        Position, on_delete=models.PROTECT, related_name="assemblies", null=True, blank=True
    )
    built_on = models.DateField(null=True, blank=True)
    hose_made_on = models.DateField(null=True, blank=True)
    hose_lot = models.CharField(max_length=80, blank=True)
    crimped_by = models.CharField(max_length=120, blank=True)
    installed_on = models.DateField(null=True, blank=True)
    installed_hours = models.FloatField(null=True, blank=True)
    removed_on = models.DateField(null=True, blank=True)
    removed_hours = models.FloatField(null=True, blank=True)
    removal_cause = models.CharField(max_length=16, choices=RemovalCause.choices, blank=True)
    failure_mode = models.CharField(max_length=200, blank=True)

    objects: ClassVar = AssemblyQuerySet.as_manager()

    class Meta:
        ordering = ["key"]
        verbose_name_plural = "assemblies"
        # One assembly in a position at a time is also held for past stays, by an exclusion constraint on
        # PostgreSQL and by triggers on SQLite: see migration 0002.
        constraints = [
            models.UniqueConstraint(fields=["organization", "key"], name="assembly_unique_key"),
            models.UniqueConstraint(
                fields=["position"],
                condition=Q(removed_on=None, position__isnull=False),
                name="assembly_one_in_a_position",
            ),
            models.CheckConstraint(
                condition=Q(position=None, installed_on=None)
                | Q(position__isnull=False, installed_on__isnull=False),
                name="assembly_installed_somewhere_on_a_day",
            ),
            models.CheckConstraint(
                condition=Q(removed_on=None) | Q(installed_on__isnull=False),
                name="assembly_removed_only_if_installed",
            ),
            models.CheckConstraint(
                condition=Q(removed_on__gte=F("installed_on")), name="assembly_removed_after_installed"
            ),
            models.CheckConstraint(
                condition=Q(built_on__lte=F("installed_on")), name="assembly_built_before_installed"
            ),
            models.CheckConstraint(
                condition=Q(installed_hours__gte=0), name="assembly_installed_hours_not_negative"
            ),
            models.CheckConstraint(
                condition=Q(removed_hours__gte=0), name="assembly_removed_hours_not_negative"
            ),
        ]
        indexes = [
            models.Index(fields=["organization", "removed_on"], name="assembly_by_removal"),
            models.Index(fields=["organization", "hose_lot"], name="assembly_by_lot"),
            models.Index(
                fields=["organization", "hose_lot"],
                condition=Q(removed_on=None, position__isnull=False),
                name="assembly_lot_in_place",
            ),
            models.Index(
                fields=["organization", "design"],
                condition=Q(removed_on=None, position__isnull=False),
                name="assembly_design_in_place",
            ),
            models.Index(fields=["organization", "crimped_by"], name="assembly_by_crimper"),
        ]

    def __str__(self) -> str:
        return self.key


class Build(Measured, Owned):
    """How an assembly was made: which lots, how it was cut, cleaned, crimped and proved."""

    assembly = models.OneToOneField(Assembly, on_delete=models.CASCADE, related_name="build")
    design = models.ForeignKey(Design, on_delete=models.PROTECT, related_name="builds")
    built_on = models.DateField()
    built_by = models.CharField(max_length=120, blank=True)
    kit = models.CharField(max_length=200, blank=True)
    hose_lot = models.CharField(max_length=80, blank=True)
    end_a_lot = models.CharField(max_length=80, blank=True)
    end_b_lot = models.CharField(max_length=80, blank=True)
    cut_length_mm = models.FloatField(null=True, blank=True)
    insertion_a_seen = models.BooleanField(null=True, blank=True)
    insertion_b_seen = models.BooleanField(null=True, blank=True)
    cleanings_before = models.PositiveIntegerField(null=True, blank=True)
    cleanings_after = models.PositiveIntegerField(null=True, blank=True)
    gauge = models.CharField(max_length=80, blank=True)
    die = models.CharField(max_length=80, blank=True)
    proof_pressure_bar = models.FloatField(null=True, blank=True)
    proof_seconds = models.FloatField(null=True, blank=True)
    accepted = models.BooleanField(null=True, blank=True)
    accepted_by = models.CharField(max_length=120, blank=True)
    chart = models.CharField(max_length=120, blank=True)
    proof_medium = models.CharField(max_length=80, blank=True)
    remarks = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ["assembly"]
        constraints = [
            models.CheckConstraint(condition=Q(cut_length_mm__gte=0), name="build_cut_not_negative"),
            models.CheckConstraint(condition=Q(proof_pressure_bar__gte=0), name="build_proof_not_negative"),
        ]

    def __str__(self) -> str:
        return f"build of {self.assembly}"


class CrimpReading(Measured, Owned):
    """One reading of the crimp's diameter, somewhere around one end."""

    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="crimp_readings")
    end = models.CharField(max_length=1, choices=[("a", _("End a")), ("b", _("End b"))])
    number = models.PositiveIntegerField()
    diameter_mm = models.FloatField()

    class Meta:
        ordering = ["build", "end", "number"]
        constraints = [
            models.UniqueConstraint(fields=["build", "end", "number"], name="crimp_reading_unique_number"),
            models.CheckConstraint(condition=Q(diameter_mm__gt=0), name="crimp_reading_positive"),
        ]

    def __str__(self) -> str:
        return f"{self.build} end {self.end} no. {self.number}: {self.diameter_mm:g} mm"


class Inspection(Owned):
    """What was seen on an assembly, and whether it may stay."""

    assembly = models.ForeignKey(Assembly, on_delete=models.CASCADE, related_name="inspections")
    inspected_on = models.DateField()
    hours = models.FloatField(null=True, blank=True)
    finding = models.CharField(max_length=300, blank=True)
    grade = models.CharField(
        max_length=8, choices=[("fit", _("Fit")), ("watch", _("Watch")), ("replace", _("Replace"))]
    )

    class Meta:
        ordering = ["assembly", "inspected_on"]
        constraints = [
            models.UniqueConstraint(fields=["assembly", "inspected_on"], name="inspection_one_a_day"),
            models.CheckConstraint(condition=Q(hours__gte=0), name="inspection_hours_not_negative"),
        ]

    def __str__(self) -> str:
        return f"{self.assembly} {self.inspected_on}: {self.grade}"
