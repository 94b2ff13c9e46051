"""Who belongs to an organization, and as what."""

from django.db import transaction
from django.utils.translation import gettext_lazy

from fleet.models import Membership, Organization, Role, User

from ..errors import ServiceError
from ..signing import hold_organization, sign


class NobodyCalled(ServiceError):
    """No account bears that name."""

    code = "nobody_called"
    message = gettext_lazy(
        "Nobody signs in as %(name)s. Enter the name as it is typed at signing in, or invite them if they "
        "have none yet."
    )


class MemberBefore(ServiceError):
    """The person belongs to the organization already."""

    code = "member_before"
    message = gettext_lazy("%(name)s belongs to it already, as %(role)s. Change that below.")


class LastOwner(ServiceError):
    """Without that owner nobody could say who belongs to the organization."""

    code = "last_owner"
    message = gettext_lazy("%(name)s is its only owner. Make another an owner first.")


@transaction.atomic(durable=True)
def add_member(*, organization: Organization, user: User, name: str, role: str) -> Membership:
    """The place of who signs in as `name`, given by `user`. Raises NobodyCalled and MemberBefore."""
    hold_organization(organization)
    person = User.objects.filter(username=name, is_active=True).first()
    if person is None:
        raise NobodyCalled(name=name)
    before = Membership.objects.filter(organization=organization, user=person).first()
    if before is not None:
        raise MemberBefore(name=name, role=before.get_role_display().lower())
    membership = Membership(organization=organization, user=person, role=role)
    sign(membership, user, "added")
    membership.full_clean()
    membership.save()
    return membership


@transaction.atomic(durable=True)
def change_member(
    *, organization: Organization, user: User, member: int, role: str | None
) -> Membership | None:
    """The place of that number in its new role; without one it ends, and None is left. Raises LastOwner."""
    hold_organization(organization)
    members = Membership.objects.filter(organization=organization).select_related("user")
    membership = members.filter(pk=member).first()
    if membership is None:  # ended since the page was opened
        return None
    others = members.filter(role=Role.OWNER, user__is_active=True).exclude(pk=member)
    if membership.role == Role.OWNER and role != Role.OWNER and not others.exists():
        raise LastOwner(name=membership.user)
    sign(membership, user, "role changed" if role else "removed")
    if role is None:
        membership.delete()
        return None
    membership.role = role
    membership.full_clean()
    membership.save()
    return membership
