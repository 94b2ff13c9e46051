"""Changing one's own password, revoking with it what answers without one, and a new one for who forgot it.

Django ends the person's sessions elsewhere by itself. Tokens and addresses outlive the password, so that no
program stops at a change of routine; who changes it because somebody else knew it wants them gone as well.
Who comes by an owner's address gives no old password, so there they go without being asked for.
"""

from dataclasses import dataclass

from django.contrib.auth.tokens import PasswordResetTokenGenerator
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext_lazy

from fleet.models import AccessToken, CalendarFeed, Invitation, Membership, Organization, Role, User

from ..errors import ServiceError
from ..signing import hold_organization, sign

OFFERED = "offered a new password"  # in the history, by which an address is known to be the newest


class NotOnlyHere(ServiceError):
    """An owner may not open an account by which somebody does more than work in that organization."""

    code = "not_only_here"
    message = gettext_lazy(
        "%(name)s does not sign in for this organization alone. Whoever runs the service gives them a new "
        "password, by `manage.py changepassword`."
    )


class OwnPassword(ServiceError):
    """Whoever sits at an owner's open session must not come by the account: changing it asks the old one."""

    code = "own_password"
    message = gettext_lazy("You change your own password on the page behind your name.")


class NewPasswords(PasswordResetTokenGenerator):
    """The secrets of addresses at which a person chooses a new password.

    One ends with the first use, a sign-in, PASSWORD_RESET_TIMEOUT, another that is offered, and when what the
    person may do changes or who owns their organization: who offered it must not come by what the person can
    do elsewhere, nor keep a way back in as no owner any more.
    """

    def _make_hash_value(self, user, timestamp) -> str:
        places = Membership.objects.filter(user=user).order_by("pk").values_list("pk", "role")
        owners = Membership.objects.filter(role=Role.OWNER, user__is_active=True)
        owners = owners.filter(organization__memberships__user=user).order_by("pk")
        offers = Membership.history.filter(user=user, history_change_reason=OFFERED).order_by("-pk")
        rights = (user.is_active, user.is_staff, user.is_superuser)
        standing = (rights, [*places], [*owners.values_list("pk")], offers.values_list("pk").first())
        return f"{super()._make_hash_value(user, timestamp)} {standing}"


new_passwords = NewPasswords()


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


@transaction.atomic(durable=True)
def offer_new_password(*, organization: Organization, user: User, member: int) -> tuple[User, str]:
    """The person of that place and the secret by which they choose a password; the history keeps who offered.

    What was offered them before holds no longer. Raises Membership.DoesNotExist, OwnPassword and NotOnlyHere.
    """
    hold_organization(organization)
    place = Membership.objects.select_related("user").get(organization=organization, pk=member)
    person = place.user
    if person == user:
        raise OwnPassword()
    elsewhere = Membership.objects.filter(user=person).exclude(pk=place.pk)
    if person.is_staff or person.is_superuser or not person.is_active or elsewhere.exists():
        raise NotOnlyHere(name=person)
    sign(place, user, OFFERED)
    place.save()
    return person, new_passwords.make_token(person)


def _tokens(user: User):
    return AccessToken.objects.filter(user=user)


def _calendars(user: User):
    return CalendarFeed.objects.filter(made_by=user, revoked_at=None)


def _invitations(user: User):
    return Invitation.objects.filter(invited_by=user)
