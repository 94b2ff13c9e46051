"""A program records what was done at a machine, once a token; what cannot be it is told."""

import uuid

import pytest

from fleet.models import Assembly, Inspection, MeterReading, Part, Position, Role

PLACE = {"machine": "gravel-1", "position": "gravel boom"}


@pytest.fixture
def shop(gravel, member, client_of):
    """A client signed in as one of the shop of the gravel works, where gravel-A1 is installed."""
    return client_of(member(gravel, Role.SHOP))


def sent(client, what: str, assembly="gravel-A1", **data):
    return client.post(f"/api/v1/machine-work/{what}/", {"assembly": assembly, **data}, format="json")


def test_a_hose_is_looked_at_taken_off_and_another_put_on(shop):
    seen = sent(shop, "inspections", inspected_on="2024-03-05", grade="replace", hours=150, finding="bulge")
    assert (seen.status_code, seen.json()["warnings"]) == (201, [])
    assert Inspection.objects.get(inspected_on="2024-03-05").finding == "bulge"
    assert MeterReading.objects.get(read_on="2024-03-05").hours == 150

    off = sent(shop, "removals", removed_on="2024-03-06", removal_cause="worn", failure_mode="bulge")
    assert off.json()["told"] == "gravel-A1 came off gravel-1 gravel boom on 6 Mar 2024: worn."
    put = {"assembly": "B-1", "installed_on": "2024-03-06", "hose_lot": "L-4", **PLACE}
    asked = sent(shop, "installations", **put)
    assert (asked.status_code, asked.json()["code"]) == (400, "fitness_not_known")
    assert "neither peak nor working pressure of the position is known" in asked.json()["text"]
    on = sent(shop, "installations", **put, answered_by="Ada Berg")
    assert (on.status_code, "Ada Berg answers for it." in on.json()["told"]) == (201, True)
    built = Assembly.objects.get(key="B-1")
    assert (str(built.position), built.hose_lot) == ("gravel-1 gravel boom", "L-4")


@pytest.mark.parametrize(
    ("what", "data"),
    [
        ("inspections", {"inspected_on": "2024-03-05", "grade": "fit", "hours": 3}),
        ("removals", {"removed_on": "2024-03-05", "removal_cause": "worn", "removed_hours": 3}),
        (
            "installations",
            {"assembly": "B-1", "installed_on": "2024-03-05", "installed_hours": 3, "removal_cause": "worn",
             "comes_off": "gravel-A1", "answered_by": "Ada Berg", **PLACE},
        ),
    ],
)  # fmt: skip
def test_a_new_meter_is_noted_with_what_it_showed(shop, what, data):
    answer = sent(shop, what, **data, meter_replaced=True)
    assert (answer.status_code, answer.json().get("text")) == (201, None)
    assert MeterReading.objects.get(read_on="2024-03-05").meter_replaced is True


def test_a_new_meter_of_which_nobody_says_what_it_shows_is_asked_about(shop):
    answer = sent(shop, "inspections", inspected_on="2024-03-05", grade="fit", meter_replaced=True)
    assert (answer.status_code, answer.json()["code"]) == (400, "new_meter_unread")


def test_what_is_sent_again_under_its_token_counts_once(shop):
    act = {"removed_on": "2024-03-06", "removal_cause": "worn", "token": str(uuid.uuid4())}
    first, again = sent(shop, "removals", **act), sent(shop, "removals", **act)
    assert (first.json()["again"], again.json()["again"]) == (False, True)
    assert first.json()["told"] == again.json()["told"]
    other = sent(shop, "removals", **act | {"token": str(uuid.uuid4())})
    assert (other.status_code, other.json()["code"]) == (409, "removed_before")


@pytest.mark.parametrize(
    ("what", "data", "code"),
    [
        ("removals", {"removed_on": "2024-02-01", "removal_cause": "worn"}, "work_refused"),
        ("removals", {"removed_on": "2024-03-06"}, "invalid"),
        ("inspections", {"assembly": "A-9", "inspected_on": "2024-03-06", "grade": "fit"}, "not_in_register"),
        ("installations", {"assembly": "B-1", "installed_on": "2024-03-06", **PLACE}, "position_taken"),
        ("installations", {"installed_on": "2024-03-06", **PLACE}, "position_taken"),
    ],
)
def test_what_cannot_be_is_refused_with_a_code_and_a_sentence(shop, what, data, code):
    answer = sent(shop, what, **data)
    assert (answer.status_code, answer.json()["code"]) == (400, code)
    assert answer.json()["text"].strip()


def test_a_program_says_what_it_saw_come_off_and_is_told_where_another_is_there(shop):
    put = {"assembly": "B-1", "installed_on": "2024-03-06", "removal_cause": "worn", **PLACE}
    put["answered_by"] = "Ada Berg"
    assert sent(shop, "installations", **put).json()["code"] == "comes_off_missing"
    assert sent(shop, "installations", **put, comes_off="gravel-A1").status_code == 201
    late = sent(shop, "installations", **put | {"assembly": "B-2"}, comes_off="gravel-A1")
    assert (late.status_code, late.json()["code"]) == (409, "another_there")
    assert "B-1 is there now" in late.json()["text"]


def test_a_program_puts_no_hose_on_that_is_under_its_rating(shop):
    Part.objects.update(rated_pressure_bar=200.0)
    Position.objects.update(peak_pressure_bar=250.0)
    put = {"assembly": "B-1", "installed_on": "2024-03-06", "removal_cause": "worn", **PLACE}
    refused = sent(shop, "installations", **put, comes_off="gravel-A1", answered_by="Ada Berg")
    assert (refused.status_code, refused.json()["code"]) == (400, "unfit_for_place")
    assert "peak 250 bar is above the 200 bar rating" in refused.json()["text"]
    Part.objects.update(rated_pressure_bar=250.0)
    assert sent(shop, "installations", **put, comes_off="gravel-A1").status_code == 201


def test_a_viewer_records_nothing(gravel, member, client_of):
    viewer = client_of(member(gravel, Role.VIEWER))
    assert sent(viewer, "removals", removed_on="2024-03-06", removal_cause="worn").status_code == 403
    assert Assembly.objects.get().removed_on is None
