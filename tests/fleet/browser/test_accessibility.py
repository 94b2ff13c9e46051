"""Every page by the rules of WCAG 2.2 AA that a program can judge: axe-core's, light and dark."""

import pytest
from axe_playwright_python.sync_playwright import Axe

pytestmark = pytest.mark.browser

RULES = {"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]}


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_no_page_breaks_a_rule_for_access(gravel, addresses, open_pages, scheme):
    page, axe, broken = open_pages(color_scheme=scheme), Axe(), []
    for name, address in addresses.items():
        page.goto(address)
        for rule in axe.run(page, options=RULES).response["violations"]:
            broken.append(f"{name}: {rule['help']}: {rule['nodes'][0]['html'][:120]}")
    assert broken == []
