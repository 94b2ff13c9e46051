"""The pages on which a planner decides about a changeout, sees what that costs and risks, and withdraws."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import Http404
from django.http.response import HttpResponse, HttpResponseBase
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.http import url_has_allowed_host_and_scheme
from django.utils.translation import gettext as _
from django_htmx.http import HttpResponseClientRefresh

from fleet.models import ChangeoutDecision, DecisionKind
from fleet.permissions import Action
from fleet.services.decisions.deciding import decide_changeout, standing_decisions, withdraw_decision
from fleet.services.decisions.errors import AssemblyNotThere, DecisionDay
from fleet.services.decisions.staying import tell_stay
from fleet.services.decisions.weighing import Scales, Weighing, find_scales, weigh_choices, weigh_decision
from fleet.services.errors import ServiceError

from ..fields import DayField
from ..members import PageRequest, Reader, form_only, member_page
from ..paging import page_of
from ..sheets import sheet_asked, sheet_of

COLUMNS = {
    "assembly": "assembly__key",
    "machine": "assembly__position__machine__key",
    "position": "assembly__position__key",
    "decision": "kind",
    "day": "day",
    "reason": "reason",
    "decided_on": "decided_on",
    "decided_by": "decided_by__username",
}


def decisions_about(reader: Reader, assemblies: list[str]) -> dict[str, ChangeoutDecision]:
    """The decision that stands about each of those assemblies, by its key."""
    rows = standing_decisions(reader.organization, reader.plan).filter(assembly__key__in=assemblies)
    return {one.assembly.key: one for one in rows}


@member_page(Action.DECIDE_CHANGEOUT)
def decide(request: PageRequest, reader: Reader, assembly: str) -> HttpResponseBase:
    """The choices about one changeout with what each costs and risks; the one chosen, weighed; then decided.

    Under its row of the due page where htmx asks, else a page of its own.
    """
    try:
        scales = find_scales(
            organization=reader.organization, assembly=assembly, plan=reader.plan, settings=reader.units
        )
    except AssemblyNotThere as refusal:
        raise Http404(str(refusal)) from refusal
    if request.GET.get("close"):
        return HttpResponse()
    asked = request.POST if request.method == "POST" else request.GET
    weighed, wrong = _weigh(scales, asked.get("kind", ""), asked.get("day", ""))
    if request.method == "POST" and weighed and not wrong:
        try:
            decide_changeout(
                organization=reader.organization,
                user=request.user,
                assembly=assembly,
                kind=weighed.kind,
                day=weighed.day,
                reason=asked.get("reason", ""),
            )
        except ServiceError as refusal:
            wrong = str(refusal)
        else:
            messages.success(
                request, _("Decided about %(assembly)s. The next plan honours it.") % {"assembly": assembly}
            )
            return HttpResponseClientRefresh() if request.htmx else redirect(_way_back(request, reader))
    choices = [] if weighed else weigh_choices(scales)
    context = {
        "title": _("Decide about %(assembly)s") % {"assembly": assembly},
        "way": "due",
        "scales": scales,
        "line": scales.changeout,
        "stay": tell_stay(scales),
        "stands": decisions_about(reader, [assembly]).get(assembly),
        "weighed": weighed,
        "wrong": wrong,
        "reason": asked.get("reason", ""),
        "choices": choices,
        "none_open": bool(choices) and all(one.refusal for one in choices),
        "today": timezone.localdate(),
        "next": _way_back(request, reader),
        "place": request.htmx.target,
        "day_kinds": [(DecisionKind.NOT_BEFORE, _("Not before")), (DecisionKind.NOT_AFTER, _("Not after"))],
    }
    if request.htmx:
        return render(request, "planner/decide_row.html", context)
    return render(request, "planner/decide.html", context, status=422 if wrong else 200)


def _weigh(scales: Scales, kind: str, day: str) -> tuple[Weighing | None, str]:
    """What was asked for, weighed, and what is wrong with it; None where nothing was or could be."""
    if kind not in DecisionKind.values:
        return None, ""
    try:
        return weigh_decision(scales, kind=kind, day=DayField(required=False).clean(day)), ""
    except ValidationError:
        refusal = DecisionDay(
            wrong=_("%(day)s is no day.") % {"day": day}, right=_("Write it as 2026-05-31.")
        )
        return None, str(refusal)
    except ServiceError as refusal:
        return None, str(refusal)


def _way_back(request: PageRequest, reader: Reader) -> str:
    """The page that led here, if it is one of ours; else what is due."""
    asked = request.POST.get("next") or request.GET.get("next") or ""
    ours = url_has_allowed_host_and_scheme(asked, {request.get_host()}, require_https=request.is_secure())
    return asked if ours and asked.startswith("/") else reverse("due", args=[reader.organization.slug])


@form_only
@member_page(Action.DECIDE_CHANGEOUT)
def withdraw(request: PageRequest, reader: Reader, assembly: str) -> HttpResponseBase:
    """Takes back the decision that stands about an assembly."""
    try:
        withdraw_decision(organization=reader.organization, user=request.user, assembly=assembly)
    except ServiceError as refusal:
        messages.warning(request, str(refusal))
    else:
        messages.success(
            request,
            _("The decision about %(assembly)s is withdrawn. The next plan chooses freely.")
            % {"assembly": assembly},
        )
    return redirect(_way_back(request, reader))


@member_page()
def standing(request: PageRequest, reader: Reader) -> HttpResponseBase:
    """Every decision that stands about what is installed: who, when, why."""
    rows = standing_decisions(reader.organization, reader.plan)
    sought = request.GET.get("q", "").strip()
    if sought:
        rows = rows.filter(assembly__key__icontains=sought) | rows.filter(
            assembly__position__machine__key__icontains=sought
        )
    if sheet_asked(request):
        return sheet_of(request, "decisions", rows, COLUMNS)
    page = page_of(request, rows)
    context = {
        "title": _("What was decided"),
        "way": "due",
        "page": page,
        "q": sought,
        "waits": any(one.waits for one in page),
        "today": timezone.localdate(),
    }
    return render(request, "planner/decisions.html", context)
