"""One's own password, which organization's fleet a person looks at, and founding one."""

from django import forms
from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.contrib.auth.views import PasswordChangeView
from django.contrib.messages.views import SuccessMessageMixin
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse_lazy
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_POST

from fleet.models import Membership
from fleet.models.organizations import LONGEST_NAME
from fleet.permissions import may_found
from fleet.services.errors import ServiceError
from fleet.services.founding import found_organization

from .members import PageRequest, Reader, member_page


def memberships_of(user):
    return Membership.objects.filter(user=user).select_related("organization").order_by("organization__name")


@login_required
def home(request: HttpRequest) -> HttpResponse:
    """The first page of the member's role, in the organization they last looked at."""
    memberships = list(memberships_of(request.user))
    if not memberships:
        return _listed(request, FoundingForm())
    last = request.session.get("organization")
    chosen = next((one for one in memberships if one.organization.slug == last), memberships[0])
    return redirect(Reader(chosen).first_page, chosen.organization.slug)


@member_page()
def organization(request: PageRequest, reader: Reader) -> HttpResponse:
    """The first page of the member's role; the organization is kept as the one they look at."""
    request.session["organization"] = reader.organization.slug
    return redirect(reader.first_page, reader.organization.slug)


class ChangePassword(SuccessMessageMixin, PasswordChangeView):
    """Whoever is signed in changes their password, giving the one they have."""

    template_name = "accounts/password.html"
    success_url = reverse_lazy("organizations")
    success_message = gettext_lazy("Your password is changed.")


class FoundingForm(forms.Form):
    name = forms.CharField(
        label=gettext_lazy("Its name, as your people call it"),
        max_length=LONGEST_NAME,
        error_messages={"required": gettext_lazy("Give the organization a name first.")},
    )


@login_required
def organizations(request: HttpRequest) -> HttpResponse:
    """The organizations the person is a member of, their role in each, and founding another."""
    return _listed(request, FoundingForm())


@require_POST
@login_required
def found(request: PageRequest) -> HttpResponse:
    """Founds an organization with the person as its owner, and leads to its first steps."""
    if not may_found([one.role for one in memberships_of(request.user)]):
        raise PermissionDenied(_("Only an owner may found another organization. Ask an owner of yours."))
    form = FoundingForm(request.POST)
    if form.is_valid():
        try:
            membership = found_organization(user=request.user, name=form.cleaned_data["name"])
        except ServiceError as refusal:
            form.add_error("name", str(refusal))
        else:
            messages.success(
                request, _("%(name)s is founded, and you own it.") % {"name": membership.organization}
            )
            return redirect("organization", membership.organization.slug)
    return _listed(request, form, status=422)


def _listed(request: HttpRequest, form: FoundingForm, status: int = 200) -> HttpResponse:
    memberships = list(memberships_of(request.user))
    context = {
        "title": _("Your organizations") if memberships else _("Welcome"),
        "memberships": memberships,
        "form": form if may_found([one.role for one in memberships]) else None,
    }
    return render(request, "accounts/organizations.html", context, status=status)
