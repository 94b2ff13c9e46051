"""The page for a hose that burst just now: what must be read first, and what there is to replace it."""

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils.translation import gettext as _

from fleet.models import Position
from fleet.services.replacing.bursts import find_replacements

from ..members import PageRequest, Reader, member_page
from ..paging import page_of

WAYS = 20


@member_page()
def burst(request: PageRequest, reader: Reader, machine: str, position: str) -> HttpResponse:
    """The cautions, then each way to a new assembly, soonest first, with what it still lacks."""
    found = get_object_or_404(
        Position.objects.of(reader.organization).select_related("machine__site", "design"),
        machine__key=machine,
        key=position,
    )
    found_ways = find_replacements(
        organization=reader.organization, position=found, units=reader.units, plan=reader.plan
    )
    context = {
        "title": _("It burst: %(position)s") % {"position": found},
        "way": "machines",
        "position": found,
        "found": found_ways,
        "page": page_of(request, found_ways.ways, size=WAYS),
    }
    return render(request, "register/burst.html", context)
