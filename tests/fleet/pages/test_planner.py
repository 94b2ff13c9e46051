"""What the planner sees: what is due and when, and a new plan made from the page."""

import datetime

import pytest
from django.urls import reverse
from django.utils import timezone

from fleet.models import LINES, Plan, Role, RunState
from tests.fleet.pages.small_fleet import AS_OF, day, set_setting, small_fleet, small_plan

LONG = datetime.timedelta(minutes=2)  # longer than a job without a sign of life is waited for


def due(client, organization, **query):
    return client.get(reverse("due", args=[organization.slug]), query)


def test_stops_stand_in_their_weeks_the_next_first_whatever_is_due_in_them(planned, member_of):
    LINES["changeouts"].objects.filter(machine="M-01").update(planned_on=day(30), due_on=day(-40))
    page = due(member_of(planned), planned)
    weeks = page.context["weeks"]
    assert [week["monday"] for week in weeks] == [datetime.date(2026, 5, 11), datetime.date(2026, 6, 1)]
    assert [{line.machine for stop in week["of_stops"] for line in stop} for week in weeks] == [
        {"M-02"},
        {"M-01"},
    ]
    assert ">1 Jun 2026</time>" in page.content.decode()


def test_two_days_of_one_stop_stand_apart_and_each_counts_its_own_kit(planned, member_of):
    lines, kits = LINES["changeouts"].objects, LINES["kits"].objects
    later = lines.filter(machine="M-01").latest("row")
    lines.filter(pk=later.pk).update(planned_on=day(9))
    first = kits.get(machine="M-01")
    kits.filter(pk=first.pk).update(ready=True)
    kits.create(
        plan=first.plan, row=99, kit=f"{first.kit} later", purpose="changeout", changeout=first.changeout,
        machine="M-01", site=first.site, needed_by=day(9), ready=False,
    )  # fmt: skip
    page = due(member_of(planned), planned)
    stops = [stop for week in page.context["weeks"] for stop in week["of_stops"]]
    on_days = {(stop[0].machine, stop[0].planned_on): len(stop) for stop in stops}
    mine = lines.filter(machine="M-01").count()
    assert (on_days["M-01", day(7)], on_days["M-01", day(9)]) == (mine - 1, 1)
    assert page.context["sums"]["changed_90"] == lines.count()
    assert page.context["sums"]["supplied_90"] == mine - 1


def test_a_stop_with_days_in_two_weeks_is_one_stop_in_all(planned, member_of):
    lines = LINES["changeouts"].objects
    lines.filter(pk=lines.filter(machine="M-01").latest("row").pk).update(planned_on=day(30))
    page = due(member_of(planned), planned)
    assert [week["stops"] for week in page.context["weeks"]] == [2, 1]
    assert f"{lines.count()} hoses in 2 stops" in page.content.decode()


def test_one_week_can_be_looked_at_by_itself_and_saved(planned, member_of):
    LINES["changeouts"].objects.filter(machine="M-01").update(planned_on=day(30))
    client = member_of(planned)
    page = due(client, planned, week="2026-06-01")
    assert {line.machine for line in page.context["page"]} == {"M-01"}
    assert [week for week, _ in page.context["all_weeks"]] == ["2026-05-11", "2026-06-01"]
    saved = b"".join(due(client, planned, week="2026-06-01", save="csv").streaming_content).decode()
    assert "M-01" in saved and "M-02" not in saved
    assert len(due(client, planned, week="2027-13-40").context["weeks"]) == 2  # no such week: all


def test_what_must_not_wait_is_told_apart_from_what_is_cheaper_changed(planned, member_of):
    lines = LINES["changeouts"].objects
    lines.update(due_on=day(-3), due_reason="economy")
    LINES["forecasts"].objects.update(limit_on=day(40))
    LINES["forecasts"].objects.filter(assembly=lines.first().assembly).update(limit_on=day(-3))
    page = due(member_of(planned), planned)
    sums, text = page.context["sums"], page.content.decode()
    assert (sums["must_now"], sums["cheaper_now"]) == (1, sums["assemblies"] - 1)
    assert "<strong>1 must not wait</strong>" in text and "already, but only as waiting costs more" in text


