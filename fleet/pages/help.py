"""The help pages: what the forecasts rest on, and how they were tried."""

from django.http import HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _

from fleet.services.plans.explaining import (
    list_assumptions,
    list_cost_runs,
    list_trial_runs,
    list_tried_figures,
)

from .members import PageRequest, Reader, member_page


@member_page()
def what_forecasts_rest_on(request: PageRequest, reader: Reader) -> HttpResponse:
    """How to read a figure, what is believed before the fleet has spoken, and what the model cannot know."""
    context = {"title": _("What the forecasts rest on"), "assumptions": list_assumptions()}
    return render(request, "help/rests_on.html", context)


@member_page()
def how_forecasts_were_tried(request: PageRequest, reader: Reader) -> HttpResponse:
    """The tables of the benchmarks, with the commands that make them."""
    context = {
        "title": _("How the forecasts were tried"),
        "runs": list_trial_runs(),
        "cost_runs": list_cost_runs(),
        "figures": list_tried_figures(),
    }
    return render(request, "help/tried.html", context)
