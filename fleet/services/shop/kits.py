"""Kits begun and taken apart: what the shop sets aside of the stock, and gives back.

A plan's kit is begun from real pieces and lots, which are then for nobody else. An assembly whose parts are
not all there waits in its kit and holds nothing, so that no part lies idle for it. Whoever begins holds the
organization's row before any other (see `signing`).
"""

import datetime
from collections.abc import Collection, Iterable
from dataclasses import dataclass

from django.db import transaction
from django.db.models import Q, QuerySet
from django.utils import timezone
from django.utils.translation import gettext as _

from fleet.models import (
    LINES,
    Design,
    Kit,
    KitAssembly,
    KitPart,
    KitPartState,
    KitState,
    Machine,
    Organization,
    Part,
    Plan,
    Position,
    User,
)
from forecasting.wording import tell_day

from ..replacing.in_place import unfit_designs
from ..signing import hold_organization, save_signed
from ..stock.shelves import free_name, is_hose, is_named_after, site_of
from .allotting import Allotment, Share, Wanted, allot_stock
from .cutting import give_back_cut, keep_length_mm
from .errors import KitBegun, KitClosed, KitLacks, KitNotThere, NoPlan


@dataclass(frozen=True, slots=True)
class Begun:
    """The begun kit, and of each assembly of it that waits what it lacks."""

    kit: Kit
    waiting: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class TakenApart:
    """The kit that was taken apart, and what came of its parts, in sentences."""

    kit: Kit
    told: tuple[str, ...]


@transaction.atomic(durable=True)
def begin_kit(
    *,
    organization: Organization,
    user: User | None,
    kit: str,
    partly: bool = False,
    today: datetime.date | None = None,
) -> Begun:
    """The kit of the plan in force, begun: its parts set aside, each of a real piece or lot.

    Where not all of its assemblies can be supplied it is refused whole, unless `partly`: then the others are
    begun, and these wait. Raises KitBegun where somebody was first, KitLacks and other ServiceErrors.
    """
    hold_organization(organization)
    today = today or timezone.localdate()
    plan = Plan.objects.in_force(organization)
    if plan is None:
        raise NoPlan()
    row = LINES["kits"].objects.filter(plan=plan, kit=kit).first()
    if row is None:
        raise KitNotThere(kit=kit, where=_("in the plan in force"), right=_("Look at what it builds now."))
    lines = list(LINES["kit_lines"].objects.filter(plan=plan, kit=kit).order_by("line"))
    places = dict.fromkeys((line.position, line.design) for line in lines)
    assemblies = [_planned(organization, row, position, design) for position, design in places]
    before = _begun_before(organization, row, assemblies)
    if before and len(before) == len(assemblies):
        raise KitBegun(kit=kit, told=_told_begun(before[0]))
    taken = {one.position_id for one in before}
    assemblies = [one for one in assemblies if one.position_id is None or one.position_id not in taken]
    if not assemblies:
        raise KitLacks(kit=kit, lacks=[_("the design of its position is not on record.")], ready=0, of=1)
    number_of = {(one.position.key if one.position else ""): at for at, one in enumerate(assemblies, 1)}
    numbered = {line.line: number_of[line.position] for line in lines if line.position in number_of}
    cuts = LINES["cut_list"].objects.filter(plan=plan, kit=kit).values_list("line", "piece")
    pieces = {numbered[line]: piece for line, piece in cuts if line in numbered}
    begun = Kit(
        organization=organization,
        key=_free_key(organization, kit),
        site=site_of(organization, row.site),
        machine=Machine.objects.of(organization).filter(key=row.machine).first(),
        purpose=row.purpose,
        needed_by=row.needed_by,
    )
    return _begin(begun, assemblies, user, partly=partly, today=today, pieces=pieces)


