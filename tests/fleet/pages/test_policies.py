"""What ways of working cost, and the published age rules that a manager may choose."""

import datetime
import re

import pytest
from django.urls import reverse
from django.utils import timezone

from fleet.models import ChosenAgeRule, Policy, Role, RunState, WhatIf
from fleet.services.plans.what_ifs import written_policies

from .small_fleet import REPORT, small_plan

COSTS = {
    "plan": 4100.0,
    "plan_failures": 1.2,
    "plan_planned_changeouts": 6.0,
    "plan_stock_value": 2300.0,
    "run_to_failure": 9200.0,
    "run_to_failure_failures": 4.6,
    "run_to_failure_planned_changeouts": 0.0,
    "best_fixed_age": 5300.0,
    "best_fixed_age_failures": 1.6,
    "best_fixed_age_planned_changeouts": 7.5,
    "best_fixed_age_days": 900.0,
    "assemblies_without_costs": 1,
}


def text_of(answer) -> str:
    return " ".join(answer.content.decode().split()).replace("\N{NO-BREAK SPACE}", " ")


def planned_with(organization, **costs):
    plan = small_plan(organization)
    plan.report = REPORT | {"yearly_cost": COSTS | costs}
    plan.save()


def test_the_manager_reads_what_the_plan_saves(gravel, member_of):
    planned_with(gravel)
    text = text_of(member_of(gravel, Role.MANAGER).get(reverse("compare", args=[gravel.slug])))
    assert "The plan saves 5,100 EUR a year against changing nothing before it fails." in text
    assert "Against one age for all, 2.5 years at best, it saves 1,200 EUR." in text
    assert "1 assembly without costs is not counted." in text


def test_the_manager_reads_how_far_a_figure_may_be_off(gravel, member_of):
    ranges = {"plan_low": 3700.0, "plan_high": 4600.0, "plan_failures_low": 0.9, "plan_failures_high": 1.6}
    saved = {"saved_against_run_to_failure_low": 3900.0, "saved_against_run_to_failure_high": 7200.0}
    saved |= {"saved_against_best_fixed_age_low": 800.0, "saved_against_best_fixed_age_high": 1700.0}
    planned_with(gravel, **ranges, **saved)
    client = member_of(gravel, Role.MANAGER)
    text = text_of(client.get(reverse("compare", args=[gravel.slug])))
    assert "Four times in five it saves 3,900–7,200 EUR." in text
    assert "2.5 years at best, it saves 1,200 EUR (800–1,700 EUR)." in text
    assert "4,100 EUR <small>3,700–4,600 EUR</small>" in text
    assert "1.2 <small>0.9–1.6</small>" in text
    order = text_of(client.get(reverse("order", args=[gravel.slug])))
    assert "<small>four times in five: 3,700–4,600 EUR</small>" in order


def test_a_saving_that_may_be_none_is_not_told_for_sure(gravel, member_of):
    saved = {"saved_against_run_to_failure_low": -300.0, "saved_against_run_to_failure_high": 9000.0}
    planned_with(gravel, **saved)
    client = member_of(gravel, Role.MANAGER)
    range_told = (
        "Your record does not yet tell for sure: four times in five it saves \N{MINUS SIGN}300 to 9,000 EUR."
    )
    assert range_told in text_of(client.get(reverse("compare", args=[gravel.slug])))

    planned_with(gravel, **saved, plan=9250.0)  # 50 more than left to fail, on average
    text = text_of(client.get(reverse("compare", args=[gravel.slug])))
    assert "On average the plan costs no less than changing nothing before it fails." in text
    assert range_told in text and "no age pays here" not in text


def test_a_limit_comes_back_as_it_was_typed(gravel, member_of):
    """A chance of 0.003 % must not come back as none, nor hours as 1.2e+06."""
    limits = {"risk_limit": 0.00003, "hours_limit": 1_234_567.0, "service_level": 0.07}
    Policy.objects.create(organization=gravel, scope="all", **limits)
    planned_with(gravel)
    text = member_of(gravel, Role.PLANNER).get(reverse("compare", args=[gravel.slug])).content.decode()
    fields = re.findall(r"<input[^>]*>", text)
    typed = {"risk_percent": "0.003", "hours_limit": "1234567", "service_percent": "7"}
    for name, value in typed.items():
        (field,) = (one for one in fields if f'name="{name}"' in one)
        assert f'value="{value}"' in field


