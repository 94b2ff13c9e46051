"""The pages on which a spreadsheet of somebody's own shape is matched to a fleet folder, column by column."""

from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.text import format_lazy
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from fleet.exchange.foreign import Table
from fleet.exchange.guessing import guess_targets
from fleet.exchange.mapping import (
    MATCHED,
    Match,
    Target,
    doubtful_days,
    doubtful_sizes,
    lacking,
    target_of,
    told_manners,
)
from fleet.exchange.schema import FILES_BY_NAME
from fleet.exchange.sources import Unreadable
from fleet.jobs import enqueue_reading
from fleet.permissions import Action
from fleet.services.errors import NotLookedAt, SheetNotMatched, UploadNotReadable
from fleet.services.folders.matching import (
    match_again,
    match_sheet,
    receive_sheet,
    remembered_match,
    sheet_to_match,
)

from ..members import PageRequest, Reader, form_only, member_page
from .sending import FolderForm, folders_page, reading_of, units_to_enter

CLASHES_SHOWN = DOUBTS_SHOWN = 20
SAMPLES_SHOWN = 3
CHOICES = [
    ("", gettext_lazy("left out")),
    *(
        (
            name,
            [
                (f"{name}.{header}", format_lazy("{}: {}", header, gettext_lazy(column.help)))
                for header, column in FILES_BY_NAME[name].by_header.items()
            ],
        )
        for name in MATCHED
    ),
]
ORDERS = [
    ("day", gettext_lazy("the day first: 03/04 is the third of April")),
    ("month", gettext_lazy("the month first: 03/04 is the fourth of March")),
]


class SheetForm(forms.Form):
    sheet = forms.FileField(error_messages={"required": gettext_lazy("Choose the spreadsheet first.")})


class MatchForm(forms.Form):
    """A select for each column of the table, and what is asked for besides."""

    def __init__(self, table: Table, sent=None, match: Match | None = None) -> None:
        super().__init__(sent)
        self.table = table
        targets = match.columns if match else {}
        for place, header in enumerate(table.header):
            chosen = targets.get(header)
            self.fields[f"column_{place}"] = forms.ChoiceField(
                label=header, choices=CHOICES, required=False, initial=chosen.code if chosen else ""
            )
        self.first = match or Match({})

    def matched(self) -> Match:
        """The match that was sent, or the one that the form begins with."""
        if not self.is_bound:
            return self.first
        columns = {}
        for place, header in enumerate(self.table.header):
            target = target_of(self.data.get(f"column_{place}", ""))
            if target:
                columns[header] = target
        constants = {
            name.removeprefix("all_"): text.strip()
            for name, text in self.data.items()
            if name.startswith("all_") and text.strip() and target_of(name.removeprefix("all_"))
        }
        order = self.data.get("day_order", "")
        return Match(columns, constants, order if order in dict(ORDERS) else "")

    @property
    def columns(self) -> list[dict[str, Any]]:
        """Each column of the table with its field, its first values, and how they are read."""
        told = told_manners(self.table, self.matched())
        return [
            {
                "field": self[f"column_{place}"],
                "samples": self.table.texts(header)[:SAMPLES_SHOWN],
                "told": told.get(header, ""),
            }
            for place, header in enumerate(self.table.header)
        ]


def twice(match: Match) -> list[tuple[str, str]]:
    """Pairs of headers that are matched to one column, in whatever unit."""
    seen: dict[tuple[str, str], str] = {}
    pairs = []
    for header, target in match.columns.items():
        first = seen.setdefault((target.file, target.column.name), header)
        if first != header:
            pairs.append((first, header))
    return pairs


def asked_for(match: Match, sent: bool) -> list[dict[str, Any]]:
    """What no column gives, each with its name in the form, what it says, and what was entered for it.

    Of what was `sent` without it, `fault` says what is wrong.
    """
    wanting = {one.code for one in lacking(match)} if sent else set()
    asked = []
    for one in lacking(Match(match.columns, {}, match.day_order)):
        given = match.constants.get(one.code, "")
        fault = _("This is still asked for.") if one.code in wanting else ""
        if fault and given:
            named = (
                _("“%(given)s” would become the name of a part. Have the columns above left out instead.")
                if one.file == "designs"
                else _("“%(given)s” would become a name here. Enter what it is called.")
            )
            fault = named % {"given": given}
        asked.append(
            {
                "name": f"all_{one.code}",
                "target": one,
                "help": _(one.column.help),
                "choices": one.column.choices,
                "given": given,
                "fault": fault,
            }
        )
    return asked


