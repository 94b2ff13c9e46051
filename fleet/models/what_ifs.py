"""Questions what a year would cost under other policies: beside the plans, and in force nowhere."""

from django.db import models

from .runs import Run


class WhatIf(Run):
    """One question: `policies` as policies.csv holds them, and in `comparison` the rows of comparison.csv."""

    as_of = models.DateField()
    policies = models.TextField()
    comparison = models.JSONField(default=list, blank=True)

    class Meta(Run.Meta):
        indexes = [models.Index(fields=["organization", "-requested_at"], name="what_if_newest")]

    def __str__(self) -> str:
        return f"what if {self.pk} of {self.organization} ({self.state})"