def test_where_no_age_pays_the_page_says_so(gravel, member_of):
    planned_with(gravel, plan=9200.0, best_fixed_age=9200.0, best_fixed_age_days=None)
    text = text_of(member_of(gravel).get(reverse("compare", args=[gravel.slug])))
    assert "costs no less than changing nothing" in text
    assert "No single age pays" in text


def test_without_costs_no_money_is_named(gravel, member_of):
    planned_with(gravel, plan=None, run_to_failure=None, best_fixed_age=None)
    text = text_of(member_of(gravel).get(reverse("compare", args=[gravel.slug])))
    assert "no money can be named" in text


@pytest.mark.parametrize("name", ["compare", "age_rules"])
def test_without_a_plan_the_pages_still_read(gravel, member_of, name):
    assert member_of(gravel).get(reverse(name, args=[gravel.slug])).status_code == 200


def test_the_rules_stand_side_by_side_with_their_sources_and_the_own_limits(gravel, member_of):
    Policy.objects.create(organization=gravel, scope="all", age_limit_days=1461)
    text = text_of(member_of(gravel, Role.MANAGER).get(reverse("age_rules", args=[gravel.slug])))
    assert "No published rule is chosen." in text
    assert "An age rule is a ceiling, not a life" in text
    assert all(source in text for source in ("DIN 20066:2002-10", "UFC 4-390-01 (2003)", "ISO 8331"))
    assert '<span class="key">all</span>: 4 years' in text


def test_a_manager_lets_a_rule_hold_and_none(gravel, member_of):
    manager, address = member_of(gravel, Role.MANAGER), reverse("set_age_rule", args=[gravel.slug])
    text = text_of(manager.post(address, {"rule": "DIN 20066"}, follow=True))
    assert "DIN 20066 applies from the next plan on" in text
    assert ChosenAgeRule.objects.get().rule == "DIN 20066"
    text = text_of(manager.post(address, {"rule": ""}, follow=True))
    assert "No published age rule applies any more." in text
    assert not ChosenAgeRule.objects.exists()


def test_a_rule_that_is_none_is_refused_on_the_page(gravel, member_of):
    address = reverse("set_age_rule", args=[gravel.slug])
    text = text_of(member_of(gravel, Role.MANAGER).post(address, {"rule": "BS 3832"}, follow=True))
    assert "There is no age rule BS 3832." in text


def test_a_planner_reads_the_rules_but_sets_none(gravel, member_of):
    planner = member_of(gravel, Role.PLANNER)
    assert "Choose this rule" not in text_of(planner.get(reverse("age_rules", args=[gravel.slug])))
    assert planner.post(reverse("set_age_rule", args=[gravel.slug]), {"rule": "DIN 20066"}).status_code == 403
    assert not ChosenAgeRule.objects.exists()


def test_the_manager_reads_what_each_service_level_ties_up(gravel, member_of):
    plan = small_plan(gravel)
    plan.report = REPORT | {
        "stock_value_by_service_level": [
            {"service_level": 0.9, "stock_value": 1900.0, "fill_rate": 0.955},
            {"service_level": 0.99, "stock_value": 3400.0, "fill_rate": None},
        ]
    }
    plan.save()
    text = text_of(member_of(gravel, Role.MANAGER).get(reverse("compare", args=[gravel.slug])))
    assert "Stock value against service level" in text
    assert "1,900 EUR" in text and "3,400 EUR" in text
    assert 'data-value="0.955">96 %' in text


def test_a_plan_older_than_the_curve_shows_none(gravel, member_of):
    small_plan(gravel)
    text = text_of(member_of(gravel).get(reverse("compare", args=[gravel.slug])))
    assert "Stock value against service level" not in text


