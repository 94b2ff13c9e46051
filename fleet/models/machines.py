"""Sites, the machines that work there, their hour meters and the times when they stand for service."""

from django.db import models
from django.db.models import F, Q

from .organizations import Owned


class Site(Owned):
    """A place with machines, a shelf of parts and people to do the work."""

    key = models.CharField(max_length=80)
    name = models.CharField(max_length=200, blank=True)
    register_began_on = models.DateField(null=True, blank=True)

    class Meta:
        ordering = ["key"]
        constraints = [models.UniqueConstraint(fields=["organization", "key"], name="site_unique_key")]

    def __str__(self) -> str:
        return self.key


class Machine(Owned):
    """A machine with hoses on it."""

    key = models.CharField(max_length=80)
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="machines")
    model = models.CharField(max_length=200, blank=True)
    commissioned_on = models.DateField(null=True, blank=True)
    retired_on = models.DateField(null=True, blank=True)
    hours_per_day = models.FloatField(null=True, blank=True)
    downtime_cost_per_hour = models.DecimalField(max_digits=16, decimal_places=4, null=True, blank=True)

    class Meta:
        ordering = ["key"]
        constraints = [
            models.UniqueConstraint(fields=["organization", "key"], name="machine_unique_key"),
            models.CheckConstraint(
                condition=Q(retired_on__gte=F("commissioned_on")), name="machine_retired_after_commissioned"
            ),
            models.CheckConstraint(
                condition=Q(hours_per_day__gte=0) & Q(hours_per_day__lte=24), name="machine_day_has_24_hours"
            ),
            models.CheckConstraint(
                condition=Q(downtime_cost_per_hour__gte=0), name="machine_downtime_cost_not_negative"
            ),
        ]

    def __str__(self) -> str:
        return self.key


class MeterReading(Owned):
    """What a machine's hour meter showed on a day."""

    machine = models.ForeignKey(Machine, on_delete=models.CASCADE, related_name="readings")
    read_on = models.DateField()
    hours = models.FloatField()
    meter_replaced = models.BooleanField(null=True, blank=True)

    class Meta:
        ordering = ["machine", "read_on"]
        constraints = [
            models.UniqueConstraint(fields=["machine", "read_on"], name="reading_one_a_day"),
            models.CheckConstraint(condition=Q(hours__gte=0), name="reading_not_negative"),
        ]

    def __str__(self) -> str:
        return f"{self.machine} {self.read_on}: {self.hours} h"


class ServiceWindow(Owned):
    """Days on which a machine stands and hose work may be done on it."""

    machine = models.ForeignKey(Machine, on_delete=models.CASCADE, related_name="windows")
    starts_on = models.DateField()
    ends_on = models.DateField()
    labour_minutes = models.FloatField(null=True, blank=True)

    class Meta:
        ordering = ["machine", "starts_on"]
        constraints = [
            models.UniqueConstraint(fields=["machine", "starts_on"], name="window_unique_start"),
            models.CheckConstraint(condition=Q(ends_on__gte=F("starts_on")), name="window_ends_after_start"),
            models.CheckConstraint(condition=Q(labour_minutes__gte=0), name="window_labour_not_negative"),
        ]

    def __str__(self) -> str:
        return f"{self.machine} {self.starts_on} to {self.ends_on}"


class SiteLabour(Owned):
    """Minutes of hose work that a site can do on all its machines together between two days."""

    site = models.ForeignKey(Site, on_delete=models.CASCADE, related_name="labour")
    starts_on = models.DateField()
    ends_on = models.DateField()
    labour_minutes = models.FloatField()

    class Meta:
        ordering = ["site", "starts_on"]
        verbose_name_plural = "site labour"
        constraints = [
            models.UniqueConstraint(fields=["site", "starts_on"], name="site_labour_unique_start"),
            models.CheckConstraint(
                condition=Q(ends_on__gte=F("starts_on")), name="site_labour_ends_after_start"
            ),
            models.CheckConstraint(condition=Q(labour_minutes__gte=0), name="site_labour_not_negative"),
        ]

    def __str__(self) -> str:
        return f"{self.site} {self.starts_on} to {self.ends_on}: {self.labour_minutes} min"
