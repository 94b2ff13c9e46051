"""An invitation at its address: the person it is for chooses a password, and is in."""

from django.contrib import messages
from django.contrib.auth import login
from django.contrib.auth.forms import SetPasswordForm
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters

from fleet.models import User
from fleet.services.errors import ServiceError
from fleet.services.people.invitations import InvitationEnded, accept_invitation, open_invitation

BACKEND = "django.contrib.auth.backends.ModelBackend"  # there are two, so that the session must name its own


@sensitive_post_parameters()
@never_cache
def accept(request: HttpRequest, secret: str) -> HttpResponse:
    """What the invitation is to, and the form on which its person chooses a password.

    Who is signed in gets no form: most likely it is the owner, who looks at the address before handing it
    over.
    """
    invitation = open_invitation(secret)
    if invitation is None:
        ended = {"title": _("Invitation"), "ended": str(InvitationEnded())}
        return render(request, "accounts/invitation.html", ended, status=404)
    form = SetPasswordForm(User(username=invitation.name), request.POST or None)
    if request.method == "POST" and not request.user.is_authenticated and form.is_valid():
        try:
            membership = accept_invitation(secret=secret, password=form.cleaned_data["new_password1"])
        except ServiceError as refusal:
            form.add_error(None, str(refusal))
        else:
            login(request, membership.user, backend=BACKEND)
            messages.success(
                request,
                _("You belong to %(organization)s now. Next time, sign in as %(name)s with that password.")
                % {"organization": membership.organization, "name": membership.user},
            )
            return redirect("organization", membership.organization.slug)
    context = {"title": _("Invitation"), "invitation": invitation, "form": form}
    return render(request, "accounts/invitation.html", context, status=422 if form.errors else 200)
