"""A planner decides about a changeout: what it costs and risks, what is refused, what the next plan does."""

import pytest

from fleet.frames.register import core_tables
from fleet.models import LINES, ChangeoutDecision, Inspection, Organization, Plan, Position, User
from fleet.services.decisions.deciding import decide_changeout, standing_decisions, withdraw_decision
from fleet.services.decisions.errors import (
    AssemblyNotThere,
    CriticalNotPutOff,
    DecisionDay,
    NotAWindow,
    NothingDecided,
    ReasonMissing,
)
from fleet.services.decisions.weighing import find_scales, weigh_choices, weigh_decision
from fleet.services.plans.replanning import request_plan, run_plan
from tests.fleet.pages.small_fleet import AS_OF, day, small_fleet, small_plan

WORN, SHORT = "A-1-2", "A-1-1"  # of M-01: due on cost, and over its rating


@pytest.fixture
def gravel(db):
    organization = Organization.objects.create(name="Gravel Works", slug="gravel-works")
    small_fleet(organization)
    small_plan(organization)
    Position.objects.of(organization).update(planned_cost=180, failure_cost=2_000)
    machine = Position.objects.of(organization).first().machine
    for offset in (60, 120):
        machine.windows.create(organization=organization, starts_on=day(offset), ends_on=day(offset + 1))
    return organization


@pytest.fixture
def ada(db):
    return User.objects.create_user("ada", first_name="Ada", last_name="Example")


def decide(organization, user=None, assembly=WORN, **more):
    asked = {"kind": "keep", "day": day(7), "today": AS_OF, **more}
    return decide_changeout(organization=organization, user=user, assembly=assembly, **asked)


def scales(organization, assembly=WORN):
    return find_scales(organization=organization, assembly=assembly, today=AS_OF)


def standing(organization):
    return standing_decisions(organization, Plan.objects.in_force(organization))


def test_a_decision_stands_with_who_when_and_why(gravel, ada):
    made = decide(gravel, ada, kind="not_before", day=day(60), reason=" the crane is away ")
    assert (made.decided_by, made.decided_on, made.reason) == (ada, AS_OF, "the crane is away")
    assert made.history.get().history_user == ada
    assert [one.assembly.key for one in standing(gravel)] == [WORN]


def test_deciding_anew_withdraws_what_stood(gravel, ada):
    decide(gravel, ada)
    decide(gravel, ada, kind="refuse", day=None, reason="it is to be scrapped in June")
    assert ChangeoutDecision.objects.filter(withdrawn_on=AS_OF).count() == 1
    assert standing(gravel).get().kind == "refuse"


def test_a_withdrawn_decision_stays_on_record(gravel, ada):
    decide(gravel, ada)
    withdraw_decision(organization=gravel, user=ada, assembly=WORN, today=day(1))
    assert not standing(gravel).exists()
    table = core_tables(gravel)["decisions"]
    assert table[["assembly", "decision", "decided_by"]].to_numpy().tolist() == [
        [WORN, "keep", "Ada Example"]
    ]
    assert table["withdrawn_on"].dt.date.tolist() == [day(1)]
    with pytest.raises(NothingDecided, match="No decision about A-1-2 stands"):
        withdraw_decision(organization=gravel, user=ada, assembly=WORN)


@pytest.mark.parametrize(
    ("assembly", "why"),
    [
        ("A-9", "is not in the register"),
        ("A-1-1-first", "came off M-01 boom 1 on"),
        ("A\x00", "is not in the register"),
    ],
)
def test_only_what_is_on_a_machine_can_be_decided_about(gravel, assembly, why):
    with pytest.raises(AssemblyNotThere, match=why):
        decide(gravel, assembly=assembly)


