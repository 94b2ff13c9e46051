"""Founding an organization: the empty register of a fleet, and who owns it."""

from django.db import IntegrityError, transaction

from fleet.models import Membership, Organization, Role, User
from fleet.models.organizations import LONGEST_NAME

from ..errors import NameNotFree, NameNotTaken
from ..folders.importing import free_slug
from ..signing import sign


@transaction.atomic(durable=True)
def found_organization(*, user: User, name: str) -> Membership:
    """The place of `user` as owner in a new organization of that name.

    Raises NameNotTaken, and NameNotFree where another has that name.
    """
    name = " ".join(name.split())
    if not 1 <= len(name) <= LONGEST_NAME:
        raise NameNotTaken(name=name, most=LONGEST_NAME)
    if Organization.objects.filter(name__iexact=name).exists():
        raise NameNotFree(name=name)
    organization = Organization(name=name, slug=free_slug(name))
    try:
        with transaction.atomic():
            organization.save()
    except IntegrityError as refusal:  # another was founded under that name at this moment
        raise NameNotFree(name=name) from refusal
    membership = Membership(user=user, organization=organization, role=Role.OWNER)
    sign(membership, user, "founded")
    membership.save()
    return membership
