"""Positions: the places on a machine where one assembly at a time does its work."""

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from .machines import Machine
from .organizations import Measured, Owned
from .parts import Design


class Line(models.TextChoices):
    PRESSURE = "pressure", _("Pressure")
    RETURN = "return", _("Return")
    SUCTION = "suction", _("Suction")


class Position(Measured, Owned):
    """What a place asks of a hose, and what changing or losing it costs."""

    machine = models.ForeignKey(Machine, on_delete=models.CASCADE, related_name="positions")
    key = models.CharField(max_length=80)
    circuit = models.CharField(max_length=120, blank=True)
    line = models.CharField(max_length=10, choices=Line.choices, blank=True)
    design = models.ForeignKey(
        Design, on_delete=models.PROTECT, related_name="positions", null=True, blank=True
    )
    fluid = models.CharField(max_length=120, blank=True)
    working_pressure_bar = models.FloatField(null=True, blank=True)
    peak_pressure_bar = models.FloatField(null=True, blank=True)
    fluid_temperature_c = models.FloatField(null=True, blank=True)
    ambient_temperature_c = models.FloatField(null=True, blank=True)
    exposure = models.CharField(max_length=60, blank=True)
    bend_radius_mm = models.FloatField(null=True, blank=True)
    flow_lpm = models.FloatField(null=True, blank=True)
    changeout_minutes = models.FloatField(null=True, blank=True)
    planned_cost = models.DecimalField(max_digits=16, decimal_places=4, null=True, blank=True)
    failure_cost = models.DecimalField(max_digits=16, decimal_places=4, null=True, blank=True)
    critical = models.BooleanField(null=True, blank=True)

    class Meta:
        ordering = ["machine", "key"]
        constraints = [
            models.UniqueConstraint(fields=["machine", "key"], name="position_unique_key"),
            models.CheckConstraint(
                condition=Q(working_pressure_bar__gte=0), name="position_working_pressure_not_negative"
            ),
            models.CheckConstraint(
                condition=Q(peak_pressure_bar__gte=0), name="position_peak_pressure_not_negative"
            ),
            models.CheckConstraint(
                condition=Q(changeout_minutes__gte=0), name="position_minutes_not_negative"
            ),
            models.CheckConstraint(
                condition=Q(planned_cost__gte=0), name="position_planned_cost_not_negative"
            ),
            models.CheckConstraint(
                condition=Q(failure_cost__gte=0), name="position_failure_cost_not_negative"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.machine} {self.key}"
