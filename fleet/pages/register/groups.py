"""The hose lots and the people (or benches) that crimped: how many hoses of each, and how they fared."""

from django.db.models import Count, F, Q
from django.http.response import HttpResponseBase
from django.shortcuts import render
from django.utils.translation import gettext as _

from fleet.models import LINES, Assembly, RemovalCause

from ..members import PageRequest, Reader, member_page
from ..paging import page_of
from ..sheets import sheet_asked, sheet_of
from ..sorting import Sorting, own_columns

ORDERS = own_columns("name", "made", "in_place", "failed")


@member_page()
def lots(request: PageRequest, reader: Reader) -> HttpResponseBase:
    """The hose lots that assemblies were made of."""
    return _groups(request, reader, "hose_lot", _("Hose lots"))


@member_page()
def people(request: PageRequest, reader: Reader) -> HttpResponseBase:
    """Who crimped, as the register names the person or the bench."""
    return _groups(request, reader, "crimped_by", _("Who crimped"))


def _groups(request: PageRequest, reader: Reader, kind: str, title: str) -> HttpResponseBase:
    """The groups of a kind by name: assemblies made, in place now, and ended by failure or wear."""
    sought = request.GET.get("q", "").strip()
    # Greater than the empty text: so the database skips all that belong to no group, and reads none of them.
    rows = Assembly.objects.of(reader.organization).filter(**{f"{kind}__gt": ""})
    if sought:
        rows = rows.filter(**{f"{kind}__icontains": sought})
    ended = Q(removal_cause__in=[RemovalCause.FAILED, RemovalCause.WORN])
    rows = (
        rows.order_by()
        .values(name=F(kind))
        .annotate(
            made=Count("pk"),
            in_place=Count("pk", filter=Q(position__isnull=False, removed_on=None)),
            failed=Count("pk", filter=ended),
        )
    )
    sorting = Sorting.asked(request, ORDERS)
    rows = sorting.sort(rows, "name")
    if sheet_asked(request):
        return sheet_of(request, f"{kind}s", rows, own_columns("name", "made", "in_place", "failed"))
    page = page_of(request, rows)
    suspects = LINES["suspects"].objects.filter(
        plan=reader.plan, kind=kind, name__in=[row["name"] for row in page]
    )
    context = {
        "title": title,
        "way": "machines",
        "kind": kind,
        "page": page,
        "suspects": {line.name: line for line in suspects},
        "q": sought,
        "sorting": sorting,
    }
    return render(request, "register/groups.html", context)
