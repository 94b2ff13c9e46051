"""The build sheet: what the bench needs for each assembly of a kit, step by step, and where it is from.

Parts and lots are those that the begun kit has set aside, else those that the plan means to take; the steps
(`steps`) follow from them.
"""

import datetime
from collections import deque
from collections.abc import Collection
from dataclasses import dataclass
from itertools import groupby

from django.db.models import OuterRef, QuerySet, Subquery, TextField, Value
from django.db.models.functions import Coalesce
from django.utils.translation import gettext as _

from fleet.models import (
    LINES,
    CrimpSpec,
    Design,
    DesignPart,
    Kit,
    KitAssembly,
    KitPart,
    KitPartState,
    Organization,
    Part,
    PartKind,
    Plan,
    Position,
)
from fleet.models.plans import KitLine, KitRow

from ..shop.build_rules import CLEANINGS_AFTER, CLEANINGS_BEFORE, charts_for
from .steps import (
    SheetAngle,
    SheetCut,
    SheetEnd,
    SheetProof,
    cut_length,
    plan_angle,
    plan_cut,
    plan_ends,
    plan_proof,
)

ROLES = ("hose_part", "end_a_part", "end_b_part")
Work = tuple[KitAssembly, list[KitPart], bool]  # an assembly, its parts, and whether they are set aside


@dataclass(frozen=True, slots=True)
class SheetPart:
    """A part to lay out; `lot` and `piece` are empty where none is set aside or none is on record."""

    place: str
    part: str
    kind: str
    description: str
    quantity: float
    unit: str
    lot: str
    piece: str
    substitute_for: str


@dataclass(frozen=True, slots=True)
class BuildSheet:
    """The sheet of one assembly. `why` is the plan's reason, empty for a kit that is begun; `not_to_build` is
    why the plan in force forbids its design there, empty where it does not; `assembly` is its tag once it is
    made; what is bought made has no cut."""

    number: int
    machine: str
    position: str
    critical: bool
    design: str
    not_to_build: str
    why: str
    assembly: str
    set_aside: bool
    parts: tuple[SheetPart, ...]
    cut: SheetCut | None
    angle: SheetAngle | None
    ends: tuple[SheetEnd, ...]
    cleanings_before: int
    cleanings_after: int
    proof: SheetProof


@dataclass(frozen=True, slots=True)
class KitSheets:
    """The sheets of a kit; `begun` where its parts are set aside, else they are what the plan means to take.

    `notes` name what the plan asks for and the register no longer has.
    """

    kit: str
    begun: bool
    purpose: str
    site: str
    machine: str
    needed_by: datetime.date | None
    sheets: tuple[BuildSheet, ...]
    notes: tuple[str, ...]


def build_sheets(
    *, organization: Organization, kit: str, plan: Plan | None = None, planned: bool = False
) -> KitSheets | None:
    """The sheets of a begun kit, else of the plan's kit of that name; None where there is neither.

    With `planned` those of the plan's kit alone: what was begun under its name may be of another design.
    `plan` is the one in force, where the caller has read it already.
    """
    plan = plan or Plan.objects.in_force(organization)
    named = Kit.objects.of(organization).select_related("site", "machine").filter(key=kit)
    begun = None if planned else named.first()
    if begun:
        return begun_sheets(kit=begun, plan=plan)
    row = LINES["kits"].objects.filter(plan=plan, kit=kit).first() if plan else None
    if plan is None or row is None:
        return None
    return planned_sheets(organization=organization, kit=row, lines=list(kit_lines(plan, [kit])))


