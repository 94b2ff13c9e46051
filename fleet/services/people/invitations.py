"""Inviting people who have no account yet: an owner hands an address over, and they choose a password there.

It works without e-mail. The address is good once and for a week, and no longer than who invited is an owner,
so that nobody keeps a way back in.
"""

from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.db.models import Exists, OuterRef
from django.utils import timezone
from django.utils.translation import gettext_lazy

from fleet.models import Invitation, Membership, Organization, Role, User
from fleet.models.organizations import INVITATION_LASTS

from ..errors import ServiceError
from ..signing import hold_organization, sign
from .secret_addresses import digest_of, new_secret


class NameNotFit(ServiceError):
    """Nobody can sign in with that name."""

    code = "name_not_fit"
    message = gettext_lazy("Nobody can sign in as %(name)s. %(right)s")


class NameTaken(ServiceError):
    """An account has that name, or one that differs from it in capitals alone."""

    code = "name_taken"
    message = gettext_lazy(
        "The name %(name)s is taken. Whoever has it is added by it as it is typed at signing in; for "
        "anybody else choose another."
    )


class InvitationEnded(ServiceError):
    """No invitation is open at that address."""

    code = "invitation_ended"
    message = gettext_lazy(
        "This invitation does not hold: it was used or withdrawn, is older than a week, or who sent it is no "
        "owner any more. Ask an owner for another."
    )


@transaction.atomic(durable=True)
def invite_person(*, organization: Organization, user: User, name: str, role: str) -> tuple[Invitation, str]:
    """The invitation and the secret of its address, which is told this once.

    An earlier one of that name holds no longer. Raises NameNotFit and NameTaken.
    """
    hold_organization(organization)
    name = User.normalize_username(name)
    _refuse_taken(name)
    try:
        User._meta.get_field("username").clean(name, None)
    except ValidationError as refusal:
        raise NameNotFit(name=name, right=" ".join(refusal.messages)) from refusal
    Invitation.objects.filter(organization=organization, name=name).delete()
    secret = new_secret()
    invitation = Invitation(
        organization=organization,
        name=name,
        role=role,
        digest=digest_of(secret),
        invited_by=user,
        invited_at=timezone.now(),
    )
    invitation.full_clean()
    invitation.save()
    return invitation, secret


def withdraw_invitation(*, organization: Organization, invitation: int) -> bool:
    """Whether there was an invitation of that number; it holds no longer."""
    gone, _each = Invitation.objects.filter(organization=organization, pk=invitation).delete()
    return bool(gone)


def invitations_of(organization: Organization):
    """What is open or was never used, by name; `of_an_owner` says whether who invited still is one."""
    invitations = Invitation.objects.filter(organization=organization).annotate(of_an_owner=_of_an_owner())
    return invitations.select_related("invited_by").order_by("name")


def open_invitation(secret: str) -> Invitation | None:
    """The invitation at that address; None where none holds there."""
    invitations = Invitation.objects.filter(
        _of_an_owner(), digest=digest_of(secret), invited_at__gt=timezone.now() - INVITATION_LASTS
    )
    return invitations.select_related("organization").first()


@transaction.atomic(durable=True)
def accept_invitation(*, secret: str, password: str) -> Membership:
    """The place of the person, who signs in with `password` from now on; the invitation is used up.

    Raises InvitationEnded, and NameTaken where somebody got an account of that name meanwhile.
    """
    # Held, so that of two who accept at once the second finds it used.
    held = Invitation.objects.select_for_update().filter(digest=digest_of(secret)).first()
    invitation = open_invitation(secret) if held else None
    if invitation is None:
        raise InvitationEnded()
    _refuse_taken(invitation.name)
    person = User(username=invitation.name)
    person.set_password(password)
    person.full_clean()
    try:
        person.save()
    except IntegrityError as refusal:  # another organization's of that name was accepted at this moment
        raise NameTaken(name=invitation.name) from refusal
    membership = Membership(organization=invitation.organization, user=person, role=invitation.role)
    sign(membership, invitation.invited_by, "invited")
    membership.full_clean()
    membership.save()
    invitation.delete()
    return membership


def _of_an_owner() -> Exists:
    """Of an invitation: whether who invited is an owner still."""
    owners = Membership.objects.filter(role=Role.OWNER, user__is_active=True)
    return Exists(owners.filter(organization=OuterRef("organization"), user=OuterRef("invited_by")))


def _refuse_taken(name: str) -> None:
    if User.objects.filter(username__iexact=name).exists():
        raise NameTaken(name=name)