@transaction.atomic(durable=True)
def begin_assembly(
    *,
    organization: Organization,
    user: User | None,
    site: str,
    design: str = "",
    machine: str = "",
    position: str = "",
    today: datetime.date | None = None,
) -> Begun:
    """A kit of one assembly that no plan asked for: for a position that failed, or to stand by.

    Without `design` it is what belongs in the position. Raises KitBegun where a kit for that position is
    begun already, KitLacks and other ServiceErrors.
    """
    hold_organization(organization)
    today = today or timezone.localdate()
    place = site_of(organization, site)
    where = _position(organization, machine, position) if position else None
    drawn = Design.objects.of(organization).filter(key=design).first() if design else None
    drawn = drawn or (where.design if where and not design else None)
    if drawn is None:
        raise KitNotThere(
            kit=design or _("for %(machine)s %(position)s") % {"machine": machine, "position": position},
            where=_("that could be built"),
            right=_("Name a design of the register."),
        )
    one = KitAssembly(organization=organization, design=drawn, position=where)
    before = _open_for(organization, [where.pk], drawn) if where else []
    if before:
        raise KitBegun(kit=_("A kit for %(where)s") % {"where": where}, told=_told_begun(before[0]))
    kit = Kit(
        organization=organization,
        key=_free_key(organization, f"{'B' if where else 'S'}-{where or place}:{drawn}"),
        site=place,
        machine=where.machine if where else None,
        purpose="burst" if where else "standby",
        needed_by=today,
    )
    return _begin(kit, [one], user, partly=False, today=today)


@transaction.atomic(durable=True)
def supply_kit(
    *, organization: Organization, user: User | None, kit: str, today: datetime.date | None = None
) -> Begun:
    """The begun kit, with parts set aside for those of its assemblies that waited, as far as they are there.

    Raises KitLacks where nothing can be set aside, KitBegun where none waits.
    """
    hold_organization(organization)
    today = today or timezone.localdate()
    begun = begun_kit(organization, kit)
    waiting = list(waiting_assemblies(begun))
    if not waiting:
        raise KitBegun(kit=kit, told=_("parts are set aside for all of it."))
    allotment = _allot(begun, waiting, today)
    if not allotment.shares:
        raise KitLacks(kit=kit, lacks=list(allotment.lacks.values()), ready=0, of=len(waiting))
    for one in waiting:
        set_aside(one, allotment.shares.get(one.number, []), user)
    return Begun(begun, tuple(allotment.lacks.values()))


@transaction.atomic(durable=True)
def take_apart_kit(
    *,
    organization: Organization,
    user: User | None,
    kit: str,
    cut: Collection[int] = (),
    today: datetime.date | None = None,
) -> TakenApart:
    """The kit, taken apart into stock. `cut` are the numbers of assemblies whose hose is cut already.

    What was only set aside is anybody's again. A cut hose comes back as an offcut of its own, or is scrap
    where it is too short to keep. An assembly that is made stays one: it is spare. Raises ServiceError.
    """
    hold_organization(organization)
    today = today or timezone.localdate()
    begun = begun_kit(organization, kit)
    told = []
    reason = f"kit {begun.key} taken apart"
    least_kept_mm = keep_length_mm(organization)
    held = KitPart.objects.filter(kit_assembly__kit=begun, state=KitPartState.RESERVED)
    for part in held.select_related("kit_assembly", "part").order_by("kit_assembly__number", "pk"):
        if is_hose(part.part) and part.kit_assembly.number in cut:
            cut_length_mm = part.quantity * 1000
            told.append(give_back_cut(part, cut_length_mm, least_kept_mm, user, reason))
        else:
            part.state, part.kerf_mm = KitPartState.GIVEN_BACK, 0.0
            save_signed(part, user, reason)
    made = begun.assemblies.filter(assembly__isnull=False).select_related("assembly").order_by("number")
    told += [
        _("%(assembly)s is made and stays: it is spare.") % {"assembly": one.assembly}
        for one in made
        if one.assembly and one.assembly.position_id is None
    ]
    begun.state, begun.closed_on = KitState.TAKEN_APART, today
    save_signed(begun, user, reason)
    return TakenApart(begun, tuple(told))


