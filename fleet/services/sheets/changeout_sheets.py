"""The sheet of one stop of a machine: what is changed in which order, out of which kit, in what time."""

import datetime
from dataclasses import dataclass

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from fleet.models import LINES, Design, KitAssembly, Machine, Organization, Plan, Position

from .steps import ask_about_angle, straight_ends

ORDER_RULE = gettext_lazy(
    "By circuit, so that each is opened once, the one with the gravest reason "
    "first; within it first what is not fit for its place, then what an "
    "inspection found, then age, hours, risk and cost. The maker of the "
    "machine or the person in charge may ask for another order."
)
WAITS = gettext_lazy("What has to wait for a later day of the stop comes last, with its day.")
_GRAVITY = ("unfit", "inspection", "age_limit", "hours_limit", "risk", "economy")
GRAVITY = {reason: rank for rank, reason in enumerate(_GRAVITY)}  # what is not named comes last


@dataclass(frozen=True, slots=True)
class ChangeoutStep:
    """One position of the stop. `minutes` is None where nobody said how long it takes; `pressure_bar` is what
    works in the line before it is opened; `angle_question` is there where the drawing states an angle that
    may be none."""

    order: int
    position: str
    circuit: str
    line: str
    critical: bool
    fluid: str
    pressure_bar: float | None
    assembly: str
    design: str
    hose: str
    construction: str
    dash: float | None
    end_a: str
    end_b: str
    overall_length_mm: float | None
    angle_deg: float | None
    angle_question: str
    due_reason: str
    due_on: datetime.date | None
    minutes: float | None
    reason: str
    planned_on: datetime.date


@dataclass(frozen=True, slots=True)
class ChangeoutKit:
    """A kit for the stop: `ready` where nothing of it is lacking; once begun `made` of `of` assemblies, of
    those that are for this stop, and `assemblies` those of them that wait to be fitted. `not_for_stop` has a
    sentence on each of the others."""

    kit: str
    site: str
    ready: bool
    begun: bool
    made: int
    of: int
    assemblies: tuple[str, ...]
    lacks: tuple[str, ...]
    not_for_stop: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class ChangeoutSheet:
    """The stop: its steps in order, their first day, the minutes known of them, and of how many none are."""

    changeout: str
    machine: Machine
    planned_on: datetime.date
    window_starts_on: datetime.date | None
    special_stop: bool
    order_rule: str
    steps: tuple[ChangeoutStep, ...]
    minutes: float
    untimed: int
    kits: tuple[ChangeoutKit, ...]


def changeout_sheet(
    *, organization: Organization, machine: str, changeout: str, plan: Plan | None = None
) -> ChangeoutSheet | None:
    """The sheet of a changeout of the plan in force; None where that has none of the name on the machine.

    `plan` is that plan, where the caller has read it already.
    """
    plan = plan or Plan.objects.in_force(organization)
    of_stop = {"plan": plan, "machine": machine, "changeout": changeout}
    lines = list(LINES["changeouts"].objects.filter(**of_stop).order_by("row")) if plan else []
    found = Machine.objects.of(organization).select_related("site").filter(key=machine).first()
    if not lines or found is None:
        return None
    steps = _steps(found, lines)
    known = [step.minutes for step in steps if step.minutes is not None]
    planned_on = steps[0].planned_on
    rule = [ORDER_RULE, WAITS] if steps[-1].planned_on > planned_on else [ORDER_RULE]
    return ChangeoutSheet(
        changeout=changeout,
        machine=found,
        planned_on=planned_on,
        window_starts_on=lines[0].window_starts_on,
        special_stop=lines[0].special_stop,
        order_rule=" ".join(map(str, rule)),
        steps=steps,
        minutes=sum(known),
        untimed=len(steps) - len(known),
        kits=_kits(organization, plan, changeout, found, {(line.position, line.design) for line in lines}),
    )


def _steps(machine: Machine, lines: list) -> tuple[ChangeoutStep, ...]:
    positions = {
        one.key: one
        for one in Position.objects.filter(machine=machine, key__in=[line.position for line in lines])
    }
    designs = {
        one.key: one
        for one in Design.objects.filter(organization=machine.organization_id)
        .filter(key__in=[line.design for line in lines if line.design])
        .select_related("hose_part", "end_a_part", "end_b_part")
    }

    def circuit(line) -> str:
        position = positions.get(line.position)
        return position.circuit if position else ""

    def gravity(line) -> int:
        return GRAVITY.get(line.due_reason, len(GRAVITY))

    gravest: dict[str, int] = {}
    for line in lines:
        rank = gravity(line)
        gravest[circuit(line)] = min(rank, gravest.get(circuit(line), rank))
    ordered = sorted(
        lines,
        key=lambda line: (
            line.planned_on,
            gravest[circuit(line)],
            circuit(line),
            gravity(line),
            line.position,
        ),
    )
    return tuple(
        _step(number, line, positions.get(line.position), designs.get(line.design))
        for number, line in enumerate(ordered, start=1)
    )


