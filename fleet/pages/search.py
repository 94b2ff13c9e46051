"""Anything that has a key, found from every page."""

from django.db.models import Q
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _

from fleet.models import Assembly, Machine, Part, Position

from .members import PageRequest, Reader, member_page

SHOWN = 20  # of each noun; who looks for one of more writes a longer piece of its key

PAGES = {"machines": "machine", "assemblies": "assembly", "parts": "part"}  # the page of one of each


@member_page()
def search(request: PageRequest, reader: Reader) -> HttpResponse:
    """The machines, positions, assemblies, parts and hose lots that hold what was written.

    A key written in full leads straight to its page where it names one thing only.
    """
    sought = request.GET.get("q", "").strip()
    found: dict = {}
    if sought:
        positions = Q(key__icontains=sought) | Q(circuit__icontains=sought)
        found = {
            "machines": of(Machine, reader).filter(Q(key__icontains=sought) | Q(model__icontains=sought)),
            "positions": of(Position, reader).filter(positions).select_related("machine"),
            "assemblies": of(Assembly, reader)
            .filter(key__icontains=sought)
            .select_related("position__machine"),
            "parts": of(Part, reader).filter(Q(key__icontains=sought) | Q(description__icontains=sought)),
        }
        found = {noun: list(rows.order_by("key", "pk")[: SHOWN + 1]) for noun, rows in found.items()}
        lots = of(Assembly, reader).filter(
            hose_lot__icontains=sought, removed_on=None, position__isnull=False
        )
        found["lots"] = list(
            lots.order_by("hose_lot").values_list("hose_lot", flat=True).distinct()[: SHOWN + 1]
        )
        exact = [
            (page, row.key)
            for noun, page in PAGES.items()
            for row in found[noun]
            if row.key.casefold() == sought.casefold()
        ]
        if len(exact) == 1:
            return redirect(exact[0][0], reader.organization.slug, exact[0][1])
    context = {
        "title": _("Found"),
        "sought": sought,
        "shown": SHOWN,
        "anything": any(found.values()),
        **found,
    }
    return render(request, "register/found.html", context)


def of(model, reader: Reader):
    return model.objects.of(reader.organization)
