"""The bench: a build is accepted, so that the assembly exists and its parts leave stock; or it is scrapped.

Both hold the organization's row before any other (see `signing`): of two people at one assembly of a kit the
second is told what the first did.
"""

import datetime
import uuid
from collections.abc import Collection
from dataclasses import dataclass

from django.db import transaction
from django.db.models.functions import Length
from django.utils import timezone
from django.utils.translation import gettext as _

from fleet.frames.register import chosen_age_rule, core_settings, shelf_lives
from fleet.models import (
    Assembly,
    Build,
    CrimpReading,
    KitAssembly,
    KitPart,
    KitPartState,
    KitState,
    Organization,
    StockPiece,
    User,
)
from forecasting.units import ReaderUnits, tell_measures

from ..sent_entries import TokenSpent, take_form, told_before
from ..signing import hold_organization, save_signed
from ..stock.shelves import DUST, figure, is_hose, set_on_hand
from .allotting import Wanted, allot_again
from .build_rules import ENDS, BuildRecord, crimps_of, judge_build
from .cutting import cut_off, give_back_cut, keep_length_mm, longest_cut_mm
from .errors import (
    AssemblyKeyTaken,
    AssemblyMade,
    BuildFinding,
    BuildQuestioned,
    BuildRefused,
    KitNotThere,
    NothingSetAside,
    PartsChanged,
    ReasonMissing,
)
from .kits import begun_kit, set_aside

FIRST_KEY = "A-0001"
REMARKS_LENGTH = 300


@dataclass(frozen=True, slots=True)
class Accepted:
    """The assembly that now exists; in sentences that it does, and what became of its parts' rests. `again`
    where the record had been taken before and nothing was done this time."""

    assembly: Assembly
    told: tuple[str, ...]
    again: bool = False


@dataclass(frozen=True, slots=True)
class Scrapped:
    """What became of a spoilt build: `ready` where parts are set aside for the next try."""

    ready: bool
    told: tuple[str, ...]


@transaction.atomic(durable=True)
def accept_build(
    *,
    organization: Organization,
    user: User | None,
    kit: str,
    number: int,
    record: BuildRecord,
    assembly: str = "",
    confirmed: Collection[str] = (),
    token: uuid.UUID | None = None,
    today: datetime.date | None = None,
) -> Accepted:
    """The assembly that was built as recorded, for no. `number` of the kit; its parts have left the stock.

    `assembly` is its tag; without one it gets the next free. `confirmed` are the codes of the questions that
    somebody answers for, which its remarks keep. A record that is sent twice, by its
    `token`, counts once. Raises BuildRefused and BuildQuestioned with all findings,
    AssemblyMade where another was first, and other ServiceErrors; then nothing is stored.
    """
    hold_organization(organization)
    if (told_first := told_before(organization, token)) is not None:
        rows = KitAssembly.objects.of(organization).select_related("assembly")
        first = rows.filter(kit__key=kit, number=number).first()
        if first is None or first.assembly is None:
            raise TokenSpent(told=told_first)
        return Accepted(first.assembly, (told_first,), again=True)
    one, parts = _at_the_bench(organization, kit, number)
    pieces = _pieces(parts)
    shelf_days = shelf_lives([part.part for part in parts], chosen_age_rule(organization))
    units = core_settings(organization)
    findings = judge_build(one, parts, record, today or timezone.localdate(), shelf_days, units)
    findings += _too_long(parts, pieces, record, units)
    if any(finding.refused for finding in findings):
        raise BuildRefused(findings)
    if open_questions := [finding for finding in findings if finding.code not in confirmed]:
        raise BuildQuestioned(open_questions)
    key = assembly.strip() or propose_assembly_key(organization)
    if Assembly.objects.of(organization).filter(key=key).exists():
        raise AssemblyKeyTaken(assembly=key, free=propose_assembly_key(organization))
    made = _make(one, parts, record, key, findings, user)
    rests = _use(parts, pieces, record.cut_length_mm, f"built into {key}", user, "")
    told = (_("%(key)s is accepted.") % {"key": key}, *rests)
    one.assembly = made
    save_signed(one, user, f"accepted as {key}")
    if not one.kit.assemblies.filter(assembly=None).exists():
        one.kit.state, one.kit.closed_on = KitState.MADE, record.built_on
        save_signed(one.kit, user, "made")
    take_form(organization, token, user, " ".join(told))
    return Accepted(made, told)


