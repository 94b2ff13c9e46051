"""Charts in a real browser: drawn from the table beside them, which stands open without JavaScript."""

import pytest

from .test_pages import IS_TOO_WIDE

pytestmark = pytest.mark.browser


@pytest.mark.parametrize(("name", "rows"), [("due", 2), ("assembly", 5)])
def test_a_chart_is_drawn_from_the_table_that_it_folds_away(gravel, addresses, open_pages, name, rows):
    page = open_pages(viewport={"width": 390, "height": 844}, color_scheme="dark")
    page.goto(addresses[name])
    figure = page.locator("figure.chart").first
    figure.locator("svg path").first.wait_for(state="attached")
    assert figure.locator("table").is_hidden()
    figure.get_by_text("The same as a table").click()
    assert figure.locator("table").is_visible()
    assert figure.locator("tbody tr").count() == rows  # today, and each horizon of the small plan


def test_without_javascript_the_table_of_a_chart_stands_open(gravel, addresses, open_pages):
    page = open_pages(java_script_enabled=False)
    page.goto(addresses["due"])
    assert page.locator("figure.chart table").is_visible()
    assert page.locator("figure.chart .plot").is_hidden()


def test_a_chart_becomes_as_narrow_as_the_window(gravel, addresses, open_pages):
    page = open_pages(viewport={"width": 1440, "height": 900})
    page.goto(addresses["due"])
    page.locator(".plot svg").wait_for()
    page.set_viewport_size({"width": 390, "height": 844})  # a telephone is turned upright
    assert not page.evaluate(IS_TOO_WIDE)
