"""What the old hose is: by the line printed on it, and by the threads and flanges of its ends.

The forms are asked by GET, so that the address keeps what was read and measured. A field that takes a length
bears its unit in its name, so that an address means the same for every reader.
"""

from typing import Any
from urllib.parse import urlencode

from django import forms
from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from fleet.services.shop.identifying import find_same_ends, find_same_hoses
from fleet.trade.flanges import MEASURES as FLANGE_MEASURES
from fleet.trade.flanges import find_flanges
from fleet.trade.layline import Layline, read_layline
from fleet.trade.threads import MM_PER_INCH, SEATS, find_threads, next_measures

from ..fields import NumberField
from ..members import PageRequest, Reader, member_page

LONGEST_LINE = 300
MM_PER = {"mm": 1.0, "in": MM_PER_INCH}


class LineForm(forms.Form):
    line = forms.CharField(
        label=gettext_lazy("What is printed on the hose, as it reads"),
        max_length=LONGEST_LINE,
        widget=forms.TextInput(attrs={"class": "printed-line", "autocomplete": "off", "spellcheck": "false"}),
    )


class MeasuredForm(forms.Form):
    """A form of lengths, each in the reader's unit, of which none must be given."""

    lengths: dict[str, Any] = {}

    def __init__(self, data, *, unit: str) -> None:
        super().__init__(data)
        self.unit = unit
        others = self.fields
        self.fields = {
            f"{name}_{unit}": NumberField(
                label=_("%(what)s (%(unit)s)") % {"what": label, "unit": unit},
                min_value=0.1 / MM_PER[unit],
                max_value=300 / MM_PER[unit],
                required=False,
                widget=forms.NumberInput(attrs={"step": "any", "inputmode": "decimal"}),
            )
            for name, label in self.lengths.items()
        } | others

    def millimetres(self) -> dict[str, float | None]:
        """Each length in mm by its name."""
        told = {name: self.cleaned_data[f"{name}_{self.unit}"] for name in self.lengths}
        return {name: None if value is None else value * MM_PER[self.unit] for name, value in told.items()}


class ThreadForm(MeasuredForm):
    lengths = {
        "male": gettext_lazy("Male thread, outside"),
        "female": gettext_lazy("Female thread, inside"),
        "tube": gettext_lazy("Tube or its recess"),
    }
    threads_per_inch = NumberField(
        label=gettext_lazy("Threads per inch"), min_value=4, max_value=60, required=False
    )
    pitch_mm = NumberField(
        label=gettext_lazy("Or its pitch (mm)"), min_value=0.3, max_value=6, required=False
    )
    seat = forms.ChoiceField(
        label=gettext_lazy("How it seals"),
        choices=[
            ("", gettext_lazy("not looked at")),
            *((seat, gettext_lazy(words)) for seat, words in SEATS.items()),
        ],
        required=False,
    )


class FlangeForm(MeasuredForm):
    lengths = {
        "bolts_long": gettext_lazy("Bolts apart, long way"),
        "bolts_short": gettext_lazy("Bolts apart, short way"),
        "head": gettext_lazy("Head, across"),
        "head_thickness": gettext_lazy("Head, thickness"),
    }


@member_page()
def layline(request: PageRequest, reader: Reader) -> HttpResponse:
    """What the line says, what of it was not understood, and the hoses of the catalogue that are the same."""
    form = LineForm(request.GET if "line" in request.GET else None)
    context = {"title": _("What the old one is"), "way": "build", "form": form}
    if form.is_valid():
        read = read_layline(form.cleaned_data["line"], today=timezone.localdate())
        context |= {
            "read": read,
            "missing": set(read.missing),
            "same": find_same_hoses(organization=reader.organization, layline=read),
            "stand_ins_query": _stand_ins_query(read),
        }
    return render(request, "bench/layline.html", context)


def _stand_ins_query(read: Layline) -> str:
    """What is asked of the page that says what may stand in; empty without construction and size."""
    if read.construction is None or read.dash is None:
        return ""
    said: dict[str, Any] = {"construction": read.construction, "dash": read.dash}
    edition = next((one.edition for one in read.standards if one.edition), None)
    if edition:
        said["edition"] = edition
    if read.pressure:
        # To the last digit: a hose of the same rating must not fall short of a rounded one.
        said |= {"rated": read.pressure.pressure_bar, "unit": "bar"}
    return urlencode(said)


@member_page()
def ends(request: PageRequest, reader: Reader) -> HttpResponse:
    """Every thread and flange that the measured may be, what looks like it, and what to measure next."""
    unit = reader.units.length_unit
    flange_asked = any(name.startswith(("bolts", "head")) for name in request.GET)
    threads = ThreadForm(request.GET if request.GET and not flange_asked else None, unit=unit)
    flanges = FlangeForm(request.GET if flange_asked else None, unit=unit)
    context = {"title": _("What its ends are"), "way": "build", "threads": threads, "flanges": flanges}
    if threads.is_valid():
        mm, said = threads.millimetres(), threads.cleaned_data
        candidates = find_threads(
            male_mm=mm["male"],
            female_mm=mm["female"],
            tube_mm=mm["tube"],
            threads_per_inch=said["threads_per_inch"],
            pitch_mm=said["pitch_mm"],
            seat=said["seat"] or None,
        )
        open_ones = [one for one in candidates if one.verdict != "looks_alike"]
        context |= {
            "asked": True,
            "open": open_ones,
            "same": find_same_ends(
                organization=reader.organization, threads=[one.thread for one in open_ones]
            ),
            "alike": [one for one in candidates if one.verdict == "looks_alike"],
            "next": next_measures(candidates),
        }
    if flanges.is_valid():
        mm = flanges.millimetres()
        context["found_flanges"] = find_flanges(
            **{name: mm[name.removesuffix("_mm")] for name in FLANGE_MEASURES}
        )
    return render(request, "bench/ends.html", context)
