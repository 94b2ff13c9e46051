"""From what went into assemblies, or made them, to every one of them: where each is, and one act for all."""

import datetime
from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass

from django.db import transaction
from django.db.models import F, Q, QuerySet, Value
from django.db.models.functions import Concat
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from simple_history.utils import bulk_create_with_history, bulk_update_with_history

from fleet.models import (
    Assembly,
    ChangeoutDecision,
    DecisionKind,
    Design,
    KitPart,
    KitPartState,
    Organization,
    User,
)

from ..errors import ServiceError
from ..signing import hold_organization
from .deciding import LONGEST_REASON
from .inspection_requests import ask_inspection_of, open_requests
from .weighing import check_not_past


class NothingInPlace(ServiceError):
    """A group of assemblies none of which is installed."""

    code = "nothing_in_place"
    message = gettext_lazy(
        "Nothing that is in place belongs to %(group)s. Look whether it is written in full."
    )


# Decisions by which an assembly is changed on their day or before it.
GOES_BY = (DecisionKind.NOT_AFTER, DecisionKind.KEEP)


@dataclass(frozen=True, slots=True)
class Asked:
    """What was set for a group: for how many assemblies anew, and for how many it stood already; `left` says
    which were left as somebody had decided, in words."""

    made: int
    stood: int
    left: tuple[str, ...] = ()


def made_to(designs: QuerySet) -> Q:
    """The assemblies of those designs; one whose design is not on record counts as its position's."""
    return Q(design__in=designs) | Q(design=None, position__design__in=designs)


def designs_with(organization: Organization, part: str) -> QuerySet:
    """The organization's designs that take the part, at whatever place."""
    uses = Q(hose_part__key=part) | Q(end_a_part__key=part) | Q(end_b_part__key=part)
    return Design.objects.of(organization).filter(uses | Q(parts__part__key=part)).order_by().values("pk")


def _with_part(organization: Organization, name: str) -> Q:
    """Made with the part: by its build where that is on record, else as its design has it."""
    by_design = made_to(designs_with(organization, name)) & ~Q(pk__in=_built_in_kits(organization))
    return by_design | Q(pk__in=_built_with(organization, name))


def _built_with(organization: Organization, part: str) -> QuerySet:
    built = KitPart.objects.of(organization).filter(state=KitPartState.USED, scrapped_because="")
    with_it = built.filter(part__key=part, kit_assembly__assembly__isnull=False)
    return with_it.values("kit_assembly__assembly")


def _built_in_kits(organization: Organization) -> QuerySet:
    made = Assembly.objects.of(organization).filter(kit_assembly__isnull=False)
    return made.order_by().values("pk")


def _of_lot(organization: Organization, name: str) -> Q:
    """Made with any part of that lot."""
    taken = KitPart.objects.of(organization).filter(
        lot=name, state=KitPartState.USED, scrapped_because="", kit_assembly__assembly__isnull=False
    )
    ends = Q(build__end_a_lot=name) | Q(build__end_b_lot=name)
    return Q(hose_lot=name) | ends | Q(pk__in=taken.values("kit_assembly__assembly"))


# What a group of assemblies can be named by, as suspects are, and the condition that holds for its members.
GROUPS: dict[str, Callable[[Organization, str], Q]] = {
    "crimped_by": lambda _organization, name: Q(crimped_by=name),
    "hose_lot": lambda _organization, name: Q(hose_lot=name),
    "lot": _of_lot,
    "part": _with_part,
    "design": lambda organization, name: made_to(Design.objects.of(organization).filter(key=name)),
    "gauge": lambda _organization, name: Q(build__gauge=name),
    "die": lambda _organization, name: Q(build__die=name),
    "machine": lambda _organization, name: Q(position__machine__key=name),
    "machine_model": lambda _organization, name: Q(position__machine__model=name),
    "position": lambda _organization, name: Q(place=name),
}


def trace_assemblies(organization: Organization, groups: Mapping[str, str]) -> QuerySet[Assembly]:
    """Every assembly ever of all the `groups` (name by kind, see GROUPS), on a machine or not."""
    rows = Assembly.objects.of(organization)
    if "position" in groups:
        rows = with_place(rows)
    for kind, name in groups.items():
        rows = rows.filter(GROUPS[kind](organization, name))
    return rows


def count_with_part(organization: Organization, part: str, designs: Collection[Design]) -> int:
    """How many assemblies in place are made with the part; `designs` are all those that take it.

    Each way to be made with it is counted apart, in one query: any of several ways is found in no index.
    """
    rows = in_place(Assembly.objects.of(organization)).order_by().values("pk")
    drawn = rows.exclude(pk__in=_built_in_kits(organization))
    ways = (
        drawn.filter(design__in=designs),
        drawn.filter(design=None, position__design__in=designs),
        rows.filter(pk__in=_built_with(organization, part)),
    )
    return ways[0].union(*ways[1:], all=True).count()


