"""The manager's pages: what to order and why, what lies too much, who fails too often, what is not known."""

import datetime

from django.db.models import Case, Count, Exists, F, FloatField, OuterRef, Q, Subquery, Sum, Value, When
from django.db.models.functions import Cast, Coalesce
from django.http.response import HttpResponseBase
from django.shortcuts import render
from django.utils import timezone
from django.utils.translation import gettext as _

from fleet.models import LINES, Backtest, Machine, OpenOrder, Part, PartKind, StockMove, StockPiece

from ..members import PageRequest, Reader, member_page
from ..paging import page_of
from ..sheets import plan_sheet, sheet_asked
from ..sorting import Sorting, own_columns

TRANSFERS_SHOWN = SUSPECTS_SHOWN = GAPS_SHOWN = 5

ADVICE_ORDERS = {
    "part": "part",
    "site": "site",
    "on_hand": "on_hand",
    "coming": "on_order",
    "planned": "planned_demand",
    "for_failures": "unplanned_demand_mean",
    "runs_out": "runs_out_on",
    "order_at": "reorder_point",
    "order_now": "order_now",
    "costs": "costs",
    "lead_time": "lead_time_days",
    "surplus": "surplus",
    "ties_up": "ties_up",
    "expires": "expires_unused",
}
EVEN = 1e-6  # what a plan stores is rounded so
TO_ORDER = 25  # lines a page, each with a sentence of why
SUSPECT_ORDERS = own_columns("name", "failures", "expected", "ratio", "lives", "installed_now")


def part_column(reader: Reader, name: str) -> Subquery:
    """A column of the part that a line of the plan names."""
    part = Part.objects.of(reader.organization).filter(key=OuterRef("part"))
    return Subquery(part.values(name)[:1])


def began(reader: Reader) -> datetime.datetime:
    """When the plan in force read the register; now where there is none."""
    return (reader.plan.started_at or reader.plan.requested_at) if reader.plan else timezone.now()


def advice_lines(reader: Reader):
    """The plan's advice for each part and site, with the part's `description` and what the order `costs`.

    What happened since the plan read the register stands beside: `lies_now`, all that lies there, also what
    is set aside or too old to use, where anything of it was counted, received, moved or taken since, and
    `ordered_since`, by how much more is to come (less, where it is negative); None where nothing happened.
    """
    here = {"part__key": OuterRef("part"), "site__key": OuterRef("site")}
    pieces = StockPiece.objects.of(reader.organization).filter(**here).order_by().values("part")
    lies_now = Coalesce(Subquery(pieces.annotate(all=Sum("on_hand")).values("all")), 0.0)
    touched = StockPiece.history.filter(organization=reader.organization, **here)
    orders = OpenOrder.objects.of(reader.organization).filter(**here).order_by().values("part")
    coming = Coalesce(Subquery(orders.annotate(all=Sum("quantity")).values("all")), 0.0)
    cost = Cast(part_column(reader, "unit_cost"), FloatField())
    return (
        LINES["stock_advice"]
        .objects.filter(plan=reader.plan)
        .annotate(
            description=part_column(reader, "description"),
            costs=F("order_now") * cost,
            ties_up=F("surplus") * cost,
            expires_worth=F("expires_unused") * cost,
            lies_now=Case(When(Exists(touched.filter(history_date__gt=began(reader))), then=lies_now)),
            more_to_come=coming - F("on_order"),
        )
        .annotate(ordered_since=Case(When(~Q(more_to_come__range=(-EVEN, EVEN)), then=F("more_to_come"))))
    )


def transfer_lines(reader: Reader):
    """The plan's moves between sites in their order, each with the `unit` that its part is counted in, how
    much of it was carried that way since the plan read the register (`moved_since`) and how much is yet to be
    (`left`); both are None where that is nothing."""
    usual = Case(When(kind=PartKind.BULK_HOSE, then=Value("metre")), default=Value("each"))
    counted = Case(When(unit="", then=usual), default=F("unit"))
    part = Part.objects.of(reader.organization).filter(key=OuterRef("part")).annotate(counted=counted)
    moved = StockMove.objects.of(reader.organization).filter(
        part__key=OuterRef("part"),
        from_site__key=OuterRef("from_site"),
        to_site__key=OuterRef("to_site"),
        moved_at__gt=began(reader),
    )
    much = moved.order_by().values("part").annotate(all=Sum("quantity")).values("all")
    lines = LINES["transfers"].objects.filter(plan=reader.plan)
    lines = lines.annotate(unit=Subquery(part.values("counted")[:1]), moved_since=Subquery(much))
    rest = F("quantity") - Coalesce(F("moved_since"), 0.0)
    return lines.annotate(rest=rest).annotate(left=Case(When(rest__gt=EVEN, then=F("rest"))))


