"""The page that describes the API to a person."""

import pytest


@pytest.mark.browser
def test_the_page_that_shows_the_api_asks_no_other_host(browser_page):
    complaints = []
    browser_page.on(
        "console", lambda message: complaints.append(message.text) if message.type == "error" else None
    )

    browser_page.goto("/api/v1/docs/")
    browser_page.get_by_text("/api/v1/plan/forecasts/", exact=True).first.wait_for(timeout=30_000)

    assert complaints == []
