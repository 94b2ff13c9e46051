"""Tags: labels to print, and the page that a scanned one opens, where work is recorded in three touches."""

import uuid

from django.db.models import Q, QuerySet
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from fleet.frames.tags import assembly_ratings, design_of, with_lengths_made
from fleet.models import Assembly, KitAssembly, Position
from fleet.permissions import Action
from fleet.services.decisions.inspection_requests import requests_about

from ..members import PageRequest, Reader, member_page
from ..register.forecast_lines import plan_says
from .codes import code_of, tag_address
from .forms import ChangeForm, InspectForm, InstallForm, TakeOffForm, WorkForm

MOST_LABELS = 400
PLACES_SHOWN = 60
PAPERS = {
    "a4": gettext_lazy("A4"),
    "letter": gettext_lazy("Letter"),
    "label": gettext_lazy("One label a page"),
}


def of_kit(kit: str) -> Q:
    return Q(kit_assembly__kit__key=kit) | Q(build__kit=kit)


def asked_for(reader: Reader, asked) -> QuerySet[Assembly]:
    """The assemblies whose tags the address asks for: single ones, those of a kit or on a machine, or all
    that lie on the shelf."""
    rows = Assembly.objects.of(reader.organization).filter(removed_on=None)
    named = Q(key__in=asked.getlist("assembly"))
    if kit := asked.get("kit", "").strip():
        named |= of_kit(kit)
    if machine := asked.get("machine", "").strip():
        named |= Q(position__machine__key=machine)
    if asked.get("shelf") == "yes":
        named |= Q(position=None)
    return rows.filter(named).distinct().order_by("position__machine__key", "position__key", "key")


@member_page()
def tags(request: PageRequest, reader: Reader) -> HttpResponse:
    """The tags that the address asks for, each a label, on sheets or one a page."""
    paper = request.GET.get("paper", "")
    rows = with_lengths_made(asked_for(reader, request.GET)).select_related(
        "design__hose_part",
        "design__end_a_part",
        "design__end_b_part",
        "position__machine",
        "position__design__hose_part",
        "position__design__end_a_part",
        "position__design__end_b_part",
    )
    found = list(rows[: MOST_LABELS + 1])
    shown = found[:MOST_LABELS]
    rated = assembly_ratings(reader.organization, shown) if shown else {}
    context = {
        "title": _("Tags"),
        "way": "build",
        "labels": [
            {
                "assembly": one,
                "design": design_of(one),
                "rated_pressure_bar": rated.get(one.pk),
                "code": code_of(tag_address(request, reader.organization.slug, one.key)),
            }
            for one in shown
        ],
        "more": len(found) > MOST_LABELS,
        "most": MOST_LABELS,
        "paper": paper if paper in PAPERS else "a4",
        "papers": PAPERS.items(),
        "asked": request.GET,
    }
    return render(request, "tags/tags.html", context)


@member_page()
def tag(request: PageRequest, reader: Reader, assembly: str) -> HttpResponse:
    """What a scanned tag opens: what it is, where it is, what the plan says, and what may be done with it."""
    return tag_page(request, reader, found_assembly(reader, assembly))


def found_assembly(reader: Reader, key: str) -> Assembly:
    rows = with_lengths_made(Assembly.objects.of(reader.organization)).select_related(
        "design__hose_part",
        "position__machine__site",
        "position__design__hose_part",
        "kit_assembly__position__machine",
    )
    return get_object_or_404(rows, key=key)


def tag_page(
    request: PageRequest, reader: Reader, found: Assembly, refused: WorkForm | None = None
) -> HttpResponse:
    """The page of a scanned tag; `refused` is the form that could not be recorded, with what is wrong."""
    forms = forms_of(found, request.GET.get("cause", "")) if reader.may(Action.RECORD_WORK) else []
    context = {
        "title": found.key,
        "way": "machines",
        "assembly": found,
        "design": design_of(found),
        "said": plan_says(reader, [found.key]).get(found.key),
        "requests": list(requests_about(found)),
        "seen": found.inspections.order_by("-inspected_on").first(),
        "forms": [refused if refused and refused.act == one.act else one for one in forms],
        "refused": refused,
        "opened": request.GET.get("act", ""),
        "in_its_place": in_place_of(found) if found.removed_on else None,
        "shelf": shelf_of(found) if found.position_id and forms else [],
    }
    return render(request, "tags/tag.html", context, status=422 if refused else 200)


def forms_of(assembly: Assembly, cause: str = "") -> list[WorkForm]:
    """The forms for what may be done with the assembly now; each has a token of its own, and those that take
    it off begin with `cause`."""

    def fresh(form: type[WorkForm], **given) -> WorkForm:
        start = {"token": uuid.uuid4(), "day": timezone.localdate()}
        return form(initial=start | given.pop("initial", {}), **given)

    if assembly.position is None:
        meant, places = places_for(assembly)
        start = {"place": meant.pk} if meant else {}
        return [fresh(InstallForm, places=places, there=occupants(places), initial=start)]
    if assembly.removed_on is None:
        off = {"removal_cause": cause}
        return [fresh(ChangeForm, initial=off), fresh(TakeOffForm, initial=off), fresh(InspectForm)]
    return []


def places_for(assembly: Assembly) -> tuple[Position | None, list[Position]]:
    """The position that the assembly was built for, where that is known, and those that it may go onto: it
    first, then those that ask for the same design."""
    kit: KitAssembly | None = getattr(assembly, "kit_assembly", None)
    meant = kit.position if kit else None
    rows = Position.objects.filter(organization=assembly.organization_id).select_related("machine")
    alike = rows.filter(design=assembly.design_id) if assembly.design_id else rows.none()
    if meant is not None:
        alike = alike.exclude(pk=meant.pk)
    others = list(alike.order_by("machine__key", "key")[:PLACES_SHOWN])
    return meant, [meant, *others] if meant else others


def occupants(places: list[Position]) -> dict[int, str]:
    """The key of what is in each of the places now, by the place's id."""
    rows = Assembly.objects.filter(position__in=places, removed_on=None)
    return dict(rows.values_list("position", "key"))


def in_place_of(assembly: Assembly) -> Assembly | None:
    """What is now in the position that the assembly came off."""
    return Assembly.objects.filter(position=assembly.position_id, removed_on=None).first()


def shelf_of(assembly: Assembly) -> list[str]:
    """The keys of assemblies that were built to the same design and lie on the shelf."""
    design = design_of(assembly)
    if design is None:
        return []
    rows = Assembly.objects.filter(organization=assembly.organization_id, design=design, position=None)
    return list(rows.order_by("built_on", "key").values_list("key", flat=True)[:PLACES_SHOWN])
