"""The shop's pages: the kits to build by the day they are needed, what each lacks, and the cuts."""

import datetime
from itertools import groupby

from django.core.exceptions import ValidationError
from django.db.models import Case, Count, Exists, F, Max, Min, OuterRef, Q, QuerySet, Subquery, Sum, When
from django.http import Http404
from django.http.response import HttpResponseBase
from django.shortcuts import render
from django.utils import timezone
from django.utils.translation import gettext as _

from fleet.models import LINES, Kit, KitState, Machine
from fleet.services.sheets.build_sheets import begun_sheets, kit_lines, planned_sheets

from ..bench.begun_kits import begun_for, cuts_begun
from ..fields import DayField
from ..members import PageRequest, Reader, member_page
from ..paging import page_of
from ..sheets import plan_sheet, sheet_asked

KITS = 20  # a page of kits shows each with all its lines
CUTS = 200  # a site's list goes to the bench on paper, whole if that can be
STANDBY = Q(purpose="standby")
CANNOT_BE_BUILT = Q(ready=False) | ~Q(not_to_build="")  # of kits: it lacks something, or must not be built
# What is told of the plan's moves to a site.
MOVES = {"moves_in": Sum("quantity"), "moves_from": Min("from_site"), "moves_from_last": Max("from_site")}


def chosen_site(request: PageRequest, reader: Reader) -> str:
    """The site that the address names, else the one chosen last in this session, else the first.

    An address may name anything: what is no site of the organization is none, and is not kept.
    """
    kept = f"site of {reader.organization.slug}"
    sites = [key for key, _name in reader.sites]
    asked, last = request.GET.get("site"), request.session.get(kept)
    if asked in sites:
        if last != asked:
            request.session[kept] = asked
        return asked
    return last if last in sites else next(iter(sites), "")


def with_lines(reader: Reader, kits: list) -> list:
    """The kits, each with its `lines`, what the part of each line is, and `lacks`: part, unit, short_by,
    available_on (None where some of it is on no order) and MOVES of what is not on the shelf; `not_to_build`
    has the plan's warning by position where the design is over its rating."""
    lines = with_moves(reader, kit_lines(reader.plan, [kit.kit for kit in kits])) if reader.plan else []
    by_kit = {kit: list(of_kit) for kit, of_kit in groupby(lines, key=lambda line: line.kit)}
    for kit in kits:
        kit.lines = by_kit.get(kit.kit, [])
        kit.lacks = lacking_parts(kit.lines)
        warnings = {line.position: line.not_to_build for line in kit.lines}
        kit.not_to_build = {position: warning for position, warning in warnings.items() if warning}
    return kits


def with_moves(reader: Reader, lines: QuerySet) -> QuerySet:
    """The lines of kits, those that lack something with how much of their part the plan moves to the site of
    their kit (`moves_in`) and the first and last of the sites it comes from; None where it moves none."""
    kit = LINES["kits"].objects.filter(plan=reader.plan, kit=OuterRef(OuterRef("kit"))).order_by()
    moves = LINES["transfers"].objects.filter(
        plan=reader.plan, part=OuterRef("part"), to_site=Subquery(kit.values("site")[:1])
    )
    of_part = moves.order_by().values("part")
    told = {name: Subquery(of_part.annotate(**{name: one}).values(name)) for name, one in MOVES.items()}
    return lines.annotate(
        **{name: Case(When(short_by__gt=0, then=one), default=None) for name, one in told.items()}
    )


def lacking_parts(lines: list) -> list[dict]:
    """What the lines lack, each part once, in the order of the lines."""
    lacks: dict[str, dict] = {}
    for line in lines:
        if line.short_by > 0:
            part = lacks.setdefault(
                line.part,
                {
                    "part": line.part,
                    "unit": line.unit,
                    "short_by": 0.0,
                    "available_on": line.available_on,
                    **{name: getattr(line, name) for name in MOVES},
                },
            )
            part["short_by"] += line.short_by
            days = (part["available_on"], line.available_on)
            part["available_on"] = None if None in days else max(days)
    return list(lacks.values())


def with_what_waits(reader: Reader, cuts: QuerySet) -> QuerySet:
    """The cuts, each with the `position` it is for, whether its assembly `lacks` other parts, and the day
    until which (`lacks_until`, None where nothing says when they come)."""
    lines = LINES["kit_lines"].objects.filter(plan=reader.plan, kit=OuterRef("kit")).order_by()
    own = lines.filter(line=OuterRef("line"))
    lacking = lines.filter(position=OuterRef("position"), design=OuterRef("design"), short_by__gt=0)
    last = lacking.order_by(F("available_on").desc(nulls_first=True)).values("available_on")
    cuts = cuts.annotate(position=Subquery(own.values("position")), design=Subquery(own.values("design")))
    return cuts.annotate(lacks=Exists(lacking), lacks_until=Subquery(last[:1]))


