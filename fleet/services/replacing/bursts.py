"""When a hose bursts: what fits its position, where it lies, how soon it is there, and what the plan loses.

Stock is given to the one assembly as the plan gives it to kits: real pieces of hose, lots not past their
shelf life, successors that may stand in, never on a critical position. What plan and kits meant to do with
those parts comes second to a machine that stands; who then goes short is told beside each way.
"""

import datetime
from functools import partial

from django.db.models import Exists, OuterRef, Q
from django.utils import timezone
from django.utils.translation import gettext as _

from fleet.frames.places import place_tables
from fleet.frames.register import core_settings
from fleet.models import (
    LINES,
    Assembly,
    Design,
    KitAssembly,
    KitPart,
    KitPartState,
    KitState,
    Organization,
    Plan,
    Position,
)
from forecasting.policies import Settings
from forecasting.supply.kits import list_bill

from .burst_shelves import Asked, Shelves, carried, ways_of_stand_ins
from .burst_shortages import find_shortages, waiting_for
from .in_place import InPlace, judge_by
from .replacements import TAKES_STOCK, Replacement, Replacements, Ways, day, listed
from .stand_ins import design_of

NEW = "new"  # stands for a hose that is not built yet, among the numbers of the rows of those that are


def find_replacements(
    *,
    organization: Organization,
    position: Position,
    units: Settings | None = None,
    plan: Plan | None = None,
    today: datetime.date | None = None,
) -> Replacements:
    """What fits the position of a hose that failed just now, soonest first, and what each way lacks and costs
    others. Of what is ready on one day the machine's own site comes first, then the sites that have
    it beside what kits of the plan take.

    Assemblies built and never installed come first, each judged by the parts that are in it, then kits at
    the bench, kits of the plan in force that lack nothing, and what each site can build: none of these where
    the design would not bear the place. A site that lacks something is named where it is the machine's own,
    or would have it sooner than that. What else of the catalogue passes every check is named where the
    machine's own site lacks its parts, and at the others where every site does, unless the position is
    critical: then a person must decide. Nothing is written.

    `units`, the organization's settings, and the `plan` in force are read where the caller has not done so.
    """
    today = today or timezone.localdate()
    plan = plan or Plan.objects.in_force(organization)
    design = design_of(position)
    judged = LINES["forecasts"].objects.filter(plan=plan, machine=position.machine.key, position=position.key)
    stays = list(position.assemblies.filter(Q(removed_on=None) | Q(key__in=judged.values("assembly"))))
    installed = next((one for one in stays if one.removed_on is None), None)
    gone = next((one for one in stays if one.removed_on is not None), None)
    notes, then = _plan_says(plan, position, gone)
    if design is None:
        why = _(
            "No design is on record for %(position)s, nor of anything that was in it. "
            "Measure what came off: hose, both ends, overall length and the angle "
            "between the ends; then enter the design in designs.csv and name it in "
            "positions.csv."
        ) % {"position": position}
        return Replacements(position, None, today, Ways(()), (why, *notes), tuple(then), installed)
    asked = _asked(organization, position, design, units or core_settings(organization), today)
    shelves = Shelves(asked)
    built = _built_to(asked)
    short = _judged_short(asked, built)
    ways = _built([one for one in built if str(one.pk) not in short], asked, shelves)
    unfit = NEW in short
    if unfit:
        notes = [_tell_unfit(asked, short[NEW])]
    else:
        ways += [
            *_at_the_bench(asked, shelves),
            *_kits(asked, plan),
            *(shelves.way(site) for site in shelves.worth_telling()),
        ]
    lacking = [site for site in shelves.sites if unfit or not shelves.has_all(site)]
    nowhere = len(lacking) == len(shelves.sites)
    stand_ins = ways_of_stand_ins(
        asked, lacking if nowhere else [site for site in lacking if site == asked.home]
    )
    if position.critical:
        notes.insert(0, _("The position is critical: nothing stands in for its own parts."))
        notes += [
            _("%(says)s A named competent person must decide whether it may.") % {"says": one.says}
            for one in stand_ins
        ]
    else:
        ways += stand_ins
    spares = shelves.with_spares(plan)
    ways.sort(
        key=lambda way: (
            way.ready_on or datetime.date.max,
            way.site not in ("", asked.home),
            way.kind in TAKES_STOCK and not way.own and way.site not in spares,
        )
    )
    if not unfit and not any(way.ready_on for way in ways):
        notes.append(
            _(
                "No site has what %(design)s takes, and nothing says when it could come. "
                "Ask the supplier, then note the order with its day."
            )
            % {"design": design}
        )
    ways_told = Ways(ways, partial(find_shortages, asked, plan))
    return Replacements(position, design, today, ways_told, tuple(notes), tuple(then), installed)


