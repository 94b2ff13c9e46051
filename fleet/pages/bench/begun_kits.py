"""Kits at the bench: begun, supplied and taken apart, and what every page shows of them and of cuts made."""

from functools import partial

from django import forms
from django.contrib import messages
from django.db.models import Exists, F, OuterRef, Q, QuerySet
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _

from fleet.models import LINES, Assembly, Design, Kit, KitAssembly, KitPart, KitPartState, KitState
from fleet.permissions import Action
from fleet.services.errors import ServiceError
from fleet.services.shop.errors import KitLacks
from fleet.services.shop.kits import begin_assembly, begin_kit, stale_positions, supply_kit, take_apart_kit
from fleet.services.stock.shelves import counted_in, is_hose

from ..long_selects import LongSelect
from ..members import PageRequest, Reader, form_only, member_page
from ..paging import page_of

KITS = 20


def open_assemblies(reader: Reader) -> QuerySet[KitAssembly]:
    """What is being built, and what is made at the bench and not fitted, or fitted where it was made for and
    the plan in force does not know it yet."""
    being_built = Q(assembly=None, kit__state=KitState.BEGUN)
    made = Q(assembly__isnull=False, assembly__position=None)
    began = reader.plan and (reader.plan.started_at or reader.plan.finished_at)
    if began:
        # By the record and not by its day: what was fitted that day before the plan began it did read.
        read = Assembly.history.filter(id=OuterRef("assembly"), history_date__lte=began)
        fitted = Q(assembly__position=F("position"), assembly__removed_on=None)
        made |= fitted & ~Q(Exists(read.filter(position=OuterRef("position"))))
    rows = KitAssembly.objects.of(reader.organization).filter(being_built | made)
    return rows.select_related(
        "kit__begun_by", "kit__site", "kit__machine", "position__machine", "design", "assembly"
    ).order_by("pk")


def place_of(row: KitAssembly) -> tuple[str, str, str]:
    """What the plan's lines say of it: machine, or the kit where it stands by; position; design."""
    where = (row.position.machine.key, row.position.key) if row.position else (row.kit.key, "")
    return (*where, row.design.key)


def begun_for(reader: Reader, kits: list) -> None:
    """Gives each of the plan's kits `begun`, what of it is at the bench or made since the plan, `of` how many
    assemblies it is, and `waits`, whether some of what is begun lacks its parts."""
    mine = Q(position__machine__key__in={kit.machine for kit in kits if kit.machine})
    mine |= Q(position=None, kit__key__in={kit.kit for kit in kits})
    held = KitPart.objects.filter(kit_assembly=OuterRef("pk"), state=KitPartState.RESERVED)
    rows = open_assemblies(reader).filter(mine).annotate(holds=Exists(held))
    by_place = {place_of(row): row for row in rows}
    for kit in kits:
        places = dict.fromkeys((line.position, line.design) for line in kit.lines)
        found = (by_place.get((kit.machine or kit.kit, position, design)) for position, design in places)
        kit.begun = [row for row in found if row]
        kit.of = len(places)
        kit.begun_whole = len(kit.begun) == len(places) > 0
        kit.waits = any(not row.assembly and not row.holds for row in kit.begun)
        kit.made_whole = kit.begun_whole and all(row.assembly for row in kit.begun)


def cuts_begun(reader: Reader) -> list[int]:
    """The ids of the plan's cuts that the bench has begun or made since."""
    held = KitPart.objects.filter(kit_assembly=OuterRef("pk"), state=KitPartState.RESERVED)
    rows = open_assemblies(reader).filter(Q(assembly__isnull=False) | Exists(held))
    places = {place_of(row) for row in rows}
    if not places or reader.plan is None:
        return []
    names = {name for name, _position, _design in places}
    kits = LINES["kits"].objects.filter(plan=reader.plan).filter(Q(machine__in=names) | Q(kit__in=names))
    name_of = {kit: machine or kit for kit, machine in kits.values_list("kit", "machine")}
    lines = LINES["kit_lines"].objects.filter(plan=reader.plan, kit__in=name_of, cut_length_mm__isnull=False)
    taken = {
        (kit, line)
        for kit, line, position, design in lines.values_list("kit", "line", "position", "design")
        if (name_of[kit], position, design) in places
    }
    cuts = LINES["cut_list"].objects.filter(plan=reader.plan, kit__in={kit for kit, _line in taken})
    return [pk for pk, kit, line in cuts.values_list("pk", "kit", "line") if (kit, line) in taken]