def begun_kit(organization: Organization, key: str) -> Kit:
    """The kit of that name, being built. Raises KitNotThere and KitClosed."""
    kit = Kit.objects.of(organization).select_related("site", "machine").filter(key=key).first()
    if kit is None:
        raise KitNotThere(kit=key, where=_("that anybody has begun"), right=_("Begin it first."))
    if kit.state != KitState.BEGUN:
        done = _("made") if kit.state == KitState.MADE else _("taken apart")
        right = _("Its assemblies are at hand.") if kit.state == KitState.MADE else _("Begin it anew.")
        raise KitClosed(kit=key, done=done, day=kit.closed_on, right=right)
    return kit


def waiting_assemblies(kit: Kit) -> QuerySet[KitAssembly]:
    """The assemblies of the kit that are not made and hold no parts, in order."""
    holding = KitPart.objects.filter(kit_assembly__kit=kit, state=KitPartState.RESERVED)
    rows = kit.assemblies.filter(assembly=None).exclude(pk__in=holding.values("kit_assembly"))
    return rows.select_related("design", "position__machine", "kit__site").order_by("number")


def stale_positions(organization: Organization) -> dict[int, list[Position]]:
    """By begun kit, the positions it is being built for in which the plan in force changes nothing any more.

    A kit that nobody began for a changeout has none, and neither has one of an organization without a plan.
    """
    plan = Plan.objects.in_force(organization)
    if plan is None:
        return {}
    rows = KitAssembly.objects.of(organization).filter(
        kit__state=KitState.BEGUN, kit__purpose="changeout", assembly=None, position__isnull=False
    )
    rows = rows.select_related("position__machine", "design").order_by("kit", "number")
    planned = set(
        LINES["changeouts"]
        .objects.filter(plan=plan, machine__in={one.position.machine.key for one in rows})
        .values_list("machine", "position", "design")
    )
    stale: dict[int, list[Position]] = {}
    for one in rows:
        if (one.position.machine.key, one.position.key, one.design.key) not in planned:
            stale.setdefault(one.kit_id, []).append(one.position)
    return stale


def set_aside(one: KitAssembly, shares: Iterable[Share], user: User | None) -> None:
    """Stores what the assembly holds from now on; a shared step, in the caller's transaction."""
    keys = {key for share in shares for key in (share.part, share.substitute_for) if key}
    parts = {part.key: part for part in Part.objects.of(one.organization).filter(key__in=keys)}
    for share in shares:
        row = KitPart(
            organization=one.organization,
            kit_assembly=one,
            place=share.place,
            part=parts[share.part],
            substitute_for=parts.get(share.substitute_for),
            quantity=share.quantity,
            cut_length_mm=share.cut_length_mm,
            kerf_mm=share.kerf_mm,
            piece=share.piece,
            piece_name=share.piece.piece,
            lot=share.piece.lot,
            made_on=share.piece.made_on,
        )
        save_signed(row, user, f"set aside for kit {one.kit}")


def _begin(
    kit: Kit,
    assemblies: list[KitAssembly],
    user: User | None,
    *,
    partly: bool,
    today: datetime.date,
    pieces: dict[int, str] | None = None,
) -> Begun:
    for number, one in enumerate(assemblies, start=1):
        one.number, one.kit = number, kit
    allotment = _allot(kit, assemblies, today, pieces)
    if allotment.lacks and not (partly and allotment.shares):
        raise KitLacks(
            kit=kit.key,
            lacks=list(allotment.lacks.values()),
            ready=len(allotment.shares),
            of=len(assemblies),
        )
    kit.begun_on, kit.begun_by = today, user
    save_signed(kit, user, "begun")
    for one in assemblies:
        one.kit = kit
        save_signed(one, user, "begun")
        set_aside(one, allotment.shares.get(one.number, []), user)
    return Begun(kit, tuple(allotment.lacks.values()))


