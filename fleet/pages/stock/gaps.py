"""What is not known and worth knowing, and the form on which one such thing is entered."""

from collections.abc import Iterable
from typing import Any

from django import forms
from django.contrib import messages
from django.http import Http404, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _

from fleet.exchange.columns import Kind
from fleet.exchange.schema import FILES_BY_NAME, METER_READINGS, POSITIONS
from fleet.models import LINES
from fleet.permissions import Action
from fleet.services.entered import symbol_of
from fleet.services.errors import FolderRefused, ServiceError
from fleet.services.gaps.entering import ENTERED_ALONE, KnownByNow, Missing, enter_missing, find_missing
from fleet.services.gaps.places import GapPlace, places_of
from fleet.services.signing import REASON_LENGTH
from fleet.templatetags.measures import day, hours, in_unit, money
from fleet.templatetags.trade_words import WORDS

from ..amounts import day_field
from ..members import PageRequest, Reader, member_page
from ..paging import page_of
from ..sheets import plan_sheet, sheet_asked
from ..sorting import Sorting, own_columns

LONGEST = 200
# What a place asks of its hose, which may be on record wrongly: by file and column.
CORRECTED = frozenset(
    (POSITIONS.name, column)
    for column in ("working_pressure_bar", "peak_pressure_bar", "fluid_temperature_c", "bend_radius_mm")
)
NUMBERS = (Kind.NUMBER, Kind.MONEY, Kind.MEASURE)


@member_page()
def gaps(request: PageRequest, reader: Reader) -> HttpResponseBase:
    """What is not known and matters, by the money that knowing it could save in a year."""
    sorting = Sorting.asked(request, own_columns("name", "column", "worth"))
    lines = sorting.sort(LINES["gaps"].objects.filter(plan=reader.plan), "row")
    if sheet_asked(request):
        return plan_sheet(request, "gaps", lines)
    page = page_of(request, lines)
    context = {
        "title": _("Not known, and worth knowing"),
        "way": "order",
        "page": page,
        "gaps": told_gaps(reader, page.object_list),
        "sorting": sorting,
        "entered_alone": ENTERED_ALONE,
    }
    return render(request, "stock/gaps.html", context)


def told_gaps(reader: Reader, lines: Iterable) -> list[dict[str, Any]]:
    """Each line with its place, why it matters in words, and what was entered of it since the plan."""
    lines = list(lines)
    if reader.plan is None or not lines:
        return []
    of_line = {line.pk: (line.kind, line.name, line.column) for line in lines}
    places = places_of(reader.organization, reader.plan, of_line.values())
    return [
        {
            "line": line,
            "place": (place := places.get(of_line[line.pk])),
            "why": WORDS["gap_why"].get(line.column, line.why),
            "stands": told_value(line.kind, line.column, place.stands, reader) if place else "",
        }
        for line in lines
    ]


def told_value(kind: str, column: str, value: Any, reader: Reader) -> str:
    """The value as the reader knows it: 260 bar, 4 May 2026, found worn; '' where there is none."""
    if value is None:
        return ""
    if kind == METER_READINGS.name:
        return hours(value)
    own = FILES_BY_NAME[kind].by_stored_name[column]
    if own.measure:
        return in_unit(value, own.measure, getattr(reader.units, f"{own.measure}_unit"))
    if own.kind is Kind.MONEY:
        return money(value, reader.units)
    if own.kind is Kind.DATE:
        return day(value)
    return str(WORDS.get(column, {}).get(value, value))


