"""A planner decides about changeouts on a phone: in place by mouse and keyboard, and without JavaScript."""

import pytest
from django.urls import reverse

from fleet.models import ChangeoutDecision
from tests.fleet.pages.todays_plan import bring_up_to_today, day

from .pictures import keep_picture

pytestmark = pytest.mark.browser

PHONE = {"viewport": {"width": 390, "height": 844}}


def no_wider(page):
    assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")


def test_a_changeout_is_moved_by_keyboard_and_taken_back_by_mouse(gravel, open_pages):
    bring_up_to_today(gravel)
    page = open_pages(**PHONE)
    page.reload()
    lines = page.get_by_role("table", name="Changeouts by week and machine")
    lines.get_by_role("link", name="Decide about A-1-2", exact=True).focus()
    page.keyboard.press("Enter")
    heading = page.get_by_role("heading", name="Decide about A-1-2")
    heading.wait_for()
    assert page.evaluate("document.activeElement.tagName") == "H3", (
        "the keyboard goes on where the row opened"
    )
    no_wider(page)
    keep_picture(page, "deciding-choices-390")

    page.get_by_role("link", name="Move it here").focus()
    page.keyboard.press("Enter")
    page.get_by_text("You would decide:").wait_for()
    keep_picture(page, "deciding-weighed-390")
    page.get_by_label("Why, if it is worth a word").fill("with the track work")
    page.keyboard.press("Enter")
    page.get_by_text("Decided about A-1-2. The next plan honours it.").wait_for()
    assert page.url.endswith(reverse("due", args=[gravel.slug])), "still the page of what is due"
    assert page.get_by_text("“with the track work”").first.is_visible()
    assert ChangeoutDecision.objects.get().day == day(60)
    keep_picture(page, "deciding-decided-390")

    page.get_by_role("button", name="Withdraw the decision about A-1-2").first.click()
    page.get_by_text("is withdrawn").wait_for()
    assert ChangeoutDecision.objects.get().withdrawn_on == day(0)


def test_what_takes_a_reason_is_not_refused_without_one_at_a_desk(gravel, open_pages):
    bring_up_to_today(gravel)
    page = open_pages(viewport={"width": 1440, "height": 900}, color_scheme="dark")
    page.reload()
    lines = page.get_by_role("table", name="Changeouts by week and machine")
    lines.get_by_role("link", name="Decide about A-1-1", exact=True).click()
    opened = page.get_by_role("heading", name="Decide about A-1-1")
    opened.wait_for()
    tops = [
        one.bounding_box()["y"]
        for one in (
            lines.get_by_role("link", name="A-1-1", exact=True),
            opened,
            lines.get_by_role("link", name="A-1-2", exact=True),
        )
    ]
    assert tops == sorted(tops), "under its own row, not under its stop"
    keep_picture(page, "deciding-choices-1440-dark")
    page.get_by_role("link", name="Refuse: leave it in place").click()
    page.get_by_text("It stays past a limit:").wait_for()
    page.get_by_role("button", name="Decide so").click()
    assert page.get_by_label("Why (it stands beside your name)").evaluate(
        "field => field.validity.valueMissing"
    )
    keep_picture(page, "deciding-limit-1440-dark")
    page.get_by_role("link", name="Other choices").click()
    page.get_by_label("Not before").fill("2020-01-01")
    page.get_by_role("link", name="Decide nothing").click()
    page.get_by_role("heading", name="Decide about A-1-1").wait_for(state="detached")
    assert not ChangeoutDecision.objects.exists()


def test_without_javascript_it_is_decided_on_a_page_of_its_own(gravel, open_pages):
    bring_up_to_today(gravel)
    page = open_pages(java_script_enabled=False, **PHONE)
    page.reload()
    page.get_by_role("table", name="Changeouts by week and machine").get_by_role(
        "link", name="Decide about A-1-2", exact=True
    ).click()
    keep_picture(page, "deciding-plain-390")
    page.get_by_label("Not after").fill(str(day(5)))
    page.get_by_role("button", name="See what it costs").last.click()
    assert page.get_by_text("in a special stop, because no window suits").is_visible()
    page.get_by_role("button", name="Decide so").click()
    assert page.get_by_text("The next plan honours it.").first.is_visible()
    page.get_by_role("link", name="What was decided about changeouts").click()
    assert page.get_by_role("table").get_by_role("link", name="A-1-2", exact=True).is_visible()
    keep_picture(page, "decisions-390")
