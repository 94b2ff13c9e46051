"""What came in from outside once and must be known again: forms sent from a phone, the columns of a
spreadsheet, the address of a calendar."""

from django.db import models

from .organizations import Organization, Owned, User


class SentEntry(models.Model):
    """A form that was taken, by the token its page gave it: it counts once, however often it is sent."""

    organization = models.ForeignKey(Organization, on_delete=models.CASCADE, related_name="+")
    token = models.UUIDField()
    sent_by = models.ForeignKey(User, on_delete=models.SET_NULL, null=True, related_name="+")
    taken_at = models.DateTimeField(auto_now_add=True)
    outcome = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ["taken_at"]
        verbose_name_plural = "sent entries"
        constraints = [
            models.UniqueConstraint(fields=["organization", "token"], name="sent_entry_counts_once")
        ]

    def __str__(self) -> str:
        return f"{self.token} at {self.taken_at}"


class ColumnMapping(Owned):
    """Which columns of a spreadsheet of somebody's own shape mean which columns of a fleet folder.

    `columns` maps each of its headers to [file, column] or to null where it is left out; the column is named
    as in the file, with its unit. `constants` gives what all rows share, by "file.column". `day_order` says
    how a day such as 03/04/2026 is meant: "day" first, "month" first, or empty where none was in doubt.
    """

    name = models.CharField(max_length=120)
    columns = models.JSONField(default=dict)
    constants = models.JSONField(default=dict, blank=True)
    day_order = models.CharField(max_length=5, blank=True)

    class Meta:
        ordering = ["name"]
        constraints = [models.UniqueConstraint(fields=["organization", "name"], name="mapping_unique_name")]

    def __str__(self) -> str:
        return self.name


class CalendarFeed(models.Model):
    """An address at which a calendar reads the changeouts without signing in, until it is revoked.

    Only the digest of its secret is stored; the address itself is shown once.
    """

    organization = models.ForeignKey(Organization, on_delete=models.CASCADE, related_name="calendar_feeds")
    made_by = models.ForeignKey(User, on_delete=models.CASCADE, related_name="calendar_feeds")
    made_at = models.DateTimeField(auto_now_add=True)
    name = models.CharField(max_length=120, blank=True)
    digest = models.CharField(max_length=64, unique=True)
    site = models.CharField(max_length=80, blank=True)
    revoked_at = models.DateTimeField(null=True, blank=True)
    read_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-made_at"]

    def __str__(self) -> str:
        return f"calendar of {self.organization} for {self.made_by}"
