"""The page that says how right past forecasts were."""

import datetime

from django.test import TestCase
from django.utils import timezone

from fleet.models import Backtest, Plan, Role, RunState
from fleet.pages.policies.trends import MODELS_SHOWN, told_trends
from tests.fleet.api.test_backtests import SCORE, WORDS
from tests.fleet.pages.small_fleet import WATCHED

PAGE = "/gravel-works/order/past-forecasts/"


def test_it_says_in_words_and_figures_how_right_they_were(member_of, planned):
    Backtest.objects.create(
        organization=planned,
        state=RunState.DONE,
        from_day=datetime.date(2024, 3, 1),
        every_days=30,
        until=datetime.date(2024, 9, 1),
        scores=[SCORE, SCORE | {"model": "age_only", "expected": 123.4}],
        words=WORDS,
    )

    page = member_of(planned, Role.MANAGER).get(PAGE).content.decode()

    assert WORDS[0] in page
    assert "every 30 days after, tried on what was recorded until" in page and "1 Sep 2024" in page
    assert "6–13" in page and f'<time datetime="{SCORE["as_of"]}">' in page
    assert "123.4" not in page


def test_before_any_backtest_it_says_how_to_have_one(member_of, planned):
    page = member_of(planned, Role.VIEWER).get(PAGE).content.decode()

    assert "Past forecasts have not been tried yet" in page


TRY = "/gravel-works/order/past-forecasts/try/"
ASKED = {"from_day": "2024-03-01", "every_days": "30"}


def test_a_manager_has_past_forecasts_tried_and_follows_them(member_of, planned):
    client = member_of(planned, Role.MANAGER)

    with TestCase.captureOnCommitCallbacks() as started:
        answer = client.post(TRY, ASKED)

    assert answer["Location"] == PAGE and len(started) == 1
    (backtest,) = Backtest.objects.filter(organization=planned)
    assert (backtest.from_day, backtest.every_days) == (datetime.date(2024, 3, 1), 30)
    assert "are being tried" in client.get(PAGE).content.decode()
    assert "are being tried" in client.get(PAGE, headers={"HX-Request": "true"}).content.decode()

    Backtest.objects.update(state=RunState.FAILED, failure="Nothing on record reaches far enough.")
    assert client.get(PAGE, headers={"HX-Request": "true"})["HX-Refresh"] == "true"
    assert "Nothing on record reaches far enough." in client.get(PAGE).content.decode()


def test_a_trial_whose_process_died_is_told_so_and_another_can_be_asked_for(member_of, planned):
    client = member_of(planned, Role.MANAGER)
    client.post(TRY, ASKED)
    Backtest.objects.update(state=RunState.RUNNING, seen_at=timezone.now() - datetime.timedelta(minutes=2))
    page = client.get(PAGE).content.decode()
    assert "Its process stopped before it was done." in page and "are being tried" not in page
    assert "Try past forecasts" in page


def test_a_second_trial_waits_for_the_first(member_of, planned):
    client = member_of(planned, Role.PLANNER)
    client.post(TRY, ASKED)
    client.post(TRY, ASKED)
    assert Backtest.objects.count() == 1


def test_a_day_that_there_is_not_is_refused_with_what_would_be_right(member_of, planned):
    answer = member_of(planned, Role.PLANNER).post(TRY, {"from_day": "31.5.", "every_days": "0"}, follow=True)
    assert "Give the first past date as 2026-05-31" in answer.content.decode()
    assert not Backtest.objects.exists()


def test_the_shop_may_read_and_not_ask(member_of, planned):
    client = member_of(planned, Role.SHOP)
    assert client.get(PAGE).status_code == 200
    assert client.post(TRY, ASKED).status_code == 403


def test_it_says_whether_failures_come_closer_together(member_of, planned):
    page = member_of(planned, Role.MANAGER).get(PAGE).content.decode()

    assert "Do failures of all machines come closer together?" in page
    assert "Failures come closer together (p = 0.021)." in page
    assert "No trend can be told from 30 failures (p = 0.40)." in page
    assert "No trend can be told from 6 failures." in page
    assert "Loader 20, by machine hours" in page and "Digger 30, by machine hours" not in page
    assert "0.31–0.84" in page and "0 to 5,000\N{NO-BREAK SPACE}h" in page and "none failed" in page


def test_a_plan_older_than_the_question_leaves_it_out(member_of, planned):
    Plan.objects.update(report={"as_of": "2026-05-04"})
    assert "come closer together" not in member_of(planned, Role.MANAGER).get(PAGE).content.decode()


def told_of(*trends: dict) -> dict:
    scopes = ["all", *(f"machine_model:Model {number}" for number in range(len(trends) - 1))]
    return told_trends(
        Plan(
            report={
                "failure_trends": [
                    {"scope": scope} | WATCHED | one for scope, one in zip(scopes, trends, strict=True)
                ]
            }
        )
    )


def test_each_outcome_has_its_sentence():
    told = told_of(
        {"trend": "apart", "p_value": 1e-9},
        {"trend": "untold", "p_value": None, "why_none": "too_few_machines"},
        {"trend": "untold", "p_value": None, "why_none": "too_few_failures", "failures": 1},
        {"trend": "untold", "p_value": None, "why_none": "too_few_failures", "failures": 0},
    )
    assert told["fleet"].sentence == "Failures come further apart (p < 0.001)."
    assert [one.sentence for one in told["models"]] == [
        "No trend can be told: the 30 failures befell too few machines.",
        "No trend can be told from 1 failure.",
        "None has failed while it was watched.",
    ]


def test_of_many_models_those_with_the_most_failures_are_shown():
    count = MODELS_SHOWN + 2
    told = told_of(
        *({"trend": "none", "p_value": 0.5, "failures": 8 + number} for number in range(count + 1))
    )
    assert told["more"] == 2
    assert [one.figures["failures"] for one in told["models"][:2]] == [8 + count, 7 + count]