def test_all_that_changed_is_listed_with_its_place_and_saved(planned, member_of):
    client, plan = member_of(planned), Plan.objects.get(state=RunState.DONE)
    lines = LINES["changes"].objects
    said = {"before": "due on 1 Jun 2026 (cost)", "now": "not due", "cause": "it is now held by no limit"}
    lines.bulk_create(lines.model(plan=plan, row=9 + n, assembly="A-1-2", **said) for n in range(70))
    assert "All that changed" in due(client, planned).content.decode()
    page = client.get(reverse("changes", args=[planned.slug]))
    assert page.context["page"].paginator.count == lines.count() > 70
    assert "M-01</a> boom 2" in page.content.decode()
    assert "of a day before it" not in page.content.decode()
    Plan.objects.filter(pk=plan.pk).update(report=plan.report | {"changes_since": "2026-04-01"})
    page = client.get(reverse("changes", args=[planned.slug]))
    assert 'of a day before it, of <time datetime="2026-04-01">' in page.content.decode()
    saved = client.get(reverse("changes", args=[planned.slug]), {"save": "csv"})
    text = b"".join(saved.streaming_content).decode()
    assert text.startswith("assembly,machine,position,now,before,cause\n")
    assert "A-1-2,M-01,boom 2,not due" in text


def test_what_is_changed_on_the_plans_own_day_is_in_hand_from_the_first_day(planned, member_of):
    LINES["changeouts"].objects.update(planned_on=day(0))
    page = due(member_of(planned), planned)
    assert page.context["fan"][0]["changed"] == page.context["sums"]["assemblies"] > 0


def test_what_is_added_up_is_the_plan_in_force(planned, member_of):
    client = member_of(planned)
    before = due(client, planned).context["sums"]
    assert due(client, planned).context["sums"] == before
    newer = small_plan(planned)
    LINES["changeouts"].objects.filter(plan=newer, machine="M-01").delete()
    assert 0 < due(client, planned).context["sums"]["assemblies"] < before["assemblies"]


def test_a_stop_is_told_with_its_day_its_window_and_why(planned, member_of):
    text = due(member_of(planned), planned).content.decode()
    for told in ("11 May 2026", "window from", "not fit for its place", "The next window of the machine."):
        assert told in text


def test_a_stop_outside_every_window_says_so(planned, member_of):
    LINES["changeouts"].objects.filter(machine="M-01").update(special_stop=True, window_starts_on=None)
    text = due(member_of(planned), planned).content.decode()
    assert "special stop" in text and "1 stop fits no service window." in text


def test_hoses_over_their_rating_are_listed_with_the_reason(planned, member_of):
    page = due(member_of(planned), planned)
    assert [line.assembly for line in page.context["short"]] == ["A-1-1", "A-2-1"]
    assert "more than the hose&#x27;s 275\N{NO-BREAK SPACE}bar" in page.content.decode()


def test_pressures_stand_in_the_unit_the_organization_prefers(planned, member_of):
    set_setting(planned, "pressure_unit", "psi")
    assert "3,989\N{NO-BREAK SPACE}psi" in due(member_of(planned), planned).content.decode()


def test_failures_ahead_stand_with_their_intervals(planned, member_of):
    text = due(member_of(planned), planned).content.decode()
    assert all(told in text for told in ("all sites", "in 90 days", "0–3", "0–4"))


@pytest.mark.parametrize(
    ("basis", "told"),
    [
        ("past_dates", "how far past counts came out from"),
        ("bootstrap", "what so few failures leave open"),
        ("parameter_draws", "tell too little"),
    ],
)
def test_it_is_said_what_the_ranges_of_counts_rest_on(planned, member_of, basis, told):
    plan = Plan.objects.get(state=RunState.DONE)
    plan.report["failures_ahead"] = {"basis": basis}
    plan.save()
    assert told in due(member_of(planned), planned).content.decode()


def test_the_list_can_be_kept_to_one_site(planned, member_of):
    page = due(member_of(planned), planned, site="south")
    assert {line.machine for line in page.context["page"]} == {"M-02"}


def test_the_page_says_of_which_day_the_plan_speaks_and_how_old_it_is(planned, member_of):
    Plan.objects.update(as_of=timezone.localdate() - datetime.timedelta(days=12))
    assert "12 days ago" in due(member_of(planned), planned).content.decode()


