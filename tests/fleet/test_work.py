"""Work at a machine: what comes off, what goes on, what was seen; once, by the rules of a fleet folder."""

import datetime
import uuid

import pytest

from fleet.exchange.merging import State
from fleet.models import (
    Assembly,
    Inspection,
    InspectionRequest,
    MeterReading,
    Organization,
    Position,
    SentEntry,
    User,
)
from fleet.services.decisions.inspection_requests import requests_about
from fleet.services.errors import FolderRefused
from fleet.services.folders.pasting import import_pasted
from fleet.services.stock.errors import NotInRegister
from fleet.services.work.errors import (
    AnotherThere,
    CauseMissing,
    ComesOffMissing,
    DesignMissing,
    InstalledBefore,
    NewMeterUnread,
    NothingToRecord,
    NotInstalled,
    PositionTaken,
    RemovedBefore,
    WorkRefused,
)
from fleet.services.work.recording import (
    record_day,
)
from fleet.services.work.rows import Fitted, PositionWork
from tests.fleet.builders import take_small_fleet
from tests.fleet.work_builders import DAY, TODAY, looked_at, on, put_on, taken_off

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def quarry(kept_for_module, tmp_path_factory) -> Organization:
    """A-2 is on EX-01 boom left, A-3 on boom right, nothing on WL-02 lift; A-1 came off, A-4 is built."""
    return take_small_fleet(tmp_path_factory.mktemp("folder"), "Quarry", TODAY)


@pytest.fixture
def ada() -> User:
    return User.objects.create_user("ada")


def test_a_hose_comes_off_with_its_cause_and_the_meter_is_read(quarry, ada):
    recorded = taken_off(quarry, failure_mode="burst at the bend", removed_hours=100, user=ada)
    assert recorded.told == "A-2 came off EX-01 boom left on 20 Jan 2024: failed."
    removed = Assembly.objects.get(key="A-2")
    assert (removed.removed_on, removed.removed_hours, removed.removal_cause) == (DAY, 100, "failed")
    assert (removed.failure_mode, removed.hose_lot, removed.crimped_by) == (
        "burst at the bend",
        "L-8",
        "bench 2",
    )
    assert on("EX-01 boom left") is None
    assert MeterReading.objects.get(machine__key="EX-01", read_on=DAY).hours == 100
    change = removed.history.first()
    assert (change.history_user, change.history_change_reason) == (ada, "recorded at the machine")


def test_what_the_bench_built_goes_on_with_all_that_is_known_of_it(quarry):
    Assembly.objects.filter(key="A-4").update(hose_made_on=datetime.date(2023, 9, 1), hose_lot="L-9")
    put_on(quarry)
    assembly = Assembly.objects.select_related("design").get(key="A-4")
    assert (str(assembly.position), assembly.design.key) == ("WL-02 lift", "D-200")
    assert (assembly.hose_made_on, assembly.hose_lot) == (datetime.date(2023, 9, 1), "L-9")


def test_a_hose_made_elsewhere_goes_on_with_the_design_of_its_place_or_its_own(quarry):
    put_on(quarry, "B-1", "EX-01", "boom left", removal_cause="planned", built_on=datetime.date(2024, 1, 2))
    assert on("EX-01 boom left") == "B-1"
    assert Assembly.objects.get(key="A-2").removal_cause == "planned"
    assert Assembly.objects.get(key="B-1").design.key == "D-100"
    put_on(quarry, "B-2", design="D-200")
    assert Assembly.objects.get(key="B-2").design.key == "D-200"


def test_the_meter_is_read_once_a_day_and_the_first_reading_stands(quarry):
    taken_off(quarry, removed_hours=100)
    looked_at(quarry, "A-3", hours=101)
    assert [one.hours for one in MeterReading.objects.filter(read_on=DAY)] == [100]