def of_designs(match: Match) -> list[str]:
    """The headers that are matched to what a design says of a hose."""
    return [header for header, target in match.columns.items() if target.file in ("designs", "parts")]


@form_only
@member_page(Action.IMPORT)
def send_sheet(request: PageRequest, reader: Reader) -> HttpResponse:
    """Takes a spreadsheet in and leads to the page where its columns are matched."""
    form = SheetForm(request.POST, request.FILES)
    if form.is_valid():
        try:
            reading = receive_sheet(
                organization=reader.organization, user=request.user, file=form.cleaned_data["sheet"]
            )
        except UploadNotReadable as refusal:
            form.add_error("sheet", refusal.data["fault"] + ".")
        else:
            return redirect("match_columns", reader.organization.slug, reading.pk)
    return folders_page(request, reader, FolderForm(), sheet_form=form, status=422)


@member_page(Action.IMPORT)
def match_columns(request: PageRequest, reader: Reader, reading: int) -> HttpResponse:
    """What each column of the spreadsheet means; when all is said, the folder it makes is looked at."""
    found = reading_of(reader, reading)
    title = request.GET.get("sheet", "")
    try:
        table = sheet_to_match(found, title)
    except NotLookedAt:
        return redirect("folder", reader.organization.slug, found.pk)
    except Unreadable as refusal:  # one of the workbook's other sheets: its first one was read when it came
        messages.warning(request, f"{refusal.wrong} {refusal.right}")
        return redirect("match_columns", reader.organization.slug, found.pk)
    remembered = remembered_match(reader.organization, table.header)
    first = remembered or Match(guess_targets(table.header, units_to_enter(reader)))
    form = MatchForm(table, request.POST if request.method == "POST" else None, first)
    match = form.matched()
    refused, clashes, on_record = "", [], []
    if request.method == "POST":
        if pairs := twice(match):
            refused = _("%(one)s and %(other)s are matched to the same column. Leave one of them out.") % {
                "one": pairs[0][0],
                "other": pairs[0][1],
            }
        else:
            try:
                match_sheet(reading=found, user=request.user, title=title, match=match)
            except SheetNotMatched as refusal:
                refused, clashes, on_record = str(refusal), refusal.clashes, refusal.on_record
            else:
                enqueue_reading(found.pk)
                return redirect("folder", reader.organization.slug, found.pk)
    context = {
        "title": _("Match the columns"),
        "way": "folders",
        "reading": found,
        "table": table,
        "columns": form.columns,
        "remembered": remembered is not None and request.method == "GET",
        "asked": (asked := asked_for(match, request.method == "POST")),
        "without_design": of_designs(match) if any(one["target"].file == "designs" for one in asked) else [],
        "doubtful": doubtful_days(table, match)[:3],
        "sizes": doubtful_sizes(table, match)[:DOUBTS_SHOWN],
        "orders": ORDERS,
        "order": match.day_order,
        "refused": refused,
        "nothing": not match.columns,
        "clashes": clashes[:CLASHES_SHOWN],
        "clash_count": len(clashes),
        "on_record": on_record[:CLASHES_SHOWN],
        "on_record_count": len(on_record),
        "composed": composed(match),
    }
    return render(request, "imports/match.html", context, status=422 if refused else 200)


@form_only
@member_page(Action.IMPORT)
def match_anew(request: PageRequest, reader: Reader, reading: int) -> HttpResponse:
    """Leads back from what came of a sheet to the matching of its columns."""
    found = reading_of(reader, reading)
    try:
        match_again(reading=found)
    except NotLookedAt as refusal:
        messages.warning(request, str(refusal))
        return redirect("folder", reader.organization.slug, found.pk)
    keys = [reader.organization.slug, found.pk]
    return redirect(reverse("match_columns", args=keys, query={"sheet": found.made_of["title"]}))


def composed(match: Match) -> list[Target]:
    """The keys that are put together from the row, because no column gives them."""
    return [
        Target(file, name)
        for file, name in (("installations", "assembly"), ("designs", "design"))
        if file in match.files and not match.header_of(file, name)
    ]