def test_what_the_plan_could_not_know_and_places_without_a_hose_are_told(planned, member_of):
    plan = Plan.objects.get(state=RunState.DONE)
    client, page = member_of(planned), reverse("burst", args=[planned.slug, "M-01", "boom 1"])
    assert page not in due(client, planned).content.decode()
    plan.report["warnings"] = ["4 assemblies of unknown margin: rating or pressure not known."]
    plan.report["places_without_hose"] = {"number": 1, "last": [{"machine": "M-01", "position": "boom 1"}]}
    plan.save()
    text = due(client, planned).content.decode()
    assert "4 assemblies of unknown margin" in text and reverse("gaps", args=[planned.slug]) in text
    assert page in text and "1 place had lost its hose" in text
    assert text.count(reverse("empty_places", args=[planned.slug])) == 2


def test_cautions_stand_where_the_page_leads_to_the_machine(planned, member_of):
    assert "Never feel for leaks" in due(member_of(planned), planned).content.decode()


@pytest.mark.parametrize("verdict", ["short", "thin", "unknown", "sound"])
def test_margins_are_listed_by_verdict(planned, member_of, verdict):
    page = member_of(planned).get(reverse("margins", args=[planned.slug]), {"verdict": verdict})
    assert {line.verdict for line in page.context["page"]} <= {verdict}


class TestWithoutAPlan:
    def test_an_empty_register_leads_to_the_fleet_folder(self, gravel, member_of):
        text = due(member_of(gravel), gravel).content.decode()
        assert reverse("folders", args=[gravel.slug]) in text and "There is no fleet yet" in text

    def test_a_register_without_a_plan_offers_the_first_one(self, gravel, member_of):
        small_fleet(gravel)
        assert "Make the first plan" in due(member_of(gravel), gravel).content.decode()

    def test_a_first_one_that_a_stopped_server_lost_is_not_waited_for(self, gravel, member_of):
        small_fleet(gravel)
        client, plan = member_of(gravel), Plan.objects.create(organization=gravel, as_of=AS_OF)
        assert "The first one is being made." in due(client, gravel).content.decode()
        long_ago = timezone.now() - LONG
        for state in (RunState.REQUESTED, RunState.RUNNING):
            Plan.objects.filter(pk=plan.pk).update(state=state, requested_at=long_ago, seen_at=long_ago)
            assert "Make the first plan" in due(client, gravel).content.decode()

    def test_a_viewer_is_told_who_can_make_one(self, gravel, member_of):
        small_fleet(gravel)
        text = due(member_of(gravel, Role.VIEWER), gravel).content.decode()
        assert "A planner, manager or owner can make one" in text and "Make the first plan" not in text


