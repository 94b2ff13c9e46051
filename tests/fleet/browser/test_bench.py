"""One kit in a real browser: begun on its page, recorded at the bench, refused, mended and accepted."""

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.urls import reverse

from fleet.models import Assembly, Membership, Role, User
from fleet.services.shop.kits import begin_kit
from tests.fleet.bench_builders import lay_plenty, open_shop, plan_kit
from tests.fleet.browser.conftest import PASSWORD
from tests.fleet.browser.pictures import keep_picture
from tests.fleet.browser.test_pages import RULES

pytestmark = pytest.mark.browser


@pytest.fixture
def shop(transactional_db):
    shop = open_shop()
    lay_plenty(shop)
    plan_kit(shop, "boom", "arm")
    user = User.objects.create_user("ines", password=PASSWORD)
    Membership.objects.create(user=user, organization=shop, role=Role.PLANNER)
    return shop


def look(page, name: str) -> None:
    """Keeps a picture, and fails where the page breaks a rule for access or is wider than its window."""
    page.wait_for_load_state()  # rules are judged with the style sheets
    keep_picture(page, name)
    broken = Axe().run(page, options=RULES["light"]).response["violations"]
    assert [(rule["help"], rule["nodes"][0]["html"][:120]) for rule in broken] == []
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth"), f"{name}: nothing is cut off"


@pytest.mark.parametrize("width, scheme", [(1440, "light"), (390, "dark")])
def test_a_kit_goes_from_its_page_to_an_assembly_with_a_tag(shop, browser_page, width, scheme):
    page = browser_page
    page.set_viewport_size({"width": width, "height": 900})
    page.emulate_media(color_scheme=scheme)
    page.goto(reverse("sign_in"))
    page.get_by_label("Name").fill("ines")
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    page.wait_for_url(f"**{reverse('due', args=[shop.slug])}")
    page.goto(reverse("kit", args=[shop.slug, "K-1"]))
    look(page, f"bench-kit-{width}")
    page.get_by_role("button", name="Begin this kit").click()
    page.get_by_text("K-1 is at the bench").wait_for()
    look(page, f"bench-begun-{width}")
    page.get_by_role("link", name="Record the build").first.click()
    page.get_by_label("Length of the cut (mm)").fill("1000")
    page.get_by_label("Projectiles shot before crimping").fill("2")
    for end in "ab":
        page.get_by_label(f"End {end}: mark at the shell before crimping").check()
        page.get_by_label(f"End {end}: mark still at the shell after crimping").check()
        for number in (1, 2, 3):
            page.get_by_label(f"End {end}, reading {number}").fill("21.2")
    page.get_by_label("End b, reading 2").fill("21.5")
    page.get_by_label("Proof pressure (bar)").fill("600")
    page.get_by_label("Held for (seconds)").fill("30")
    page.get_by_role("button", name="Accept the assembly").click()
    page.get_by_text("21.5 mm is over the band").wait_for()
    look(page, f"bench-refused-{width}")
    assert page.get_by_label("End b, reading 2").input_value() == "21.5"
    page.get_by_label("End b, reading 2").fill("21.25")
    page.get_by_label("Projectiles shot after crimping").fill("1")
    page.get_by_role("button", name="Accept the assembly").click()
    page.get_by_role("link", name="Print its tag").wait_for()
    look(page, f"bench-built-{width}")
    assert Assembly.objects.get().crimped_by == "ines"
    page.goto(reverse("take_apart", args=[shop.slug, "K-1"]))
    look(page, f"bench-apart-{width}")
    page.goto(reverse("scrap_build", args=[shop.slug, "K-1", 2]))
    look(page, f"bench-scrap-{width}")


def test_a_record_made_without_a_connection_is_kept_sent_once_and_mended_where_it_is_refused(
    shop, phone, line
):
    """Two builds are recorded while there is none; one passes later, the other is begun with what it had."""
    begin_kit(organization=shop, user=None, kit="K-1")
    pages = [phone, phone.context.new_page()]
    for number, page in enumerate(pages, start=1):
        page.goto(reverse("record_build", args=[shop.slug, "K-1", number]))
    line.cut()
    for page, reading in zip(pages, ("21.2", "21.9"), strict=True):
        page.get_by_label("Length of the cut (mm)").fill("1000")
        page.get_by_label("Projectiles shot before crimping").fill("2")
        page.get_by_label("Projectiles shot after crimping").fill("1")
        for end in "ab":
            page.get_by_label(f"End {end}: mark at the shell before crimping").check()
            page.get_by_label(f"End {end}: mark still at the shell after crimping").check()
            for place in (1, 2, 3):
                page.get_by_label(f"End {end}, reading {place}").fill(reading)
        page.get_by_label("Proof pressure (bar)").fill("600")
        page.get_by_label("Held for (seconds)").fill("30")
        page.get_by_role("button", name="Accept the assembly").click()
        page.locator("#kept").get_by_text("kept on this device, not sent yet").first.wait_for()
    for page in pages:
        page.goto("about:blank")
    assert not Assembly.objects.exists()

    line.mend()
    page = pages[0]
    page.goto(reverse("begun", args=[shop.slug]))
    page.locator("#kept").get_by_text("sent. A-0001 is accepted.").wait_for()
    page.locator("#kept").get_by_text("21.9 mm is over the band").wait_for()
    page.get_by_role("link", name="Mend it").click()
    page.wait_for_url("**/2/record/")
    assert page.get_by_label("End a, reading 3").input_value() == "21.9"
    assert page.get_by_label("End b: mark at the shell before crimping").is_checked()
    for end in "ab":
        for place in (1, 2, 3):
            page.get_by_label(f"End {end}, reading {place}").fill("21.2")
    page.get_by_role("button", name="Accept the assembly").click()
    page.get_by_role("link", name="Print its tag").wait_for()
    assert page.locator("#kept").is_hidden()
    assert Assembly.objects.count() == 2
