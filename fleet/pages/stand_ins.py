"""Pages that say what may stand in: for a position of a machine, or for a worn hose by its layline."""

from django import forms
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from fleet.models import Part, PartKind, Position, Site
from fleet.services.stand_ins import find_stand_ins_for, find_stand_ins_for_worn

from .members import PageRequest, Reader, member_page

PRESSURE_UNITS = (("bar", "bar"), ("psi", "psi"), ("mpa", "MPa"))


@member_page()
def stand_ins(request: PageRequest, reader: Reader, machine: str, position: str) -> HttpResponse:
    """Every hose of the catalogue judged for one position: what may stand in, and why the rest may not."""
    found = get_object_or_404(
        Position.objects.of(reader.organization).select_related("machine__site", "design"),
        machine__key=machine,
        key=position,
    )
    context = {
        "title": _("What may stand in: %(position)s") % {"position": found},
        "way": "machines",
        "position": found,
        "found": find_stand_ins_for(organization=reader.organization, position=found, units=reader.units),
    }
    return render(request, "register/stand_ins.html", context)


class WornHose(forms.Form):
    """What the layline of a worn hose says of it."""

    construction = forms.CharField(label=gettext_lazy("Construction, such as 100R2 or EN 857 2SC"))
    edition = forms.CharField(label=gettext_lazy("Edition of the standard, if printed"), required=False)
    dash = forms.FloatField(label=gettext_lazy("Dash size"), min_value=1, max_value=64)
    rated = forms.FloatField(
        label=gettext_lazy("Rated pressure, as printed"), min_value=0, max_value=100_000, required=False
    )
    unit = forms.ChoiceField(label=gettext_lazy("Its unit"), choices=PRESSURE_UNITS, required=False)
    end_a = forms.ChoiceField(label=gettext_lazy("The end on it, if it is known"), required=False)
    end_b = forms.ChoiceField(label=gettext_lazy("Its other end; empty: alike"), required=False)

    def __init__(self, *given, ends: list[tuple[str, str]], **more) -> None:
        super().__init__(*given, **more)
        for name in ("end_a", "end_b"):
            field = self.fields[name]
            assert isinstance(field, forms.ChoiceField)
            field.choices = [("", _("not known")), *ends]


def ends_of(reader: Reader) -> list[tuple[str, str]]:
    """The ends of the catalogue to choose from, by key, with their seat and thread."""
    rows = Part.objects.of(reader.organization).filter(kind=PartKind.HOSE_END).order_by("key")
    told = rows.values_list("key", "end_style", "thread")
    return [(key, ", ".join(filter(None, (key, style, thread)))) for key, style, thread in told]


@member_page()
def worn_stand_ins(request: PageRequest, reader: Reader) -> HttpResponse:
    """What may stand in for a worn hose of which no position is known, asked by what is printed on it."""
    start = {"unit": reader.units.pressure_unit, "end_a": request.GET.get("end_a", "")}
    asked = request.GET if "construction" in request.GET else None
    form = WornHose(asked, initial=start, ends=ends_of(reader))
    site = Site.objects.of(reader.organization).order_by("key").first()
    found = None
    if form.is_valid():
        said = form.cleaned_data
        found = find_stand_ins_for_worn(
            organization=reader.organization,
            construction=said["construction"],
            edition=said["edition"],
            dash=said["dash"],
            rated_pressure=said["rated"],
            pressure_unit=said["unit"] or reader.units.pressure_unit,
            end_a=said["end_a"],
            end_b=said["end_b"],
            units=reader.units,
            site=request.GET.get("site", site.key if site else ""),
        )
    context = {
        "title": _("What may stand in for a worn hose"),
        "way": "build",
        "form": form,
        "position": None,
        "found": found,
    }
    return render(request, "register/stand_ins.html", context)