def kit_lines(plan: Plan, kits: Collection[str]) -> QuerySet[KitLine]:
    """The lines of the plan's kits in order, each with its part's `description`, the `lot` and `piece` that
    its cut comes off, and `why` its hose is changed; empty where there is none."""
    part = Part.objects.filter(organization=plan.organization_id, key=OuterRef("part"))
    cut = LINES["cut_list"].objects.filter(plan=plan, kit=OuterRef("kit"), line=OuterRef("line"))
    cut = cut.order_by("row")
    stop = LINES["kits"].objects.filter(plan=plan, kit=OuterRef(OuterRef("kit"))).values("changeout")
    change = LINES["changeouts"].objects.filter(
        plan=plan, changeout=Subquery(stop[:1]), position=OuterRef("position")
    )
    lines: QuerySet[KitLine] = LINES["kit_lines"].objects.filter(plan=plan, kit__in=kits)
    return lines.annotate(
        description=Coalesce(Subquery(part.values("description")[:1]), Value("")),
        lot=Coalesce(Subquery(cut.values("lot")[:1]), Value("")),
        piece=Coalesce(Subquery(cut.values("piece")[:1]), Value("")),
        why=Coalesce(Subquery(change.values("reason")[:1]), Value(""), output_field=TextField()),
    ).order_by("kit", "line")


def begun_sheets(*, kit: Kit, plan: Plan | None) -> KitSheets:
    """The sheets of a begun kit; what must not be built says the plan in force."""
    rows = kit.assemblies.select_related(
        *(f"design__{role}" for role in ROLES), "position__machine", "assembly"
    ).order_by("number")
    assemblies = list(rows)
    held: dict[int, list[KitPart]] = {}
    parts = KitPart.objects.filter(kit_assembly__in=assemblies, scrapped_because="")
    parts = parts.exclude(state=KitPartState.GIVEN_BACK).select_related("part", "substitute_for")
    for part in parts.order_by("pk"):
        held.setdefault(part.kit_assembly_id, []).append(part)
    more = _design_parts([one.design_id for one in assemblies if one.pk not in held])
    changes = LINES["changeouts"].objects.filter(plan=plan, machine=kit.machine.key if kit.machine else "")
    warnings = {(line.position, line.design): line.not_to_build for line in changes.exclude(not_to_build="")}
    return KitSheets(
        kit=kit.key,
        begun=True,
        purpose=kit.purpose,
        site=kit.site.key,
        machine=kit.machine.key if kit.machine else "",
        needed_by=kit.needed_by,
        sheets=_sheets(
            [(one, held.get(one.pk) or _drawn_parts(one, more, {}), one.pk in held) for one in assemblies],
            warnings,
        ),
        notes=(),
    )


def planned_sheets(*, organization: Organization, kit: KitRow, lines: list[KitLine]) -> KitSheets:
    """The sheets of a plan's kit, of which nothing is set aside, by its lines as `kit_lines` has them."""
    designs = {
        one.key: one
        for one in Design.objects.of(organization)
        .filter(key__in={line.design for line in lines})
        .select_related(*ROLES)
    }
    positions = {
        one.key: one
        for one in Position.objects.of(organization)
        .filter(machine__key=kit.machine, key__in={line.position for line in lines})
        .select_related("machine")
    }
    more = _design_parts([one.pk for one in designs.values()])
    known = {getattr(one, role).key: getattr(one, role) for one in designs.values() for role in ROLES}
    known |= {row.part.key: row.part for rows in more.values() for row in rows}
    substitutes = {line.part for line in lines} - known.keys()
    known |= {part.key: part for part in Part.objects.of(organization).filter(key__in=substitutes)}
    whys = {line.position: _why(line) for line in lines}
    warnings = {(line.position, line.design): line.not_to_build for line in lines}
    works: list[Work] = []
    notes = []
    places = groupby(lines, key=lambda line: (line.position, line.design))
    for number, ((position, design), of_place) in enumerate(places, start=1):
        if design not in designs:
            notes.append(
                _("%(position)s: the design %(design)s has left the register. Make a new plan.")
                % {"position": position or _("One assembly"), "design": design}
            )
            continue
        one = KitAssembly(
            organization=organization,
            number=number,
            design=designs[design],
            position=positions.get(position),
        )
        taken: dict[str, deque] = {}
        for line in of_place:
            taken.setdefault(line.substitute_for or line.part, deque()).append((line, known.get(line.part)))
        works.append((one, _drawn_parts(one, more, taken), False))
    return KitSheets(
        kit=kit.kit,
        begun=False,
        purpose=kit.purpose,
        site=kit.site,
        machine=kit.machine,
        needed_by=kit.needed_by,
        sheets=_sheets(works, warnings, whys),
        notes=tuple(notes),
    )


