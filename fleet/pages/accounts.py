"""Signing in and out, and which organization's fleet a person looks at."""

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _

from fleet.models import Membership

from .members import PageRequest, Reader, member_page


def memberships_of(user):
    return Membership.objects.filter(user=user).select_related("organization").order_by("organization__name")


@login_required
def home(request: HttpRequest) -> HttpResponse:
    """The first page of the member's role, in the organization they last looked at."""
    memberships = list(memberships_of(request.user))
    if not memberships:
        return render(request, "accounts/organizations.html", {"title": _("Welcome"), "memberships": []})
    last = request.session.get("organization")
    chosen = next((one for one in memberships if one.organization.slug == last), memberships[0])
    return redirect(Reader(chosen).first_page, chosen.organization.slug)


@member_page()
def organization(request: PageRequest, reader: Reader) -> HttpResponse:
    """The first page of the member's role; the organization is kept as the one they look at."""
    request.session["organization"] = reader.organization.slug
    return redirect(reader.first_page, reader.organization.slug)


@login_required
def organizations(request: HttpRequest) -> HttpResponse:
    """The organizations the person is a member of, and their role in each."""
    context = {"title": _("Your organizations"), "memberships": memberships_of(request.user)}
    return render(request, "accounts/organizations.html", context)
