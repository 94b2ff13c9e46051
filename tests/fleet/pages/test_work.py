"""Work recorded on pages: from a tag, a day of it on one form, and pasted rows."""

import json
import re
import uuid

import pytest
from django.urls import reverse

from fleet.models import Assembly, Inspection, Kit, KitAssembly, Machine, MeterReading, Part, Position
from tests.fleet.pages.reading import read
from tests.fleet.pages.small_fleet import AS_OF, day

SLUG = "gravel-works"
JSON = {"HTTP_ACCEPT": "application/json"}


@pytest.fixture
def shop(planned, member_of):
    """One of the shop; every part is rated for 400 bar, above what any place asks."""
    Part.objects.update(rated_pressure_bar=400.0)
    return member_of(planned, "shop")


def record(client, assembly: str, act: str, headers=None, **sent):
    sent = {"act": act, "token": uuid.uuid4(), "day": str(AS_OF)} | sent
    return client.post(reverse("record", args=[SLUG, assembly]), sent, follow=True, **headers or {})


def now_on(key: str) -> str | None:
    rows = Assembly.objects.filter(position__machine__key="M-01", position__key=key, removed_on=None)
    return rows.values_list("key", flat=True).first()


def test_a_hose_is_inspected_changed_and_taken_off_from_its_tag(shop):
    page = record(shop, "A-1-1", "inspect", grade="replace", finding="wire shows", hours="4300")
    assert "A-1-1 was looked at on 4 May 2026: replace." in read(page)
    assert Inspection.objects.get(inspected_on=AS_OF).finding == "wire shows"
    assert MeterReading.objects.get(read_on=AS_OF).hours == 4300

    page = record(shop, "A-1-1", "change", removal_cause="worn", fitted="B-1", built_on=str(day(-3)))
    assert page.redirect_chain[-1][0] == reverse("tag", args=[SLUG, "B-1"])
    assert now_on("boom 1") == "B-1"

    record(shop, "B-1", "take_off", removal_cause="damaged", failure_mode="struck by a rock")
    assert now_on("boom 1") is None


def test_hours_that_cannot_be_are_told_in_the_pages_words_and_a_new_meter_is_ticked(shop):
    record(shop, "A-1-1", "inspect", grade="fit", hours="4300")
    late = {"grade": "fit", "hours": "12", "day": str(day(1))}
    refused = record(shop, "A-1-2", "inspect", **late)
    text = read(refused)
    assert refused.status_code == 422
    assert "showed 4,300 h on 4 May 2026 and 12 h on 5 May 2026." in text
    assert "Mend the hours, or say that a new meter starts with them" in text
    for shown in ("Hour meter shows (h)", "A new meter starts with this reading", "(required)"):
        assert shown in text
    record(shop, "A-1-2", "inspect", **late, meter_replaced="on")
    assert MeterReading.objects.get(read_on=day(1)).meter_replaced is True


def test_what_was_built_for_a_place_is_installed_there_and_the_old_one_comes_off(planned, shop):
    position = Position.objects.get(machine__key="M-01", key="boom 2")
    new = Assembly.objects.create(organization=planned, key="B-2", design=position.design)
    own = {"organization": planned}
    kit = Kit.objects.create(
        **own, key="K-1", site=position.machine.site, purpose="changeout", begun_on=AS_OF
    )
    KitAssembly.objects.create(
        **own, kit=kit, number=1, design=position.design, position=position, assembly=new
    )
    page = shop.get(reverse("tag", args=[SLUG, "B-2"])).content.decode()
    assert f'<option value="{position.pk}" selected>M-01 boom 2, where A-1-2 is now</option>' in page
    seen = json.loads(shop.get(reverse("tag", args=[SLUG, "B-2"])).context["forms"][0]["seen"].value())
    assert seen[str(position.pk)] == "A-1-2"
    place = {"place": position.pk, "seen": json.dumps(seen)}
    refused = record(shop, "B-2", "install", **place)
    assert refused.status_code == 422
    assert "A-1-2 is on M-01 boom 2 since" in read(refused)
    record(shop, "B-2", "install", **place, removal_cause="planned")
    assert now_on("boom 2") == "B-2"
    assert Assembly.objects.get(key="A-1-2").removal_cause == "planned"

    # Whoever saw A-1-2 there, before or by name, takes B-2 off by no late form.
    Assembly.objects.create(organization=planned, key="B-3", design=position.design)
    late = record(shop, "B-3", "install", **place, removal_cause="planned")
    assert "A-1-2 was to come off M-01 boom 2, and B-2 is there now." in read(late)
    named = {"machine": "M-01", "position": "boom 2", "removal_cause": "planned"}
    unsaid = record(shop, "B-3", "install", **named)
    assert "Say what comes off M-01 boom 2, by the key on its tag" in read(unsaid)
    record(shop, "B-3", "install", **named, comes_off="B-2")
    assert now_on("boom 2") == "B-3"