@transaction.atomic(durable=True)
def scrap_build(
    *,
    organization: Organization,
    user: User | None,
    kit: str,
    number: int,
    reason: str,
    cut_length_mm: float | None = None,
    spared: Collection[int] = (),
    seen: Collection[int] | None = None,
    today: datetime.date | None = None,
) -> Scrapped:
    """What came of scrapping a build: its parts are used up, and others are set aside for the next try.

    `spared` are the ids of KitParts that were not spoilt. Where stock does not give the others again, all of
    the assembly waits, and what was spared is given back: hose as an offcut where `cut_length_mm` says that
    it was cut. `seen` are the ids of all that were set aside when the person looked: where that has changed,
    the build may have been scrapped already. Raises ServiceError.
    """
    hold_organization(organization)
    today = today or timezone.localdate()
    if not reason.strip():
        raise ReasonMissing(what=_("it is scrapped"))
    one, parts = _at_the_bench(organization, kit, number)
    if seen is not None and set(seen) != {part.pk for part in parts}:
        raise PartsChanged(number=number, kit=kit)
    spoilt = [part for part in parts if part.pk not in spared]
    again = [
        {
            "place": part.place,
            "part": (part.substitute_for or part.part).key,
            "quantity": part.quantity,
            "cut_length_mm": part.cut_length_mm,
        }
        for part in spoilt
    ]
    pieces = _pieces(parts)
    cut_only = BuildRecord(built_on=today, cut_length_mm=cut_length_mm)
    too_long = _too_long(parts, pieces, cut_only, core_settings(organization))
    if too_long:
        raise BuildRefused(too_long)
    because = f"no. {number} of kit {kit} scrapped: {reason.strip()}"
    told = _use(spoilt, pieces, cut_length_mm, because, user, reason.strip()[:300])
    if not again:
        return Scrapped(True, tuple(told))
    name = f"{one.position or one.design}"
    critical = bool(one.position and one.position.critical)
    allotment = allot_again(
        organization,
        Wanted(number, one.design.key, critical, name),
        again,
        site=one.kit.site.key,
        needed_by=one.kit.needed_by or today,
        today=today,
    )
    if not allotment.lacks:
        set_aside(one, allotment.shares[number], user)
        return Scrapped(True, tuple(told))
    for part in parts:
        if part.pk in spared and is_hose(part.part) and cut_length_mm:
            told.append(give_back_cut(part, cut_length_mm, keep_length_mm(organization), user, because))
        elif part.pk in spared:
            part.state, part.kerf_mm = KitPartState.GIVEN_BACK, 0.0
            save_signed(part, user, because)
    return Scrapped(
        False,
        (
            *told,
            *(_("To make it again is missing: %(one)s") % {"one": one} for one in allotment.lacks.values()),
        ),
    )


def propose_assembly_key(organization: Organization) -> str:
    """The tag after the highest of the kind that was given last: A01083 gives A01084."""
    rows = Assembly.objects.of(organization)
    last = rows.order_by("-pk").values_list("key", flat=True).first()
    if last is None:
        return FIRST_KEY
    stem = last.rstrip("0123456789")
    alike = rows.filter(key__startswith=stem).annotate(length=Length("key")).order_by("-length", "-key")
    numbered = (key for key in alike.values_list("key", flat=True).iterator() if key[len(stem) :].isdigit())
    highest = next(numbered, None)
    if highest is None:
        return f"{stem}-1"
    digits = highest[len(stem) :]
    return f"{stem}{int(digits) + 1:0{len(digits)}d}"


def _at_the_bench(organization: Organization, kit: str, number: int) -> tuple[KitAssembly, list[KitPart]]:
    """The assembly of a begun kit and the parts set aside for it. Raises ServiceError."""
    rows = KitAssembly.objects.of(organization).filter(kit__key=kit, number=number)
    one = rows.select_related("kit__site", "design", "position__machine", "assembly__build").first()
    if one is None:
        raise KitNotThere(
            kit=kit,
            where=_("with a no. %(number)s") % {"number": number},
            right=_("Look at what the kit is for, and begin it first."),
        )
    if one.assembly is not None:
        build = one.assembly.build
        who = build.accepted_by or build.built_by
        raise AssemblyMade(number=number, kit=kit, assembly=one.assembly, who=who, day=build.built_on)
    one.kit = begun_kit(organization, kit)
    parts = KitPart.objects.filter(kit_assembly=one, state=KitPartState.RESERVED)
    held = list(parts.select_related("part", "substitute_for").order_by("pk"))
    if not held:
        raise NothingSetAside(number=number, kit=kit)
    return one, held


def _pieces(parts: list[KitPart]) -> dict[int | None, StockPiece]:
    ids = {part.piece_id for part in parts if part.piece_id is not None}
    rows = StockPiece.objects.select_for_update().filter(pk__in=ids).order_by("pk")
    # What was counted meanwhile may have named another lot.
    pieces: dict[int | None, StockPiece] = {row.pk: row for row in rows}
    for part in parts:
        piece = pieces[part.piece_id]
        part.piece_name, part.lot, part.made_on = piece.piece, piece.lot, piece.made_on
    return pieces