@pytest.mark.parametrize(
    ("asked", "refusal", "told"),
    [
        (
            {"kind": "not_before", "day": day(-1)},
            DecisionDay,
            "2026-05-03 is past. Give a day from 2026-05-04",
        ),
        ({"kind": "not_after", "day": None}, DecisionDay, "There is no day"),
        ({"kind": "refuse", "day": day(7), "reason": "no"}, DecisionDay, "takes no day"),
        (
            {"kind": "keep", "day": day(20)},
            NotAWindow,
            "M-01 has no service window on 24 May 2026. Its windows are 11 May 2026 to 12 May 2026, 3 Jul",
        ),
        ({"kind": "refuse", "day": None, "reason": "  "}, ReasonMissing, "would be left in place. Say why"),
    ],
)
def test_what_cannot_be_decided_is_refused_with_what_would_be_right(gravel, asked, refusal, told):
    with pytest.raises(refusal, match=told):
        decide(gravel, **asked)
    assert not ChangeoutDecision.objects.exists()


def test_past_a_limit_it_takes_a_reason_and_the_reason_stands(gravel, ada):
    with pytest.raises(ReasonMissing, match="past a limit: it does not bear what its position asks"):
        decide(gravel, ada, SHORT, kind="not_before", day=day(60))
    made = decide(
        gravel, ada, SHORT, kind="not_before", day=day(60), reason="pressure turned down to 180 bar"
    )
    assert made.reason == "pressure turned down to 180 bar"


def limit_worn(organization, offset, reason="age_limit"):
    LINES["forecasts"].objects.filter(assembly=WORN).update(limit_on=day(offset), limit_reason=reason)


def test_what_is_due_on_cost_is_not_put_off_past_a_later_limit_without_a_reason(gravel, ada):
    limit_worn(gravel, 90)
    late = weigh_decision(scales(gravel), kind="keep", day=day(120))
    assert late.limits == ("its age limit is reached on 2 Aug 2026",)
    assert not weigh_decision(scales(gravel), kind="keep", day=day(60)).limits
    for asked in (
        {"day": day(120)},
        {"kind": "not_before", "day": day(100)},
        {"kind": "refuse", "day": None},
    ):
        with pytest.raises(ReasonMissing, match="past a limit: its age limit is reached on 2 Aug 2026"):
            decide(gravel, ada, **asked)
    assert decide(gravel, ada, day=day(120), reason="stands still until then").pk


def test_a_limit_beyond_the_time_that_plans_look_ahead_binds_no_refusal_but_a_later_day(gravel):
    limit_worn(gravel, 400, "hours_limit")
    assert weigh_decision(scales(gravel), kind="refuse").limits == ()
    assert weigh_decision(scales(gravel), kind="not_before", day=day(120)).limits == ()
    told = weigh_decision(scales(gravel), kind="not_before", day=day(500))
    assert (told.changed_on, told.limits) == (None, ())


def test_put_off_to_before_its_limit_it_goes_on_its_last_day_where_no_window_comes_in_time(gravel):
    limit_worn(gravel, 90)
    told = weigh_decision(scales(gravel), kind="not_before", day=day(80))
    assert (told.changed_on, told.special_stop, told.limits) == (day(90), True, ())


def test_a_limit_of_an_inspection_that_was_looked_at_again_holds_no_more(gravel):
    limit_worn(gravel, 0, "inspection")
    assert scales(gravel).limit is None


def test_a_critical_position_is_not_put_off_past_its_due_date(gravel):
    Position.objects.of(gravel).update(critical=True)
    for asked in ({"kind": "refuse", "day": None}, {"kind": "keep", "day": day(60)}):
        with pytest.raises(CriticalNotPutOff, match="M-01 boom 2 is critical, and it is due on 24 May 2026"):
            decide(gravel, reason="no time", **asked)
    assert decide(gravel, kind="not_before", day=day(5)).day == day(5)


def test_a_new_inspection_counts_before_any_plan_knows_it(gravel):
    worn = scales(gravel).assembly
    Inspection.objects.create(organization=gravel, assembly=worn, inspected_on=AS_OF, grade="replace")
    with pytest.raises(ReasonMissing, match="its last inspection says replace"):
        decide(gravel, kind="not_before", day=day(60))


def test_each_window_is_weighed_against_the_plan(gravel):
    planned, later, latest, left = weigh_choices(scales(gravel))
    assert planned.as_planned and planned.cost == 130 and planned.dearer_by == 0
    assert (later.changed_on, latest.changed_on, left.changed_on) == (day(60), day(120), None)
    assert 0 < later.dearer_by < latest.dearer_by < left.dearer_by == 210
    assert planned.chance < later.chance < latest.chance < left.chance == pytest.approx(0.12)
    assert (left.chance_low, left.chance_high) == pytest.approx((0.07, 0.19))
    assert later.chance_as_planned == planned.chance


