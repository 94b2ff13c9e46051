"""The planner's pages: what is due and when, and what changed."""

import datetime
from collections import Counter
from collections.abc import Iterable
from itertools import groupby

from django.core.cache import cache
from django.db.models import Count, Exists, Min, OuterRef, Q, QuerySet, Subquery
from django.db.models.functions import TruncWeek
from django.http.response import HttpResponseBase
from django.shortcuts import render
from django.utils import timezone
from django.utils.dateparse import parse_date
from django.utils.translation import gettext as _

from fleet.models import LINES, Assembly, Machine, Plan
from fleet.services.plans.replanning import running_plan

from ..members import PageRequest, Reader, member_page
from ..paging import page_of
from ..sheets import plan_sheet, sheet_asked, sheet_of
from .decisions import decisions_about

SHORT_SHOWN, CHANGES_SHOWN, UNSURE_SHOWN = 10, 20, 12
SITES_SHOWN = 12
KEEP_SUMS_SECONDS = 24 * 3600
WEEK = datetime.timedelta(days=6)  # from its Monday to its last day
DUE = 25  # changeouts a page: each is a card on a phone
CHANGE_COLUMNS = ("assembly", "machine", "position", "now", "before", "cause")


def changeout_lines(plan: Plan):
    """The plan's changeouts by day and machine, as the plan's rows stand."""
    return LINES["changeouts"].objects.filter(plan=plan).order_by("planned_on", "row")


def by_week(lines, weeks: dict[str, dict]) -> list[dict]:
    """The lines in their order as weeks: what `weeks` tells of each, and `of_stops`, each a list of lines."""

    def week_of(line) -> str:
        return (line.planned_on - datetime.timedelta(days=line.planned_on.weekday())).isoformat()

    def day_of_stop(line) -> tuple[str, datetime.date]:
        return line.changeout, line.planned_on

    return [
        weeks[week] | {"of_stops": [list(stop) for _, stop in groupby(of_week, key=day_of_stop)]}
        for week, of_week in groupby(lines, key=week_of)
    ]


def failures_ahead(plan: Plan, site: str) -> dict:
    """The failures ahead of all sites, of `site` and of those that expect the most.

    `horizons` in days, a row of lines per scope, and whether there are `more` sites.
    """
    of_plan = LINES["failures_ahead"].objects.filter(plan=plan)
    # The longest horizon stands first, and has a line of every site.
    ranked = of_plan.filter(scope__startswith="site:").order_by("-horizon_days", "-expected", "scope")
    most = ranked.values("scope")[: SITES_SHOWN + 1]
    own = ["all", f"site:{site}"]
    lines = of_plan.filter(Q(scope__in=own) | Q(scope__in=most)).order_by("scope", "horizon_days")
    scopes = [list(of_scope) for _scope, of_scope in groupby(lines, key=lambda line: line.scope)]
    scopes.sort(key=lambda of: (own.index(of[0].scope) if of[0].scope in own else len(own), -of[-1].expected))
    shown = len([of for of in scopes if of[0].scope in own]) + SITES_SHOWN
    return {
        "horizons": sorted({line.horizon_days for of in scopes for line in of}),
        "scopes": scopes[:shown],
        "more": len(scopes) > shown,
    }


def weeks_of(plan: Plan, lines: QuerySet, scope: list) -> dict[str, dict]:
    """What is added up of each week with a stop, by its Monday (`monday`), in their order.

    How many `assemblies` in how many `stops`, `special` ones among them, and how many stops it `begins`, as a
    stop may have days in several weeks; how many are due by the plan's day: by a limit (`must_now`), as
    waiting costs more (`cheaper_now`); and on the plan's day and by each horizon of `scope` how many are
    `changed`, and `supplied`: with all parts.
    """
    ready = LINES["kits"].objects.filter(plan=plan, ready=True)
    supplied = Q(Exists(ready.filter(changeout=OuterRef("changeout"), needed_by=OuterRef("planned_on"))))
    forecasts = LINES["forecasts"].objects.filter(plan=plan, assembly=OuterRef("assembly"))
    due, limited = Q(due_on__lte=plan.as_of), Q(Exists(forecasts.filter(limit_on__lte=plan.as_of)))
    weeks = lines.annotate(monday=TruncWeek("planned_on")).order_by("monday").values("monday")
    first_rows = lines.order_by().values("changeout").annotate(first=Min("row")).values("first")
    weeks = weeks.annotate(
        begins=Count("pk", filter=Q(row__in=first_rows)),
        stops=Count("changeout", distinct=True),
        special=Count("changeout", distinct=True, filter=Q(special_stop=True)),
        assemblies=Count("pk"),
        must_now=Count("pk", filter=due & limited),
        cheaper_now=Count("pk", filter=due & ~limited),
        **{
            f"{name}_{days}": Count("pk", filter=kept & Q(planned_on__lte=_day_after(plan, days)))
            for days in (0, *(line.horizon_days for line in scope))
            for name, kept in (("changed", Q()), ("supplied", supplied))
        },
    )
    return {week["monday"].isoformat(): week for week in weeks}


