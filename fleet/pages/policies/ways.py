"""What ways of working cost beside each other, and the published age rules that may be chosen."""

from django import forms
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django_htmx.http import HttpResponseClientRefresh

from fleet.frames.register import chosen_age_rule
from fleet.jobs import enqueue_what_if
from fleet.models import Organization, Policy, RunState, WhatIf
from fleet.permissions import Action
from fleet.services.errors import FolderRefused
from fleet.services.plans.age_rules import NoSuchAgeRule, choose_age_rule, drop_age_rule
from fleet.services.plans.comparing import long_run, value_curve
from fleet.services.plans.what_ifs import (
    ALL,
    WAITED_FOR,
    WhatIfRuns,
    limits_for_all,
    newest_what_if,
    own_policies,
    request_what_if,
)
from fleet.services.runs import tell_loss
from fleet.trade.age_rules import CAUTION, load_age_rules

from ..fields import NumberField
from ..members import PageRequest, Reader, form_only, member_page

OWN_LIMITS_SHOWN = 50
DAYS_A_YEAR = 365.25


def _typed(value: float | None, factor: float = 1, decimals: int = 6) -> str:
    """The number as a person types it into a field: 6, 2.5, 99.97; nothing where it is not set."""
    return "" if value is None else f"{round(value * factor, decimals):.12g}"


def _typed_years(days: float | None) -> str:
    """An age limit in years; 2,190 days, which are six years of 365, are 6."""
    return _typed(days, 1 / DAYS_A_YEAR, decimals=2)


class WhatIfForm(forms.Form):
    """Other limits for all hoses; an empty field sets none. Chances and levels in per cent."""

    age_limit_years = NumberField(label=gettext_lazy("Age limit (years)"), required=False, min_value=0)
    hours_limit = NumberField(label=gettext_lazy("Hours limit (machine hours)"), required=False, min_value=0)
    risk_percent = NumberField(
        label=gettext_lazy("Chance of failing, at most (%)"), required=False, min_value=0, max_value=100
    )
    risk_horizon_days = NumberField(label=gettext_lazy("Within (days)"), required=False, min_value=1)
    service_percent = NumberField(
        label=gettext_lazy("Parts there, chance at least (%)"), required=False, min_value=0, max_value=99.99
    )
    narrower = forms.BooleanField(
        label=gettext_lazy("Keep our limits for single sites, machines, positions and parts"), required=False
    )

    @classmethod
    def of_now(cls, organization: Organization) -> "WhatIfForm":
        """Filled with what holds for all now."""
        own = _own_for_all(organization)
        return cls(
            initial={
                "age_limit_years": _typed_years(own.age_limit_days),
                "hours_limit": _typed(own.hours_limit),
                "risk_percent": _typed(own.risk_limit, 100),
                "risk_horizon_days": _typed(own.risk_horizon_days),
                "service_percent": _typed(own.service_level, 100),
                "narrower": True,
            }
        )

    def for_all(self, organization: Organization) -> dict[str, float | None]:
        """The columns of policies.csv that it sets for all; an age left as it was shown stays to the day."""
        sent = self.cleaned_data
        own_days, years = _own_for_all(organization).age_limit_days, sent["age_limit_years"]
        as_shown = years is not None and _typed(years, decimals=2) == _typed_years(own_days)

        def times(name: str, factor: float) -> float | None:
            return None if sent[name] is None else sent[name] * factor

        return {
            "age_limit_days": own_days if as_shown else times("age_limit_years", DAYS_A_YEAR),
            "hours_limit": sent["hours_limit"],
            "risk_limit": times("risk_percent", 0.01),
            "risk_horizon_days": sent["risk_horizon_days"],
            "service_level": times("service_percent", 0.01),
        }


def _own_for_all(organization: Organization) -> Policy:
    """What the organization itself sets for all hoses, which may be nothing."""
    return Policy.objects.of(organization).filter(scope=ALL).first() or Policy()


@member_page()
def compare(request: PageRequest, reader: Reader) -> HttpResponse:
    """A year under the plan in force, run to failure and the best single age; and what was asked last.

    While a question is being reckoned htmx asks for its progress alone.
    """
    asked = newest_what_if(reader.organization)
    loss = tell_loss(asked, WAITED_FOR) if asked else ""
    waits = asked is not None and asked.state in (RunState.REQUESTED, RunState.RUNNING) and not loss
    if request.htmx:
        if not waits:
            return HttpResponseClientRefresh()
        return render(request, "policies/what_if_progress.html", {"asked": asked})
    return _compared(request, reader, WhatIfForm.of_now(reader.organization), asked, waits, loss)


