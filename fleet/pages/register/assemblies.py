"""One assembly with its life; all of a lot, a bench, a part, a gauge or a place, and one act for them."""

import datetime
from collections.abc import Iterable

from django import forms
from django.contrib import messages
from django.db.models import OuterRef, Subquery
from django.http import HttpResponse, QueryDict
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from fleet.frames.tags import with_lengths_made
from fleet.models import LINES, Assembly, Build, Design, KitPart, KitPartState, StockPiece
from fleet.permissions import Action
from fleet.services.decisions.tracing import (
    GROUPS,
    Asked,
    ask_inspections,
    in_place,
    set_changeouts,
    trace_assemblies,
)
from fleet.services.errors import ServiceError
from fleet.services.stock.shelves import counted_in

from ..fields import DayField
from ..members import PageRequest, Reader, form_only, member_page
from ..paging import page_of
from ..sheets import sheet_asked, sheet_of
from ..sorting import Sorting
from .forecast_lines import chance_curve, plan_says
from .histories import change_history
from .lives import life_of, measured_crimps, neighbours, taken_for

READY_SHOWN = 50
SHEET = {
    "assembly": "key",
    "machine": "position__machine__key",
    "position": "position__key",
    "site": "position__machine__site__key",
    "design": "design__key",
    "hose_lot": "hose_lot",
    "crimped_by": "crimped_by",
    "built_on": "built_on",
    "installed_on": "installed_on",
    "installed_hours": "installed_hours",
    "removed_on": "removed_on",
    "removal_cause": "removal_cause",
}
SHEET_OF_PLAN = {  # what the plan in force says of each, by column: its table and the column there
    "margin": ("margins", "verdict"),
    "margin_percent": ("margins", "margin_percent"),
    "p_fail_90d": ("forecasts", "p_fail_90d"),
    "p_fail_365d": ("forecasts", "p_fail_365d"),
    "p_fail_365d_low": ("forecasts", "p_fail_365d_low"),
    "p_fail_365d_high": ("forecasts", "p_fail_365d_high"),
    "due_on": ("forecasts", "due_on"),
    "planned_on": ("changeouts", "planned_on"),
}
ORDERS = {
    "machine": "position__machine__key",
    "assembly": "key",
    "hose": "design__hose_part__key",
    "crimped_by": "crimped_by",
    "margin": "of_plan",
    "fails": "of_plan",
    "planned_on": "of_plan",
}
ORDERS_OF_PLAN = {
    "margin": ("margins", "verdict"),
    "fails": ("forecasts", "p_fail_365d"),
    "planned_on": ("changeouts", "planned_on"),
}


def said_of(reader: Reader, name: str) -> dict[str, Subquery]:
    """What the plan says of each assembly in the column of that name, as `of_plan`; nothing for another one,
    since each costs a look into the plan for every row."""
    return {"of_plan": _told(reader, *ORDERS_OF_PLAN[name])} if name in ORDERS_OF_PLAN else {}


def _told(reader: Reader, table: str, column: str) -> Subquery:
    lines = LINES[table].objects.filter(plan=reader.plan, assembly=OuterRef("key")).order_by()
    return Subquery(lines.values(column)[:1])


def groups_of(asked: QueryDict) -> dict[str, str]:
    """The groups that an address or a form names: name by kind."""
    named = {kind: str(asked.get(kind, "")).strip() for kind in GROUPS}
    return {kind: name for kind, name in named.items() if name}


def designs_of(assemblies: Iterable[Assembly]) -> dict[int, Design]:
    """The design of each assembly by its id, with its hose: its own, else its position's; where one is known.

    By a query of its own: the database takes longer to plan a join of so many tables than to read them.
    """
    named = {one.pk: one.design_id or (one.position and one.position.design_id) for one in assemblies}
    known = Design.objects.select_related("hose_part").in_bulk({pk for pk in named.values() if pk})
    return {pk: known[design] for pk, design in named.items() if design}


@member_page()
def assemblies(request: PageRequest, reader: Reader) -> HttpResponseBase:
    """What is in place now of the groups that the address names, or with `ever=yes` all there ever was."""
    groups, ever = groups_of(request.GET), request.GET.get("ever") == "yes"
    rows = trace_assemblies(reader.organization, groups)
    if not ever:
        rows = in_place(rows)
    count = rows.count()
    if not ever:  # the database then walks the machines in their order, rather than sort the whole fleet
        rows = rows.filter(position__machine__organization=reader.organization)
    sorting = Sorting.asked(request, ORDERS)
    rows = sorting.sort(
        rows.annotate(**said_of(reader, sorting.by)), "position__machine__key", "position__key", "key"
    )
    if sheet_asked(request):
        rows = rows.annotate(**{name: _told(reader, *place) for name, place in SHEET_OF_PLAN.items()})
        columns = SHEET | {name: name for name in SHEET_OF_PLAN}
        return sheet_of(request, "assemblies" if ever else "installed", rows, columns)
    page = page_of(request, rows.select_related("position__machine__site"), count=count)
    shown = list(page)
    drawn = designs_of(shown)
    said = plan_says(reader, [one.key for one in shown])
    context = {
        "title": _("Assemblies, in place and past") if ever else _("Installed assemblies"),
        "way": "machines",
        "page": page,
        "rows": [(one, drawn.get(one.pk), said.get(one.key)) for one in shown],
        "groups": groups,
        "ready": ready_of(reader, groups),
        "ready_shown": READY_SHOWN,
        "ever": ever,
        "sorting": sorting,
        "act": GroupActForm(),
    }
    return render(request, "register/assemblies.html", context)