def sums_of(weeks: Iterable[dict]) -> Counter[str]:
    """What `weeks_of` tells of weeks, over all of them; the stops are those that begin in them."""
    sums: Counter[str] = Counter(assemblies=0)
    for week in weeks:
        sums.update({name: count for name, count in week.items() if name not in ("monday", "stops")})
    return sums


def _day_after(plan: Plan, days: int) -> datetime.date:
    return plan.as_of + datetime.timedelta(days=days)


def failures_and_hand(scope: list, counts: Counter[str]) -> list[dict]:
    """The failures ahead of a scope by days from the plan's day, from none today on, beside how many hoses
    are `changed` ahead by then, and how many of these with all parts on the shelf (`supplied`)."""
    if not scope:
        return []
    names = ("expected", "low_80", "high_80", "low_95", "high_95")
    in_hand = {"changed": counts["changed_0"], "supplied": counts["supplied_0"]}
    rows = [{"days": 0} | dict.fromkeys(names, 0) | in_hand]
    for line in scope:
        days = line.horizon_days
        rows.append(
            {"days": days, "changed": counts[f"changed_{days}"], "supplied": counts[f"supplied_{days}"]}
            | {name: getattr(line, name) for name in names}
        )
    return rows


@member_page()
def due(request: PageRequest, reader: Reader) -> HttpResponseBase:
    """What is due, by week and machine; what failures lie ahead; what changed since the last plan."""
    plan = reader.plan
    context: dict = {"title": _("What is due"), "way": "due", "runs": None, "today": timezone.localdate()}
    if plan is None:
        context["machines"] = Machine.objects.of(reader.organization).exists()
        context["runs"] = running_plan(reader.organization)
        return render(request, "planner/due.html", context)

    site = request.GET.get("site", "")
    lines = changeout_lines(plan)
    if site:
        lines = lines.filter(
            machine__in=Machine.objects.of(reader.organization).filter(site__key=site).values("key")
        )
    ahead = failures_ahead(plan, site)
    named = f"site:{site}" if site else "all"
    scope: list = next((of for of in ahead["scopes"] if of[0].scope == named), [])
    # Without a site the same for everybody as long as the plan is in force.
    key = f"weeks-of-stops-{plan.pk}-{plan.requested_at:%Y%m%d%H%M%S%f}"
    weeks = None if site else cache.get(key)
    if weeks is None:
        weeks = weeks_of(plan, lines, scope)
        if not site:
            cache.set(key, weeks, KEEP_SUMS_SECONDS)
    sums = sums_of(weeks.values())
    week = weeks.get(request.GET.get("week", ""))
    if week:
        lines = lines.filter(planned_on__range=(week["monday"], week["monday"] + WEEK))
    if sheet_asked(request):
        return plan_sheet(request, "changeouts", lines)
    page = page_of(request, lines, size=DUE, count=(week or sums)["assemblies"])
    short = list(
        LINES["margins"]
        .objects.filter(plan=plan, verdict="short")
        .order_by("margin_percent", "row")[: SHORT_SHOWN + 1]
    )
    shown = [*page, *short]
    decided = decisions_about(reader, [line.assembly for line in shown])
    for line in shown:
        line.decision = decided.get(line.assembly)
    context |= {
        "sums": sums,
        "page": page,
        "weeks": by_week(page, weeks),
        "all_weeks": weeks.items(),
        "week": request.GET["week"] if week else "",
        "site": site,
        "short": short,
        "short_shown": SHORT_SHOWN,
        "unsure_shown": UNSURE_SHOWN,
        "ahead": ahead,
        "fan": failures_and_hand(scope, sums),
        "changes": list(changes_of(reader)[: CHANGES_SHOWN + 1]),
        "changes_shown": CHANGES_SHOWN,
        "changes_since": changes_since(plan),
    }
    return render(request, "planner/due.html", context)


def changes_of(reader: Reader) -> QuerySet:
    """What the plan in force says otherwise than the last one, what weighs most first, with `machine` and
    `position` beside."""
    place = Assembly.objects.of(reader.organization).filter(key=OuterRef("assembly"))
    return (
        LINES["changes"]
        .objects.filter(plan=reader.plan)
        .annotate(
            machine=Subquery(place.values("position__machine__key")[:1]),
            position=Subquery(place.values("position__key")[:1]),
        )
        .order_by("row")
    )


def changes_since(plan: Plan | None) -> datetime.date | None:
    """The day of the plan that its changes are told from; None where there was none, or nobody noted it."""
    return parse_date(plan.report.get("changes_since") or "") if plan else None


@member_page()
def changes(request: PageRequest, reader: Reader) -> HttpResponseBase:
    """All that changed since the last plan, and why."""
    lines = changes_of(reader)
    if sheet_asked(request):
        return sheet_of(request, "changes", lines, {name: name for name in CHANGE_COLUMNS})
    context = {
        "title": _("What changed"),
        "way": "due",
        "page": page_of(request, lines),
        "changes_since": changes_since(reader.plan),
    }
    return render(request, "planner/changes.html", context)