@member_page()
def build(request: PageRequest, reader: Reader) -> HttpResponseBase:
    """The kits by the day they are needed, soonest first.

    The plan needs a standby kit from its own day on, yet no stop waits for it: it comes after what is needed
    for a changeout by today, and before what is needed for one later.
    """
    context: dict = {"title": _("What to build"), "way": "build"}
    if reader.plan is None:
        context["machines"] = Machine.objects.of(reader.organization).exists()
        return render(request, "shop/build.html", context)
    site, lacking = request.GET.get("site", ""), request.GET.get("lacking") == "yes"
    today = timezone.localdate()
    kits = LINES["kits"].objects.filter(plan=reader.plan)
    if site:
        kits = kits.filter(site=site)
    made = Kit.objects.of(reader.organization).filter(state=KitState.MADE)
    due = ~STANDBY & Q(needed_by__lte=today)
    counts = kits.exclude(kit__in=made.values("key")).aggregate(
        due=Count("pk", filter=due),
        due_waits=Count("pk", filter=due & CANNOT_BE_BUILT),
        standby=Count("pk", filter=STANDBY),
        standby_waits=Count("pk", filter=STANDBY & CANNOT_BE_BUILT),
    )
    if lacking:
        kits = kits.filter(CANNOT_BE_BUILT)
    turn = Case(When(due, then=1), When(STANDBY, then=2), default=3)
    page = page_of(request, kits.order_by(turn, F("needed_by").asc(nulls_last=True), "row"), size=KITS)
    shown = with_lines(reader, list(page))
    begun_for(reader, shown)
    context |= {
        "page": page,
        "days": [
            {"day": day, "kits": list(of_day)}
            for day, of_day in groupby(
                shown, key=lambda kit: None if kit.purpose == "standby" else kit.needed_by
            )
        ],
        "site": site,
        "lacking": lacking,
        "counts": counts,
        "today": today,
    }
    return render(request, "shop/build.html", context)


@member_page()
def kit(request: PageRequest, reader: Reader, kit: str) -> HttpResponseBase:
    """One kit alone, to be printed and laid beside the bench."""
    found = LINES["kits"].objects.filter(plan=reader.plan, kit=kit).first()
    if found is None:
        raise Http404(_("The plan in force has no kit %(kit)s.") % {"kit": kit})
    whole = with_lines(reader, [found])[0]
    begun_for(reader, [whole])
    context = {"title": kit, "way": "build", "kit": whole}
    own = next((row.kit for row in whole.begun if row.kit.key == kit), None)
    if own:  # what the bench holds may differ from what the plan meant to take
        context["sheets"] = begun_sheets(kit=own, plan=reader.plan)
    else:
        context["sheets"] = planned_sheets(organization=reader.organization, kit=found, lines=whole.lines)
    if whole.changeout and not whole.begun:
        context["reasons"] = _positions_by_reason(context["sheets"].sheets)
    return render(request, "shop/kit.html", context)


def _positions_by_reason(sheets) -> dict[str, list[str]]:
    """The positions that are changed for one reason, so that it is told once."""
    reasons: dict[str, list[str]] = {}
    for sheet in sheets:
        if sheet.why:
            reasons.setdefault(sheet.why, []).append(sheet.position)
    return reasons


@member_page()
def cuts(request: PageRequest, reader: Reader) -> HttpResponseBase:
    """The cut list of one site in the order of cutting, each cut under the reel or offcut it comes off.

    Where the address names a day, only what the kits needed by then take; no stop waits for a standby kit.
    """
    site = chosen_site(request, reader)
    until, today = day_of(request.GET.get("until", "")), timezone.localdate()
    for_stops = LINES["kits"].objects.filter(plan=reader.plan).exclude(STANDBY)
    needed_by = for_stops.filter(kit=OuterRef("kit")).order_by().values("needed_by")[:1]
    lines = (
        LINES["cut_list"].objects.filter(plan=reader.plan, site=site).annotate(needed_by=Subquery(needed_by))
    )
    if until:
        lines = lines.filter(kit__in=for_stops.filter(needed_by__lte=until).order_by().values("kit"))
    begun = cuts_begun(reader)
    left = lines.exclude(pk__in=begun)
    if sheet_asked(request):
        return plan_sheet(request, "cut_list", left.order_by("row"))
    counts = lines.order_by().aggregate(all=Count("pk"), begun=Count("pk", filter=Q(pk__in=begun or [0])))
    rows = with_what_waits(reader, left).order_by("row")
    page = page_of(request, rows, size=CUTS, count=counts["all"] - counts["begun"])
    context = {
        "title": _("Cut list"),
        "begun_cuts": counts["begun"],
        "way": "build",
        "page": page,
        "pieces": [
            {"hose_part": hose_part, "piece": piece, "lot": lot, "cuts": list(cuts)}
            for (hose_part, piece, lot), cuts in groupby(
                page, key=lambda line: (line.hose_part, line.piece, line.lot)
            )
        ],
        "site": site,
        "until": until,
        "days": [
            (name, today + datetime.timedelta(days=ahead))
            for name, ahead in ((_("today"), 0), (_("tomorrow"), 1), (_("within a week"), 7))
        ],
    }
    return render(request, "shop/cuts.html", context)


def day_of(written: str) -> datetime.date | None:
    """The day that a form sent; None where it sent none."""
    try:
        return DayField(required=False).clean(written)
    except ValidationError:
        return None
