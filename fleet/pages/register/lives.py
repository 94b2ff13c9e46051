"""One assembly from the day it was made: what happened to it, what went into it, its
crimps, who came before and after."""

import datetime
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import groupby

from django.db.models import (
    BooleanField,
    Case,
    ExpressionWrapper,
    F,
    OuterRef,
    Q,
    Subquery,
    Value,
    When,
)
from django.utils.translation import gettext as _

from fleet.models import Assembly, Build, CrimpSpec, DesignPart, Inspection, KitPart, KitPartState
from fleet.templatetags.trade_words import words


def neighbours(assembly: Assembly) -> tuple[Assembly | None, Assembly | None]:
    """The assemblies that were in the same position before this one and after it."""
    if assembly.position_id is None:
        return None, None
    others = Assembly.objects.filter(position=assembly.position_id).exclude(pk=assembly.pk)
    place = Q(installed_on__lt=assembly.installed_on) | Q(
        installed_on=assembly.installed_on, removed_on=assembly.installed_on
    )
    before = others.filter(place).order_by("-installed_on", "-removed_on").values("pk")[:1]
    after = others.exclude(place).order_by("installed_on", "removed_on").values("pk")[:1]
    found = others.filter(Q(pk__in=Subquery(before)) | Q(pk__in=Subquery(after))).annotate(
        earlier=ExpressionWrapper(place, output_field=BooleanField())
    )
    by_side = {one.earlier: one for one in found}
    return by_side.get(True), by_side.get(False)


@dataclass(frozen=True, slots=True)
class Event:
    """Something that happened to an assembly; `hours` as the machine's meter showed, `more` may be empty."""

    day: datetime.date | None
    what: str
    hours: float | None = None
    more: str = ""


def life_of(assembly: Assembly, inspections: Iterable[Inspection]) -> list[Event]:
    """What happened to the assembly on a day that is known, oldest first."""
    life = [
        Event(assembly.hose_made_on, _("Hose made")),
        Event(assembly.built_on, _("Built"), more=assembly.crimped_by),
        Event(assembly.installed_on, _("Installed"), assembly.installed_hours, str(assembly.position or "")),
        Event(
            assembly.removed_on,
            _("Removed: %(cause)s") % {"cause": words(assembly.removal_cause, "removal_cause")},
            assembly.removed_hours,
            assembly.failure_mode,
        ),
    ]
    for one in inspections:
        told = _("Inspected: %(grade)s") % {"grade": words(one.grade, "grade")}
        life.append(Event(one.inspected_on, told, one.hours, one.finding))
    return sorted((event for event in life if event.day), key=lambda event: event.day or datetime.date.min)


def measured_crimps(build: Build) -> list[dict]:
    """For each end that was measured: end, readings, and the chart's own target and band for it."""
    ends = {"a": build.design.end_a_part_id, "b": build.design.end_b_part_id}
    ferrules = DesignPart.objects.filter(design=build.design_id, place=OuterRef(OuterRef("end"))).values(
        "part"
    )
    spec = CrimpSpec.objects.filter(
        Q(ferrule_part=None) | Q(ferrule_part__in=ferrules),
        hose_part=build.design.hose_part_id,
        end_part=OuterRef("end_part"),
    ).order_by(F("ferrule_part").desc(nulls_last=True))
    readings = (
        build.crimp_readings.annotate(
            end_part=Case(When(end="a", then=Value(ends["a"])), default=Value(ends["b"])),
        )
        .annotate(
            target_mm=Subquery(spec.values("crimp_diameter_mm")[:1]),
            over_mm=Subquery(spec.values("crimp_over_mm")[:1]),
            under_mm=Subquery(spec.values("crimp_under_mm")[:1]),
            chart=Subquery(spec.values("chart")[:1]),
        )
        .order_by("end", "number")
    )
    return [
        {"end": end, "readings": of_end, "spec": of_end[0]}
        for end, of_end in ((end, list(group)) for end, group in groupby(readings, lambda one: one.end))
    ]


def taken_for(assembly: Assembly) -> list[KitPart]:
    """What the kit that it was made from took of the shelves for it; nothing where it came from none."""
    row = getattr(assembly, "kit_assembly", None)
    if row is None:
        return []
    used = row.parts.filter(state=KitPartState.USED, scrapped_because="")
    return list(used.select_related("part", "substitute_for"))
