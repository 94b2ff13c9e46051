"""Changing one's own password, and revoking with it what answers without one: tokens, calendars.

Django ends the person's sessions elsewhere by itself. Tokens and addresses outlive the password, so that no
program stops at a change of routine; who changes it because somebody else knew it wants them gone as well.
"""

from dataclasses import dataclass

from django.db import transaction
from django.utils import timezone

from fleet.models import AccessToken, CalendarFeed, User


@dataclass(frozen=True, slots=True)
class WaysIn:
    """How many API tokens and calendar addresses of a person answer without a password, in any fleet."""

    tokens: int
    calendars: int

    def __bool__(self) -> bool:
        return bool(self.tokens or self.calendars)


def ways_in(user: User) -> WaysIn:
    """What would answer on, were the password changed alone."""
    return WaysIn(tokens=_tokens(user).count(), calendars=_calendars(user).count())


@transaction.atomic(durable=True)
def change_password(*, user: User, password: str, revoke: bool = False) -> WaysIn:
    """What was revoked with the change: with `revoke` every token and address of the person, else none."""
    user.set_password(password)
    user.save(update_fields=["password"])
    if not revoke:
        return WaysIn(tokens=0, calendars=0)
    tokens, _each = _tokens(user).delete()
    return WaysIn(tokens=tokens, calendars=_calendars(user).update(revoked_at=timezone.now()))


def _tokens(user: User):
    return AccessToken.objects.filter(user=user)


def _calendars(user: User):
    return CalendarFeed.objects.filter(made_by=user, revoked_at=None)
