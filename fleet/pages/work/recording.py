"""Work recorded at a machine: from a scanned tag, a day of it on one form, or rows pasted from a spreadsheet.

A script keeps a form on the device until it is taken, and asks for the answer as JSON; without it each is a
plain form. Either way a form counts once, by its token.
"""

import uuid
from typing import Any

from django import forms
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from fleet.exchange.findings import Finding
from fleet.exchange.pasting import MOST_ROWS, PASTED, pasted_rows
from fleet.exchange.schema import FILES_BY_NAME
from fleet.exchange.sources import Unreadable
from fleet.models import Assembly, Machine, Position, User
from fleet.permissions import Action
from fleet.services.errors import FolderRefused, ServiceError
from fleet.services.folders.pasting import import_pasted
from fleet.services.work.errors import FitnessNotKnown, UnfitForPlace, WorkRefused
from fleet.services.work.recording import Recorded, record_day
from fleet.services.work.rows import Fitted, PositionWork

from ..amounts import KeptText, day_field
from ..kept_forms import answer, from_its_writer, refused_in_json
from ..members import PageRequest, Reader, form_only, member_page
from .forms import ACTS, CAUSES, LONGEST_MODE, AnsweredForm, InstallForm, WorkForm, words
from .tags import found_assembly, occupants, places_for, tag_page

LONGEST_PASTE = 4_000_000


@form_only
@from_its_writer
@member_page(Action.RECORD_WORK)
def record(request: PageRequest, reader: Reader, assembly: str) -> HttpResponse:
    """Records what one of the forms of a tag's page says."""
    found = found_assembly(reader, assembly)
    form = sent_form(request, found)
    if form.is_valid():
        try:
            recorded = form.record(reader.organization, request.user, found)
        except ServiceError as refusal:
            form.tell(refusal)
        else:
            shown = form.cleaned_data.get("fitted") or found.key
            return answer(request, recorded, reverse("tag", args=[reader.organization.slug, shown]))
    text = " ".join(str(error) for errors in form.errors.values() for error in errors)
    return refused_in_json(request, text) or tag_page(request, reader, found, refused=form)


def sent_form(request: PageRequest, assembly: Assembly) -> WorkForm:
    """The form that was sent. Raises Http404 for one that there is not."""
    act = request.POST.get("act", "")
    if act == InstallForm.act:
        places = places_for(assembly)[1]
        return InstallForm(request.POST, places=places, there=occupants(places))
    return ACTS[act if act in ACTS else "inspect"](request.POST)


class DayForm(forms.Form):
    """The day of the work, and the machine's meter."""

    token = forms.UUIDField(widget=forms.HiddenInput, required=False)
    day = day_field(gettext_lazy("Day"))
    hours = WorkForm.base_fields["hours"]
    meter_replaced = WorkForm.base_fields["meter_replaced"]

    def __init__(self, *given, **more) -> None:
        super().__init__(*given, **more)
        self.fields["day"].required = True


class RowForm(AnsweredForm):
    """One position: what comes off and why, what goes on."""

    seen = forms.CharField(widget=forms.HiddenInput, required=False)
    cause = forms.ChoiceField(
        label=gettext_lazy("Comes off because"),
        choices=[("", gettext_lazy("stays")), *CAUSES],
        required=False,
    )
    mode = words(gettext_lazy("How it failed"), LONGEST_MODE)
    fitted = KeptText(label=gettext_lazy("Goes on (key)"), required=False)
    design = KeptText(label=gettext_lazy("Its design"), required=False)
    built_on = day_field(gettext_lazy("Built on"))

    def work(self, position: str, user: User) -> PositionWork | None:
        """What was done there; None where nothing was."""
        sent = self.cleaned_data
        if not sent["cause"] and not sent["fitted"]:
            return None
        fitted = Fitted(sent["fitted"], design=sent["design"], built_on=sent["built_on"])
        goes_on = fitted if sent["fitted"] else None
        return PositionWork(
            position, sent["cause"], sent["mode"], goes_on, sent["seen"], self.who_answers(user)
        )


