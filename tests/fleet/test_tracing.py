"""From a lot, part, crimper, gauge or die to every assembly, and one act for all that are in place."""

import datetime

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from fleet.models import (
    Assembly,
    Build,
    ChangeoutDecision,
    Design,
    Inspection,
    InspectionRequest,
    Kit,
    KitAssembly,
    KitPart,
    KitPartState,
    Organization,
    Part,
    Site,
    User,
)
from fleet.services.decisions.deciding import decide_changeout
from fleet.services.decisions.errors import DecisionDay
from fleet.services.decisions.inspection_requests import (
    InspectionDay,
    NoSuchRequest,
    WithoutReason,
    open_requests,
    withdraw_request,
)
from fleet.services.decisions.tracing import (
    Asked,
    NothingInPlace,
    ask_inspections,
    count_with_part,
    designs_with,
    in_place,
    set_changeouts,
    trace_assemblies,
)
from tests.fleet.pages.small_fleet import AS_OF, day, small_fleet, small_plan

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def gravel():
    organization = Organization.objects.create(name="Gravel Works", slug="gravel-works")
    small_fleet(organization)
    small_plan(organization)
    return organization


def traced(organization, **groups) -> list[str]:
    return sorted(trace_assemblies(organization, groups).values_list("key", flat=True))


def built(organization, key: str, **more) -> Build:
    """How the assembly of that key was built, in place of what the small fleet says of it."""
    assembly = Assembly.objects.get(organization=organization, key=key)
    Build.objects.filter(assembly=assembly).delete()
    return Build.objects.create(
        organization=organization,
        assembly=assembly,
        design=assembly.position.design,
        built_on=assembly.installed_on,
        **more,
    )


@pytest.mark.parametrize("column", ["gauge", "die"])
def test_a_gauge_or_a_die_leads_to_every_assembly_that_it_was_used_on(gravel, column):
    built(gravel, "A-1-1", **{column: "no. 7"})
    built(gravel, "A-2-1", **{column: "no. 8"})
    assert traced(gravel, **{column: "no. 7"}) == ["A-1-1"]


def test_a_lot_is_found_whether_it_is_that_of_the_hose_of_an_end_or_of_a_ferrule(gravel):
    Assembly.objects.filter(key="A-1-2").update(hose_lot="L-9")
    built(gravel, "A-1-1", end_b_lot="L-9")
    row = in_kit(gravel, "A-2-2")
    KitPart.objects.create(
        organization=gravel,
        kit_assembly=row,
        place="a",
        part=Part.objects.get(key="F-08"),
        quantity=1,
        lot="L-9",
        state=KitPartState.USED,
    )
    assert traced(gravel, lot="L-9") == ["A-1-1", "A-1-2", "A-2-2"]


def test_what_was_scrapped_of_a_lot_leads_to_no_assembly(gravel):
    KitPart.objects.create(
        organization=gravel,
        kit_assembly=in_kit(gravel, "A-2-2"),
        place="hose",
        part=Part.objects.get(key="H-2SN-08"),
        quantity=1,
        lot="L-9",
        state=KitPartState.USED,
        scrapped_because="cut too short",
    )
    assert traced(gravel, lot="L-9") == []


def in_kit(organization, key: str) -> KitAssembly:
    assembly = Assembly.objects.get(organization=organization, key=key)
    kit = Kit.objects.create(
        organization=organization,
        key=f"K of {key}",
        site=Site.objects.first(),
        purpose="standby",
        begun_on=AS_OF,
    )
    return KitAssembly.objects.create(
        organization=organization,
        kit=kit,
        number=1,
        design=assembly.position.design,
        assembly=assembly,
    )


def test_past_assemblies_are_found_too_and_told_from_those_in_place(gravel):
    everyone = trace_assemblies(gravel, {"part": "H-2SN-08"})
    assert everyone.count() == 12
    assert in_place(everyone).count() == 6