def with_rows(kits: list) -> list:
    """The begun kits, each with its `rows`: the assemblies, each with the parts it holds (`held`)."""
    rows = KitAssembly.objects.filter(kit__in=kits).select_related("design", "position__machine", "assembly")
    held = KitPart.objects.filter(kit_assembly=OuterRef("pk"), state=KitPartState.RESERVED)
    by_kit: dict[int, list] = {}
    for row in rows.annotate(holds=Exists(held)).order_by("kit", "number"):
        by_kit.setdefault(row.kit_id, []).append(row)
    parts = (
        KitPart.objects.filter(kit_assembly__kit__in=kits, state=KitPartState.RESERVED)
        .select_related("part", "substitute_for")
        .order_by("pk")
    )
    of_row: dict[int, list[KitPart]] = {}
    for part in parts:
        of_row.setdefault(part.kit_assembly_id, []).append(part)
    for kit in kits:
        kit.rows = by_kit.get(kit.pk, [])
        kit.waits = any(row.assembly_id is None and not row.holds for row in kit.rows)
        for row in kit.rows:
            row.held = of_row.get(row.pk, [])
            row.takes = takes_of(row.held)
    return kits


def takes_of(parts: list[KitPart]) -> list[dict]:
    """What an assembly takes, each part of each lot once: part, substitute_for, lot, quantity, counted_in."""
    takes: dict[tuple, dict] = {}
    for one in parts:
        fresh = {
            "part": one.part,
            "substitute_for": one.substitute_for,
            "lot": one.lot,
            "is_cut": is_hose(one.part),
            "counted_in": counted_in(one.part),
            "quantity": 0.0,
        }
        takes.setdefault((one.part_id, one.substitute_for_id, one.lot), fresh)["quantity"] += one.quantity
    return list(takes.values())


@member_page()
def begun(request: PageRequest, reader: Reader) -> HttpResponse:
    """The kits that are being built, the first needed first, and which no changeout asks for any more."""
    rows = Kit.objects.of(reader.organization).filter(state=KitState.BEGUN)
    rows = rows.select_related("site", "machine", "begun_by").order_by("needed_by", "key")
    page = page_of(request, rows, size=KITS)
    kits = with_rows(list(page))
    stale = stale_positions(reader.organization)
    for kit in kits:
        kit.stale = stale.get(kit.pk, [])
    context = {
        "title": _("At the bench"),
        "way": "build",
        "page": page,
        "kits": kits,
    }
    return render(request, "bench/begun.html", context)


@form_only
@member_page(Action.RECORD_BUILD)
def begin(request: PageRequest, reader: Reader, kit: str) -> HttpResponse:
    """Begins a kit of the plan in force; with `partly` what of it can be built."""
    act = partial(begin_kit, kit=kit, partly=request.POST.get("partly") == "yes")
    return _begun_or_told(request, reader, act, ("kit", kit))


@form_only
@member_page(Action.RECORD_BUILD)
def supply(request: PageRequest, reader: Reader, kit: str) -> HttpResponse:
    """Sets parts aside for the assemblies of a begun kit that wait."""
    return _begun_or_told(request, reader, partial(supply_kit, kit=kit), ("begun",))