@form_only
@member_page(Action.REPLAN)
def ask_what_if(request: PageRequest, reader: Reader) -> HttpResponse:
    """Asks what a year would cost under the limits of the form; followed on the page that compares."""
    form = WhatIfForm(request.POST)
    if form.is_valid():
        for_all = form.for_all(reader.organization)
        try:
            asked = request_what_if(
                organization=reader.organization,
                user=request.user,
                policies=own_policies(reader.organization, for_all, form.cleaned_data["narrower"]),
                as_of=reader.plan.as_of if reader.plan else timezone.localdate(),
            )
        except FolderRefused as refusal:
            for one in refusal.findings:
                form.add_error(None, f"{one.wrong} {one.right}")
        except WhatIfRuns as refusal:
            form.add_error(None, str(refusal))
        else:
            enqueue_what_if(asked.pk)
            return redirect(f"{reverse('compare', args=[reader.organization.slug])}#what_if")
    return _compared(request, reader, form, newest_what_if(reader.organization), waits=False)


def _compared(
    request: PageRequest, reader: Reader, form: WhatIfForm, asked: WhatIf | None, waits: bool, loss: str = ""
) -> HttpResponse:
    lines = long_run(reader.plan) if reader.plan else []
    costs = {line["policy"]: line["yearly_cost"] for line in lines}
    known = all(costs.get(name) is not None for name in ("plan", "run_to_failure", "best_fixed_age"))
    report = reader.plan.report.get("yearly_cost", {}) if reader.plan else {}
    dearer = dearer_a_year(asked.comparison) if asked and asked.comparison else None
    context = {
        "title": _("What ways of working cost"),
        "way": "order",
        "lines": lines,
        "saves": {name: costs[name] - costs["plan"] for name in costs} if known else {},
        "saved": _range_of(report, "saved_against_run_to_failure"),
        "saved_beside_one_age": _range_of(report, "saved_against_best_fixed_age"),
        "fixed_age_days": report.get("best_fixed_age_days"),
        "without_costs": report.get("assemblies_without_costs"),
        "value_curve": value_curve(reader.plan) if reader.plan else [],
        "form": form,
        "asked": asked,
        "limits": limits_for_all(asked.policies) if asked else {},
        "dearer": dearer,
        "apart": abs(dearer or 0.0),
        "waits": waits,
        "failure": asked.failure or loss if asked else "",
    }
    return render(request, "policies/compare.html", context)


def _range_of(report: dict, name: str) -> dict[str, float | None]:
    return {end: report.get(f"{name}_{end}") for end in ("low", "high")}


def dearer_a_year(comparison: list[dict]) -> float | None:
    """What a year under the limits asked for costs more than under the plan, below zero where it costs less;
    None where one of them is not known."""
    costs = {line["policy"]: line["yearly_cost"] for line in comparison}
    plan, asked = costs.get("plan"), costs.get("what_if")
    return None if plan is None or asked is None else asked - plan


@member_page()
def age_rules(request: PageRequest, reader: Reader) -> HttpResponse:
    """The published age rules side by side, the one that is chosen, and the organization's own age limits."""
    own = Policy.objects.of(reader.organization).exclude(age_limit_days=None).order_by("scope")
    context = {
        "title": _("Age rules"),
        "way": "order",
        "rules": load_age_rules(),
        "chosen": chosen_age_rule(reader.organization),
        "own": own[:OWN_LIMITS_SHOWN],
        "set_for_all": own.filter(scope="all").exists(),
        "caution": _(CAUTION),
    }
    return render(request, "policies/age_rules.html", context)


@form_only
@member_page(Action.SET_POLICY)
def set_age_rule(request: PageRequest, reader: Reader) -> HttpResponse:
    """Has the named rule apply from the next plan on, or none where no name is given."""
    rule = request.POST.get("rule", "")
    if not rule:
        drop_age_rule(organization=reader.organization, user=request.user)
        messages.success(
            request, _("No published age rule applies any more. The next plan goes by your own limits.")
        )
    else:
        try:
            choose_age_rule(organization=reader.organization, user=request.user, rule=rule)
        except NoSuchAgeRule as refusal:
            messages.error(request, str(refusal))
        else:
            messages.success(
                request, _("%(rule)s applies from the next plan on, behind your own limits.") % {"rule": rule}
            )
    return redirect("age_rules", reader.organization.slug)
