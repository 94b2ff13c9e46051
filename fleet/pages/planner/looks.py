"""What is to be looked at, by when and what for; a request is answered by an inspection, or withdrawn."""

from django.contrib import messages
from django.http.response import HttpResponse, HttpResponseBase
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _

from fleet.permissions import Action
from fleet.services.decisions.inspection_requests import NoSuchRequest, open_requests, withdraw_request

from ..members import PageRequest, Reader, form_only, member_page
from ..paging import page_of
from ..sheets import sheet_asked, sheet_of
from ..sorting import Sorting

SHEET = {
    "assembly": "assembly__key",
    "machine": "assembly__position__machine__key",
    "position": "assembly__position__key",
    "by_day": "by_day",
    "reason": "reason",
    "asked_on": "asked_on",
    "asked_by": "asked_by__username",
}
ORDERS = {"by_day": "by_day", "machine": "assembly__position__machine__key", "assembly": "assembly__key"}


@member_page()
def looks(request: PageRequest, reader: Reader) -> HttpResponseBase:
    """The open requests, the most urgent first."""
    sorting = Sorting.asked(request, ORDERS)
    rows = sorting.sort(open_requests(reader.organization), "by_day", "assembly__key")
    if sheet_asked(request):
        return sheet_of(request, "to_look_at", rows, SHEET)
    context = {
        "title": _("To be looked at"),
        "way": "due",
        "page": page_of(request, rows.select_related("assembly__position__machine", "asked_by")),
        "sorting": sorting,
        "today": timezone.localdate(),
    }
    return render(request, "planner/looks.html", context)


@form_only
@member_page(Action.DECIDE_CHANGEOUT)
def withdraw(request: PageRequest, reader: Reader, look: int) -> HttpResponse:
    """Takes a request back."""
    try:
        found = withdraw_request(organization=reader.organization, user=request.user, request=look)
    except NoSuchRequest as refusal:
        messages.warning(request, str(refusal))
    else:
        messages.success(request, _("%(assembly)s need not be looked at.") % {"assembly": found.assembly})
    return redirect("looks", reader.organization.slug)