def _too_long(
    parts: list[KitPart], pieces: dict[int | None, StockPiece], record: BuildRecord, units: ReaderUnits
) -> list[BuildFinding]:
    """What to say where the piece cannot have given the cut that is told of."""
    hose = next((part for part in parts if is_hose(part.part)), None)
    if hose is None or record.cut_length_mm is None:
        return []
    piece = pieces[hose.piece_id]
    most = longest_cut_mm(hose, piece)
    if record.cut_length_mm <= most + DUST * 1000:
        return []
    cut, longest = tell_measures([record.cut_length_mm, most], "length_mm", units)
    text = _(
        "A cut of %(cut)s does not come off %(piece)s, which gives %(most)s beside what other kits hold of "
        "it. Check the length, or count the piece."
    ) % {
        "cut": cut,
        "piece": piece.piece or _("its piece"),
        "most": longest,
    }
    return [BuildFinding("cut_too_long", "cut_length", True, text)]


def _use(
    parts: list[KitPart],
    pieces: dict[int | None, StockPiece],
    cut_length_mm: float | None,
    reason: str,
    user: User | None,
    scrapped_because: str,
) -> list[str]:
    """Lets the parts leave the stock, lot by lot; what came of their rests, in sentences."""
    told = []
    for part in parts:
        piece = pieces[part.piece_id]
        part.state, part.scrapped_because = KitPartState.USED, scrapped_because
        if is_hose(part.part):
            cut = cut_length_mm or part.cut_length_mm or part.quantity * 1000
            told.append(cut_off(part, piece, cut, keep_length_mm(part.organization), user, reason))
        else:
            set_on_hand(piece, max(round(piece.on_hand - part.quantity, 6), 0.0))
            save_signed(piece, user, f"{figure(part.quantity)} {reason}")
        save_signed(part, user, reason)
    return [one for one in told if one]


def _make(
    one: KitAssembly,
    parts: list[KitPart],
    record: BuildRecord,
    key: str,
    answered: list[BuildFinding],
    user: User | None,
) -> Assembly:
    """Stores the assembly, how it was built and what was measured."""
    hose = next((part for part in parts if is_hose(part.part)), None)
    lot_of = {
        end: ", ".join(
            dict.fromkeys(part.lot for part in parts if part.place == end and _is_end(part) and part.lot)
        )[:80]
        for end in ENDS
    }
    charts = [crimp.chart.chart for crimp in crimps_of(parts) if crimp.chart]
    own = {"organization": one.organization}
    made = Assembly(
        **own,
        key=key,
        design=one.design,
        built_on=record.built_on,
        hose_made_on=hose.made_on if hose else None,
        hose_lot=hose.lot if hose else "",
        crimped_by=record.built_by.strip(),
    )
    save_signed(made, user, f"built for kit {one.kit}")
    asked = "; ".join(dict.fromkeys(finding.code.replace("_", " ") for finding in answered))
    remarks = "; ".join(filter(None, [record.remarks.strip(), f"answered for: {asked}" if asked else ""]))
    seen = {end: record.seen(end) if hose else None for end in ENDS}
    build = Build(
        **own,
        assembly=made,
        design=one.design,
        built_on=record.built_on,
        built_by=record.built_by.strip(),
        kit=one.kit.key,
        hose_lot=hose.lot if hose else "",
        end_a_lot=lot_of["a"],
        end_b_lot=lot_of["b"],
        cut_length_mm=record.cut_length_mm if hose else None,
        insertion_a_seen=seen["a"],
        insertion_b_seen=seen["b"],
        cleanings_before=record.cleanings_before,
        cleanings_after=record.cleanings_after,
        gauge=record.gauge.strip(),
        die=record.die.strip(),
        proof_pressure_bar=record.proof_pressure_bar,
        proof_seconds=record.proof_seconds,
        accepted=True,
        accepted_by=record.accepted_by.strip(),
        chart="; ".join(dict.fromkeys(filter(None, charts)))[:120],
        proof_medium=record.proof_medium.strip(),
        remarks=remarks[:REMARKS_LENGTH],
        entered=record.entered,
    )
    save_signed(build, user, "accepted")
    for end in ENDS:
        for place, diameter in enumerate(record.readings.get(end, ()), start=1):
            reading = CrimpReading(**own, build=build, end=end, number=place, diameter_mm=diameter)
            if record.readings_unit == "in":
                reading.entered = {"diameter": [round(diameter / 25.4, 6), "in"]}
            save_signed(reading, user, "accepted")
    return made


def _is_end(part: KitPart) -> bool:
    return part.part.kind == "hose_end"
