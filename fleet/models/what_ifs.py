"""Questions what a year would cost under other policies: beside the plans, and in force nowhere."""

from django.db import models

from .organizations import Organization, User
from .plans import PlanState


class WhatIfQuerySet(models.QuerySet):
    def of(self, organization: Organization):
        return self.filter(organization=organization)


class WhatIf(models.Model):
    """One question: `policies` as policies.csv holds them, and in `comparison` the rows of comparison.csv."""

    organization = models.ForeignKey(Organization, on_delete=models.CASCADE, related_name="what_ifs")
    state = models.CharField(max_length=10, choices=PlanState.choices, default=PlanState.REQUESTED)
    as_of = models.DateField()
    policies = models.TextField()
    requested_at = models.DateTimeField(auto_now_add=True)
    requested_by = models.ForeignKey(User, on_delete=models.SET_NULL, null=True, blank=True, related_name="+")
    started_at = models.DateTimeField(null=True, blank=True)
    seen_at = models.DateTimeField(null=True, blank=True, help_text="last sign of life of a running job")
    finished_at = models.DateTimeField(null=True, blank=True)
    progress = models.CharField(max_length=200, blank=True)
    failure = models.TextField(blank=True)
    comparison = models.JSONField(default=list, blank=True)

    objects = WhatIfQuerySet.as_manager()

    class Meta:
        ordering = ["-requested_at", "-pk"]
        indexes = [models.Index(fields=["organization", "-requested_at"], name="what_if_newest")]

    def __str__(self) -> str:
        return f"what if {self.pk} of {self.organization} ({self.state})"
