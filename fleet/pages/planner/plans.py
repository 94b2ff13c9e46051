"""How a new plan is asked for and followed until it is made."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _

from fleet.jobs import enqueue_plan
from fleet.models import Plan, RunState
from fleet.permissions import Action
from fleet.services.errors import PlanRuns, ServiceError
from fleet.services.plans.replanning import request_plan, running_plan
from fleet.services.runs import tell_loss

from ..fields import DayField
from ..members import PageRequest, Reader, form_only, member_page


@member_page()
def plan_progress(request: PageRequest, reader: Reader, plan: int) -> HttpResponseBase:
    """How far a plan is; polled by htmx, or by the page itself where there is no JavaScript."""
    found = get_object_or_404(Plan.objects.of(reader.organization), pk=plan)
    loss = tell_loss(found)
    context = {
        "title": _("A new plan"),
        "way": "due",
        "plan": found,
        "waits": found.state == RunState.REQUESTED or (found.state == RunState.RUNNING and not loss),
        "loss": loss,
    }
    template = "planner/progress_state.html" if request.htmx else "planner/progress.html"
    return render(request, template, context)


@form_only
@member_page(Action.REPLAN)
def make_plan(request: PageRequest, reader: Reader) -> HttpResponseBase:
    """Asks for a new plan as of the day given, today where none is given, and follows it on its own page."""
    asked = request.POST.get("as_of", "")
    try:
        as_of = DayField(required=False).clean(asked) or timezone.localdate()
    except ValidationError:
        messages.error(request, _("%(asked)s is no day. Write it as 2026-05-31.") % {"asked": asked})
        return redirect("due", reader.organization.slug)
    try:
        plan = request_plan(organization=reader.organization, user=request.user, as_of=as_of)
    except PlanRuns as refusal:
        messages.warning(request, _("No new plan was begun. %(why)s") % {"why": refusal})
        runs = running_plan(reader.organization)
        return (
            redirect("plan", reader.organization.slug, runs.pk)
            if runs
            else redirect("due", reader.organization.slug)
        )
    except ServiceError as refusal:
        messages.error(request, str(refusal))
        return redirect("due", reader.organization.slug)
    enqueue_plan(plan.pk)
    return redirect("plan", reader.organization.slug, plan.pk)