def test_a_look_answers_what_was_asked_until_then(quarry):
    assembly = Assembly.objects.get(key="A-2")
    asked = {"organization": quarry, "assembly": assembly, "by_day": TODAY, "reason": "bench 2"}
    InspectionRequest.objects.create(asked_on=datetime.date(2024, 1, 15), **asked)
    later = InspectionRequest.objects.create(asked_on=datetime.date(2024, 1, 25), **asked)
    assert requests_about(assembly).count() == 2
    recorded = looked_at(quarry, finding="cover rubbed to the wire", grade="replace")
    assert recorded.told == "A-2 was looked at on 20 Jan 2024: replace. That answers what was asked."
    assert list(requests_about(assembly)) == [later]
    assert Inspection.objects.get(inspected_on=DAY).finding == "cover rubbed to the wire"


def test_a_form_sent_twice_counts_once_and_says_again_what_it_did(quarry):
    token = uuid.uuid4()
    first = taken_off(quarry, token=token)
    again = taken_off(quarry, token=token)
    assert (again.told, first.again, again.again) == (first.told, False, True)
    assert SentEntry.objects.count() == 1
    with pytest.raises(RemovedBefore, match="A-2 came off EX-01 boom left on 20 Jan 2024 already"):
        taken_off(quarry, token=uuid.uuid4())


def test_a_form_that_was_refused_may_be_mended_and_sent_under_its_token(quarry):
    token = uuid.uuid4()
    with pytest.raises(WorkRefused):
        taken_off(quarry, removed_on=datetime.date(2023, 1, 1), token=token)
    assert not taken_off(quarry, token=token).again


# Acts that cannot be, what each is refused with, and what it is told.
REFUSED = [
    (taken_off, {"assembly": "A-9"}, NotInRegister, "There is no assembly A-9"),
    (taken_off, {"assembly": "A-4"}, NotInstalled, "A-4 is on no machine"),
    (taken_off, {"cause": ""}, CauseMissing, "failed, worn, planned"),
    (taken_off, {"cause": "broken"}, WorkRefused, "broken is no removal_cause"),
    (taken_off, {"removed_on": datetime.date(2023, 1, 1)}, WorkRefused, "before installed on 4 May 2023"),
    (taken_off, {"removed_on": datetime.date(2026, 1, 1)}, WorkRefused, "is after today, 1 Feb 2024"),
    (taken_off, {"removed_hours": -5.0}, WorkRefused, "-5 is below 0"),
    (taken_off, {"removed_hours": 5000.0}, WorkRefused, "cannot have run 4,988 h in the 10 days"),
    (taken_off, {"removed_hours": 5.0}, WorkRefused, "12 h on 10 Jan 2024 and 5 h on 20 Jan"),
    (put_on, {"assembly": "A-1"}, InstalledBefore, "a hose is installed once"),
    (put_on, {"assembly": "B-1"}, DesignMissing, "WL-02 lift asks for no design"),
    (put_on, {"assembly": "B-1", "design": "D-10"}, WorkRefused, "D-10 is not in designs"),
    (put_on, {"position": "boom"}, NotInRegister, "There is no position WL-02 boom"),
    (put_on, {"machine": "EX-01", "position": "boom left"}, PositionTaken, "A-2 is on EX-01 boom left"),
    (put_on, {"removal_cause": "worn"}, NotInstalled, "Nothing is on WL-02 lift"),
    (put_on, {"removal_cause": "worn", "comes_off": "A-3"}, AnotherThere, "and nothing is there now"),
    (put_on, {"machine": "EX-01", "position": "boom left", "removal_cause": "worn", "comes_off": ""},
     ComesOffMissing, "Say what comes off EX-01 boom left, by the key on its tag"),
    (put_on, {"installed_on": datetime.date(2024, 1, 1)}, WorkRefused, "is before built on 8 Jan 2024"),
    (looked_at, {"grade": "good"}, WorkRefused, "good is no grade"),
    (looked_at, {"inspected_on": datetime.date(2023, 1, 1)}, WorkRefused, "was built on 30 Apr 2023"),
    (looked_at, {"finding": "x" * 301}, WorkRefused, "Enter at most 300."),
]  # fmt: skip