class TestANewPlan:
    @pytest.fixture
    def enqueued(self, monkeypatch):
        """The numbers of the plans that the page handed on, in place of the thread that would make them."""
        numbers: list[int] = []
        monkeypatch.setattr("fleet.pages.planner.plans.enqueue_plan", numbers.append)
        return numbers

    def make(self, client, organization, **form):
        return client.post(reverse("make_plan", args=[organization.slug]), form)

    @pytest.mark.django_db(transaction=True)
    def test_is_requested_for_the_day_given_and_followed_on_its_own_page(self, gravel, member_of, enqueued):
        answer = self.make(member_of(gravel), gravel, as_of="2026-05-04")
        plan = Plan.objects.get()
        assert (plan.as_of, plan.state, enqueued) == (AS_OF, RunState.REQUESTED, [plan.pk])
        assert answer.url == reverse("plan", args=[gravel.slug, plan.pk])

    @pytest.mark.django_db(transaction=True)
    def test_a_second_one_is_told_that_one_runs(self, gravel, member_of, enqueued):
        client = member_of(gravel)
        self.make(client, gravel)
        answer = client.post(reverse("make_plan", args=[gravel.slug]), follow=True)
        assert "is being made since" in answer.content.decode()
        assert Plan.objects.count() == len(enqueued) == 1

    @pytest.mark.django_db(transaction=True)
    @pytest.mark.parametrize("asked", ["2026-02-30", "２026-05-04"])
    def test_a_day_that_is_none_is_refused_with_what_would_be_right(self, gravel, member_of, enqueued, asked):
        answer = member_of(gravel).post(
            reverse("make_plan", args=[gravel.slug]), {"as_of": asked}, follow=True
        )
        assert f"{asked} is no day." in answer.content.decode() and enqueued == []

    @pytest.mark.django_db(transaction=True)
    @pytest.mark.parametrize(
        ("days", "why"), [(1, "a plan speaks of a day that has come"), (-13, "the one in force")]
    )
    def test_a_day_ahead_or_before_the_plan_in_force_is_refused(self, gravel, member_of, enqueued, days, why):
        today = timezone.localdate()
        Plan.objects.create(
            organization=gravel, as_of=today - datetime.timedelta(days=12), state=RunState.DONE
        )
        client, asked = member_of(gravel), today + datetime.timedelta(days=days)
        address = reverse("make_plan", args=[gravel.slug])
        answer = client.post(address, {"as_of": asked.isoformat()}, follow=True)
        assert why in answer.content.decode() and enqueued == []
        self.make(client, gravel, as_of=(today - datetime.timedelta(days=12)).isoformat())
        assert len(enqueued) == 1

    @pytest.mark.django_db(transaction=True)
    def test_a_day_that_no_register_reaches_is_refused(self, gravel, member_of, enqueued):
        address = reverse("make_plan", args=[gravel.slug])
        answer = member_of(gravel).post(address, {"as_of": "1200-05-04"}, follow=True)
        assert "There is no planning for 4 May 1200." in answer.content.decode() and enqueued == []

    def test_a_viewer_may_not_ask_for_one(self, gravel, member_of):
        assert self.make(member_of(gravel, Role.VIEWER), gravel).status_code == 403
        assert not Plan.objects.exists()

    def progress(self, client, plan, **headers):
        return client.get(reverse("plan", args=[plan.organization.slug, plan.pk]), headers=headers)

    def test_its_progress_renews_itself_with_and_without_javascript(self, gravel, member_of):
        plan = Plan.objects.create(
            organization=gravel,
            as_of=AS_OF,
            state=RunState.RUNNING,
            seen_at=timezone.now(),
            progress="Forecasting",
        )
        client = member_of(gravel)
        text = self.progress(client, plan).content.decode()
        assert 'http-equiv="refresh"' in text and 'hx-trigger="every 2s"' in text and "Forecasting" in text
        part = self.progress(client, plan, hx_request="true").content.decode()
        assert "<html" not in part and "Forecasting" in part

    def test_one_whose_process_died_is_followed_no_longer(self, gravel, member_of):
        plan = Plan.objects.create(
            organization=gravel, as_of=AS_OF, state=RunState.RUNNING, seen_at=timezone.now() - LONG
        )
        text = self.progress(member_of(gravel), plan).content.decode()
        assert "Its process stopped before it was done." in text and "stays in force" in text
        assert "hx-trigger" not in text and 'http-equiv="refresh"' not in text

    def test_one_that_has_not_begun_for_long_is_followed_and_says_so(self, gravel, member_of):
        plan = Plan.objects.create(organization=gravel, as_of=AS_OF)
        client = member_of(gravel)
        assert "It has not begun" not in self.progress(client, plan).content.decode()
        Plan.objects.update(requested_at=timezone.now() - LONG)
        text = self.progress(client, plan).content.decode()
        assert "It has not begun" in text and "Another can be asked for." in text and "hx-trigger" in text

    def test_a_failed_one_says_why_and_that_the_last_one_stands(self, gravel, member_of):
        plan = Plan.objects.create(
            organization=gravel, as_of=AS_OF, state=RunState.FAILED, failure="Too few lives."
        )
        text = self.progress(member_of(gravel), plan).content.decode()
        assert "Too few lives." in text and "stays in force" in text and "hx-trigger" not in text

    def test_another_organizations_plan_does_not_exist(self, gravel, quarry, member_of):
        plan = Plan.objects.create(organization=quarry, as_of=AS_OF)
        answer = member_of(gravel).get(reverse("plan", args=[gravel.slug, plan.pk]))
        assert answer.status_code == 404