ASKED = {"age_limit_years": "2.5", "risk_percent": "5", "risk_horizon_days": "90", "narrower": "on"}


def test_a_planner_asks_what_if_and_follows_it_there(gravel, member_of, django_capture_on_commit_callbacks):
    small_plan(gravel)
    client = member_of(gravel, Role.PLANNER)
    with django_capture_on_commit_callbacks() as started:
        answer = client.post(reverse("ask_what_if", args=[gravel.slug]), ASKED)
    shown_at = f"{reverse('compare', args=[gravel.slug])}#what_if"
    assert answer["Location"] == shown_at and len(started) == 1
    kept = WhatIf.objects.get()
    assert kept.policies.splitlines()[1] == "all,913.125,,0.05,90,,,"
    assert "Another plan is being made" in text_of(client.get(answer["Location"]))


def test_the_answer_stands_below_with_the_limits_asked_for(gravel, member_of):
    plan = small_plan(gravel)
    line = {"policy": "what_if", "yearly_cost": 5100.0, "failures": 2.0, "planned_changeouts": 9.0}
    line |= {"stock_value": None}
    WhatIf.objects.create(
        organization=gravel,
        state=RunState.DONE,
        as_of=plan.as_of,
        policies=written_policies([{"scope": "all", "age_limit_days": 900.0, "service_level": 0.9}]),
        finished_at=plan.finished_at,
        comparison=[line, line | {"policy": "plan", "yearly_cost": 5400.0}],
    )
    text = text_of(member_of(gravel, Role.MANAGER).get(reverse("compare", args=[gravel.slug])))
    assert "With the limits asked for a year costs 300 EUR less than by the plan." in text
    assert "How uncertain this difference is, is not reckoned" in text
    assert "Age limit: 2.5 years" in text and "Parts there, chance at least: 90 %" in text
    assert "5,100 EUR" in text and "not known" in text


def test_a_chance_beyond_a_hundred_per_cent_is_asked_for_again(gravel, member_of):
    small_plan(gravel)
    client = member_of(gravel, Role.PLANNER)
    text = text_of(client.post(reverse("ask_what_if", args=[gravel.slug]), ASKED | {"risk_percent": "120"}))
    assert "less than or equal to 100" in text and not WhatIf.objects.exists()


def test_a_question_whose_process_died_is_told_so_and_another_can_be_asked(gravel, member_of):
    small_plan(gravel)
    client = member_of(gravel)
    client.post(reverse("ask_what_if", args=[gravel.slug]), ASKED)
    WhatIf.objects.update(state=RunState.RUNNING, seen_at=timezone.now() - datetime.timedelta(minutes=2))
    text = text_of(client.get(reverse("compare", args=[gravel.slug])))
    assert "Its process stopped before it was done." in text and "Another plan is being made" not in text
    assert "Other limits for all hoses" in text


def test_the_shop_asks_no_what_if(gravel, member_of):
    assert member_of(gravel, Role.SHOP).post(reverse("ask_what_if", args=[gravel.slug])).status_code == 403


def test_the_limits_that_hold_stand_in_the_fields_as_a_person_types_them(gravel, member_of):
    small_plan(gravel)
    Policy.objects.create(organization=gravel, scope="all", age_limit_days=2191.5, service_level=0.95)
    form = member_of(gravel, Role.PLANNER).get(reverse("compare", args=[gravel.slug])).context["form"]
    assert (form["age_limit_years"].value(), form["service_percent"].value()) == ("6", "95")
    assert form["hours_limit"].value() == ""


def test_an_age_limit_left_as_it_is_shown_stays_to_the_day(gravel, member_of):
    small_plan(gravel)
    Policy.objects.create(organization=gravel, scope="all", age_limit_days=2190)
    client = member_of(gravel, Role.PLANNER)
    shown = client.get(reverse("compare", args=[gravel.slug])).context["form"]["age_limit_years"].value()
    assert shown == "6"
    client.post(reverse("ask_what_if", args=[gravel.slug]), {"age_limit_years": shown})
    assert WhatIf.objects.get().policies.splitlines()[1].startswith("all,2190")