def with_place(rows: QuerySet[Assembly]) -> QuerySet[Assembly]:
    """The rows, each with its `place`, machine/position, which the condition of a position asks for."""
    return rows.annotate(place=Concat(F("position__machine__key"), Value("/"), F("position__key")))


def in_place(rows: QuerySet[Assembly]) -> QuerySet[Assembly]:
    """Those of the rows that are on a machine now."""
    return rows.filter(position__isnull=False, removed_on=None)


@transaction.atomic(durable=True)
def ask_inspections(
    *,
    organization: Organization,
    user: User | None,
    groups: Mapping[str, str],
    by_day: datetime.date,
    reason: str,
    today: datetime.date | None = None,
) -> Asked:
    """Has every assembly of the groups that is in place looked at by a day, all or none.

    One that is to be looked at by then already stays as it was asked. Raises NothingInPlace, InspectionDay.
    """
    hold_organization(organization)
    found = _found(organization, groups)
    waiting = open_requests(organization).filter(by_day__lte=by_day).values("assembly")
    rows = list(found.exclude(pk__in=waiting))
    ask_inspection_of(rows, user, by_day=by_day, reason=reason, today=today or timezone.localdate())
    return Asked(len(rows), found.count() - len(rows))


@transaction.atomic(durable=True)
def set_changeouts(
    *,
    organization: Organization,
    user: User | None,
    groups: Mapping[str, str],
    not_after: datetime.date,
    reason: str,
    today: datetime.date | None = None,
) -> Asked:
    """Has every assembly of the groups that is in place changed by a day at the latest, all or none.

    It stands as a decision about each that the next plan honours. Where one already says that it goes by
    then, that stays; so does what a planner decided otherwise (not before a day, kept for a later one,
    refused), and those are told. Raises NothingInPlace and DecisionDay.
    """
    hold_organization(organization)
    today = today or timezone.localdate()
    found = _found(organization, groups)
    check_not_past(not_after, today)
    members = found.order_by().values("pk")
    stands = ChangeoutDecision.objects.filter(assembly__in=members, withdrawn_on=None)
    decided = {one.assembly_id: one for one in stands.select_related("assembly", "decided_by")}
    in_time = {pk for pk, one in decided.items() if one.kind in GOES_BY and one.day and one.day <= not_after}
    open_ones = [one for pk, one in decided.items() if pk not in in_time]
    later = [one for one in open_ones if one.kind == DecisionKind.NOT_AFTER]
    left = [one for one in open_ones if one.kind != DecisionKind.NOT_AFTER]
    untouched = in_time | {one.assembly_id for one in left}
    for one in later:
        one.withdrawn_on = today
    anew = "decided anew"
    bulk_update_with_history(
        later, ChangeoutDecision, ["withdrawn_on"], default_user=user, default_change_reason=anew
    )
    made = [
        ChangeoutDecision(
            organization=organization,
            assembly=assembly,
            kind=DecisionKind.NOT_AFTER,
            day=not_after,
            reason=reason.strip()[:LONGEST_REASON],
            decided_on=today,
            decided_by=user,
        )
        for assembly in found
        if assembly.pk not in untouched
    ]
    bulk_create_with_history(
        made, ChangeoutDecision, default_user=user, default_change_reason="decided for its group"
    )
    told = sorted((one.assembly.key, _in_words(one)) for one in left)
    return Asked(len(made), len(in_time), tuple(words for _key, words in told))


def _in_words(one: ChangeoutDecision) -> str:
    """A decision that stands, for whoever meant otherwise."""
    told = {
        DecisionKind.KEEP: _("%(assembly)s: keep for %(day)s, %(who)s decided on %(decided_on)s"),
        DecisionKind.NOT_BEFORE: _("%(assembly)s: not before %(day)s, %(who)s decided on %(decided_on)s"),
        DecisionKind.NOT_AFTER: _("%(assembly)s: not after %(day)s, %(who)s decided on %(decided_on)s"),
        DecisionKind.REFUSE: _("%(assembly)s: do not change it, %(who)s decided on %(decided_on)s"),
    }[DecisionKind(one.kind)]
    return told % {
        "assembly": one.assembly,
        "day": one.day,
        "who": one.decided_by or _("somebody"),
        "decided_on": one.decided_on,
    }


def _found(organization: Organization, groups: Mapping[str, str]) -> QuerySet[Assembly]:
    found = in_place(trace_assemblies(organization, groups)).order_by("key")
    if not groups or not found.exists():
        named = ", ".join(f"{kind} {name}" for kind, name in groups.items())
        raise NothingInPlace(group=named or _("no group"))
    return found
