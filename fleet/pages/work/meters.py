"""The hour meters of many machines on one form, as somebody reads them on a round of the yard."""

import csv
import io
import uuid

from django import forms
from django.db.models import OuterRef, Q, Subquery
from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from fleet.exchange.findings import Finding
from fleet.exchange.numerals import shortest
from fleet.models import Machine, MeterReading
from fleet.permissions import Action
from fleet.services.errors import FolderRefused
from fleet.services.folders.pasting import import_pasted
from fleet.services.work.recording import Recorded

from ..amounts import day_field
from ..fields import NumberField
from ..members import PageRequest, Reader, member_page
from ..paging import page_of
from .forms import MOST_HOURS
from .recording import answer, from_its_writer, refused_in_json

MACHINES = 25
HEADERS = ("machine", "read_on", "hours", "meter_replaced")


class RoundForm(forms.Form):
    """The day of the round."""

    token = forms.UUIDField(widget=forms.HiddenInput, required=False)
    day = day_field(gettext_lazy("Read on"))

    def __init__(self, *given, **more) -> None:
        super().__init__(*given, **more)
        self.fields["day"].required = True


class MeterForm(forms.Form):
    """What one meter shows; empty where nobody read it."""

    hours = NumberField(
        label=gettext_lazy("It shows"),
        required=False,
        min_value=0,
        max_value=MOST_HOURS,
        widget=forms.NumberInput(attrs={"step": "any", "inputmode": "decimal"}),
    )
    replaced = forms.BooleanField(label=gettext_lazy("a new meter"), required=False)


def as_rows(day, read: list[tuple[Machine, MeterForm]]) -> str:
    """The readings as rows of meter_readings.csv, separated by tabs."""
    text = io.StringIO()
    rows = csv.writer(text, delimiter="\t", lineterminator="\n")
    rows.writerow(HEADERS)
    for machine, form in read:
        sent = form.cleaned_data
        rows.writerow([machine.key, day, shortest(sent["hours"]), "yes" if sent["replaced"] else ""])
    return text.getvalue()


def told_readings(counts: dict[str, dict[str, int]]) -> str:
    """What came of a round, in a sentence."""
    if not counts:
        return _("These readings were taken already, and nothing was changed.")
    n = sum(sum(of_file.values()) for of_file in counts.values())
    return ngettext("%(n)d reading is on record.", "%(n)d readings are on record.", n) % {"n": n}


@from_its_writer
@member_page(Action.RECORD_WORK)
def meters(request: PageRequest, reader: Reader) -> HttpResponse:
    """The machines at work by key, each with its last reading and room for today's; all stored, or none."""
    today = timezone.localdate()
    sought, site = request.GET.get("q", "").strip(), request.GET.get("site", "")
    last = MeterReading.objects.filter(machine=OuterRef("pk")).order_by("-read_on")
    rows = (
        Machine.objects.of(reader.organization)
        .filter(Q(retired_on=None) | Q(retired_on__gt=today))
        .select_related("site")
        .annotate(last_on=Subquery(last.values("read_on")[:1]), last_hours=Subquery(last.values("hours")[:1]))
        .order_by("key")
    )
    if sought:
        rows = rows.filter(Q(key__icontains=sought) | Q(model__icontains=sought))
    if site:
        rows = rows.filter(site__key=site)
    page = page_of(request, rows, size=MACHINES)
    sent = request.POST if request.method == "POST" else None
    day = RoundForm(sent, initial={"day": today, "token": uuid.uuid4()})
    forms_of = [(machine, MeterForm(sent, prefix=f"m{machine.pk}")) for machine in page]
    right = [form.is_valid() for form in (day, *(form for _machine, form in forms_of))]
    findings: list[Finding] = []
    read = []
    if sent is not None and all(right):
        read = [(machine, form) for machine, form in forms_of if form.cleaned_data["hours"] is not None]
        if not read:
            day.add_error(None, _("No meter is entered yet."))
        else:
            try:
                outcome = import_pasted(
                    organization=reader.organization,
                    user=request.user,
                    text=as_rows(day.cleaned_data["day"], read),
                    token=day.cleaned_data["token"],
                    of_a_form=True,
                )
            except FolderRefused as refusal:
                findings = refusal.findings
            else:
                recorded = Recorded(told_readings(outcome.counts), outcome.findings)
                return answer(request, recorded, request.get_full_path())
    if sent is not None and (told := refused_in_json(request, _("Some of it cannot be."))):
        return told
    by_line: dict[int | None, list[str]] = {}
    for one in findings:
        by_line.setdefault(one.line, []).append(f"{one.wrong} {one.right}")
    lines = {machine.pk: line for line, (machine, _form) in enumerate(read, start=2)}
    context = {
        "title": _("Hour meters"),
        "way": "machines",
        "page": page,
        "day": day,
        "rows": [(machine, form, by_line.pop(lines.get(machine.pk, 0), [])) for machine, form in forms_of],
        "wrong": [one for said in by_line.values() for one in said],
        "failed": sent is not None,
        "q": sought,
        "site": site,
    }
    return render(request, "register/meters.html", context, status=422 if sent is not None else 200)