def test_what_is_under_its_rating_does_not_go_on_and_what_is_not_known_takes_a_tick_or_a_name(shop):
    change = {"removal_cause": "worn", "fitted": "B-1"}
    Part.objects.update(rated_pressure_bar=300.0)  # and 250 bar with a quarter for surges are asked
    refused = record(shop, "A-1-1", "change", **change)
    assert refused.status_code == 422
    assert "312.5 bar is above the 300 bar rating" in read(refused)
    assert "I answer for it" not in refused.content.decode()

    Part.objects.update(rated_pressure_bar=None, construction="")
    asked = record(shop, "A-1-1", "change", **change).content.decode()
    assert ("is not known: the rating of hose" in asked, "I answer for it" in asked) == (True, True)
    Position.objects.filter(key="boom 1").update(critical=True)
    asked = record(shop, "A-1-1", "change", **change).content.decode()
    assert ("The competent person who answers for it" in asked, "I answer for it" in asked) == (True, False)
    page = record(shop, "A-1-1", "change", **change, answered_by="Ada Berg").content.decode()
    assert "Ada Berg answers for it." in page
    own = shop.get("/").wsgi_request.user.get_username()
    page = record(shop, "A-1-2", "change", removal_cause="worn", fitted="B-2", answers="on").content.decode()
    assert f"{own} answers for it." in page


def test_in_a_days_work_the_row_asks_who_answers_for_what_is_not_known(shop):
    Part.objects.update(rated_pressure_bar=None, construction="")
    row = {"cause": "worn", "seen": "A-1-1", "fitted": "B-1"}
    asked = day_form(shop, boom_1=row)
    told = asked.content.decode().partition("boom 1 <small>")[2].partition("</tr>")[0]
    assert (asked.status_code, "I answer for it" in told) == (422, True)
    assert "I answer for it" not in asked.content.decode().partition("boom 2 <small>")[2]
    day_form(shop, boom_1=row | {"answers": "on"})
    assert now_on("boom 1") == "B-1"


def test_a_form_sent_twice_is_taken_once_and_says_so(shop):
    token = uuid.uuid4()
    sent = {"token": token, "removal_cause": "worn"}
    first = record(shop, "A-1-1", "take_off", JSON, **sent)
    again = record(shop, "A-1-1", "take_off", JSON, **sent)
    assert first.json()["told"] == "A-1-1 came off M-01 boom 1 on 4 May 2026: worn."
    assert again.json()["told"].startswith("This was recorded already, and nothing was changed:")
    waited = record(shop, "A-1-1", "take_off", JSON, **sent, later="yes")
    assert waited.json()["told"] == first.json()["told"]
    assert Assembly.history.filter(key="A-1-1").count() == 2


def test_what_one_person_left_on_a_tablet_is_not_sent_as_the_next(shop):
    sent = {"removal_cause": "worn", "later": "yes"}
    refused = record(shop, "A-1-1", "take_off", JSON, **sent, who="somebody who signed out")
    assert (refused.status_code, now_on("boom 1")) == (409, "A-1-1")
    for page in (reverse("machine_day", args=[SLUG, "M-01"]), reverse("paste", args=[SLUG])):
        assert shop.post(page, {"who": "somebody who signed out"}).status_code == 409
    own = shop.get("/").wsgi_request.user.get_username()
    assert record(shop, "A-1-1", "take_off", JSON, **sent, who=own).status_code == 200
    assert now_on("boom 1") is None


def test_a_change_that_comes_late_does_not_take_off_what_another_put_on(shop):
    record(shop, "A-1-1", "change", removal_cause="worn", fitted="B-1")
    late = record(shop, "A-1-1", "change", removal_cause="worn", fitted="B-2")
    assert late.status_code == 422
    assert "A-1-1 was to come off M-01 boom 1, and B-1 is there now." in read(late)
    assert now_on("boom 1") == "B-1"