def _asked(
    organization: Organization,
    position: Position,
    design: Design,
    units: Settings,
    today: datetime.date,
) -> Asked:
    tables = place_tables(organization, [position], [design])
    bill = list_bill(tables)
    return Asked(organization, position, design, today, tables, units, bill[bill["design"] == design.key])


def _built_to(asked: Asked) -> list[Assembly]:
    """The assemblies of the design that were built, are accepted as far as is known and were never fitted."""
    built = Assembly.objects.of(asked.organization).filter(
        position=None, build__design=asked.design, build__built_on__lte=asked.today
    )
    accepted = built.exclude(build__accepted=False)
    rows = accepted.select_related("build", "kit_assembly__kit__site", "kit_assembly__position__machine")
    return list(rows.order_by("-build__built_on", "key"))


def _judged_short(asked: Asked, built: list[Assembly]) -> dict[str, str]:
    """Why it would not bear the place, by what would not: `NEW` or the row's number of what was built."""

    def case(name: str, known: Assembly | None) -> InPlace:
        days = (known.built_on, known.hose_made_on) if known else (None, None)
        return InPlace(name, asked.position, asked.design.key, asked.today, known, *days)

    cases = [case(NEW, None), *(case(str(one.pk), one) for one in built)]
    judged = zip(cases, *judge_by(asked.tables, asked.settings, cases), strict=True)
    return {one.name: reason for one, verdict, reason in judged if verdict == "short"}


def _tell_unfit(asked: Asked, reason: str) -> str:
    told = _(
        "A new hose of %(design)s would not bear %(position)s: %(reason)s. None is offered. If the place or "
        "the parts are not as the register has them, correct them there."
    )
    return told % {"design": asked.design, "position": asked.position, "reason": reason}


def _built(built: list[Assembly], asked: Asked, shelves: Shelves) -> list[Replacement]:
    ways = []
    for one in built:
        made = getattr(one, "kit_assembly", None)  # a build that a folder brought was in no kit
        where = (
            _("It was made at %(site)s") % {"site": made.kit.site}
            if made
            else _("Where it lies is not on record")
        )
        ways.append(
            Replacement(
                kind="built",
                site=made.kit.site.key if made else "",
                assembly=one.key,
                kit="",
                ready_on=asked.today,
                says=_(
                    "%(assembly)s was built to %(design)s on %(built_on)s and is in no position. "
                    "%(where)s: find it, and check it before it is fitted."
                )
                % {
                    "assembly": one.key,
                    "design": asked.design,
                    "built_on": day(one.build.built_on),
                    "where": where,
                },
                then=_made_anew(made, asked, shelves) if made else (),
            )
        )
    return ways


def _at_the_bench(asked: Asked, shelves: Shelves) -> list[Replacement]:
    """The assemblies of the design whose parts are set aside in a kit that is being built."""
    held = KitPart.objects.filter(kit_assembly=OuterRef("pk"), state=KitPartState.RESERVED)
    rows = KitAssembly.objects.of(asked.organization).filter(
        Exists(held), design=asked.design, assembly=None, kit__state=KitState.BEGUN
    )
    ways = []
    for one in rows.select_related("kit__site", "position__machine").order_by("kit__needed_by", "pk"):
        if one.position_id == asked.position.pk:
            meant = _("for this very position")
        else:
            meant = (
                _("for %(position)s, which then waits") % {"position": one.position}
                if one.position
                else _("to stand by for this")
            )
        site = one.kit.site.key
        says = _("Kit %(kit)s at %(site)s is being built %(meant)s: all its parts are set aside.") % {
            "kit": one.kit,
            "site": one.kit.site,
            "meant": meant,
        }
        ways.append(
            Replacement(
                kind="bench",
                site=site,
                assembly="",
                kit=one.kit.key,
                ready_on=asked.today,
                says=says + carried(site, asked.home),
                then=_made_anew(one, asked, shelves),
            )
        )
    return ways


