"""The sheet of one stop of a machine, to be taken along on paper."""

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _

from fleet.services.sheets.changeout_sheets import changeout_sheet
from fleet.trade.cautions import AFTER_THE_WORK, BEFORE_OPENING

from ..members import PageRequest, Reader, member_page


@member_page()
def changeout(request: PageRequest, reader: Reader, machine: str, changeout: str) -> HttpResponse:
    """The stop: what to read before a line is opened, the positions in order, the kits, what to do after."""
    sheet = changeout_sheet(
        organization=reader.organization, machine=machine, changeout=changeout, plan=reader.plan
    )
    if sheet is None:
        raise Http404(_("The plan in force has no changeout %(changeout)s.") % {"changeout": changeout})
    context = {
        "title": _("Changeout: %(machine)s") % {"machine": machine},
        "way": "due",
        "sheet": sheet,
        "before": BEFORE_OPENING,
        "after": AFTER_THE_WORK,
    }
    return render(request, "register/changeout.html", context)