@pytest.mark.parametrize("part", ["H-2SN-08", "F-08", "H-OTHER"])
def test_what_is_in_place_of_a_part_is_counted_as_it_is_traced(gravel, part):
    other = Part.objects.create(organization=gravel, key="H-OTHER", kind="bulk_hose")
    row = in_kit(gravel, "A-2-2")  # drawn with one hose and built with another, twice taken
    for _ in range(2):
        KitPart.objects.create(
            organization=gravel,
            kit_assembly=row,
            place="hose",
            part=other,
            quantity=1,
            state=KitPartState.USED,
        )
    Assembly.objects.filter(key="A-1-2").update(design=None)  # it counts as its position's
    traced = in_place(trace_assemblies(gravel, {"part": part}))
    designs = Design.objects.filter(pk__in=designs_with(gravel, part))
    assert count_with_part(gravel, part, designs) == traced.count()
    assert traced.count() == {"H-2SN-08": 5, "F-08": 5, "H-OTHER": 1}[part]


def test_one_act_has_a_whole_lot_looked_at(gravel):
    Assembly.objects.filter(key__in=["A-1-1", "A-2-1"]).update(hose_lot="L-9")
    asked = ask_inspections(
        organization=gravel,
        user=None,
        groups={"hose_lot": "L-9"},
        by_day=day(14),
        reason="cover blisters",
        today=AS_OF,
    )
    assert asked == Asked(made=2, stood=0)
    assert [one.assembly.key for one in open_requests(gravel)] == ["A-1-1", "A-2-1"]


def test_who_is_asked_for_already_is_not_asked_twice(gravel):
    ask = {"organization": gravel, "user": None, "reason": "leak", "today": AS_OF}
    ask_inspections(**ask, groups={"machine": "M-01"}, by_day=day(14))
    assert ask_inspections(**ask, groups={"part": "H-2SN-08"}, by_day=day(20)) == Asked(made=3, stood=3)
    assert ask_inspections(**ask, groups={"machine": "M-01"}, by_day=day(7)) == Asked(made=3, stood=0)


def test_an_inspection_answers_and_a_removal_makes_moot(gravel):
    ask_inspections(
        organization=gravel, user=None, groups={"machine": "M-01"}, by_day=day(14), reason="leak", today=AS_OF
    )
    first, second, third = Assembly.objects.filter(position__machine__key="M-01", removed_on=None)
    Inspection.objects.create(organization=gravel, assembly=first, inspected_on=AS_OF, grade="fit")
    Inspection.objects.create(organization=gravel, assembly=second, inspected_on=day(-1), grade="fit")
    third.removed_on, third.removal_cause = day(1), "planned"
    third.save()
    assert [one.assembly for one in open_requests(gravel)] == [second]


def test_who_looked_before_it_was_asked_answers_nothing(gravel):
    assembly = Assembly.objects.get(key="A-1-1")
    Inspection.objects.create(organization=gravel, assembly=assembly, inspected_on=AS_OF, grade="fit")
    ask_inspections(
        organization=gravel, user=None, groups={"machine": "M-01"}, by_day=day(14), reason="leak", today=AS_OF
    )
    assert assembly in [one.assembly for one in open_requests(gravel)]
    Inspection.objects.create(organization=gravel, assembly=assembly, inspected_on=day(1), grade="fit")
    assert assembly not in [one.assembly for one in open_requests(gravel)]


def test_a_request_is_withdrawn_once(gravel):
    ask_inspections(
        organization=gravel, user=None, groups={"machine": "M-01"}, by_day=day(14), reason="leak", today=AS_OF
    )
    request = open_requests(gravel).first()
    withdraw_request(organization=gravel, user=None, request=request.pk, today=AS_OF)
    assert open_requests(gravel).count() == 2
    with pytest.raises(NoSuchRequest):
        withdraw_request(organization=gravel, user=None, request=request.pk, today=AS_OF)


