"""The page of the margins: what each installed hose bears against what its place asks, by verdict."""

from django.db.models import F
from django.http.response import HttpResponseBase
from django.shortcuts import render
from django.utils.translation import gettext as _

from fleet.models import LINES

from ..members import PageRequest, Reader, member_page
from ..paging import page_of
from ..sheets import plan_sheet, sheet_asked
from ..sorting import Sorting, own_columns

VERDICTS = ("short", "thin", "unknown", "sound")
ORDERS = {"rated": "rated_pressure_bar", "demanded": "demanded_pressure_bar"} | own_columns(
    "machine", "assembly", "margin_percent", "limiting_part"
)


@member_page()
def margins(request: PageRequest, reader: Reader) -> HttpResponseBase:
    """The installed hoses of one verdict, smallest margin first."""
    verdict = request.GET.get("verdict", "")
    verdict = verdict if verdict in VERDICTS else VERDICTS[0]
    sorting = Sorting.asked(request, ORDERS)
    of_verdict = LINES["margins"].objects.filter(plan=reader.plan, verdict=verdict)
    lines = sorting.sort(of_verdict, F("margin_percent").asc(nulls_last=True), "row")
    if sheet_asked(request):
        return plan_sheet(request, "margins", lines)
    context = {
        "title": _("Margins"),
        "way": "due",
        "page": page_of(request, lines),
        "verdict": verdict,
        "verdicts": VERDICTS,
        "sorting": sorting,
    }
    return render(request, "planner/margins.html", context)
