"""How right past forecasts were, in words and in figures, and how they are tried anew."""

import datetime

from django import forms
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django_htmx.http import HttpResponseClientRefresh

from fleet.jobs import enqueue_backtest
from fleet.models import Backtest, RunState
from fleet.permissions import Action
from fleet.services.errors import BacktestRuns
from fleet.services.plans.backtesting import WAITED_FOR, request_backtest
from fleet.services.runs import tell_loss

from ..fields import DayField, WholeField
from ..members import PageRequest, Reader, form_only, member_page
from .trends import told_trends

LOOK_BACK_DAYS, EVERY_DAYS = 730, 90  # what the form proposes: every quarter of two years


class PastDatesForm(forms.Form):
    from_day = DayField()
    every_days = WholeField(min_value=1, max_value=3650)


def chances_and_failures(backtest: Backtest) -> list[dict]:
    """What was `given` on average and the `share` that failed, by band of chances at the longest horizon."""
    longest = max((band["horizon_days"] for band in backtest.bands), default=None)
    return [
        band
        | {
            "given": band["expected"] / band["assemblies"],
            "share": band["failed_of_all"] / band["assemblies"],
        }
        for band in backtest.bands
        if band["horizon_days"] == longest and band["failed_of_all"] is not None
    ]


def scores_of_service(backtest: Backtest) -> list[dict]:
    """What the service itself said on each past date, its days as days."""
    return [
        row | {"as_of": datetime.date.fromisoformat(row["as_of"])}
        for row in backtest.scores
        if row["model"] == "service"
    ]


@member_page()
def past_forecasts(request: PageRequest, reader: Reader) -> HttpResponse:
    """The newest backtest of the organization, how far a new one is, the form that asks for one, and
    whether failures come closer together."""
    latest = Backtest.objects.of(reader.organization).defer("scores").order_by("-requested_at", "-pk").first()
    loss = tell_loss(latest, WAITED_FOR) if latest else ""
    waits = latest is not None and latest.state in (RunState.REQUESTED, RunState.RUNNING) and not loss
    if request.htmx:
        return (
            render(request, "backtests/progress.html", {"latest": latest})
            if waits
            else HttpResponseClientRefresh()
        )
    shown = Backtest.objects.newest(reader.organization)
    context = {
        "title": _("How right past forecasts were"),
        "way": "order",
        "backtest": shown,
        "bands": chances_and_failures(shown) if shown else [],
        "scores": scores_of_service(shown) if shown else [],
        "latest": latest,
        "waits": waits,
        "failure": latest.failure or loss if latest else "",
        "trends": told_trends(reader.plan),
        "from_day": timezone.localdate() - datetime.timedelta(days=LOOK_BACK_DAYS),
        "every_days": EVERY_DAYS,
    }
    return render(request, "backtests/past_forecasts.html", context)


@form_only
@member_page(Action.REPLAN)
def try_past_forecasts(request: PageRequest, reader: Reader) -> HttpResponse:
    """Asks for a backtest of the past dates given; it is followed on the page of past forecasts."""
    form = PastDatesForm(request.POST)
    if form.is_valid():
        try:
            backtest = request_backtest(
                organization=reader.organization, user=request.user, **form.cleaned_data
            )
        except BacktestRuns as refusal:
            messages.warning(request, str(refusal))
        else:
            enqueue_backtest(backtest.pk)
    else:
        messages.error(
            request, _("Give the first past date as 2026-05-31, and the days to the next as a whole number.")
        )
    return redirect("past_forecasts", reader.organization.slug)
