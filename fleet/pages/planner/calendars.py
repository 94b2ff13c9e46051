"""Calendars of the changeouts: made, shown once, revoked; and read by another program without signing in."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET

from fleet.models import CalendarFeed
from fleet.services.plans.calendars import (
    NoSuchSite,
    calendars_of,
    open_calendar,
    read_calendar,
    revoke_calendar,
)

from ..members import PageRequest, Reader, form_only, member_page

LONGEST_NAME = CalendarFeed._meta.get_field("name").max_length


@member_page()
def calendars(request: PageRequest, reader: Reader) -> HttpResponse:
    """The member's own calendars, and a form for one more; a new one's address is shown this once."""
    context = {"title": _("Changeouts in your calendar"), "way": "due", "address": ""}
    if request.method == "POST":
        try:
            _feed, secret = open_calendar(
                organization=reader.organization,
                user=request.user,
                name=request.POST.get("name", "").strip()[:LONGEST_NAME],
                site=request.POST.get("site", ""),
            )
        except NoSuchSite as refusal:
            messages.error(request, str(refusal))
        else:
            context["address"] = request.build_absolute_uri(reverse("calendar", args=[secret]))
    context["calendars"] = calendars_of(reader.organization, request.user)
    return render(request, "planner/calendars.html", context)


@form_only
@member_page()
def revoke(request: PageRequest, reader: Reader, calendar: int) -> HttpResponse:
    """Stops an address: nothing is read at it any more."""
    if revoke_calendar(organization=reader.organization, user=request.user, calendar=calendar):
        messages.success(request, _("That address is stopped: no calendar reads it any more."))
    else:
        messages.warning(request, _("That address was stopped before, or is not yours."))
    return redirect("calendars", reader.organization.slug)


@require_GET
def calendar(request: HttpRequest, secret: str) -> HttpResponse:
    """The calendar at that secret, for a program that reads it; 404 where none answers."""

    def sheet_at(*keys: str) -> str:
        """Under the name at which the program reads, since no other is known to lead here from outside."""
        return request.build_absolute_uri(reverse("changeout", args=keys))

    events = read_calendar(secret, sheet_at)
    if events is None:
        return HttpResponse(_("No calendar answers here."), status=404, content_type="text/plain")
    answer = HttpResponse(events, content_type="text/calendar; charset=utf-8")
    answer["Cache-Control"] = "private, no-store"
    return answer
