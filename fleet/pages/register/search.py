"""Anything that has a key, found from every page."""

from django.db.models import F, Q, QuerySet
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _

from fleet.models import LINES, Assembly, Machine, OpenOrder, Part, Position, StockPiece

from ..members import PageRequest, Reader, member_page

SHOWN = 20  # of each noun; who looks for one of more writes a longer piece of its key

PAGES = {"machines": "machine", "assemblies": "assembly", "parts": "part"}  # the page of one of each


@member_page()
def search(request: PageRequest, reader: Reader) -> HttpResponse:
    """The machines, positions, assemblies, parts, lots, kits and orders that hold what was written.

    A key written in full leads straight to its page where it names one thing only.
    """
    sought = request.GET.get("q", "").strip()
    found: dict = {}
    if sought:
        found = {noun: list(rows[: SHOWN + 1]) for noun, rows in _rows_with(sought, reader).items()}
        exact = [
            (page, row.key)
            for noun, page in PAGES.items()
            for row in found[noun]
            if row.key.casefold() == sought.casefold()
        ]
        exact += [("kit", name) for name in found["kits"] if name.casefold() == sought.casefold()]
        if len(exact) == 1:
            return redirect(exact[0][0], reader.organization.slug, exact[0][1])
    context = {
        "title": _("Found"),
        "sought": sought,
        "shown": SHOWN,
        "anything": any(found.values()),
        **found,
    }
    return render(request, "register/found.html", context)


def _rows_with(sought: str, reader: Reader) -> dict[str, QuerySet]:
    """The rows of each noun; of lots, kits and orders only their names."""

    def of(model) -> QuerySet:
        return model.objects.of(reader.organization)

    rows = {
        "machines": of(Machine).filter(Q(key__icontains=sought) | Q(model__icontains=sought)),
        "positions": of(Position).filter(_at_position(sought)).select_related("machine"),
        "assemblies": of(Assembly).filter(key__icontains=sought).select_related("position__machine"),
        "parts": of(Part).filter(Q(key__icontains=sought) | Q(description__icontains=sought)),
    }
    in_place = of(Assembly).filter(hose_lot__icontains=sought, removed_on=None, position__isnull=False)
    on_shelf = of(StockPiece).filter(lot__icontains=sought, on_hand__gt=0)
    planned = LINES["kits"].objects.filter(plan=reader.plan, kit__icontains=sought)
    orders = of(OpenOrder).filter(order__icontains=sought, quantity__gt=0)
    return {noun: of_noun.order_by("key", "pk") for noun, of_noun in rows.items()} | {
        "lots": _names(in_place, "hose_lot").union(_names(on_shelf, "lot")).order_by("name"),
        "kits": _names(planned, "kit").order_by("name"),
        "orders": _names(orders, "order").distinct().order_by("name"),
    }


def _names(rows: QuerySet, column: str) -> QuerySet:
    return rows.order_by().annotate(name=F(column)).values_list("name", flat=True)


def _at_position(sought: str) -> Q:
    """Positions that hold what was written, or of several words each one, be it of their machine's key."""
    words = sought.split()
    held = Q(key__icontains=sought) | Q(circuit__icontains=sought)
    if len(words) == 1:
        return held
    each = Q()
    for word in words:
        each &= Q(key__icontains=word) | Q(circuit__icontains=word) | Q(machine__key__icontains=word)
    return held | each
