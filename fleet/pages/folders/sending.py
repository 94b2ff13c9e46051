"""The pages on which a fleet folder is sent in and what came of reading it is seen."""

from io import BytesIO
from itertools import groupby
from operator import itemgetter
from typing import Any
from zipfile import ZIP_DEFLATED, ZipFile

from django import forms
from django.contrib import messages
from django.http import FileResponse, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from fleet.exchange.blanks import blank_header, blank_workbook
from fleet.exchange.findings import Finding, findings_csv
from fleet.exchange.schema import FILES
from fleet.exchange.writing import file_name
from fleet.jobs import enqueue_reading
from fleet.models import FolderReading, ReadingState
from fleet.permissions import Action
from fleet.services.errors import NotLookedAt, UploadNotReadable
from fleet.services.folders.importing import changes_nothing
from fleet.services.folders.readings import agree_to_folder, ask_anew, leave_folder, receive_folder, step_of
from fleet.services.runs import tell_loss

from ..members import PageRequest, Reader, form_only, member_page
from ..paging import page_of
from ..sheets import plain_cell

READINGS_SHOWN = 20


class SeveralFiles(forms.ClearableFileInput):
    allow_multiple_selected = True


class SentFiles(forms.FileField):
    """The files that were sent, as a list."""

    widget = SeveralFiles(attrs={"accept": ".csv,.zip,.xlsx"})

    def clean(self, data, initial=None):
        return [super(SentFiles, self).clean(one, initial) for one in data or [None]]


class FolderForm(forms.Form):
    folder = SentFiles(
        label=gettext_lazy("Files"),
        error_messages={"required": gettext_lazy("Choose the files of your fleet folder first.")},
    )


@member_page()
def folders(request: PageRequest, reader: Reader) -> HttpResponse:
    """The folders sent in before, and the form that sends one."""
    return folders_page(request, reader, FolderForm())


def folders_page(
    request: PageRequest,
    reader: Reader,
    form: FolderForm,
    *,
    sheet_form: forms.Form | None = None,
    status: int = 200,
) -> HttpResponse:
    context = {
        "title": _("Fleet folders"),
        "way": "folders",
        "form": form,
        "sheet_form": sheet_form,
        "readings": FolderReading.objects.of(reader.organization)
        .select_related("requested_by")
        .defer("findings", "beside", "differences", "made_of")
        .order_by("-requested_at", "-pk")[:READINGS_SHOWN],
        "files": FILES,
    }
    return render(request, "imports/folders.html", context, status=status)


@form_only
@member_page(Action.IMPORT)
def send_folder(request: PageRequest, reader: Reader) -> HttpResponse:
    """Takes the files in; what they would change is told on their own page before any of it is stored."""
    form = FolderForm(request.POST, request.FILES)
    if form.is_valid():
        try:
            reading = receive_folder(
                organization=reader.organization,
                user=request.user,
                files=form.cleaned_data["folder"],
                looks_first=True,
            )
        except UploadNotReadable as refusal:
            form.add_error("folder", str(refusal))
        else:
            enqueue_reading(reading.pk)
            return redirect("folder", reader.organization.slug, reading.pk)
    return folders_page(request, reader, form, status=422)


def units_to_enter(reader: Reader) -> dict[str, str]:
    """The suffix in which the organization enters each measure."""
    units = reader.units
    return {
        "pressure": units.pressure_unit,
        "length": units.length_unit,
        "temperature": units.temperature_unit,
    }


@member_page()
def empty_folder(request: PageRequest, reader: Reader) -> HttpResponse:
    """A fleet folder with every file's header and no row, measures in the organization's units, as a .zip."""
    packed = BytesIO()
    with ZipFile(packed, "w", ZIP_DEFLATED) as folder:
        for file in FILES:
            folder.writestr(file_name(file), ",".join(blank_header(file, units_to_enter(reader))) + "\n")
    answer = HttpResponse(packed.getvalue(), content_type="application/zip")
    answer["Content-Disposition"] = 'attachment; filename="fleet-folder.zip"'
    return answer


@member_page()
def empty_workbook(request: PageRequest, reader: Reader) -> FileResponse:
    """The same as one workbook, each header explained, to be filled in and sent."""
    written = BytesIO()
    blank_workbook(units_to_enter(reader)).save(written)
    written.seek(0)
    return FileResponse(written, as_attachment=True, filename="fleet.xlsx")


