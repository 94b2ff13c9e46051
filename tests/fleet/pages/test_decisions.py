"""The planner keeps, moves and refuses a changeout, sees what that costs, and takes it back."""

from itertools import pairwise

import pytest
from django.urls import reverse
from django.utils import timezone

from fleet.models import LINES, ChangeoutDecision, Plan, Position, Role
from forecasting.wording import tell_day
from tests.fleet.pages.todays_plan import bring_up_to_today, day

WORN, SHORT = "A-1-2", "A-1-1"  # of M-01: due on cost, and over its rating


@pytest.fixture
def planned(planned):
    """Gravel Works as it stands today."""
    bring_up_to_today(planned)
    return planned


def decide_at(organization, assembly=WORN):
    return reverse("decide", args=[organization.slug, assembly])


def asked(kind, at=None, **more):
    return {"kind": kind, "day": "" if at is None else at.isoformat(), **more}


def text_of(answer):
    return " ".join(answer.content.decode().split())


def test_the_choices_stand_with_what_each_costs_and_risks(planned, member_of):
    answer = member_of(planned).get(decide_at(planned))
    text = text_of(answer)
    assert [one.changed_on for one in answer.context["choices"]] == [day(7), day(60), None]
    assert all(told in text for told in ("Keep this stop", "Move it here", "Refuse: leave it", "as planned"))
    assert "210 EUR more" in text and "about 12 %" in text


def test_a_day_is_weighed_before_anything_is_decided(planned, member_of):
    text = text_of(member_of(planned).get(decide_at(planned), asked("not_before", day(30))))
    assert "You would decide:" in text and "; against the plan: " in text
    assert "four times in five the true one lies there" in text
    assert not ChangeoutDecision.objects.exists()


def test_a_limit_after_the_day_that_cost_says_is_told_where_it_is_decided(planned, member_of):
    worn = LINES["forecasts"].objects.filter(assembly=WORN)
    worn.update(limit_on=day(45), limit_reason="age_limit")
    client, date = member_of(planned), f"{day(45):%-d %b %Y}"
    assert "Its limit:" in text_of(client.get(decide_at(planned)))
    weighed = client.get(decide_at(planned), asked("keep", day(60))).context["weighed"]
    assert weighed.limits == (f"its age limit is reached on {date}",) and weighed.asks_reason
    refused = client.post(decide_at(planned), asked("keep", day(60)))
    assert refused.status_code == 422 and date in text_of(refused)


def test_a_decision_is_made_and_stands_beside_its_line_until_it_is_withdrawn(planned, member_of):
    client = member_of(planned)
    sent = asked("not_before", day(30), reason="the crane is away")
    answer = client.post(decide_at(planned), sent, follow=True)
    text = text_of(answer)
    assert answer.redirect_chain[0][0] == reverse("due", args=[planned.slug])
    assert "“the crane is away”" in text and "The next plan honours it." in text
    client.post(reverse("withdraw", args=[planned.slug, WORN]), follow=True)
    assert not ChangeoutDecision.objects.filter(withdrawn_on=None).exists()


def test_the_way_back_leads_to_the_page_that_led_here_and_nowhere_else(planned, member_of):
    client = member_of(planned)
    here = reverse("decisions", args=[planned.slug])
    ours = client.post(decide_at(planned), asked("keep", day(60), next=here))
    assert ours.url == here
    for strange in ("https://elsewhere.example/", "//elsewhere.example/", "decisions"):
        led = client.post(decide_at(planned), asked("keep", day(7), next=strange))
        assert led.url == reverse("due", args=[planned.slug])


def test_each_changeout_of_a_stop_has_a_place_under_its_own_row(planned, member_of):
    page = member_of(planned).get(reverse("due", args=[planned.slug]))
    text, stop = page.content.decode(), page.context["weeks"][0]["of_stops"][0]
    assert len(stop) > 1
    for above, below in pairwise([*stop, None]):
        own = text.index(f'hx-target="#decide-{above.pk}"')
        assert own < text.index(f'id="decide-{above.pk}"')
        if below:
            assert text.index(f'id="decide-{above.pk}"') < text.index(f'hx-target="#decide-{below.pk}"')
    assert f'rowspan="{2 * len(stop)}"' in text, "the stop stands beside the places too"