def ready_of(reader: Reader, groups: dict[str, str]) -> dict[str, list]:
    """What of the groups is on no machine yet and would be built in or put on next: the `spares` that are
    made, and where they are of one lot its `pieces` on the shelves and what of it is `set_aside` at the
    bench, both with what the part is `counted_in`. One more of each than are shown."""
    if not groups:
        return {}
    spares = trace_assemblies(reader.organization, groups).filter(position=None).order_by("key")
    ready: dict[str, list] = {"spares": list(spares[: READY_SHOWN + 1])}
    lot = groups.get("hose_lot") or groups.get("lot")
    if lot:
        pieces = StockPiece.objects.of(reader.organization).filter(lot=lot, on_hand__gt=0)
        pieces = pieces.select_related("part", "site").order_by("part__key", "site__key", "piece")
        held = KitPart.objects.of(reader.organization).filter(lot=lot, state=KitPartState.RESERVED)
        held = held.select_related("part", "kit_assembly__kit__site").order_by(
            "kit_assembly__kit__key", "kit_assembly__number", "pk"
        )
        ready |= {"pieces": list(pieces[: READY_SHOWN + 1]), "set_aside": list(held[: READY_SHOWN + 1])}
        for one in (*ready["pieces"], *ready["set_aside"]):
            one.counted_in = counted_in(one.part)
    return ready


class GroupActForm(forms.Form):
    """By when, and why, something is to be done with every assembly of a group that is in place."""

    day = DayField(
        label=gettext_lazy("By"), widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    )
    reason = forms.CharField(label=gettext_lazy("Because"), max_length=300)


@form_only
@member_page(Action.DECIDE_CHANGEOUT)
def look_at_group(request: PageRequest, reader: Reader) -> HttpResponse:
    """Has all of a group that is in place looked at by a day."""

    def ask(groups: dict[str, str], day: datetime.date, reason: str) -> str:
        asked = ask_inspections(
            organization=reader.organization, user=request.user, groups=groups, by_day=day, reason=reason
        )
        told = ngettext("%(n)d is to be looked at.", "%(n)d are to be looked at.", asked.made)
        return told % {"n": asked.made} + _stood(asked)

    return _act(request, reader, ask)


@form_only
@member_page(Action.DECIDE_CHANGEOUT)
def change_group(request: PageRequest, reader: Reader) -> HttpResponse:
    """Has all of a group that is in place changed by a day, from the next plan on."""

    def decide(groups: dict[str, str], day: datetime.date, reason: str) -> str:
        asked = set_changeouts(
            organization=reader.organization, user=request.user, groups=groups, not_after=day, reason=reason
        )
        told = ngettext(
            "%(n)d is to be changed; the next plan honours it.",
            "%(n)d are to be changed; the next plan honours it.",
            asked.made,
        )
        if asked.left:
            kept = _("Left as decided, to be settled one by one: %(kept)s.")
            messages.warning(request, kept % {"kept": "; ".join(asked.left)})
        return told % {"n": asked.made} + _stood(asked)

    return _act(request, reader, decide)


def _act(request: PageRequest, reader: Reader, act) -> HttpResponse:
    """Does it where the form is right, says what came of it, and goes back to the group."""
    groups, form = groups_of(request.POST), GroupActForm(request.POST)
    if form.is_valid():
        try:
            messages.success(request, act(groups, form.cleaned_data["day"], form.cleaned_data["reason"]))
        except ServiceError as refusal:
            messages.error(request, str(refusal))
    else:
        messages.error(request, _("Give the day as 2026-05-31, and say why."))
    query = QueryDict(mutable=True)
    query.update(groups)
    return redirect(f"{reverse('assemblies', args=[reader.organization.slug])}?{query.urlencode()}")


def _stood(asked: Asked) -> str:
    if not asked.stood:
        return ""
    return " " + ngettext("%(n)d was already.", "%(n)d were already.", asked.stood) % {"n": asked.stood}


@member_page()
def assembly(request: PageRequest, reader: Reader, assembly: str) -> HttpResponse:
    """One assembly: its life so far, how it was built, what the plan says of it, its neighbours in time."""
    found = get_object_or_404(
        with_lengths_made(Assembly.objects.of(reader.organization)).select_related(
            "position__machine__site",
            "position__design__hose_part",
            "design__hose_part",
            "build__design__hose_part",
            "kit_assembly",
        ),
        key=assembly,
    )
    build: Build | None = getattr(found, "build", None)
    design = found.design or (build and build.design) or (found.position and found.position.design)
    inspections = list(found.inspections.order_by("inspected_on"))
    before, after = neighbours(found)
    said = plan_says(reader, [found.key]).get(found.key)
    context = {
        "title": found.key,
        "way": "machines",
        "assembly": found,
        "design": design,
        "build": build,
        "said": said,
        "curve": chance_curve(said) if said else [],
        "factors": LINES["factors"].objects.filter(plan=reader.plan, assembly=found.key).order_by("row"),
        "life": life_of(found, inspections),
        "crimps": measured_crimps(build) if build else [],
        "went_in": taken_for(found),
        "before": before,
        "after": after,
        "changes": change_history(found, related=("design", "position__machine")),
    }
    return render(request, "register/assembly.html", context)