def _begun_or_told(request: PageRequest, reader: Reader, act, back: tuple) -> HttpResponse:
    """The bench's page after `act`, or the page it was asked from with what speaks against it."""
    slug = reader.organization.slug
    try:
        done = act(organization=reader.organization, user=request.user)
    except KitLacks as refusal:
        messages.error(request, str(refusal))
        again = f"?partly={refusal.ready}" if refusal.ready and len(back) > 1 else ""
        answer = redirect(back[0], slug, *back[1:])
        answer["Location"] += again
        return answer
    except ServiceError as refusal:
        messages.error(request, str(refusal))
        return redirect(back[0], slug, *back[1:])
    messages.success(request, _("%(kit)s is at the bench: its parts are set aside.") % {"kit": done.kit})
    for lack in done.waiting:
        messages.warning(request, _("It waits: %(lack)s") % {"lack": lack})
    return redirect("begun", slug)


class BeginForm(forms.Form):
    """What to build that no plan asked for."""

    def __init__(self, data, *, sites: list[tuple[str, str]], **given) -> None:
        super().__init__(data, **given)
        self.fields["site"] = forms.ChoiceField(label=_("At which site"), choices=sites, widget=LongSelect)
        self.fields["design"] = forms.CharField(label=_("Design"), required=False, max_length=80)
        self.fields["machine"] = forms.CharField(
            label=_("For which machine; empty: to stand by"), required=False, max_length=80
        )
        self.fields["position"] = forms.CharField(label=_("Position"), required=False, max_length=80)


@member_page(Action.RECORD_BUILD)
def begin_one(request: PageRequest, reader: Reader) -> HttpResponse:
    """One assembly at once: for a position that burst, or to stand by."""
    asked = {name: request.GET.get(name, "") for name in ("site", "design", "machine", "position")}
    form = BeginForm(request.POST or None, initial=asked, sites=reader.sites)
    if request.method == "POST" and form.is_valid():
        try:
            done = begin_assembly(organization=reader.organization, user=request.user, **form.cleaned_data)
        except ServiceError as refusal:
            form.add_error(None, str(refusal))
        else:
            return redirect("record_build", reader.organization.slug, done.kit.key, 1)
    context = {
        "title": _("Build one now"),
        "way": "build",
        "form": form,
        "designs": Design.objects.of(reader.organization).exists(),
    }
    return render(request, "bench/begin_one.html", context, status=422 if form.errors else 200)


class ApartForm(forms.Form):
    """Of which assemblies the hose is cut already."""

    def __init__(self, data, *, rows: list) -> None:
        super().__init__(data)
        cuts = [row for row in rows if any(is_hose(part.part) for part in row.held)]
        self.fields["cut"] = forms.TypedMultipleChoiceField(
            label=_("Hose that is cut already"),
            required=False,
            coerce=int,
            choices=[(row.number, f"{row.number}: {row.position or row.design}") for row in cuts],
            widget=forms.CheckboxSelectMultiple,
        )


@member_page(Action.RECORD_BUILD)
def take_apart(request: PageRequest, reader: Reader, kit: str) -> HttpResponse:
    """Gives what a begun kit holds back to the stock, once a person says what is cut already."""
    one = get_object_or_404(Kit.objects.of(reader.organization).select_related("site"), key=kit)
    found = with_rows([one])[0]
    form = ApartForm(request.POST or None, rows=found.rows)
    if request.method == "POST" and form.is_valid():
        try:
            done = take_apart_kit(
                organization=reader.organization, user=request.user, kit=kit, cut=form.cleaned_data["cut"]
            )
        except ServiceError as refusal:
            form.add_error(None, str(refusal))
        else:
            messages.success(request, _("The parts of %(kit)s are given back to stock.") % {"kit": kit})
            for told in done.told:
                messages.success(request, told)
            return redirect("begun", reader.organization.slug)
    context = {
        "title": _("Give back the parts of %(kit)s") % {"kit": kit},
        "way": "build",
        "kit": found,
        "form": form,
    }
    return render(request, "bench/take_apart.html", context, status=422 if form.errors else 200)
