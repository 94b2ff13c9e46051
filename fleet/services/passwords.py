"""Changing one's own password, and revoking with it what answers without one: tokens, calendars, invitations.

Django ends the person's sessions elsewhere by itself. Tokens and addresses outlive the password, so that no
program stops at a change of routine; who changes it because somebody else knew it wants them gone as well.
"""

from dataclasses import dataclass

from django.db import transaction
from django.utils import timezone

from fleet.models import AccessToken, CalendarFeed, Invitation, User


@dataclass(frozen=True, slots=True)
class WaysIn:
    """How many API tokens, calendar addresses and invitations of a person work without a password."""

    tokens: int = 0
    calendars: int = 0
    invitations: int = 0

    def __bool__(self) -> bool:
        return bool(self.tokens or self.calendars or self.invitations)


def ways_in(user: User) -> WaysIn:
    """What would answer on, were the password changed alone."""
    return WaysIn(_tokens(user).count(), _calendars(user).count(), _invitations(user).count())


@transaction.atomic(durable=True)
def change_password(*, user: User, password: str, revoke: bool = False) -> WaysIn:
    """What was revoked with the change: with `revoke` all that works without the password, else nothing."""
    user.set_password(password)
    user.save(update_fields=["password"])
    if not revoke:
        return WaysIn()
    tokens, _each = _tokens(user).delete()
    invitations, _each = _invitations(user).delete()
    return WaysIn(tokens, _calendars(user).update(revoked_at=timezone.now()), invitations)


def _tokens(user: User):
    return AccessToken.objects.filter(user=user)


def _calendars(user: User):
    return CalendarFeed.objects.filter(made_by=user, revoked_at=None)


def _invitations(user: User):
    return Invitation.objects.filter(invited_by=user)
