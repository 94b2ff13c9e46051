"""Pages that say what may stand in: for a position of a machine, or for a worn hose by its layline."""

from django import forms
from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from fleet.models import Part, PartKind, Position, Site
from fleet.permissions import Action
from fleet.services.errors import ServiceError
from fleet.services.replacing.designing import Make, choose_design, find_candidate, free_design_key
from fleet.services.replacing.stand_ins import design_of, find_stand_ins_for, find_stand_ins_for_worn
from fleet.services.signing import REASON_LENGTH

from ..amounts import KeptText
from ..fields import NumberField
from ..members import PageRequest, Reader, member_page

CORRECTED = (
    ("working_pressure_bar", gettext_lazy("the working pressure")),
    ("peak_pressure_bar", gettext_lazy("the peak pressure")),
    ("fluid_temperature_c", gettext_lazy("the fluid's temperature")),
    ("bend_radius_mm", gettext_lazy("the tightest bend")),
)
PRESSURE_UNITS = (("bar", "bar"), ("psi", "psi"), ("mpa", "MPa"))


@member_page()
def stand_ins(request: PageRequest, reader: Reader, machine: str, position: str) -> HttpResponse:
    """Every hose of the catalogue judged for one position: what may stand in, and why the rest may not."""
    found = position_of(reader, machine, position)
    context = {
        "title": _("What may stand in: %(position)s") % {"position": found},
        "way": "machines",
        "position": found,
        "found": find_stand_ins_for(organization=reader.organization, position=found, units=reader.units),
        "corrected": CORRECTED,
    }
    return render(request, "register/stand_ins.html", context)


def position_of(reader: Reader, machine: str, position: str) -> Position:
    """The position of those keys. Raises Http404."""
    drawn = [f"design__{part}" for part in ("hose_part", "end_a_part", "end_b_part")]
    rows = Position.objects.of(reader.organization).select_related("machine__site", *drawn)
    return get_object_or_404(rows, machine__key=machine, key=position)


class DesignForm(forms.Form):
    """What the new design is called, and why it takes the place of the old one."""

    key = KeptText(label=gettext_lazy("Its drawing number"))
    reason = forms.CharField(label=gettext_lazy("Why (it stands beside your name)"), max_length=REASON_LENGTH)
    competent = forms.BooleanField(
        label=gettext_lazy("It is critical: I am competent to decide what belongs here"), required=False
    )

    def __init__(self, *given, critical: bool, **more) -> None:
        super().__init__(*given, **more)
        if not critical:
            del self.fields["competent"]


@member_page(Action.IMPORT)
def choose(request: PageRequest, reader: Reader, machine: str, position: str) -> HttpResponse:
    """One candidate that may stand in, made what belongs in the position from now on."""
    found = position_of(reader, machine, position)
    make = Make(*(request.GET.get(name, "") for name in ("hose", "end_a", "end_b")))
    drawn = design_of(found)
    candidate = find_candidate(reader.organization, found, make, reader.units) if drawn else None
    if drawn is None or candidate is None:
        raise Http404(_("That is not among what is known to pass all that the position asks."))
    start = {"key": free_design_key(reader.organization, drawn)}
    form = DesignForm(request.POST or None, initial=start, critical=bool(found.critical))
    if request.method == "POST" and form.is_valid():
        try:
            design = choose_design(
                organization=reader.organization,
                user=request.user,
                position=found,
                make=make,
                **form.cleaned_data,
            )
        except ServiceError as refusal:
            form.add_error(None, str(refusal))
        else:
            told = {"design": design, "position": found}
            messages.success(
                request,
                _("%(design)s belongs in %(position)s from now on; the next plan counts on it.") % told,
            )
            return redirect("machine", reader.organization.slug, machine)
    context = {
        "title": _("What belongs in %(position)s") % {"position": found},
        "way": "machines",
        "position": found,
        "drawn": drawn,
        "one": candidate,
        "form": form,
    }
    return render(request, "register/choose_design.html", context, status=422 if form.errors else 200)


class WornHose(forms.Form):
    """What the layline of a worn hose says of it."""

    construction = forms.CharField(label=gettext_lazy("Construction, such as 100R2 or EN 857 2SC"))
    edition = forms.CharField(label=gettext_lazy("Edition of the standard, if printed"), required=False)
    dash = NumberField(label=gettext_lazy("Dash size"), min_value=1, max_value=64)
    rated = NumberField(
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