@from_its_writer
@member_page(Action.RECORD_WORK)
def machine_day(request: PageRequest, reader: Reader, machine: str) -> HttpResponse:
    """A day's removals and installations on one machine, a row for each position, stored whole or not."""
    found = get_object_or_404(Machine.objects.of(reader.organization).select_related("site"), key=machine)
    positions = list(Position.objects.filter(machine=found).select_related("design").order_by("key"))
    there = {one.position_id: one for one in Assembly.objects.filter(position__in=positions, removed_on=None)}
    sent = request.POST if request.method == "POST" else None
    day = DayForm(sent, initial={"day": timezone.localdate(), "token": uuid.uuid4()})
    rows = [
        RowForm(sent, prefix=f"p{one.pk}", initial={"seen": there[one.pk].key if one.pk in there else ""})
        for one in positions
    ]
    wrong: dict[str, list[str]] = {}
    right = [form.is_valid() for form in (day, *rows)]  # each is asked, so that each says what is wrong
    if all(right):
        done = [row.work(position.key, request.user) for row, position in zip(rows, positions, strict=True)]
        try:
            recorded = record_day(
                organization=reader.organization,
                user=request.user,
                machine=found.key,
                work=[one for one in done if one is not None],
                **day.cleaned_data,
            )
        except WorkRefused as refusal:
            for place, one in zip(refusal.places, refusal.findings, strict=True):
                wrong.setdefault(place, []).append(f"{one.wrong} {one.right}")
        except (UnfitForPlace, FitnessNotKnown) as refusal:
            by_key = {position.key: row for position, row in zip(positions, rows, strict=True)}
            for fit in refusal.findings:
                wrong.setdefault(fit.position, []).append(fit.text)
                if not fit.refused:
                    by_key[fit.position].ask(critical=fit.critical)
        except ServiceError as refusal:
            wrong[""] = [str(refusal)]
        else:
            return answer(request, recorded, reverse("machine", args=[reader.organization.slug, found.key]))
    failed = sent is not None
    if failed and (told := refused_in_json(request, _("Some of it cannot be."))):
        return told
    context = {
        "title": _("Work on %(machine)s") % {"machine": found.key},
        "way": "machines",
        "machine": found,
        "day": day,
        "rows": [
            {
                "position": position,
                "there": there.get(position.pk),
                "form": row,
                "wrong": wrong.get(position.key, []),
            }
            for position, row in zip(positions, rows, strict=True)
        ],
        "wrong": wrong.get("", []),
        "failed": failed,
    }
    return render(request, "tags/day.html", context, status=422 if failed else 200)


class PasteForm(forms.Form):
    token = forms.UUIDField(widget=forms.HiddenInput, required=False)
    rows = forms.CharField(
        label=gettext_lazy("Rows, with the headers on the first line"),
        widget=forms.Textarea(attrs={"rows": 12, "spellcheck": "false", "wrap": "off"}),
        max_length=LONGEST_PASTE,
        strip=False,
    )


@from_its_writer
@member_page(Action.RECORD_WORK)
def paste(request: PageRequest, reader: Reader) -> HttpResponse:
    """Rows pasted from a spreadsheet, taken whole by the rules of a fleet folder, or told what is wrong."""
    form = PasteForm(request.POST or None, initial={"token": uuid.uuid4()})
    findings: list[Finding] = []
    if request.method == "POST" and form.is_valid():
        try:
            outcome = import_pasted(
                organization=reader.organization,
                user=request.user,
                text=form.cleaned_data["rows"],
                token=form.cleaned_data["token"],
            )
        except FolderRefused as refusal:
            findings = refusal.findings
        else:
            recorded = Recorded(told_rows(outcome.counts), outcome.findings)
            return answer(request, recorded, reverse("paste", args=[reader.organization.slug]))
    refused = request.method == "POST"
    if refused and (told := refused_in_json(request, _("Some of it cannot be."))):
        return told
    context = {
        "title": _("Paste rows"),
        "way": "folders",
        "form": form,
        "refused": refused,
        "errors": sum(one.severity == "error" for one in findings),
        "files": [FILES_BY_NAME[name] for name in PASTED],
        "most": MOST_ROWS,
        **beside_rows(form.cleaned_data["rows"] if findings else "", findings),
    }
    return render(request, "tags/paste.html", context, status=422 if refused else 200)


def told_rows(counts: dict[str, dict[str, int]]) -> str:
    """What pasted rows made of the register, in a sentence."""
    if not counts:
        return _("These rows were taken already, and nothing was changed.")
    (rows,) = counts.values()
    new = ngettext("%(n)d row is new", "%(n)d rows are new", rows["created"]) % {"n": rows["created"]}
    told = {"new": new, "changed": rows["changed"], "same": rows["unchanged"]}
    return _("%(new)s, %(changed)d changed, %(same)d stood already.") % told


def beside_rows(text: str, findings: list[Finding]) -> dict[str, Any]:
    """The pasted rows that something is said of, each with its line and findings, and what is said of all."""
    try:
        header, *rows = pasted_rows(text) or [[]]
    except Unreadable:
        header, rows = [], []
    by_line: dict[int, list[Finding]] = {}
    for one in findings:
        by_line.setdefault(one.line or 1, []).append(one)
    said = [
        {"line": line, "cells": rows[line - 2], "findings": found}
        for line, found in sorted(by_line.items())
        if 2 <= line < len(rows) + 2
    ]
    beside = {row["line"] for row in said}
    general = [one for line, found in by_line.items() if line not in beside for one in found]
    return {"header": header, "said": said, "general": general}