def test_without_a_plan_nothing_is_known_and_a_decision_can_still_be_made(gravel):
    LINES["changeouts"].objects.all().delete()
    LINES["forecasts"].objects.all().delete()
    weighed = weigh_decision(scales(gravel), kind="keep", day=day(60))
    assert (weighed.cost, weighed.dearer_by, weighed.chance) == (None, None, None)
    assert decide(gravel, day=day(60)).pk


def test_the_day_decides_which_window_is_taken(gravel):
    of = scales(gravel)
    assert weigh_decision(of, kind="not_before", day=day(3)).as_planned
    assert weigh_decision(of, kind="not_before", day=day(30)).changed_on == day(60)
    assert weigh_decision(of, kind="not_after", day=day(30)).as_planned
    assert weigh_decision(of, kind="not_before", day=day(61)).changed_on == day(61), "it is open then"
    early = weigh_decision(of, kind="not_after", day=day(2))
    assert (early.changed_on, early.special_stop) == (day(2), True)


def test_the_window_that_is_planned_costs_what_the_plan_says_on_whichever_of_its_days(gravel):
    LINES["changeouts"].objects.update(window_starts_on=day(60), planned_on=day(61))
    of = scales(gravel)
    (planned,) = [one for one in weigh_choices(of) if one.as_planned]
    assert (planned.day, planned.changed_on, planned.dearer_by) == (day(60), day(61), 0)
    assert weigh_decision(of, kind="keep", day=day(61)).as_planned
    assert weigh_decision(of, kind="keep", day=day(120)).changed_on == day(120)
    sooner = weigh_decision(of, kind="not_after", day=day(60))
    assert (sooner.changed_on, sooner.as_planned) == (day(60), False)


def test_what_is_put_off_inside_its_window_is_not_as_planned(gravel):
    LINES["changeouts"].objects.update(window_starts_on=day(60), planned_on=day(60))
    put_off = weigh_decision(scales(gravel), kind="not_before", day=day(61))
    assert (put_off.changed_on, put_off.as_planned) == (day(61), False)


def test_a_decision_about_what_came_off_is_listed_no_more(gravel):
    decide(gravel)
    of = scales(gravel).assembly
    of.removed_on, of.removal_cause = AS_OF, "failed"
    of.save()
    assert not standing(gravel).exists()


def test_a_decision_waits_until_a_plan_knows_it(gravel):
    decide(gravel)
    assert standing(gravel).get().waits
    small_plan(gravel)  # the same day, made after it
    assert not standing(gravel).get().waits
    decide(gravel, assembly=SHORT, kind="not_after", day=day(8), today=day(1))
    assert [one.waits for one in standing(gravel)] == [True, False]


@pytest.mark.django_db(transaction=True)
def test_the_next_plan_honours_it_and_names_who_decided(gravel, ada):
    decide(gravel, ada, kind="refuse", day=None, reason="scrapped in June")
    decide(gravel, ada, SHORT, kind="not_before", day=day(60), reason="pressure turned down")
    plan = run_plan(request_plan(organization=gravel, user=ada, as_of=day(1)).pk)
    lines = LINES["changeouts"].objects.filter(plan=plan)
    limits = LINES["forecasts"].objects.filter(plan=plan, assembly__in=(WORN, SHORT))
    assert set(limits.values_list("limit_reason", "limit_on")) == {("unfit", day(1))}
    assert not lines.filter(assembly=WORN).exists()
    late = lines.get(assembly=SHORT)
    assert late.planned_on == day(60)
    assert "Ada Example said on 4 May 2026: not before 3 Jul 2026: pressure turned down" in late.reason
    changed = LINES["changes"].objects.get(plan=plan, assembly=WORN)
    assert changed.cause.startswith("Ada Example kept it in place on 4 May 2026: scrapped in June")
    assert any(SHORT in told and "past a limit" in told for told in plan.report["warnings"])
