"""Organizations, the people in them, and what they may do: every other row belongs to one of these."""

import datetime

from django.contrib.auth.models import AbstractUser
from django.db import models
from django.utils.translation import gettext_lazy as _
from knox.models import AbstractAuthToken
from simple_history.models import HistoricalRecords

# First pieces of addresses that lead elsewhere: no organization's pages could be reached under them.
RESERVED_SLUGS = frozenset(
    {
        "admin",
        "api",
        "calendars",
        "invitations",
        "metrics",
        "new-passwords",
        "organizations",
        "password",
        "sign-in",
        "sign-out",
        "static",
    }
)
INVITATION_LASTS = datetime.timedelta(days=7)


class User(AbstractUser):
    """A person who signs in; what they may do is said by their memberships."""


LONGEST_NAME = 200


class Organization(models.Model):
    """The owner of a fleet. `slug` stands in every page's address."""

    name = models.CharField(max_length=LONGEST_NAME, unique=True)
    slug = models.SlugField(max_length=80, unique=True)

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name


class OwnedQuerySet(models.QuerySet):
    """The rows of an organization; every query of the service starts with `of`."""

    def of(self, organization: Organization):
        return self.filter(organization=organization)


class Owned(models.Model):
    """A row of the register: owned by an organization, with the history of its changes (who, when, what)."""

    organization = models.ForeignKey(Organization, on_delete=models.CASCADE, related_name="+")
    history = HistoricalRecords(inherit=True)

    objects = OwnedQuerySet.as_manager()

    class Meta:
        abstract = True


class Measured(models.Model):
    """Measures as they were entered, beside the stored SI values.

    `entered` maps a column's bare name to [value, unit suffix], for each value that was entered in another
    unit than the stored one: {"working_pressure": [5000.0, "psi"]}.
    """

    entered = models.JSONField(default=dict, blank=True)

    class Meta:
        abstract = True


class Role(models.TextChoices):
    """What a member is there for; `fleet.permissions` says what each may do."""

    VIEWER = "viewer", _("Viewer")
    SHOP = "shop", _("Shop")
    PLANNER = "planner", _("Planner")
    MANAGER = "manager", _("Manager")
    OWNER = "owner", _("Owner")


class Membership(models.Model):
    """One person's place in one organization."""

    user = models.ForeignKey(User, on_delete=models.CASCADE, related_name="memberships")
    organization = models.ForeignKey(Organization, on_delete=models.CASCADE, related_name="memberships")
    role = models.CharField(max_length=10, choices=Role.choices, default=Role.VIEWER)
    history = HistoricalRecords()

    class Meta:
        ordering = ["organization", "user"]
        constraints = [models.UniqueConstraint(fields=["user", "organization"], name="one_membership_each")]

    def __str__(self) -> str:
        return f"{self.user} as {self.role} in {self.organization}"


class Invitation(models.Model):
    """A place in an organization that waits for a person who has no account yet.

    Only the digest of its secret is stored; the address at which it is accepted is shown once.
    """

    organization = models.ForeignKey(Organization, on_delete=models.CASCADE, related_name="invitations")
    name = models.CharField(max_length=150)  # as the person will sign in
    role = models.CharField(max_length=10, choices=Role.choices)
    digest = models.CharField(max_length=64, unique=True)
    invited_by = models.ForeignKey(User, on_delete=models.CASCADE, related_name="+")
    invited_at = models.DateTimeField()

    class Meta:
        ordering = ["name"]
        constraints = [
            models.UniqueConstraint(fields=["organization", "name"], name="invitation_one_of_a_name")
        ]

    def __str__(self) -> str:
        return f"invitation of {self.name} to {self.organization}"

    @property
    def ends_at(self) -> datetime.datetime:
        return self.invited_at + INVITATION_LASTS


class AccessToken(AbstractAuthToken):
    """A program's sign-in, good for one organization only."""

    organization = models.ForeignKey(Organization, on_delete=models.CASCADE, related_name="access_tokens")

    class Meta:
        ordering = ["created"]

    def __str__(self) -> str:
        return f"{self.token_key} for {self.organization}"


class Setting(Owned):
    """One setting that the organization chose; what is not here has the default of `forecasting.policies`."""

    name = models.CharField(max_length=60)
    value = models.CharField(max_length=200)

    class Meta:
        ordering = ["name"]
        constraints = [models.UniqueConstraint(fields=["organization", "name"], name="setting_unique_name")]

    def __str__(self) -> str:
        return f"{self.name} = {self.value}"
