"""Who belongs to the organization: its owner adds or invites people, says what each is for, and ends it."""

from datetime import timedelta
from typing import Any

from django import forms
from django.conf import settings
from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.encoding import force_bytes
from django.utils.http import urlsafe_base64_encode
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from fleet.models import Membership, Role
from fleet.permissions import Action
from fleet.services.errors import ServiceError
from fleet.services.people.invitations import invitations_of, invite_person, withdraw_invitation
from fleet.services.people.members import NobodyCalled, add_member, change_member
from fleet.services.people.passwords import offer_new_password

from ..members import PageRequest, Reader, form_only, member_page

LONGEST_NAME = 150  # of a sign-in name
NO_LONGER = "no_longer"


class AddForm(forms.Form):
    name = forms.CharField(label=gettext_lazy("Name at signing in"), max_length=LONGEST_NAME)
    role = forms.ChoiceField(label=gettext_lazy("Is there as"), choices=Role.choices)


class RoleForm(forms.Form):
    role = forms.ChoiceField(
        label=gettext_lazy("Is there as"),
        choices=[*Role.choices, (NO_LONGER, gettext_lazy("no longer"))],
    )


@member_page(Action.MANAGE_MEMBERS)
def belong(request: PageRequest, reader: Reader) -> HttpResponse:
    """The people of the organization by name, each with a choice of role, and the form that adds one.

    Whoever has no account yet is invited: the address to hand over is shown this once. The button says whom,
    whatever stands in the field by then.
    """
    invited = request.POST.get("invite")
    form = AddForm(request.POST.dict() | {"name": invited} if invited else request.POST or None)
    told: dict[str, Any] = {}
    if request.method == "POST" and form.is_valid():
        asked = {"organization": reader.organization, "user": request.user, **form.cleaned_data}
        try:
            if invited:
                invitation, secret = invite_person(**asked)
                address = request.build_absolute_uri(reverse("accept", args=[secret]))
                told = {"name": invitation.name, "address": address, "ends_at": invitation.ends_at}
                form = AddForm()
            else:
                add_member(**asked)
                messages.success(request, _("%(name)s belongs to it now.") % form.cleaned_data)
                return redirect("belong", reader.organization.slug)
        except ServiceError as refusal:
            form.add_error("name", str(refusal))
            told = {"nobody": asked["name"]} if isinstance(refusal, NobodyCalled) else {}
    return _listed(request, reader, form, told)


def _listed(request: PageRequest, reader: Reader, form: AddForm, told: dict[str, Any]) -> HttpResponse:
    members = Membership.objects.filter(organization=reader.organization).select_related("user")
    context = told | {
        "title": _("Who belongs to it"),
        "form": form,
        "members": [
            (one, RoleForm(initial={"role": one.role}, auto_id=f"member-{one.pk}_%s"))
            for one in members.order_by("user__username")
        ],
        "invitations": invitations_of(reader.organization),
        "now": timezone.now(),
    }
    return render(request, "accounts/belong.html", context, status=422 if form.errors else 200)


@form_only
@member_page(Action.MANAGE_MEMBERS)
def withdraw_invited(request: PageRequest, reader: Reader, invitation: int) -> HttpResponse:
    """Has an invitation hold no longer."""
    if withdraw_invitation(organization=reader.organization, invitation=invitation):
        messages.success(request, _("That invitation holds no longer."))
    else:
        messages.warning(request, _("That invitation was used or withdrawn before."))
    return redirect("belong", reader.organization.slug)


@form_only
@member_page(Action.MANAGE_MEMBERS)
def change_role(request: PageRequest, reader: Reader, member: int) -> HttpResponse:
    """Has a member be there as something else, or no longer."""
    found = get_object_or_404(
        Membership.objects.select_related("user"), organization=reader.organization, pk=member
    )
    form = RoleForm(request.POST)
    if not form.is_valid():
        messages.error(request, _("Choose what %(name)s is to be there as.") % {"name": found.user})
    else:
        role = form.cleaned_data["role"]
        try:
            changed = change_member(
                organization=reader.organization,
                user=request.user,
                member=found.pk,
                role=None if role == NO_LONGER else role,
            )
        except ServiceError as refusal:
            messages.error(request, str(refusal))
        else:
            told = (
                _("%(name)s belongs to it no longer.")
                if changed is None
                else _("%(name)s is there as %(role)s now.")
            )
            named = changed.get_role_display().lower() if changed else ""
            messages.success(request, told % {"name": found.user, "role": named})
            if found.user == request.user:
                return redirect("organizations")
    return redirect("belong", reader.organization.slug)


@form_only
@member_page(Action.MANAGE_MEMBERS)
def offer_password(request: PageRequest, reader: Reader, member: int) -> HttpResponse:
    """Shows the address at which who forgot their password chooses another, this once."""
    try:
        person, secret = offer_new_password(
            organization=reader.organization, user=request.user, member=member
        )
    except Membership.DoesNotExist as gone:
        raise Http404 from gone
    except ServiceError as refusal:
        messages.error(request, str(refusal))
        return redirect("belong", reader.organization.slug)
    keys = [urlsafe_base64_encode(force_bytes(person.pk)), secret]
    address = request.build_absolute_uri(reverse("new_password", args=keys))
    ends_at = timezone.now() + timedelta(seconds=settings.PASSWORD_RESET_TIMEOUT)
    return _listed(request, reader, AddForm(), {"name": person, "address": address, "ends_at": ends_at})


@form_only
@member_page()
def leave(request: PageRequest, reader: Reader) -> HttpResponse:
    """Ends the reader's own place in the organization, whoever gave it to them."""
    try:
        change_member(
            organization=reader.organization, user=request.user, member=reader.membership.pk, role=None
        )
    except ServiceError as refusal:
        messages.error(request, str(refusal))
    else:
        messages.success(
            request, _("You belong to %(organization)s no longer.") % {"organization": reader.organization}
        )
    return redirect("organizations")
