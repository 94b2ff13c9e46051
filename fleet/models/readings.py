"""Fleet folders that were sent in, and what came of reading them."""

from django.db import models
from django.utils.translation import gettext_lazy as _

from .runs import Run


class ReadingState(models.TextChoices):
    REQUESTED = "requested", _("Requested")
    RUNNING = "running", _("Running")
    TO_MATCH = "to_match", _("Columns to be matched")
    LOOKED_AT = "looked_at", _("Looked at")
    LEFT = "left", _("Left")
    DONE = "done", _("Done")
    REFUSED = "refused", _("Refused")
    FAILED = "failed", _("Failed")


class FolderReading(Run):
    """One fleet folder sent in through the pages or the API; stored whole or not at all.

    One that `looks_first` is read without storing: `differences` tells what it would change, and `seen` is
    their digest. Who has it stored names that digest (`agreed`), and exactly that is stored. `beside` holds
    the rows that findings are about.

    A spreadsheet of somebody's own shape is the `upload` until its columns are matched; then it is kept as
    `sheet` beside the folder that it makes, until that is stored or left, so that it can be matched anew.
    `made_of` says what of it stands where, as `fleet.services.folders.sheet_findings` reads it.
    """

    state = models.CharField(max_length=10, choices=ReadingState.choices, default=ReadingState.REQUESTED)
    upload = models.FileField(upload_to="folders/")
    sent_names = models.JSONField(default=list, blank=True)  # of the files, as they were sent
    sheet = models.FileField(upload_to="folders/", blank=True)
    made_of = models.JSONField(default=dict, blank=True)
    findings = models.JSONField(default=list, blank=True)
    outcome = models.JSONField(default=dict, blank=True)
    looks_first = models.BooleanField(default=False)
    seen = models.CharField(max_length=64, blank=True)
    agreed = models.CharField(max_length=64, blank=True)
    differences = models.JSONField(default=list, blank=True)
    beside = models.JSONField(default=dict, blank=True)

    def __str__(self) -> str:
        return f"folder {self.pk} of {self.organization} ({self.state})"