def test_in_place_htmx_gets_a_row_and_no_page(planned, member_of):
    client = member_of(planned)
    headers = {"HX-Request": "true", "HX-Target": "decide-7"}
    row = client.get(decide_at(planned), headers=headers)
    assert text_of(row).startswith('<td colspan="5">') and 'hx-target="#decide-7"' in text_of(row)
    done = client.post(decide_at(planned), asked("keep", day(60)), headers=headers)
    assert done.headers["HX-Refresh"] == "true"
    wrong = client.post(decide_at(planned), asked("refuse"), headers=headers)
    assert wrong.status_code == 200 and "Say why" in text_of(wrong)
    assert client.get(decide_at(planned), {"close": 1}, headers=headers).content == b""


@pytest.mark.parametrize(
    ("sent", "told"),
    [
        (asked("refuse"), "would be left in place. Say why"),
        (asked("keep", day(20)), "has no service window on"),
        (asked("not_after", day(-2)), "is past. Give a day from"),
        ({"kind": "not_after", "day": "soon"}, "soon is no day. Write it as 2026-05-31."),
        ({"kind": "not_after", "day": "2026-02-31"}, "2026-02-31 is no day."),
        ({"kind": "not_after", "day": "２026-08-31"}, "２026-08-31 is no day."),
    ],
)
def test_what_is_refused_says_what_would_be_right(planned, member_of, sent, told):
    answer = member_of(planned).post(decide_at(planned), sent)
    assert answer.status_code == 422 and told in text_of(answer)
    assert not ChangeoutDecision.objects.exists()


def test_past_a_limit_the_page_warns_and_asks_why(planned, member_of):
    answer = member_of(planned).get(decide_at(planned, SHORT), asked("keep", day(60)))
    text = text_of(answer)
    assert "It stays past a limit: it does not bear what its position asks of it." in text
    assert "required" in text and "Decide so" in text


def test_a_critical_position_offers_no_way_past_its_due_date(planned, member_of):
    Position.objects.update(critical=True)
    client = member_of(planned)
    text = text_of(client.get(decide_at(planned), asked("refuse")))
    assert "is critical, and it is due on" in text and "Decide so" not in text


def test_where_no_window_may_be_chosen_none_is_offered_and_the_way_on_is_told(planned, member_of):
    Position.objects.update(critical=True)
    LINES["forecasts"].objects.filter(assembly=WORN).update(due_on=day(1))
    text = text_of(member_of(planned).get(decide_at(planned)))
    assert "none of these can be chosen: it takes a special stop on that day" in text
    assert "Move it here" not in text and "Refuse: leave it" not in text


def test_what_was_decided_is_marked_among_the_choices_and_on_the_machines_page(planned, member_of):
    client = member_of(planned)
    machine = reverse("machine", args=[planned.slug, "M-01"])
    assert "decided by a person" not in text_of(client.get(machine))
    client.post(decide_at(planned), asked("keep", day(60)))
    text = text_of(client.get(decide_at(planned)))
    assert text.count("<strong>decided</strong>") == 1
    assert f">{day(60):%-d} {day(60):%b} {day(60).year}</time></span> <small><strong>decided" in text
    assert "kept in this stop</strong>, decided since the plan" in text_of(client.get(machine))
    Plan.objects.update(as_of=timezone.localdate(), started_at=timezone.now())
    assert "kept in this stop</strong>, decided by a person" in text_of(client.get(machine))


def test_what_the_plan_leaves_in_place_though_it_is_due_says_so_and_leads_to_its_stops(planned, member_of):
    LINES["changeouts"].objects.all().delete()
    client = member_of(planned)
    due = LINES["forecasts"].objects.filter(machine="M-01", due_on__lte=Plan.objects.get().as_of).first()
    for page in ("assembly", "tag"):
        text = text_of(client.get(reverse(page, args=[planned.slug, due.assembly])))
        assert "The plan leaves it in place." in text
    text = text_of(client.get(reverse("machine", args=[planned.slug, "M-01"])))
    assert "the plan leaves it in place" in text and "Choose a stop to change it in" in text