def test_one_act_has_a_bench_s_work_changed_and_leaves_what_is_to_go_sooner(gravel):
    change = {"organization": gravel, "user": None, "reason": "bench 9 slipped", "today": AS_OF}
    set_changeouts(**change, groups={"machine": "M-01"}, not_after=day(10))
    assert set_changeouts(**change, groups={"part": "H-2SN-08"}, not_after=day(30)) == Asked(made=3, stood=3)
    standing = ChangeoutDecision.objects.of(gravel).filter(withdrawn_on=None)
    assert sorted({(one.assembly.position.machine.key, one.kind, one.day) for one in standing}) == [
        ("M-01", "not_after", day(10)),
        ("M-02", "not_after", day(30)),
    ]


def test_what_a_planner_decided_otherwise_is_left_and_told(gravel):
    """One kept by then, one not before a day, one refused; one that was to go later goes sooner."""
    ines = User.objects.create_user("ines")
    decide = {"organization": gravel, "user": ines, "today": AS_OF}
    decide_changeout(**decide, assembly="A-1-1", kind="keep", day=day(7), reason="parts come then")
    decide_changeout(**decide, assembly="A-1-2", kind="refuse", reason="new last week")
    decide_changeout(**decide, assembly="A-2-2", kind="not_before", day=day(7), reason="harvest")
    decide_changeout(**decide, assembly="A-2-3", kind="not_after", day=day(60))
    change = {"organization": gravel, "user": None, "reason": "bench 9 slipped", "today": AS_OF}
    asked = set_changeouts(**change, groups={"part": "H-2SN-08"}, not_after=day(20))
    assert (asked.made, asked.stood) == (3, 1)
    assert asked.left == (
        "A-1-2: do not change it, ines decided on 2026-05-04",
        "A-2-2: not before 2026-05-11, ines decided on 2026-05-04",
    )
    standing = ChangeoutDecision.objects.of(gravel).filter(withdrawn_on=None)
    assert dict(standing.values_list("assembly__key", "kind")) == {
        "A-1-1": "keep",
        "A-1-2": "refuse",
        "A-1-3": "not_after",
        "A-2-1": "not_after",
        "A-2-2": "not_before",
        "A-2-3": "not_after",
    }
    told = ChangeoutDecision.history.filter(assembly__key="A-2-3").order_by("history_id")
    assert [one.history_change_reason for one in told] == [
        "decided",
        "decided anew",
        "decided for its group",
    ]


def test_one_act_asks_the_database_as_often_for_many_as_for_one(gravel):
    def asked(act, groups, **more) -> int:
        with CaptureQueriesContext(connection) as queries:
            act(organization=gravel, user=None, groups=groups, reason="bad lot", today=AS_OF, **more)
        return len(queries)

    Assembly.objects.filter(key__in=["A-1-1", "A-1-2", "A-1-3", "A-2-1", "A-2-2"]).update(hose_lot="L-9")
    Assembly.objects.filter(key="A-2-3").update(hose_lot="L-8")
    for act, name in ((set_changeouts, "not_after"), (ask_inspections, "by_day")):
        one = asked(act, {"hose_lot": "L-8"}, **{name: day(9)})
        five = asked(act, {"hose_lot": "L-9"}, **{name: day(9)})
        assert one == five


def test_what_is_wrong_with_one_act_leaves_nothing_half_done(gravel):
    ask = {"organization": gravel, "user": None, "groups": {"machine": "M-01"}, "today": AS_OF}
    with pytest.raises(InspectionDay):
        ask_inspections(**ask, by_day=day(-1), reason="leak")
    with pytest.raises(WithoutReason):
        ask_inspections(**ask, by_day=day(1), reason=" ")
    with pytest.raises(DecisionDay):
        set_changeouts(**ask, not_after=day(-1), reason="leak")
    with pytest.raises(NothingInPlace, match="hose_lot L-404"):
        ask_inspections(**ask | {"groups": {"hose_lot": "L-404"}}, by_day=day(1), reason="leak")
    assert not InspectionRequest.objects.exists() and not ChangeoutDecision.objects.exists()


def test_nobody_asks_about_everything_by_naming_no_group(gravel):
    with pytest.raises(NothingInPlace):
        set_changeouts(
            organization=gravel, user=None, groups={}, not_after=datetime.date(2027, 1, 1), reason="all"
        )
