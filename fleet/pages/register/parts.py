"""The parts: what each is, where some of it lies or comes from, who takes it and who has it."""

import datetime

from django.db.models import Q, Subquery
from django.http import HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.utils.translation import gettext as _

from fleet.frames.register import shelf_lives
from fleet.models import LINES, ChosenAgeRule, Design, Part
from fleet.services.decisions.tracing import count_with_part, designs_with
from fleet.services.stock.shelves import counted_in
from fleet.trade.age_rules import age_rule_named

from ..members import PageRequest, Reader, member_page
from ..paging import page_of
from ..sheets import sheet_asked, sheet_of
from ..sorting import Sorting
from ..stock.advice import advice_lines

SHOWN = 20  # of each list on a part's page; one more is fetched to tell that there are more
ORDERS = {
    "part": "key",
    "description": "description",
    "construction": "construction",
    "dash": "dash",
    "rated": "rated_pressure_bar",
    "costs": "unit_cost",
    "lead_time": "lead_time_days",
}
SHEET = {
    "part": "key",
    "kind": "kind",
    "description": "description",
    "construction": "construction",
    "dash": "dash",
    "rated_pressure_bar": "rated_pressure_bar",
    "unit": "unit",
    "unit_cost": "unit_cost",
    "lead_time_days": "lead_time_days",
    "superseded_by": "superseded_by__key",
    "obsolete": "obsolete",
}


@member_page()
def parts(request: PageRequest, reader: Reader) -> HttpResponseBase:
    """The parts by key, found by a piece of key, description or construction."""
    sought = request.GET.get("q", "").strip()
    rows = Part.objects.of(reader.organization)
    if sought:
        rows = rows.filter(
            Q(key__icontains=sought) | Q(description__icontains=sought) | Q(construction__icontains=sought)
        )
    sorting = Sorting.asked(request, ORDERS)
    rows = sorting.sort(rows, "key")
    if sheet_asked(request):
        return sheet_of(request, "parts", rows, SHEET)
    context = {
        "title": _("Parts"),
        "way": "machines",
        "page": page_of(request, rows),
        "sorting": sorting,
        "q": sought,
    }
    return render(request, "register/parts.html", context)


@member_page()
def part(request: PageRequest, reader: Reader, part: str) -> HttpResponse:
    """One part: its data, what the plan advises at each site and why, its pieces, and what takes it."""
    chosen = ChosenAgeRule.objects.of(reader.organization).values("rule")[:1]
    parts = Part.objects.of(reader.organization).annotate(chosen_rule=Subquery(chosen))
    found = get_object_or_404(parts.select_related("superseded_by"), key=part)
    taking = designs_with(reader.organization, found.key)
    designs = list(Design.objects.filter(pk__in=taking).order_by("key"))
    lines = LINES["kit_lines"].objects.filter(plan=reader.plan, part=found.key).order_by("row")
    there = found.pieces.filter(on_hand__gt=0)
    pieces = list(there.with_reserved().select_related("site").order_by("site__key", "piece")[: SHOWN + 1])
    rule = age_rule_named(found.chosen_rule) if found.chosen_rule else None
    keeps_days = shelf_lives([found], rule).get(found.key)
    for piece in pieces:
        piece.keeps_until = None
        if piece.made_on and keeps_days is not None:
            piece.keeps_until = piece.made_on + datetime.timedelta(days=keeps_days)
    context = {
        "title": found.key,
        "way": "machines",
        "part": found,
        "counted_in": counted_in(found),
        "advice": advice_lines(reader).filter(part=found.key).order_by("-order_now", "site")[: SHOWN + 1],
        "shown": SHOWN,
        "pieces": pieces,
        "today": timezone.localdate(),
        "orders": found.open_orders.select_related("site").order_by("expected_on", "order")[: SHOWN + 1],
        "designs": designs,
        "installed": count_with_part(reader.organization, found.key, designs),
        "kit_lines": lines[: SHOWN + 1],
    }
    return render(request, "register/part.html", context)