@pytest.mark.parametrize(
    ("act", "sent", "says"),
    [
        ("take_off", {}, "Choose why it comes off."),
        ("take_off", {"removal_cause": "worn", "day": ""}, "This field is required."),
        ("take_off", {"removal_cause": "worn", "day": str(day(-900))}, "is before installed on"),
        ("inspect", {"grade": "fit", "hours": "1"}, "The meter of M-01 showed 4,210 h"),
        ("change", {"removal_cause": "worn", "fitted": "A-2-1"}, "a hose is installed once"),
    ],
)
def test_what_cannot_be_comes_back_with_what_was_entered(shop, act, sent, says):
    refused = record(shop, "A-1-1", act, **sent)
    assert refused.status_code == 422
    assert says in read(refused)
    by_script = record(shop, "A-1-1", act, JSON, **sent)
    assert (by_script.status_code, says in by_script.json()["text"]) == (422, True)
    assert now_on("boom 1") == "A-1-1"


def day_form(shop, **rows: dict[str, str]):
    positions = {one.key: one for one in Position.objects.filter(machine__key="M-01")}
    sent = {"token": str(uuid.uuid4()), "day": str(AS_OF), "hours": "4300"}
    for key, fields in rows.items():
        position = positions[key.replace("_", " ")]
        sent |= {f"p{position.pk}-{name}": value for name, value in fields.items()}
    return shop.post(reverse("machine_day", args=[SLUG, "M-01"]), sent, follow=True)


def test_a_days_work_is_one_form(shop):
    assert "A-1-3" in shop.get(reverse("machine_day", args=[SLUG, "M-01"])).content.decode()
    page = day_form(
        shop,
        boom_1={"cause": "failed", "mode": "burst", "fitted": "B-1", "seen": "A-1-1"},
        boom_2={"cause": "worn", "seen": "A-1-2"},
    )
    assert page.redirect_chain[-1][0] == reverse("machine", args=[SLUG, "M-01"])
    assert [now_on(f"boom {n}") for n in (1, 2, 3)] == ["B-1", None, "A-1-3"]
    assert MeterReading.objects.get(read_on=AS_OF).hours == 4300


def test_what_a_device_calls_a_days_work_it_keeps_is_plain_text(shop):
    Machine.objects.filter(key="M-01").update(key="EX-01")
    page = shop.get(reverse("machine_day", args=[SLUG, "EX-01"])).content.decode()
    assert re.findall(r'data-keep="(.*)">', page) == ["Work on EX-01"]


def test_what_is_wrong_in_a_days_work_stands_beside_its_row_and_nothing_is_stored(shop):
    page = day_form(
        shop,
        boom_1={"cause": "failed", "seen": "A-1-1"},
        boom_2={"cause": "worn", "fitted": "B-2", "design": "D-9", "seen": "A-1-2"},
    )
    assert page.status_code == 422
    row = page.content.decode().partition("boom 2 <small>")[2].partition("</tr>")[0]
    assert "D-9 is not in designs." in row
    assert now_on("boom 1") == "A-1-1"
    assert "Nothing was entered for M-01." in day_form(shop).content.decode()


PASTED = "assembly\tinspected_on\tgrade\nA-1-1\t2026-05-03\tfit\nA-1-2\t2026-05-03\t{grade}\n"


def pasted(shop, text: str):
    sent = {"token": str(uuid.uuid4()), "rows": text}
    return shop.post(reverse("paste", args=[SLUG]), sent, follow=True)


def test_pasted_rows_are_taken_whole_or_told_line_by_line(shop):
    refused = pasted(shop, PASTED.format(grade="god"))
    text = refused.content.decode()
    assert (refused.status_code, "1 error: nothing was stored" in text) == (422, True)
    assert "god is no grade." in text.partition('<th scope="row">3</th>')[2]
    assert not Inspection.objects.filter(inspected_on=day(-1)).exists()
    taken = pasted(shop, PASTED.format(grade="watch"))
    assert "2 rows are new, 0 changed, 0 stood already." in taken.content.decode()
    assert Inspection.objects.filter(inspected_on=day(-1)).count() == 2
    assert "names no known column" in pasted(shop, "a\tb\n1\t2\n").content.decode()
    unclosed = pasted(shop, 'assembly\tinspected_on\tgrade\n"A-1-1\t2024-01-20\tfit\n').content.decode()
    assert "Line 2: The quotes cannot be read" in unclosed