def _why(line) -> str:
    """The plan's reason for the change, without the warning that it ends with: a sheet has that by itself."""
    return line.why.removesuffix(line.not_to_build).rstrip()


def _design_parts(designs: list[int]) -> dict[int, list[DesignPart]]:
    """What each design takes besides its hose and ends."""
    more: dict[int, list[DesignPart]] = {}
    rows = DesignPart.objects.filter(design__in=designs).select_related("part")
    for row in rows.order_by("design", "place", "pk"):
        more.setdefault(row.design_id, []).append(row)
    return more


def _drawn_parts(
    one: KitAssembly, more: dict[int, list[DesignPart]], taken: dict[str, deque]
) -> list[KitPart]:
    """The parts that the drawing asks for, each as the plan's lines have it: substitutes, lots, pieces."""
    design = one.design
    length = cut_length(design.overall_length_mm, design.end_a_part.cutoff_mm, design.end_b_part.cutoff_mm)
    metres = (length or design.overall_length_mm) / 1000
    drawn: list[tuple[str, Part, float]] = [("hose", design.hose_part, metres)]
    if design.hose_part.kind == PartKind.ASSEMBLY:
        drawn = [("hose", design.hose_part, 1.0)]
    else:
        drawn += [("a", design.end_a_part, 1.0), ("b", design.end_b_part, 1.0)]
    drawn += [(row.place, row.part, row.quantity) for row in more.get(design.pk, [])]
    found = []
    for place, part, quantity in drawn:
        line, given = taken[part.key].popleft() if taken.get(part.key) else (None, None)
        found.append(
            KitPart(
                kit_assembly=one,
                place=place,
                part=given or part,
                substitute_for=part if given and given != part else None,
                quantity=line.quantity if line else quantity,
                cut_length_mm=line.cut_length_mm if line else None,
                lot=line.lot if line else "",
                piece_name=line.piece if line else "",
            )
        )
    return found


def _sheets(
    works: list[Work], warnings: dict[tuple[str, str], str], whys: dict[str, str] | None = None
) -> tuple[BuildSheet, ...]:
    """`whys` has the plan's reason by position, `warnings` what must not be built by position and design."""
    charts = list(charts_for([part.part for _one, parts, _set_aside in works for part in parts]))
    return tuple(_sheet(*work, charts, warnings, whys or {}) for work in works)


def _sheet(
    one: KitAssembly,
    parts: list[KitPart],
    set_aside: bool,
    charts: list[CrimpSpec],
    warnings: dict[tuple[str, str], str],
    whys: dict[str, str],
) -> BuildSheet:
    design, position = one.design, one.position
    bought = any(part.part.kind == PartKind.ASSEMBLY for part in parts)
    return BuildSheet(
        number=one.number,
        machine=position.machine.key if position else "",
        position=position.key if position else "",
        critical=bool(position and position.critical),
        design=design.key,
        not_to_build=warnings.get((position.key, design.key), "") if position else "",
        why=whys.get(position.key, "") if position else "",
        assembly=one.assembly.key if one.assembly else "",
        set_aside=set_aside,
        parts=tuple(_part(part) for part in parts),
        cut=None if bought else plan_cut(design, parts),
        angle=None if bought else plan_angle(design, parts),
        ends=() if bought else plan_ends(parts, charts),
        cleanings_before=0 if bought else CLEANINGS_BEFORE,
        cleanings_after=0 if bought else CLEANINGS_AFTER,
        proof=plan_proof(parts),
    )


def _part(one: KitPart) -> SheetPart:
    part = one.part
    usual = "metre" if part.kind == PartKind.BULK_HOSE else "each"
    return SheetPart(
        place=one.place,
        part=part.key,
        kind=part.kind,
        description=part.description,
        quantity=one.quantity,
        unit=part.unit or usual,
        lot=one.lot,
        piece=one.piece_name,
        substitute_for=one.substitute_for.key if one.substitute_for else "",
    )
