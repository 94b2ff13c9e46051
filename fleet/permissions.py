"""Which role may do what, asked here by pages and API; services, jobs and commands ask nothing.

A person's role holds in one organization. Who is no member of an organization is told that it does not
exist, so that nobody learns who else uses the service.
"""

from collections.abc import Collection
from enum import StrEnum

from django.http import Http404
from django.utils.translation import gettext as _

from .models import Membership, Role


class Action(StrEnum):
    """What a member can ask the service to do."""

    READ = "read"
    IMPORT = "import"
    REPLAN = "replan"
    RECORD_WORK = "record_work"  # installations, removals, inspections, meter readings
    RECORD_BUILD = "record_build"
    CHANGE_STOCK = "change_stock"
    ORDER = "order"
    DECIDE_CHANGEOUT = "decide_changeout"
    SET_POLICY = "set_policy"
    MANAGE_MEMBERS = "manage_members"


_VIEWER = {Action.READ}
_SHOP = _VIEWER | {Action.RECORD_WORK, Action.RECORD_BUILD, Action.CHANGE_STOCK}
_PLANNER = _SHOP | {Action.IMPORT, Action.REPLAN, Action.DECIDE_CHANGEOUT}
_MANAGER = _PLANNER | {Action.ORDER, Action.SET_POLICY}
_OWNER = set(Action)

ALLOWED: dict[str, frozenset[Action]] = {
    Role.VIEWER: frozenset(_VIEWER),
    Role.SHOP: frozenset(_SHOP),
    Role.PLANNER: frozenset(_PLANNER),
    Role.MANAGER: frozenset(_MANAGER),
    Role.OWNER: frozenset(_OWNER),
}


def may(role: str, action: Action) -> bool:
    """Whether a member in `role` may do `action`; a role that nobody declared may do nothing."""
    return action in ALLOWED.get(role, frozenset())


def may_found(roles: Collection[str]) -> bool:
    """Whether who has these roles may found an organization: an owner of one, and who belongs to none yet.

    A member of another's is there to work in it, and asks its owner.
    """
    return not roles or Role.OWNER in roles


def membership_of(user, slug: str) -> Membership:
    """The place of `user` in the organization with that slug.

    Raises Http404 where there is none, whether or not the organization exists.
    """
    membership = (
        Membership.objects.select_related("organization")
        .filter(user_id=user.pk, organization__slug=slug, user__is_active=True)
        .first()
    )
    if membership is None:
        raise Http404(_("There is no organization %(slug)s, or you are not a member of it.") % {"slug": slug})
    return membership
