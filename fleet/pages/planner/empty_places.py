"""The places of machines at work whose hose came off and got no successor, as the register stands now."""

from django.db.models import Exists, OuterRef, Q, QuerySet, Subquery
from django.http.response import HttpResponseBase
from django.shortcuts import render
from django.utils import timezone
from django.utils.translation import gettext as _

from fleet.models import Assembly, Position

from ..members import PageRequest, Reader, member_page
from ..paging import page_of
from ..sheets import sheet_asked, sheet_of
from ..sorting import Sorting, own_columns

ORDERS = {"machine": "machine__key", "site": "machine__site__key"} | own_columns(
    "assembly", "removed_on", "removal_cause"
)
SHEET = {
    "machine": "machine__key",
    "position": "key",
    "site": "machine__site__key",
    "design": "design__key",
    "critical": "critical",
} | own_columns("assembly", "removed_on", "removal_cause")


def places_without_hose(reader: Reader) -> QuerySet[Position]:
    """The empty places, each with the `assembly` that came off last, its `removed_on` and `removal_cause`.

    A place that never had a hose waits for none: it is not among them. What is entered ahead of its day has
    not happened yet.
    """
    today = timezone.localdate()
    here = Assembly.objects.filter(position=OuterRef("pk"))
    gone = here.filter(removed_on__lte=today)
    last = gone.order_by("-removed_on", "-installed_on", "-pk")
    at_work = Q(machine__retired_on=None) | Q(machine__retired_on__gt=today)
    places = Position.objects.of(reader.organization).filter(at_work)
    return places.filter(Exists(gone), ~Exists(here.installed_on(today))).annotate(
        assembly=Subquery(last.values("key")[:1]),
        removed_on=Subquery(last.values("removed_on")[:1]),
        removal_cause=Subquery(last.values("removal_cause")[:1]),
    )


@member_page()
def empty_places(request: PageRequest, reader: Reader) -> HttpResponseBase:
    """The places without a hose, what was emptied last first, each with the way to what fits it."""
    site = request.GET.get("site", "")
    rows = places_without_hose(reader)
    if site:
        rows = rows.filter(machine__site__key=site)
    sorting = Sorting.asked(request, ORDERS)
    rows = sorting.sort(rows, "-removed_on", "machine__key", "key")
    if sheet_asked(request):
        return sheet_of(request, "places_without_hose", rows, SHEET)
    context = {
        "title": _("Places without a hose"),
        "way": "due",
        "page": page_of(request, rows.select_related("machine__site", "design")),
        "sorting": sorting,
        "site": site,
    }
    return render(request, "planner/empty_places.html", context)