def reading_of(reader: Reader, pk: int) -> FolderReading:
    return get_object_or_404(FolderReading, organization=reader.organization, pk=pk)


@member_page()
def folder(request: PageRequest, reader: Reader, reading: int) -> HttpResponse:
    """How far the reading is, then what it would change or did, and its findings; polled as a plan's is."""
    found = reading_of(reader, reading)
    page = page_of(request, found.findings)
    loss = tell_loss(found)
    context = {
        "title": _("Fleet folder"),
        "way": "folders",
        "reading": found,
        "waits": found.state == ReadingState.REQUESTED or (found.state == ReadingState.RUNNING and not loss),
        "loss": loss,
        "step": step_of(found) if found.state == ReadingState.RUNNING else found.progress,
        "counts": [(file.name, found.outcome[file.name]) for file in FILES if file.name in found.outcome],
        "changed_nothing": changes_nothing(found.outcome),
        "differences": [one for one in found.differences if one["created"] or one["changed"]],
        "page": page,
        "said": beside_rows(list(page.object_list), found.beside),
        "errors": sum(one["severity"] == "error" for one in found.findings),
    }
    template = "imports/folder_state.html" if request.htmx else "imports/folder.html"
    return render(request, template, context)


def beside_rows(findings: list[dict], beside: dict[str, dict]) -> list[dict[str, Any]]:
    """The findings by file, errors before warnings, and in it by line: with the cells of the row as sent.

    Of a row stand the cells that hold something, and those that a finding is about.
    """
    said = []
    for (severity, file), of_file in groupby(findings, key=lambda one: (one["severity"], one["file"])):
        rows = []
        for line, of_line in groupby(of_file, key=itemgetter("line")):
            about = list(of_line)
            wrong = {one["column"] for one in about}
            header = beside.get(file, {}).get("header", [])
            texts = beside.get(file, {}).get("rows", {}).get(str(line), [])
            cells = [
                {"column": column, "text": text, "wrong": column in wrong}
                for column, text in zip(header, texts, strict=False)
                if text or column in wrong
            ]
            rows.append({"line": line, "findings": about, "cells": cells})
        said.append({"file": file, "severity": severity, "rows": rows})
    return said


@form_only
@member_page(Action.IMPORT)
def store_folder(request: PageRequest, reader: Reader, reading: int) -> HttpResponse:
    """Has what was seen stored; where the page showed something else by then, it is shown anew."""
    found = reading_of(reader, reading)
    try:
        agree_to_folder(reading=found, user=request.user, seen=request.POST.get("seen", ""))
    except NotLookedAt as refusal:
        messages.warning(request, str(refusal))
    else:
        enqueue_reading(found.pk)
    return redirect("folder", reader.organization.slug, found.pk)


@form_only
@member_page(Action.IMPORT)
def read_again(request: PageRequest, reader: Reader, reading: int) -> HttpResponse:
    """Has a folder read that was lost. Of several who ask, one has it read: it is claimed."""
    found = reading_of(reader, reading)
    if ask_anew(reading=found):
        enqueue_reading(found.pk)
    return redirect("folder", reader.organization.slug, found.pk)


@form_only
@member_page(Action.IMPORT)
def drop_folder(request: PageRequest, reader: Reader, reading: int) -> HttpResponse:
    """Leaves the folder; nothing of it is stored."""
    found = reading_of(reader, reading)
    try:
        leave_folder(reading=found)
    except NotLookedAt as refusal:
        messages.warning(request, str(refusal))
    else:
        messages.success(request, _("Left. Nothing of it was stored."))
    return redirect("folders", reader.organization.slug)


@member_page()
def folder_findings(request: PageRequest, reader: Reader, reading: int) -> HttpResponse:
    """All findings of the reading as CSV, to be mended beside the files."""
    found = reading_of(reader, reading)
    answer = HttpResponse(
        findings_csv(
            Finding(**{name: plain_cell(cell) for name, cell in one.items()}) for one in found.findings
        ),
        content_type="text/csv; charset=utf-8",
    )
    answer["Content-Disposition"] = f'attachment; filename="findings-{found.pk}.csv"'
    return answer