class MissingForm(forms.Form):
    """One value, as its column takes it; what is wrong with it the rules of a fleet folder say."""

    seen = forms.CharField(required=False, widget=forms.HiddenInput)

    def __init__(self, data, *, place: Missing, units, corrects: bool, **given) -> None:
        super().__init__(data, initial={"seen": place.stands, "value": place.stands}, **given)
        column = place.column
        self.unit, sign = "", ""
        if column.measure:
            self.unit = getattr(units, f"{column.measure}_unit")
            sign = symbol_of(column.measure, self.unit)
            self.initial["value"] = ""  # what stands there may be in another unit
        elif column.kind is Kind.MONEY:
            sign = units.currency
        told = _(column.help)
        label = f"{told[:1].upper()}{told[1:]}" + (f" ({sign})" if sign else "")
        self.fields["value"] = self._field(column, label)
        self.fields["value"].required = True
        if corrects:
            why = _("How you know (it stands beside your name)")
            self.fields["reason"] = forms.CharField(label=why, max_length=REASON_LENGTH)

    @staticmethod
    def _field(column, label: str) -> forms.Field:
        if column.choices:
            words = WORDS.get(column.name, {})
            return forms.ChoiceField(
                label=label, choices=[(one, words.get(one, one.replace("_", " "))) for one in column.choices]
            )
        if column.kind is Kind.DATE:
            return day_field(label)
        typed = {"inputmode": "decimal"} if column.kind in NUMBERS else {}
        return forms.CharField(label=label, max_length=LONGEST, widget=forms.TextInput(attrs=typed))


def told_now(asked: dict[str, str], place: Missing, reader: Reader) -> str:
    """What the register has there now, as the reader knows it; empty where it has nothing."""
    if place.column.kind in NUMBERS and place.stands:
        return told_value(asked["file"], asked["column"], float(place.stands), reader)
    return place.stands


def told_record(reader: Reader, asked: dict[str, str], place: Missing) -> dict[str, Any]:
    """What is on record of a place, as a gap is told that somebody has filled."""
    return {
        "line": None,
        "place": GapPlace(place.row["machine"], place.row["position"]),
        "why": _(
            "Whether a hose bears this place is judged by it, so whoever changes it must know it is so."
        ),
        "stands": told_now(asked, place, reader),
    }


def told_place(told: dict[str, Any]) -> str:
    """What the gap is of, by the keys that the fleet calls it by: PR-02, main cylinder 1."""
    place = told["place"]
    return ", ".join(filter(None, (place.machine, place.position, place.assembly, place.part)))


@member_page(Action.IMPORT)
def enter_gap(request: PageRequest, reader: Reader) -> HttpResponse:
    """One thing that the plan found missing, entered; or what a place asks of its hose, corrected."""
    asked = {name: request.GET.get(name, "") for name in ("file", "name", "column")}
    line = LINES["gaps"].objects.filter(
        plan=reader.plan, kind=asked["file"], name=asked["name"], column=asked["column"]
    )
    gap = line.first()
    place = find_missing(organization=reader.organization, **asked)
    if place is None or (gap is None and (asked["file"], asked["column"]) not in CORRECTED):
        raise Http404(_("The plan in force names nothing of that kind that can be entered here."))
    what = WORDS["gap"].get(asked["column"], _(place.column.help))
    told = told_gaps(reader, [gap])[0] if gap else told_record(reader, asked, place)
    form = MissingForm(request.POST or None, place=place, units=reader.units, corrects=gap is None)
    if request.method == "POST" and form.is_valid():
        try:
            outcome = enter_missing(
                organization=reader.organization,
                user=request.user,
                file=asked["file"],
                name=asked["name"],
                column=asked["column"],
                text=str(form.cleaned_data["value"]),
                unit=form.unit,
                seen=form.cleaned_data["seen"],
                **({"reason": form.cleaned_data["reason"]} if gap is None else {}),
            )
        except FolderRefused as refusal:
            for one in refusal.findings:
                form.add_error("value", f"{one.wrong} {one.right}")
        except KnownByNow as refusal:
            messages.error(request, str(refusal))
            return redirect(request.get_full_path())  # with what stands there now
        except ServiceError as refusal:
            form.add_error(None, str(refusal))
        else:
            entered = (
                _("Entered: %(what)s, %(place)s. The next plan counts on it, and names it no more.")
                if gap
                else _("Corrected: %(what)s, %(place)s. The next plan judges by it.")
            )
            messages.success(request, entered % {"what": what, "place": told_place(told)})
            for one in outcome.findings:
                messages.warning(request, f"{one.wrong} {one.right}")
            if gap is None:
                return redirect("machine", reader.organization.slug, told["place"].machine)
            return redirect("gaps", reader.organization.slug)
    context = {
        "title": f"{told_place(told)}: {what}",
        "way": "order",
        "form": form,
        "gap": told,
        "what": what,
        "stands": told_now(asked, place, reader),
    }
    return render(request, "stock/enter_gap.html", context, status=422 if form.errors else 200)