def test_what_cannot_be_is_refused_in_the_words_of_the_rules_and_nothing_is_stored(quarry):
    before = Assembly.history.count(), Inspection.objects.count(), MeterReading.objects.count()
    for act, more, refusal, says in REFUSED:
        with pytest.raises(refusal) as refused:
            act(quarry, **more)
        assert says in str(refused.value)
    after = Assembly.history.count(), Inspection.objects.count(), MeterReading.objects.count()
    assert (after, SentEntry.objects.count()) == (before, 0)


def test_a_days_work_on_a_machine_is_stored_whole_or_not_at_all(quarry):
    work = [
        PositionWork(
            "boom left", "failed", "burst", Fitted("B-1", built_on=datetime.date(2024, 1, 2)), "A-2"
        ),
        PositionWork("boom right", "planned", "", Fitted("B-2", built_on=datetime.date(2024, 1, 30)), "A-3"),
    ]
    day = {"organization": quarry, "user": None, "machine": "EX-01", "day": DAY, "today": TODAY, "hours": 90}
    with pytest.raises(WorkRefused) as refused:
        record_day(work=work, **day)
    assert refused.value.places == ["boom right"]
    assert "installed on 20 Jan 2024 is before built on 30 Jan 2024" in str(refused.value)
    assert on("EX-01 boom left") == "A-2"
    with pytest.raises(NothingToRecord):
        record_day(work=[PositionWork("boom left")], **day)

    recorded = record_day(work=[work[0], PositionWork("boom right", "worn", comes_off="A-3")], **day)
    assert recorded.told.count(" came off ") == 2
    assert (on("EX-01 boom left"), on("EX-01 boom right")) == ("B-1", None)
    assert Assembly.objects.get(key="B-1").installed_hours == 90
    assert MeterReading.objects.get(read_on=DAY).hours == 90


def test_a_new_meter_starts_anew(quarry):
    day = {"organization": quarry, "user": None, "machine": "WL-02", "day": DAY, "today": TODAY, "hours": 3}
    work = [PositionWork("lift", fitted=Fitted("A-4"))]
    with pytest.raises(WorkRefused, match="say that a new meter starts with them"):
        record_day(work=work, **day)
    record_day(work=work, meter_replaced=True, **day)
    assert MeterReading.objects.get(read_on=DAY).meter_replaced is True


def test_a_new_meter_is_never_passed_over(quarry):
    work = [PositionWork("boom left", "worn", comes_off="A-2")]
    day = {"organization": quarry, "user": None, "machine": "EX-01", "day": DAY, "today": TODAY, "work": work}
    with pytest.raises(NewMeterUnread, match="nobody says what it shows"):
        record_day(meter_replaced=True, **day)
    looked_at(quarry, "A-3", hours=100)
    with pytest.raises(NewMeterUnread, match="has a reading of 100 h already"):
        record_day(meter_replaced=True, hours=3, **day)
    assert on("EX-01 boom left") == "A-2"


def test_what_goes_where_another_design_is_asked_for_says_so(quarry):
    Position.objects.filter(key="boom left").update(critical=True)
    told = put_on(quarry, "B-1", "EX-01", "boom left", removal_cause="worn", design="D-200").told
    assert "It is of design D-200, and that place asks for D-100." in told
    assert "a named competent person must answer for that" in told


def test_a_form_of_the_same_day_takes_off_nothing_that_another_just_put_on(quarry):
    """Two people see A-2 there and put another on; the second form is told whose came first."""
    seen = {"machine": "EX-01", "position": "boom left", "removal_cause": "worn", "comes_off": "A-2"}
    put_on(quarry, "B-1", **seen)
    with pytest.raises(AnotherThere, match="A-2 was to come off EX-01 boom left, and B-1 is there now"):
        put_on(quarry, "B-2", **seen)
    assert on("EX-01 boom left") == "B-1"
    put_on(quarry, "B-2", **seen | {"comes_off": "B-1"})
    assert on("EX-01 boom left") == "B-2"