def sums_of_orders(reader: Reader) -> dict:
    """Of what the plan orders now the `lines`, what they cost (`money`, None where no cost is known), and how
    many are `without_cost`. What a part costs is looked up once for all its lines."""
    asked = LINES["stock_advice"].objects.filter(plan=reader.plan, order_now__gt=0).order_by()
    parts = list(asked.values("part").annotate(lines=Count("pk"), quantity=Sum("order_now")))
    known = Part.objects.of(reader.organization).filter(key__in=[one["part"] for one in parts])
    costs = dict(known.exclude(unit_cost=None).values_list("key", "unit_cost"))
    money = [one["quantity"] * float(costs[one["part"]]) for one in parts if one["part"] in costs]
    return {
        "lines": sum(one["lines"] for one in parts),
        "money": sum(money) if money else None,
        "without_cost": sum(one["lines"] for one in parts if one["part"] not in costs),
    }


@member_page()
def order(request: PageRequest, reader: Reader) -> HttpResponseBase:
    """What to order now, what to move between sites instead, and the first of the suspects and gaps."""
    context: dict = {"title": _("What to order"), "way": "order"}
    if reader.plan is None:
        context["machines"] = Machine.objects.of(reader.organization).exists()
        return render(request, "stock/order.html", context)
    sorting = Sorting.asked(request, ADVICE_ORDERS)
    lines = sorting.sort(advice_lines(reader).filter(order_now__gt=0), "row")
    if sheet_asked(request):
        return plan_sheet(request, "stock_advice", lines)
    sums = sums_of_orders(reader)
    plan_lines = {"plan": reader.plan}
    context |= {
        "sums": sums,
        "page": page_of(request, lines, size=TO_ORDER, count=sums["lines"]),
        "sorting": sorting,
        "transfers": transfer_lines(reader).order_by("row")[:TRANSFERS_SHOWN],
        "suspects": LINES["suspects"].objects.filter(**plan_lines).order_by("row")[:SUSPECTS_SHOWN],
        "gaps": LINES["gaps"].objects.filter(**plan_lines).order_by("row")[:GAPS_SHOWN],
        "report": reader.plan.report,
        "backtest": Backtest.objects.newest(reader.organization),
    }
    return render(request, "stock/order.html", context)


@member_page()
def shelves(request: PageRequest, reader: Reader) -> HttpResponseBase:
    """Every part and site the plan speaks of: what lies there, what is to come, what will be taken."""
    lines = advice_lines(reader)
    sought, surplus = request.GET.get("q", "").strip(), request.GET.get("surplus") == "yes"
    if sought:
        lines = lines.filter(Q(part__icontains=sought) | Q(site__iexact=sought))
    sorting = Sorting.asked(request, ADVICE_ORDERS)
    if surplus:
        lines = lines.filter(Q(surplus__gt=0) | Q(expires_unused__gt=0))
        lines = sorting.sort(lines, F("ties_up").desc(nulls_last=True), "row")
    else:
        lines = sorting.sort(lines, "part", "site")
    if sheet_asked(request):
        return plan_sheet(request, "stock_advice", lines)
    context = {
        "title": _("Surplus") if surplus else _("Shelves"),
        "way": "order",
        "page": page_of(request, lines),
        "q": sought,
        "surplus": surplus,
        "sorting": sorting,
    }
    return render(request, "stock/shelves.html", context)


@member_page()
def transfers(request: PageRequest, reader: Reader) -> HttpResponseBase:
    """What to move from a site that has enough to one that will lack it."""
    sorting = Sorting.asked(request, own_columns("part", "from_site", "to_site", "quantity"))
    lines = sorting.sort(transfer_lines(reader), "row")
    if sheet_asked(request):
        return plan_sheet(request, "transfers", lines)
    context = {
        "title": _("Moves between sites"),
        "way": "order",
        "page": page_of(request, lines),
        "sorting": sorting,
    }
    return render(request, "stock/transfers.html", context)


@member_page()
def suspects(request: PageRequest, reader: Reader) -> HttpResponseBase:
    """Groups that fail more than the model expects of them, and how many of each are installed now."""
    sorting = Sorting.asked(request, SUSPECT_ORDERS)
    lines = sorting.sort(LINES["suspects"].objects.filter(plan=reader.plan), "row")
    if sheet_asked(request):
        return plan_sheet(request, "suspects", lines)
    context = {"title": _("Suspects"), "way": "order", "page": page_of(request, lines), "sorting": sorting}
    return render(request, "stock/suspects.html", context)
