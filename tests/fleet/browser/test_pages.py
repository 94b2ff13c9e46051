"""The pages in a real browser: at phone, tablet and desk width, light and dark, with and without JavaScript.

SCREENSHOTS=folder keeps a picture of every page at every width.
"""

import pytest
from axe_playwright_python.base import AXE_SCRIPT
from django.utils import timezone

from fleet.models import Plan, RunState

from .pictures import keep_picture, keeps_pictures

pytestmark = pytest.mark.browser

WIDTHS, PAPER_WIDTH = (390, 820, 1440), 760
COLOURS = """[getComputedStyle(document.body).color, getComputedStyle(document.body).backgroundColor]"""
# Once what follows the window, such as a chart, has followed it: that takes a frame or two.
IS_TOO_WIDE = """new Promise((tell) => requestAnimationFrame(() => requestAnimationFrame(() =>
    tell(document.documentElement.scrollWidth > window.innerWidth))))"""
# A table that its box has to be scrolled for, which on a desk nobody sees.
CUT_TABLES = """[...document.querySelectorAll(".box")]
    .filter((box) => box.checkVisibility() && box.scrollWidth > box.clientWidth)
    .map((box) => box.querySelector("caption").textContent.trim())"""
# A sentence that stands in pieces, one below or beside the other, since its box lays out what is within it.
TORN_SENTENCES = """[...document.querySelectorAll(".nowrap")].map((kept) => kept.parentElement)
    .filter((box) => /flex|grid/.test(getComputedStyle(box).display))
    .filter((box) => [...box.childNodes].some((one) => one.nodeType === 3 && one.textContent.trim()))
    .map((box) => box.textContent.trim())"""
# Of what it found the faults alone: what passed would come over as some megabytes a page.
FAULTS_OF = "async (options) => (await axe.run(options)).violations"
# What axe-core can judge of WCAG 2.2 AA; in the dark only the colours are other ones.
RULES = {
    "light": {
        "runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"],
        "resultTypes": ["violations"],
    },
    "dark": {
        "runOnly": {"type": "rule", "values": ["color-contrast", "link-in-text-block"]},
        "resultTypes": ["violations"],
    },
}


def test_every_page_fits_its_window_prints_in_black_and_breaks_no_rule_for_access(
    gravel, addresses, open_pages
):
    page, faults = open_pages(), []
    for name, address in addresses.items():
        page.emulate_media(media="screen")
        page.set_viewport_size({"width": WIDTHS[0], "height": 900})
        page.goto(address)
        page.evaluate(AXE_SCRIPT)
        for scheme, rules in RULES.items():
            page.emulate_media(color_scheme=scheme)
            # What is dark is as wide as what is light: it is looked at in each width for the pictures alone.
            for width in WIDTHS if scheme == "light" or keeps_pictures() else WIDTHS[-1:]:
                page.set_viewport_size({"width": width, "height": 900})
                if page.evaluate(IS_TOO_WIDE):
                    faults.append(f"{name} in the {scheme} is wider than {width}")
                faults += [f"{name} at {width} is cut: {table}" for table in page.evaluate(CUT_TABLES)]
                faults += [f"{name} at {width} is torn: {told}" for told in page.evaluate(TORN_SENTENCES)]
                keep_picture(page, f"{name}-{width}-{scheme}")
            for rule in page.evaluate(FAULTS_OF, rules):
                faults.append(f"{name} in the {scheme}: {rule['help']}: {rule['nodes'][0]['html'][:120]}")
        page.set_viewport_size({"width": PAPER_WIDTH, "height": 1000})
        page.emulate_media(media="print")  # of whoever reads in the dark
        keep_picture(page, f"{name}-print")
        if page.evaluate(COLOURS) != ["rgb(0, 0, 0)", "rgb(255, 255, 255)"]:
            faults.append(f"{name} is not printed in black on white")
        shown = page.locator("button, .button, nav, form").locator("visible=true")
        faults += [f"{name} prints a control: {text}" for text in shown.all_inner_texts()]
    assert faults == []


def test_the_planner_finds_the_way_from_what_is_due_to_the_hose(gravel, open_pages):
    page = open_pages(viewport={"width": 390, "height": 844})
    page.get_by_role("heading", name="What is due").wait_for()
    page.get_by_role("table", name="Changeouts by week and machine").get_by_role("link", name="M-01").click()
    page.get_by_role("table").get_by_role("link", name="A-1-1", exact=True).click()
    page.get_by_role("heading", name="Assembly A-1-1").wait_for()
    assert page.get_by_text("Fails within a year if left there:").is_visible()


def test_the_keyboard_reaches_the_content_first(gravel, open_pages):
    page = open_pages()
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.textContent") == "Skip to the content"
    page.keyboard.press("Enter")
    assert page.evaluate("document.activeElement.id") == "content"


def test_a_running_plan_is_followed_to_its_end(gravel, addresses, open_pages):
    page, running = open_pages(), Plan.objects.filter(state=RunState.RUNNING)
    running.update(seen_at=timezone.now())
    page.goto(addresses["plan"])
    page.get_by_text("Forecasting").wait_for()
    running.update(progress="Reckoning stock")
    page.get_by_text("Reckoning stock").wait_for(timeout=8_000)
    running.update(state=RunState.DONE)
    page.get_by_role("link", name="See what is due").wait_for(timeout=8_000)


def test_every_page_reads_without_javascript(gravel, addresses, open_pages):
    page = open_pages(java_script_enabled=False)
    for name, address in addresses.items():
        page.goto(address)
        assert page.get_by_role("heading", level=1).count() == 1, name


def test_on_paper_a_table_has_no_sides_that_run_on_below_the_last_row_of_a_page(gravel, open_pages):
    page = open_pages()
    page.emulate_media(media="print")
    borders = page.evaluate(
        """[...document.querySelectorAll(".box")].map((box) => [
            getComputedStyle(box).borderLeftWidth, getComputedStyle(box).borderRightWidth,
            getComputedStyle(box.querySelector("table")).borderBottomWidth])"""
    )
    assert borders and {tuple(one) for one in borders} == {("0px", "0px", "1px")}
