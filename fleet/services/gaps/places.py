"""What a plan's gaps are about, as the register has it now: the place of each, and what was entered since."""

import datetime
from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import reduce
from operator import or_
from typing import Any

from django.db.models import Model, OuterRef, Q, QuerySet, Subquery

from fleet.exchange.schema import INSTALLATIONS, METER_READINGS, PARTS, POSITIONS
from fleet.models import Assembly, MeterReading, Organization, Part, Plan, Position

MOST_PIECES = 20  # of a name between strokes; each stroke is one more way to look for it
NOTHING = (None, "", "unknown")  # the last is a cause of removal

Gap = tuple[str, str, str]  # file, name of the row in it and column, as a plan has them


@dataclass(frozen=True, slots=True)
class GapPlace:
    """Where the thing is that a plan did not know; its keys are empty where they do not apply.

    `stands` is what was entered since that plan, `since` the day; None where nothing was.
    """

    machine: str = ""
    position: str = ""
    assembly: str = ""
    part: str = ""
    stands: Any = None
    since: datetime.date | None = None


def places_of(organization: Organization, plan: Plan, gaps: Iterable[Gap]) -> dict[Gap, GapPlace]:
    """The place of each gap that the register still has; one query for each file that they are of."""
    by_file: dict[str, list[Gap]] = {}
    for gap in gaps:
        by_file.setdefault(gap[0], []).append(gap)
    found: dict[Gap, GapPlace] = {}
    for file, of_file in by_file.items():
        if file == METER_READINGS.name:
            found |= _meters(organization, of_file)
        elif file in (POSITIONS.name, PARTS.name, INSTALLATIONS.name):
            found |= _rows(organization, plan, file, of_file)
    return found


def named_positions(names: Iterable[str]) -> Q:
    """The positions of these names, machine/position: each stroke may be the one between them."""
    ways = Q(pk__in=[])
    for name in names:
        pieces = name.split("/")[: MOST_PIECES + 1]
        if len(pieces) <= MOST_PIECES:
            cuts = [("/".join(pieces[:at]), "/".join(pieces[at:])) for at in range(1, len(pieces))]
            ways = reduce(or_, (Q(machine__key=machine, key=key) for machine, key in cuts), ways)
    return ways


def _meters(organization: Organization, gaps: list[Gap]) -> dict[Gap, GapPlace]:
    """Machines whose meter nobody had read, with the last reading since."""
    machines = {name for _, name, _ in gaps}
    read = MeterReading.objects.of(organization).filter(machine__key__in=machines).order_by("read_on")
    last = {key: (hours, day) for key, hours, day in read.values_list("machine__key", "hours", "read_on")}
    return {gap: GapPlace(gap[1], "", "", "", *last.get(gap[1], (None, None))) for gap in gaps}


def _place(row: Position | Part | Assembly) -> tuple[str, GapPlace]:
    """The name that gaps have for the row, and its place."""
    if isinstance(row, Part):
        return row.key, GapPlace(part=row.key)
    if isinstance(row, Position):
        return f"{row.machine.key}/{row.key}", GapPlace(row.machine.key, row.key)
    position = row.position
    assert position is not None  # as they are asked for
    return row.key, GapPlace(position.machine.key, position.key, row.key)


def _rows(organization: Organization, plan: Plan, file: str, gaps: list[Gap]) -> dict[Gap, GapPlace]:
    """The places of the gaps, each with what its column says if the plan found something else."""
    names = {name for _, name, _ in gaps}
    columns = {column for _, _, column in gaps}
    rows: QuerySet
    if file == POSITIONS.name:
        rows = Position.objects.filter(named_positions(names)).select_related("machine", "design")
    elif file == PARTS.name:
        rows = Part.objects.filter(key__in=names)
    else:
        rows = Assembly.objects.filter(key__in=names, position__isnull=False)
        rows = rows.select_related("position__machine")
    made_at = plan.started_at or plan.requested_at
    rows = rows.filter(organization=organization).annotate(**_since(rows.model, columns, made_at))
    found = {}
    for row in rows.order_by("pk"):
        name, place = _place(row)
        for column in columns:
            stands, since = getattr(row, column), getattr(row, f"since_{column}")
            before, now = getattr(row, f"before_{column}"), getattr(row, _stored_under(rows.model, column))
            known = stands not in NOTHING and since and before != now
            entered = replace(place, stands=stands, since=since.date()) if known else place
            found[(file, name, column)] = entered
    return found


def _since(model: type[Model], columns: Iterable[str], made_at: datetime.datetime) -> dict[str, Subquery]:
    """For each column what the row said of it when the plan was made, and since when it says what it does."""
    asked = {}
    for column in columns:
        name = _stored_under(model, column)
        history = model.history.filter(id=OuterRef("pk"))  # type: ignore[attr-defined]
        before = history.filter(history_date__lte=made_at).order_by("-history_date", "-history_id")
        after = history.filter(history_date__gt=made_at, **{name: OuterRef(name)}).order_by("history_date")
        asked[f"before_{column}"] = Subquery(before.values(name)[:1])
        asked[f"since_{column}"] = Subquery(after.values("history_date")[:1])
    return asked


def _stored_under(model: type[Model], column: str) -> str:
    """The column's name in the database: of a design its number stands there."""
    return getattr(model._meta.get_field(column), "attname", column)