def _step(order: int, line, position: Position | None, design: Design | None) -> ChangeoutStep:
    hose = design.hose_part if design else None
    stated = design.orientation_deg if design else None
    question = ask_about_angle(stated, straight_ends(design.end_a_part, design.end_b_part)) if design else ""
    return ChangeoutStep(
        order=order,
        position=line.position,
        circuit=position.circuit if position else "",
        line=position.line if position else "",
        critical=bool(position and position.critical),
        fluid=position.fluid if position else "",
        pressure_bar=position.working_pressure_bar if position else None,
        assembly=line.assembly,
        design=line.design,
        hose=hose.key if hose else "",
        construction=hose.construction if hose else "",
        dash=hose.dash if hose else None,
        end_a=design.end_a_part.key if design else "",
        end_b=design.end_b_part.key if design else "",
        overall_length_mm=design.overall_length_mm if design else None,
        angle_deg=None if question else stated,
        angle_question=question,
        due_reason=line.due_reason,
        due_on=line.due_on,
        minutes=line.minutes,
        reason=line.reason,
        planned_on=line.planned_on,
    )


def _kits(
    organization: Organization,
    plan: Plan | None,
    changeout: str,
    machine: Machine,
    steps: set[tuple[str, str]],
) -> tuple[ChangeoutKit, ...]:
    """Whatever kit is begun for a position of the stop, and the plan's kits of it that are still to be begun.

    `steps` are the position and design of each step: what is built for a position to another design than now
    goes on there is not for this stop, and stands for nothing that the plan's kit is for.
    """
    begun = _at_the_bench(organization, machine, {position for position, _design in steps})
    built_for = {_place(one) for of_kit in begun.values() for one in of_kit if not _is_fitted(one)}
    planned = {
        row.kit: row for row in LINES["kits"].objects.filter(plan=plan, changeout=changeout).order_by("row")
    }
    lacks: dict[str, dict[str, None]] = {}
    places: dict[str, set[tuple[str, str]]] = {}
    for line in LINES["kit_lines"].objects.filter(plan=plan, kit__in=planned).order_by("kit", "line"):
        places.setdefault(line.kit, set()).add((line.position, line.design))
        if line.short_by > 0:
            lacks.setdefault(line.kit, {})[line.part] = None
    kits = [_begun(assemblies, steps) for assemblies in begun.values()]
    for key, row in planned.items():
        own, asked = begun.get(key, []), places.get(key, set())
        if (own or asked) and asked <= built_for | {_place(one) for one in own}:
            continue  # all of it is begun, under whatever name
        kits.append(
            ChangeoutKit(
                kit=key,
                site=row.site,
                ready=row.ready,
                begun=False,
                made=0,
                of=0,
                assemblies=(),
                lacks=tuple(lacks.get(key, ())),
            )
        )
    return tuple(kits)


def _at_the_bench(
    organization: Organization, machine: Machine, positions: set[str]
) -> dict[str, list[KitAssembly]]:
    """The assemblies of each kit of which one for those positions is not fitted yet, by the kit's name."""
    waits = KitAssembly.objects.of(organization).filter(
        position__machine=machine, position__key__in=positions, kit__state__in=("begun", "made")
    )
    unfitted = waits.filter(assembly=None) | waits.filter(assembly__position=None)
    rows = KitAssembly.objects.filter(kit__in=unfitted.values("kit")).select_related(
        "kit__site", "assembly", "position", "design"
    )
    begun: dict[str, list[KitAssembly]] = {}
    for one in rows.order_by("kit__key", "number"):
        begun.setdefault(one.kit.key, []).append(one)
    return begun


def _place(one: KitAssembly) -> tuple[str, str]:
    return one.position.key if one.position else "", one.design.key


def _is_fitted(one: KitAssembly) -> bool:
    return bool(one.assembly and one.assembly.position_id)


def _begun(assemblies: list[KitAssembly], steps: set[tuple[str, str]]) -> ChangeoutKit:
    kit = assemblies[0].kit
    waiting = [one for one in assemblies if one.position and not _is_fitted(one)]
    others = [one for one in waiting if _place(one) not in steps]
    own = [one for one in assemblies if one not in others]
    made = [one.assembly for one in own if one.assembly]
    return ChangeoutKit(
        kit=kit.key,
        site=kit.site.key,
        ready=bool(own) and len(made) == len(own),
        begun=True,
        made=len(made),
        of=len(own),
        assemblies=tuple(one.key for one in made if one.position_id is None),
        lacks=(),
        not_for_stop=tuple(_tell_other(one) for one in others),
    )


def _tell_other(one: KitAssembly) -> str:
    """That the assembly is not what goes on at the stop: on paper nobody asks again."""
    position, design = _place(one)
    if one.assembly:
        return _(
            "%(assembly)s, made to %(design)s for %(position)s, is not what goes on there at this stop: do "
            "not fit it there."
        ) % {"assembly": one.assembly, "design": design, "position": position}
    return _(
        "No. %(number)s of it, being built to %(design)s for %(position)s, is not what goes on there at this "
        "stop."
    ) % {"number": one.number, "design": design, "position": position}
