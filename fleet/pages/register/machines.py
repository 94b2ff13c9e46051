"""The register's pages of machines: all of them, and one with its positions."""

import datetime
from dataclasses import dataclass
from typing import Any

from django.db.models import Aggregate, Count, Exists, Min, OuterRef, Q, Subquery, Sum
from django.http import HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.utils.translation import gettext as _

from fleet.models import LINES, Assembly, Machine, MeterReading, Position
from fleet.services.decisions.deciding import standing_decisions

from ..members import PageRequest, Reader, member_page
from ..paging import page_of
from ..sheets import sheet_asked, sheet_of
from ..sorting import Sorting
from .forecast_lines import plan_says

ORDERS = {
    "machine": "key",
    "site": "site__key",
    "positions": "weight",
    "over_rating": "weight",
    "failures": "weight",
    "next_on": "weight",
}
WEIGHTS: dict[str, tuple[str, Aggregate, dict[str, str]]] = {
    "over_rating": ("margins", Count("pk"), {"verdict": "short"}),
    "failures": ("forecasts", Sum("p_fail_365d"), {}),
    "next_on": ("changeouts", Min("planned_on"), {}),
}
SHEET = {
    "machine": "key",
    "site": "site__key",
    "model": "model",
    "commissioned_on": "commissioned_on",
    "retired_on": "retired_on",
    "hours_per_day": "hours_per_day",
    "downtime_cost_per_hour": "downtime_cost_per_hour",
}


def weight_of(reader: Reader, name: str) -> dict[str, Count | Subquery]:
    """What the machines are sorted by in the column of that name, as `weight`; nothing for a column of their
    own, since each costs a look at every machine."""
    if name == "positions":
        return {"weight": Count("positions")}
    if name not in WEIGHTS:
        return {}
    table, figure, kept = WEIGHTS[name]
    lines = LINES[table].objects.filter(plan=reader.plan, machine=OuterRef("key"), **kept).order_by()
    return {"weight": Subquery(lines.values("machine").annotate(of_machine=figure).values("of_machine"))}


@member_page()
def machines(request: PageRequest, reader: Reader) -> HttpResponseBase:
    """The machines by key, found by a piece of key or model, each with its positions and what is due."""
    sought, site = request.GET.get("q", "").strip(), request.GET.get("site", "")
    rows = Machine.objects.of(reader.organization).select_related("site")
    if sought:
        rows = rows.filter(Q(key__icontains=sought) | Q(model__icontains=sought))
    if site:
        rows = rows.filter(site__key=site)
    sorting = Sorting.asked(request, ORDERS)
    rows = sorting.sort(rows.annotate(**weight_of(reader, sorting.by)), "key")
    if sheet_asked(request):
        return sheet_of(request, "machines", rows, SHEET)
    page = page_of(request, rows)
    context = {
        "title": _("Machines"),
        "sorting": sorting,
        "way": "machines",
        "page": page,
        "rows": rows_of(reader, list(page)),
        "q": sought,
        "site": site,
    }
    return render(request, "register/machines.html", context)


@dataclass(frozen=True, slots=True)
class MachineRow:
    """A machine as a list shows it. From the plan in force: how many hoses are `over_rating`, how many
    `failures` are expected in a year (None: nothing installed, or no plan), the next stop `next_on`."""

    machine: Machine
    positions: int
    over_rating: int
    failures: float | None
    next_on: datetime.date | None


def rows_of(reader: Reader, machines: list[Machine]) -> list[MachineRow]:
    """One row per machine, in their order. Four queries, however many machines."""
    positions = Position.objects.filter(machine__in=machines).order_by().values_list("machine_id")
    count = dict(positions.annotate(of_machine=Count("pk")))
    keys = [machine.key for machine in machines]

    def told(table: str, figure: Aggregate, kept: dict[str, str]) -> dict[str, Any]:
        lines = LINES[table].objects.filter(plan=reader.plan, machine__in=keys, **kept).order_by()
        return dict(lines.values_list("machine").annotate(of_machine=figure)) if reader.plan else {}

    over_rating, failures, next_on = (told(*WEIGHTS[name]) for name in ("over_rating", "failures", "next_on"))
    return [
        MachineRow(
            machine=machine,
            positions=count.get(machine.pk, 0),
            over_rating=over_rating.get(machine.key, 0),
            failures=failures.get(machine.key),
            next_on=next_on.get(machine.key),
        )
        for machine in machines
    ]


@member_page()
def machine(request: PageRequest, reader: Reader, machine: str) -> HttpResponse:
    """One machine: each position with what is installed there, its margin, its chances and when it is due."""
    read = MeterReading.objects.filter(machine=OuterRef("pk")).order_by("-read_on")
    stays = Assembly.objects.filter(position__machine=OuterRef("pk"))
    changed = (
        LINES["changeouts"]
        .objects.filter(plan=reader.plan, machine=OuterRef("key"))
        .order_by("planned_on", "row")
    )
    found = get_object_or_404(
        Machine.objects.of(reader.organization)
        .select_related("site")
        .annotate(
            read_on=Subquery(read.values("read_on")[:1]),
            read_hours=Subquery(read.values("hours")[:1]),
            metered=Exists(read) | Exists(stays.exclude(installed_hours=None, removed_hours=None)),
            next_on=Subquery(changed.values("planned_on")[:1]),
            next_stop=Subquery(changed.values("changeout")[:1]),
        ),
        key=machine,
    )
    page = page_of(
        request, Position.objects.filter(machine=found).select_related("design__hose_part").order_by("key")
    )
    positions = list(page)
    decided = standing_decisions(reader.organization, reader.plan).filter(assembly=OuterRef("pk"))
    waits = decided.values("waits")[:1]  # type: ignore[misc]  # annotated, which its type does not say
    installed = {
        one.position_id: one
        for one in Assembly.objects.filter(position__in=positions, removed_on=None)
        .select_related("design__hose_part")
        .annotate(decided=Subquery(decided.values("kind")[:1]), decided_since=Subquery(waits))
    }
    said = plan_says(reader, [one.key for one in installed.values()])
    for position in positions:
        position.installed = one = installed.get(position.pk)
        position.said = said.get(one.key) if one else None
        position.hose = ((one and one.design) or position.design) and (
            ((one and one.design) or position.design).hose_part
        )
    today = reader.plan.as_of if reader.plan else timezone.localdate()
    context = {
        "title": found.key,
        "way": "machines",
        "machine": found,
        "page": page,
        "positions": positions,
        "over_rating": LINES["margins"]
        .objects.filter(plan=reader.plan, machine=found.key, verdict="short")
        .order_by("margin_percent", "row"),
        "windows": found.windows.filter(ends_on__gte=today).order_by("starts_on")[:3],
    }
    return render(request, "register/machine.html", context)
