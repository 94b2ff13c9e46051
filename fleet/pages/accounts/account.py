"""One's own password, which organization's fleet a person looks at, and founding one."""

from axes.utils import reset as forget_wrong_tries
from django import forms
from django.contrib import messages
from django.contrib.auth import update_session_auth_hash
from django.contrib.auth.forms import PasswordChangeForm
from django.contrib.auth.views import PasswordResetConfirmView
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse_lazy
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters

from fleet.models import Membership
from fleet.models.organizations import LONGEST_NAME
from fleet.permissions import may_found
from fleet.services.errors import ServiceError
from fleet.services.people.founding import found_organization
from fleet.services.people.passwords import WaysIn, change_password, new_passwords, ways_in

from ..members import PageRequest, Reader, form_only, member_page, signed_in


def memberships_of(user):
    return Membership.objects.filter(user=user).select_related("organization").order_by("organization__name")


@signed_in
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


def told_ways(ways: WaysIn) -> str:
    """What works without a password, in words, those things of which there are any."""
    told = (
        (ways.tokens, ngettext("%(n)s API token", "%(n)s API tokens", ways.tokens)),
        (ways.calendars, ngettext("%(n)s calendar address", "%(n)s calendar addresses", ways.calendars)),
        (ways.invitations, ngettext("%(n)s open invitation", "%(n)s open invitations", ways.invitations)),
    )
    return "; ".join(words % {"n": number} for number, words in told if number)


class PasswordForm(PasswordChangeForm):
    """The old password and the new one; where something answers without it, whether that ends as well."""

    revoke = forms.BooleanField(required=False)

    def __init__(self, *args, **more) -> None:
        super().__init__(*args, **more)
        self.fields["old_password"].widget.attrs.pop("autofocus")  # what is wrong has it
        ways = ways_in(self.user)
        if ways:
            told = _("Revoke what works without a password: %(ways)s") % {"ways": told_ways(ways)}
            self.fields["revoke"].label = told
        else:
            del self.fields["revoke"]


@sensitive_post_parameters()
@never_cache
@signed_in
def password(request: PageRequest) -> HttpResponse:
    """Whoever is signed in changes their password, giving the one they have; here they stay signed in."""
    form = PasswordForm(request.user, request.POST or None)
    if request.method == "POST" and form.is_valid():
        revoked = change_password(
            user=request.user,
            password=form.cleaned_data["new_password1"],
            revoke=form.cleaned_data.get("revoke", False),
        )
        update_session_auth_hash(request, request.user)
        told = _("Your password is changed.")
        if revoked:
            told = _("Your password is changed. Revoked with it: %(ways)s.") % {"ways": told_ways(revoked)}
        messages.success(request, told)
        return redirect("organizations")
    context = {"title": _("Change your password"), "form": form}
    return render(request, "accounts/password.html", context, status=422 if form.errors else 200)


class NewPassword(PasswordResetConfirmView):
    """Who forgot their password chooses another, at the address that an owner handed them.

    Whatever worked without the old one goes with it: nobody has shown here that they knew it.
    """

    template_name = "accounts/new_password.html"
    title = gettext_lazy("A new password")
    token_generator = new_passwords
    success_url = reverse_lazy("sign_in")

    def form_valid(self, form) -> HttpResponse:
        # Who forgot it has often tried too often: the new one would be refused too, for a quarter of an hour.
        forget_wrong_tries(username=form.user.get_username())
        revoked = change_password(user=form.user, password=form.cleaned_data["new_password1"], revoke=True)
        told = _("Your password is changed. Sign in as %(name)s with it.") % {"name": self.user}
        if revoked:
            told = _(
                "Your password is changed. Revoked with it: %(ways)s. Sign in as %(name)s with the new one."
            ) % {"ways": told_ways(revoked), "name": self.user}
        messages.success(self.request, told)
        return redirect(self.get_success_url())

    def form_invalid(self, form) -> HttpResponse:
        return self.render_to_response(self.get_context_data(form=form), status=422)

    def render_to_response(self, context, **more) -> HttpResponse:
        if not self.validlink:
            context["title"] = _("This address does not hold")
            more["status"] = 404
        return super().render_to_response(context, **more)


class FoundingForm(forms.Form):
    name = forms.CharField(
        label=gettext_lazy("Its name, as your people call it"),
        max_length=LONGEST_NAME,
        error_messages={"required": gettext_lazy("Give the organization a name first.")},
    )


@signed_in
def organizations(request: HttpRequest) -> HttpResponse:
    """The organizations the person is a member of, their role in each, and founding another."""
    return _listed(request, FoundingForm())


@form_only
@signed_in
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
