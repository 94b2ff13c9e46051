"""What is at the bench, for every page that shows it: begun kits with what they hold, and cuts made."""

from django.db.models import Exists, F, OuterRef, Q, QuerySet

from fleet.models import LINES, Assembly, KitAssembly, KitPart, KitPartState, KitState
from fleet.services.stock.shelves import counted_in, is_hose

from ..members import Reader


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
