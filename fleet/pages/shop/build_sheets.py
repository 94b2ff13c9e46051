"""The build sheets of a kit, one page of paper for each assembly."""

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _

from fleet.services.sheets.build_sheets import build_sheets
from fleet.services.sheets.steps import HOW_TO_CLEAN, HOW_TO_MEASURE
from fleet.trade.cautions import AT_THE_BENCH

from ..members import PageRequest, Reader, member_page


@member_page()
def build_sheet(request: PageRequest, reader: Reader, kit: str) -> HttpResponse:
    """What the bench needs for each assembly of a kit: parts, cut, cleaning, insertion, crimp, proof.

    Of the kit begun under that name, if there is one and the address does not ask for that of the plan.
    """
    planned = request.GET.get("of") == "plan"
    sheets = build_sheets(organization=reader.organization, kit=kit, plan=reader.plan, planned=planned)
    if sheets is None:
        raise Http404(_("No kit %(kit)s is begun, and the plan in force has none.") % {"kit": kit})
    context = {
        "title": _("Build sheets: %(kit)s") % {"kit": kit},
        "way": "build",
        "kit": sheets,
        "how_to_measure": HOW_TO_MEASURE,
        "how_to_clean": HOW_TO_CLEAN,
        "cautions": AT_THE_BENCH,
    }
    return render(request, "shop/build_sheet.html", context)