def _allot(
    kit: Kit, assemblies: list[KitAssembly], today: datetime.date, pieces: dict[int, str] | None = None
) -> Allotment:
    """What stock gives those of the assemblies that may be built for their positions, and what all lack."""
    unfit = unfit_designs(kit.organization, assemblies)
    wanted = [_wanted(one) for one in assemblies if one.number not in unfit]
    if not wanted:
        return Allotment({}, unfit)
    needed_by = kit.needed_by or today
    allotment = allot_stock(
        kit.organization, wanted, site=kit.site.key, needed_by=needed_by, today=today, pieces=pieces
    )
    return Allotment(allotment.shares, unfit | allotment.lacks)


def _planned(organization: Organization, row, position: str, design: str) -> KitAssembly:
    """An assembly that the plan's kit is for."""
    drawn = Design.objects.of(organization).filter(key=design).first()
    if drawn is None:
        raise KitNotThere(
            kit=row.kit,
            where=_("of a design %(design)s") % {"design": design},
            right=_("It has left the register: make a new plan."),
        )
    where = _position(organization, row.machine, position) if position else None
    return KitAssembly(organization=organization, design=drawn, position=where)


def _position(organization: Organization, machine: str, position: str) -> Position:
    found = Position.objects.of(organization).filter(machine__key=machine, key=position)
    where = found.select_related("machine", "design").first()
    if where is None:
        raise KitNotThere(
            kit=_("for %(machine)s %(position)s") % {"machine": machine, "position": position},
            where=_("of the register"),
            right=_("The position is not there: look at the machine, or make a new plan."),
        )
    return where


def _begun_before(organization: Organization, row, assemblies: list[KitAssembly]) -> list[KitAssembly]:
    """Of the plan's kit, what is begun already: by position, a standby kit by its name.

    A standby kit whose name was used before was begun under one like it; where the plan has a kit of that
    name too, it is that one.
    """
    found: list[KitAssembly] = []
    for one in assemblies:
        if one.position_id:
            found += _open_for(organization, [one.position_id], one.design)[:1]
    if row.purpose == "standby":
        unfitted = Q(assembly=None, kit__state=KitState.BEGUN) | Q(
            assembly__isnull=False, assembly__position=None
        )
        others = LINES["kits"].objects.filter(plan=row.plan).exclude(kit=row.kit).values("kit")
        named = KitAssembly.objects.of(organization).filter(unfitted, kit__key__startswith=row.kit)
        named = named.exclude(kit__key__in=others).select_related("kit__begun_by", "assembly")
        found += [one for one in named.order_by("number") if is_named_after(one.kit.key, row.kit)]
    return found


def _open_for(organization: Organization, positions: list[int], design: Design) -> list[KitAssembly]:
    """What is being built for the positions to that design, or is made for them and not fitted."""
    being_built = Q(assembly=None, kit__state=KitState.BEGUN)
    spare = Q(assembly__isnull=False, assembly__position=None)
    rows = KitAssembly.objects.of(organization).filter(being_built | spare, position__in=positions)
    return list(rows.filter(design=design).select_related("kit__begun_by", "assembly").order_by("pk"))


def _told_begun(one: KitAssembly) -> str:
    if one.assembly:
        return _("%(assembly)s of kit %(kit)s is made for it and not fitted.") % {
            "assembly": one.assembly,
            "kit": one.kit,
        }
    who = _(" by %(begun_by)s") % {"begun_by": one.kit.begun_by} if one.kit.begun_by else ""
    return _("it is in kit %(kit)s, begun on %(begun_on)s%(who)s.") % {
        "kit": one.kit,
        "begun_on": tell_day(one.kit.begun_on),
        "who": who,
    }


def _wanted(one: KitAssembly) -> Wanted:
    name = f"{one.position} ({one.design})" if one.position else f"{one.design}"
    return Wanted(one.number, one.design.key, bool(one.position and one.position.critical), name)


def _free_key(organization: Organization, key: str) -> str:
    """The key, or one like it where a kit had that name before."""
    taken = Kit.objects.of(organization).filter(key__startswith=key)
    return free_name(key[:190], set(taken.values_list("key", flat=True)))