INSTALLATIONS = (
    "assembly\tmachine\tposition\tinstalled_on\tremoved_on\tremoval_cause\n"
    "A-3\tEX-01\tboom right\t2021-06-01\t2024-01-20\tworn\n"
    "B-7\tEX-01\tboom right\t2024-01-20\t\t\n"
)


def test_pasted_rows_are_read_as_a_fleet_folder_is(quarry):
    outcome = import_pasted(organization=quarry, user=None, text=INSTALLATIONS, today=TODAY)
    assert outcome.counts == {
        "installations": {State.CREATED: 1, State.CHANGED: 1, State.UNCHANGED: 0},
    }
    assert on("EX-01 boom right") == "B-7"
    assert Assembly.objects.get(key="A-3").design.key == "D-200"
    again = import_pasted(organization=quarry, user=None, text=INSTALLATIONS, today=TODAY)
    assert again.changed_nothing
    readings = "machine,read_on,hours\nWL-02,2024-01-20,5480\n"
    import_pasted(organization=quarry, user=None, text=readings, today=TODAY)
    assert MeterReading.objects.get(read_on=DAY).hours == 5480


def test_pasted_rows_with_an_error_store_nothing_and_name_the_line(quarry):
    text = INSTALLATIONS.replace("worn", "wron").replace("B-7\tEX-01", "B-7\tEX-1")
    with pytest.raises(FolderRefused) as refused:
        import_pasted(organization=quarry, user=None, text=text, today=TODAY)
    errors = [one for one in refused.value.findings if one.severity == "error"]
    assert [(one.file, one.line, one.column) for one in errors] == [
        ("pasted installations", 2, "removal_cause"),
        ("pasted installations", 3, "machine"),
    ]
    assert errors[1].right == "Did you mean EX-01?"
    assert on("EX-01 boom right") == "A-3"
    with pytest.raises(FolderRefused) as refused:
        import_pasted(organization=quarry, user=None, text="tag\twhen\nA-3\ttoday\n", today=TODAY)
    assert "names no known column" in refused.value.findings[0].wrong


def test_a_quote_that_is_not_closed_swallows_no_pasted_rows(quarry):
    header = "assembly\tinspected_on\tgrade\tfinding\n"
    rows = 'A-2\t2024-01-20\twatch\t"cover cut\nA-3\t2024-01-20\treplace\tleak\n'
    with pytest.raises(FolderRefused) as refused:
        import_pasted(organization=quarry, user=None, text=header + rows, today=TODAY)
    (error,) = refused.value.findings
    assert (error.line, error.right) == (
        2,
        "Close each quoted cell with a quote and double the quotes inside it.",
    )
    assert error.wrong.startswith("Line 2: The quotes cannot be read")


def test_pasted_rows_sent_twice_count_once(quarry):
    token = uuid.uuid4()
    for _ in range(2):
        import_pasted(organization=quarry, user=None, text=INSTALLATIONS, token=token, today=TODAY)
    assert Assembly.history.filter(key="A-3").count() == 2


def test_an_assembly_of_another_organization_is_not_in_the_register(quarry):
    other = Organization.objects.create(name="Other", slug="other")
    with pytest.raises(NotInRegister):
        taken_off(other)


def test_a_form_names_no_column_where_a_day_is_outside_the_machines_time(quarry):
    early = datetime.date(2021, 2, 1)
    recorded = put_on(quarry, "B-9", design="D-100", installed_on=early, answered_by="Ada")
    assert [one.right for one in recorded.warnings] == ["Mend installed on or commissioned on."]
