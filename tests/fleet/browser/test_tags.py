"""Tags as a reader sees them, and work at a machine where the connection comes and goes."""

import io
import uuid
from urllib.parse import unquote

import pytest
from django.urls import reverse
from PIL import Image

from fleet.models import Assembly, Inspection, Part, SentEntry
from tests.conftest import lacking

from .conftest import PHONE
from .pictures import keep_picture

pytestmark = pytest.mark.browser

SLUG = "gravel-works"


@pytest.fixture(scope="module")
def decode():
    """Reads the codes in a picture: zbar, which knows nothing of what drew them."""
    try:
        from pyzbar import pyzbar
    except ImportError as error:
        lacking(f"the library zbar (on Debian libzbar0) is not installed: {error}")
    return lambda picture: [one.data.decode() for one in pyzbar.decode(Image.open(io.BytesIO(picture)))]


def test_each_label_is_read_by_another_reader_one_at_a_time(gravel, open_pages, live_server, decode):
    keys = ["A-1-1", "2026/0117", "Ä 7 (links)", "EX-01-boom-left-high-pressure-2026-11-25-bench-2"]
    for key in keys[1:]:
        Assembly.objects.create(organization=gravel, key=key)
    page = open_pages(viewport={"width": 1000, "height": 900}, device_scale_factor=3, color_scheme="dark")
    page.goto(reverse("tags", args=[SLUG]) + "?shelf=yes&machine=M-01&paper=a4")
    keep_picture(page, "tags-1000-dark")
    page.emulate_media(media="print")
    keep_picture(page, "tags-print")
    labels = page.locator(".label").all()
    read = {label.get_attribute("aria-label"): decode(label.screenshot()) for label in labels}
    assert len(read) == 8 + len(keys) - 1
    for key, codes in read.items():
        assert codes == [live_server.url + reverse("tag", args=[SLUG, key])]
    for key in keys:
        page.goto(read[key][0].removeprefix(live_server.url))
        assert page.get_by_role("heading", level=1).inner_text() == key
        assert unquote(page.url).endswith(f"/tags/{key}/")


def test_a_hose_is_taken_off_in_three_touches(gravel, open_pages):
    page = open_pages(**PHONE)
    page.goto(reverse("tag", args=[SLUG, "A-1-1"]))
    keep_picture(page, "tag-390")
    page.get_by_text("Take it off", exact=True).click()
    page.get_by_text("found worn", exact=True).locator("visible=true").click()
    keep_picture(page, "tag-390-open")
    page.get_by_role("button", name="Took it off").click()
    page.get_by_text("A hose is never used again.").wait_for()
    assert Assembly.objects.get(key="A-1-1").removal_cause == "worn"


def test_what_is_entered_without_a_connection_is_kept_and_sent_once(gravel, phone, line):
    page = phone
    page.goto(reverse("tag", args=[SLUG, "A-1-1"]))
    line.cut()
    page.get_by_text("Inspect it", exact=True).click()
    page.get_by_text("to be watched", exact=True).click()
    page.get_by_role("button", name="Inspected it").click()
    kept = page.locator("#kept")
    kept.get_by_text("kept on this device, not sent yet").wait_for()
    keep_picture(page, "tag-390-offline")
    assert page.get_by_role("button", name="Inspected it").is_disabled()
    before = Inspection.objects.filter(assembly__key="A-1-1").count()

    # The page is closed, and another one opened where there is a connection again.
    page.goto("about:blank")
    line.mend()
    page.goto(reverse("machines", args=[SLUG]))
    page.locator("#kept").get_by_text("sent. A-1-1 was looked at on").wait_for()
    page.reload()
    assert page.locator("#kept").is_hidden()
    assert Inspection.objects.filter(assembly__key="A-1-1").count() == before + 1
    assert SentEntry.objects.count() == 1


def test_what_waits_is_sent_when_the_connection_is_back_and_what_cannot_be_is_told(gravel, phone):
    page = phone
    page.goto(reverse("tag", args=[SLUG, "A-1-1"]))
    page.context.set_offline(True)
    page.get_by_text("Take it off", exact=True).click()
    page.get_by_text("failed in service", exact=True).locator("visible=true").click()
    page.get_by_role("button", name="Took it off").click()
    page.locator("#kept").get_by_text("not sent yet").wait_for()
    # Meanwhile somebody else took it off.
    Assembly.objects.filter(key="A-1-1").update(removed_on="2026-05-04", removal_cause="planned")
    page.context.set_offline(False)
    told = "not taken. A-1-1 came off M-01 boom 1 on 4 May 2026 already"
    page.locator("#kept").get_by_text(told).wait_for()
    page.get_by_role("button", name="Forget it").click()
    assert page.locator("#kept").is_hidden()
    assert Assembly.objects.get(key="A-1-1").removal_cause == "planned"


def test_without_javascript_the_form_is_sent_as_any_other_and_counts_once(gravel, open_pages):
    page = open_pages(java_script_enabled=False, **PHONE)
    page.goto(reverse("tag", args=[SLUG, "A-1-1"]))
    token = page.locator("#inspect_token").get_attribute("value")
    page.get_by_text("Inspect it", exact=True).click()
    page.get_by_text("to be replaced", exact=True).click()
    page.get_by_role("button", name="Inspected it").click()
    page.get_by_text("A-1-1 was looked at on").wait_for()
    assert SentEntry.objects.get().token == uuid.UUID(token)


def test_what_is_wrong_in_a_days_work_and_in_pasted_rows_stands_beside_it(gravel, phone):
    Part.objects.update(rated_pressure_bar=400.0)  # above what any place asks
    page = phone
    page.goto(reverse("machine_day", args=[SLUG, "M-01"]))
    page.get_by_label("boom 1, Comes off because").select_option("failed")
    page.get_by_label("boom 1, Goes on (key)").fill("B-1")
    page.get_by_label("boom 1, Its design").fill("D-9")
    page.get_by_role("button", name="Record it all").click()
    page.get_by_role("row", name="boom 1").get_by_text("D-9 is not in designs.").wait_for()
    keep_picture(page, "day-390-wrong")
    page.get_by_label("boom 1, Its design").fill("")
    page.get_by_role("button", name="Record it all").click()
    page.get_by_text("B-1 went onto M-01 boom 1").wait_for()

    page.goto(reverse("paste", args=[SLUG]))
    page.get_by_label("Rows, with the headers").fill("assembly\tinspected_on\tgrade\nB-1\t2026-05-03\tgod\n")
    page.get_by_role("button", name="Take them in").click()
    page.get_by_text("god is no grade.").wait_for()
    keep_picture(page, "paste-390-wrong")
    assert SentEntry.objects.count() == 1
