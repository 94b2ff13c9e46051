"""What every long job leaves behind: who asked for it and when, how far it is, and how it ended."""

from django.db import models
from django.utils.translation import gettext_lazy as _

from .organizations import Organization, OwnedQuerySet, User


class RunState(models.TextChoices):
    REQUESTED = "requested", _("Requested")
    RUNNING = "running", _("Running")
    DONE = "done", _("Done")
    FAILED = "failed", _("Failed")


class Run(models.Model):
    """A job that goes on behind the pages; `fleet.services.runs` begins, watches and ends it."""

    organization = models.ForeignKey(Organization, on_delete=models.CASCADE, related_name="+")
    state = models.CharField(max_length=10, choices=RunState.choices, default=RunState.REQUESTED)
    requested_at = models.DateTimeField(auto_now_add=True)
    requested_by = models.ForeignKey(User, on_delete=models.SET_NULL, null=True, blank=True, related_name="+")
    started_at = models.DateTimeField(null=True, blank=True)
    seen_at = models.DateTimeField(null=True, blank=True, help_text="last sign of life, or asked for anew")
    finished_at = models.DateTimeField(null=True, blank=True)
    progress = models.CharField(max_length=200, blank=True)
    failure = models.TextField(blank=True)

    objects = OwnedQuerySet.as_manager()

    class Meta:
        abstract = True
        ordering = ["-requested_at", "-pk"]
