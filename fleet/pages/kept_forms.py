"""Forms that a script keeps on the device until they are taken, and sends for an answer in JSON.

Without the script each is a plain form. Either way a form counts once, by its token.
"""

from collections.abc import Callable
from functools import wraps

from django.contrib import messages
from django.http import HttpResponse, JsonResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _

from fleet.services.work.recording import Recorded

from .members import PageRequest


def from_its_writer(view: Callable) -> Callable:
    """A decorator of a page that takes forms: one that waited on a device is taken from its writer alone.

    On a shared tablet another may have signed in since; the form then stays there, unsent (409).
    """

    @wraps(view)
    def page(request: PageRequest, *args, **keys):
        if request.POST.get("who", request.user.get_username()) != request.user.get_username():
            return JsonResponse({"text": _("Another person is signed in now.")}, status=409)
        return view(request, *args, **keys)

    return page


def answer(request: PageRequest, recorded: Recorded, goes_to: str) -> HttpResponse:
    """What came of a form: as JSON where the script sent it, else the page it leads to, which tells it."""
    by_script = "application/json" in request.headers.get("Accept", "")
    # One that waited on a device may have arrived before its page heard of it: that is no news to anybody.
    waited = by_script and "later" in request.POST
    told = recorded.told
    if recorded.again and not waited:
        told = _("This was recorded already, and nothing was changed: %(told)s") % {"told": told}
    if not waited:
        messages.success(request, told)
        for one in recorded.warnings:
            messages.warning(request, f"{one.wrong} {one.right}")
    if by_script:
        return JsonResponse({"told": told, "next": goes_to})
    return redirect(goes_to)


def refused_in_json(request: PageRequest, text: str) -> HttpResponse | None:
    """The refusal for the script; None where a page is to show it."""
    if "application/json" not in request.headers.get("Accept", ""):
        return None
    return JsonResponse({"text": text}, status=422)