@pytest.mark.parametrize(
    ("line", "why"),
    [
        (
            {"due_on": day(20), "due_reason": "economy"},
            f"From {tell_day(day(20))} on leaving it costs more than changing it, yet no stop that its "
            f"machine can have by {tell_day(day(365))} saves what it costs itself.",
        ),
        (
            {
                "due_on": day(900),
                "due_reason": "age_limit",
                "limit_on": day(900),
                "limit_reason": "age_limit",
            },
            f"It reaches its age limit on {tell_day(day(900))}; the plan looks ahead to "
            f"{tell_day(day(365))} only.",
        ),
        (
            {"due_on": None, "due_reason": "none"},
            "No limit holds it, and changing it pays on no day ahead, as far as it is known",
        ),
        (
            {
                "due_on": day(0),
                "due_reason": "hours_limit",
                "limit_on": day(0),
                "limit_reason": "hours_limit",
            },
            "It has reached its hours limit; it stays by a decision that stood when the plan was made.",
        ),
    ],
)
def test_what_no_stop_changes_says_why_it_stays_and_what_a_year_of_it_costs(planned, member_of, line, why):
    LINES["changeouts"].objects.filter(assembly=WORN).delete()
    LINES["forecasts"].objects.filter(assembly=WORN).update(**line)
    client = member_of(planned)
    text = text_of(client.get(decide_at(planned)))
    assert f"The plan leaves it in place. {why}" in text
    assert "To wait a year costs about 240 EUR (140–380 EUR) in failures to be expected, at 2,000 EUR" in text
    Position.objects.update(failure_cost=None)
    assert "nor what it costs to wait" in text_of(client.get(decide_at(planned)))


def test_what_stays_by_a_decision_says_so(planned, member_of):
    LINES["changeouts"].objects.filter(assembly=WORN).delete()
    client = member_of(planned)
    client.post(decide_at(planned), asked("refuse", reason="scrapped in June"))
    assert "So it was decided." not in text_of(client.get(decide_at(planned))), "the plan did not know it yet"
    Plan.objects.update(as_of=timezone.localdate(), started_at=timezone.now())
    assert "The plan leaves it in place. So it was decided." in text_of(client.get(decide_at(planned)))


def test_who_plans_nothing_sees_what_was_decided_and_decides_nothing(planned, member_of):
    member_of(planned).post(decide_at(planned), asked("keep", day(60), reason="with the track work"))
    client = member_of(planned, Role.VIEWER)
    page = text_of(client.get(reverse("due", args=[planned.slug])))
    assert "with the track work" in page and 'class="decides"' not in page and "Withdraw" not in page
    assert client.get(decide_at(planned)).status_code == 403
    assert client.post(reverse("withdraw", args=[planned.slug, WORN])).status_code == 403


def test_all_that_stands_is_listed_found_and_saved(planned, member_of):
    client = member_of(planned)
    client.post(decide_at(planned), asked("refuse", reason="=scrapped in June"))
    client.post(decide_at(planned, "A-2-3"), asked("not_after", day(30)))
    here = reverse("decisions", args=[planned.slug])
    page = client.get(here)
    assert {one.assembly.key for one in page.context["page"]} == {WORN, "A-2-3"}
    assert "Make a new plan that honours them" in text_of(page)
    assert [one.assembly.key for one in client.get(here, {"q": "m-02"}).context["page"]] == ["A-2-3"]
    saved = b"".join(client.get(here, {"save": "csv"}).streaming_content).decode()
    assert f"{WORN},M-01,boom 2,refuse,,'=scrapped in June,{day(0)}," in saved


def test_an_assembly_that_is_on_no_machine_has_nothing_to_decide(planned, member_of):
    assert member_of(planned).get(decide_at(planned, "A-1-1-first")).status_code == 404
