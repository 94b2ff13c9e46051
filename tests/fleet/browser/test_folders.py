"""A fleet comes in through the browser: a hand-kept sheet is matched and stored, errors show their rows."""

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.urls import reverse

from fleet.models import Assembly, Machine
from fleet.services.folders.readings import read_folder

from .pictures import keep_picture
from .test_pages import RULES

pytestmark = pytest.mark.browser

SHEET = (
    "Hoses of the north fleet;;;;\n"
    "Machine no.;Hose position;Fitted;Size;Pressure (psi)\n"
    "NF-1;boom left;03/04/2023;-8;3500\n"
    "NF-1;boom right;05/06/2024;-8;3500\n"
    "NF-2;steering;07/08/2024;-6;2.900,5\n"
)


@pytest.fixture(autouse=True)
def read_at_once(monkeypatch, settings, tmp_path):
    """A folder is read while the page that sent it waits, not in a thread beside the test."""
    settings.MEDIA_ROOT = tmp_path
    for module in ("sending", "matching"):
        monkeypatch.setattr(f"fleet.pages.folders.{module}.enqueue_reading", read_folder)


def test_a_hand_kept_sheet_and_a_folder_with_errors_come_in_step_by_step(gravel, open_pages):
    page, broken = open_pages(viewport={"width": 390, "height": 844}), []

    def look_at(name: str) -> None:
        """Keeps a picture at phone and desk width; nothing is wider than the window or breaks a rule."""
        page.wait_for_load_state()
        for width in (1440, 390):
            page.set_viewport_size({"width": width, "height": 900})
            keep_picture(page, f"folders-{name}-{width}")
            if page.evaluate("document.documentElement.scrollWidth > window.innerWidth"):
                broken.append(f"{name} is wider than {width}")
        for rule in Axe().run(page, options=RULES["light"]).response["violations"]:
            broken.append(f"{name}: {rule['help']}: {rule['nodes'][0]['html'][:120]}")

    page.goto(reverse("folders", args=[gravel.slug]))
    look_at("send")
    sheet = {"name": "north.csv", "mimeType": "text/csv", "buffer": SHEET.encode()}
    page.get_by_label("A .csv or .xlsx with a row for each hose").set_input_files(sheet)
    page.get_by_role("button", name="Match its columns").click()
    page.get_by_role("heading", name="Match the columns").wait_for()
    look_at("match")
    page.get_by_label("where it works machines.site").fill("north")
    page.get_by_label("the day first").check()
    page.get_by_role("button", name="See what would change").click()
    page.get_by_text("Nothing is stored yet. This is what it would change.").wait_for()
    look_at("look")
    assert not Machine.objects.filter(key="NF-1").exists()
    page.get_by_role("button", name="Store it").click()
    page.get_by_text("All of it is in the register.").wait_for()
    assert Assembly.objects.get(key="NF-2 steering 2024-08-07").position.working_pressure_bar > 199

    page.goto(reverse("folders", args=[gravel.slug]))
    machines = "machine,site,commissioned_on,hours_per_day\nNF-1,nroth,2020-13-01,8\nNF-2,north,,30\n"
    wrong = {"name": "machines.csv", "mimeType": "text/csv", "buffer": machines.encode()}
    page.get_by_label("All its .csv files at once").set_input_files(wrong)
    page.get_by_role("button", name="See what would change").click()
    page.get_by_text("Did you mean north?").wait_for()
    look_at("refused")
    marked = page.locator(".cells .wrong").all_inner_texts()
    assert page.get_by_text("3 of them errors").is_visible()
    assert ["site", "here", "nroth"] in [one.split() for one in marked]
    assert broken == []
