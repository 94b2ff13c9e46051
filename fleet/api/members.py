"""Whose data a request is about, and whether the one who asks may do that."""

from django.db.models import QuerySet
from django.utils.translation import gettext as _
from rest_framework import generics
from rest_framework.exceptions import NotFound, PermissionDenied
from rest_framework.request import Request
from rest_framework.views import APIView

from fleet.models import AccessToken, Membership, Organization
from fleet.permissions import Action, may, membership_of

from .errors import OrganizationMissing


class MemberView(APIView):
    """A view of one organization's data.

    A token says which organization by itself; a signed-in person names it with ?organization=, unless there
    is only one they belong to. `asks` says what each method does, reading being the rule.
    """

    asks: dict[str, Action] = {}
    membership: Membership

    @property
    def organization(self) -> Organization:
        return self.membership.organization

    def initial(self, request: Request, *args, **kwargs) -> None:
        super().initial(request, *args, **kwargs)
        self.membership = _membership(request)
        action = self.asks.get(request.method or "", Action.READ)
        if not may(self.membership.role, action):
            raise PermissionDenied(
                _("A %(role)s of %(organization)s may not %(action)s. Ask an owner of the organization.")
                % {
                    "role": self.membership.get_role_display().lower(),
                    "organization": self.organization,
                    "action": action.replace("_", " "),
                }
            )


class OwnedRows(MemberView, generics.GenericAPIView):
    """A view of rows that the organization owns."""

    def get_queryset(self) -> QuerySet:
        return super().get_queryset().of(self.organization)


def _membership(request: Request) -> Membership:
    named = request.query_params.get("organization")
    if isinstance(request.auth, AccessToken):
        slug = request.auth.organization.slug
        if named not in (None, slug):
            raise NotFound(
                _("There is no organization %(named)s, or this token is not for it.") % {"named": named}
            )
        return membership_of(request.user, slug)
    if named is not None:
        return membership_of(request.user, named)
    memberships = Membership.objects.filter(user_id=request.user.pk).select_related("organization")[:2]
    if not memberships:
        raise NotFound(_("You are not a member of any organization."))
    if len(memberships) > 1:
        raise OrganizationMissing()
    return memberships[0]