def _made_anew(one: KitAssembly, asked: Asked, shelves: Shelves) -> tuple[str, ...]:
    """What it means for the position that an assembly was made for when it goes elsewhere."""
    if one.position is None or one.position_id == asked.position.pk:
        return ()
    shelf = shelves.way(one.kit.site.key)
    lacks = listed([line.part for line in shelf.lines if line.short_by]) if not shelf.complete else ""
    there = (
        _("%(site)s lacks %(lacks)s for it") % {"site": shelf.site, "lacks": lacks}
        if lacks
        else _("%(site)s has every part for it") % {"site": shelf.site}
    )
    when = _(", until %(ready_on)s") % {"ready_on": day(shelf.ready_on)} if lacks and shelf.ready_on else ""
    return (
        _("%(position)s then needs another: %(there)s%(when)s.")
        % {"position": one.position, "there": there, "when": when},
    )


def _kits(asked: Asked, plan: Plan | None) -> list[Replacement]:
    """The kits of the plan that hold an assembly of the design and lack nothing of it, standby kits first."""
    if plan is None:
        return []
    lines = waiting_for(asked, plan, Q(design=asked.design.key))
    short = set(lines.loc[lines["short_by"] > 0, "kit"])
    kits = lines[~lines["kit"].isin(short)].sort_values(["purpose", "needed_by"], ascending=[False, True])
    ways = []
    for kit in kits.drop_duplicates("kit").itertuples(index=False):
        own = kit.machine == asked.position.machine.key and bool(
            lines.loc[lines["kit"] == kit.kit, "freed"].any()
        )
        if kit.purpose == "standby":
            meant = _("it stands by for this.")
        elif own:
            meant = _("it was meant for this position on %(date)s.") % {"date": day(kit.needed_by.date())}
        else:
            meant = _("needed on %(date)s for %(machine)s, which then waits.") % {
                "date": day(kit.needed_by.date()),
                "machine": kit.machine,
            }
        says = _("Kit %(kit)s at %(site)s has all of it: %(meant)s") % {
            "kit": kit.kit,
            "site": kit.site,
            "meant": meant,
        }
        ways.append(
            Replacement(
                kind="kit",
                site=kit.site,
                assembly="",
                kit=kit.kit,
                ready_on=asked.today,
                says=says + carried(kit.site, asked.home),
                own=own,
            )
        )
    return ways


def _plan_says(plan: Plan | None, position: Position, gone: Assembly | None) -> tuple[list[str], list[str]]:
    """What the plan in force says of the position that matters now, and what the next one makes of it.

    `gone` is the hose that the plan judged there, where it is on record that it came off.
    """
    if plan is None:
        return [], []
    place = {"plan": plan, "machine": position.machine.key, "position": position.key}
    notes = [
        _(
            "By the plan of %(as_of)s the hose that was there is not fit for its "
            "place: %(reason)s. Settle that before a new one is fitted."
        )
        % {"as_of": day(plan.as_of), "reason": line.reason}
        for line in LINES["margins"].objects.filter(**place, verdict="short").order_by("row")[:1]
    ]
    stops = LINES["changeouts"].objects.filter(plan=plan, machine=position.machine.key)
    planned = list(stops.order_by("row").values_list("position", "changeout", "planned_on"))
    own = next((line for line in planned if line[0] == position.key), None)
    on_record = (
        _("That %(assembly)s came off on %(removed_on)s is on record:")
        % {"assembly": gone, "removed_on": day(gone.removed_on)}
        if gone
        else _("Once this failure is on record,")
    )
    if own is None:
        return notes, [
            _(
                "The plan had no changeout for it. %(on_record)s the next plan judges the new hose, and "
                "orders anew what it took."
            )
            % {"on_record": on_record}
        ]
    _position, changeout, planned_on = own
    others = sum(line[1] == changeout for line in planned) - 1
    stays = (
        _("1 other position of that stop stays")
        if others == 1
        else _("%(others)s others of that stop stay") % {"others": others}
    )
    rest = stays if others else _("the stop falls away")
    return notes, [
        _(
            "The plan had it changed on %(planned_on)s (%(changeout)s). %(on_record)s the next plan drops "
            "that and frees the parts meant for it; %(rest)s."
        )
        % {
            "planned_on": day(planned_on),
            "changeout": changeout,
            "on_record": on_record,
            "rest": rest,
        }
    ]
