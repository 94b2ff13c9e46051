"""What is not known and worth knowing, and the form on which one such thing is entered."""

from django import forms
from django.contrib import messages
from django.http import Http404, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _

from fleet.exchange.columns import Kind
from fleet.models import LINES
from fleet.permissions import Action
from fleet.services.entered import symbol_of
from fleet.services.errors import FolderRefused, ServiceError
from fleet.services.gaps import ENTERED_ALONE, KnownByNow, Missing, enter_missing, find_missing
from fleet.templatetags.trade_words import WORDS

from .amounts import day_field
from .members import PageRequest, Reader, member_page
from .paging import page_of
from .sheets import plan_sheet, sheet_asked
from .sorting import Sorting, own_columns

LONGEST = 200
NUMBERS = (Kind.NUMBER, Kind.MONEY, Kind.MEASURE)


@member_page()
def gaps(request: PageRequest, reader: Reader) -> HttpResponseBase:
    """What is not known and matters, by the money that knowing it could save in a year."""
    sorting = Sorting.asked(request, own_columns("name", "column", "kind", "worth"))
    lines = sorting.sort(LINES["gaps"].objects.filter(plan=reader.plan), "row")
    if sheet_asked(request):
        return plan_sheet(request, "gaps", lines)
    context = {
        "title": _("Not known, and worth knowing"),
        "way": "order",
        "page": page_of(request, lines),
        "sorting": sorting,
        "entered_alone": ENTERED_ALONE,
    }
    return render(request, "stock/gaps.html", context)


class MissingForm(forms.Form):
    """One value, as its column takes it; what is wrong with it the rules of a fleet folder say."""

    seen = forms.CharField(required=False, widget=forms.HiddenInput)

    def __init__(self, data, *, place: Missing, units, **given) -> None:
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


@member_page(Action.IMPORT)
def enter_gap(request: PageRequest, reader: Reader) -> HttpResponse:
    """One thing that the plan in force found missing, entered."""
    asked = {name: request.GET.get(name, "") for name in ("file", "name", "column")}
    line = LINES["gaps"].objects.filter(
        plan=reader.plan, kind=asked["file"], name=asked["name"], column=asked["column"]
    )
    gap = line.first()
    place = find_missing(organization=reader.organization, **asked)
    if gap is None or place is None:
        raise Http404(_("The plan in force names nothing of that kind that can be entered here."))
    form = MissingForm(request.POST or None, place=place, units=reader.units)
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
            messages.success(
                request,
                _("Entered: %(column)s of %(name)s. The next plan counts on it, and names it no more.")
                % asked,
            )
            for one in outcome.findings:
                messages.warning(request, f"{one.wrong} {one.right}")
            return redirect("gaps", reader.organization.slug)
    context = {"title": _("Enter what is missing"), "way": "order", "form": form, "gap": gap, "place": place}
    return render(request, "stock/enter_gap.html", context, status=422 if form.errors else 200)
