"""A day of each of three people, through the pages alone: a folder becomes a plan, a hose, an order.

The planner reads a fleet folder, has it planned and decides; the shop begins the kit, records the build and
puts the hose on; the manager orders what is advised and half of it comes.
"""

import datetime

import pytest

from fleet.models import Assembly, ChangeoutDecision, Membership, OpenOrder, Organization, Role, User
from tests.fleet.builders import Files, fleet_files, write_fleet_folder

from .conftest import PASSWORD
from .pictures import keep_picture, keep_print

pytestmark = pytest.mark.browser

PEOPLE = {"petra": Role.PLANNER, "sam": Role.SHOP, "maria": Role.MANAGER}


def day(offset: int) -> str:
    return (datetime.date.today() + datetime.timedelta(days=offset)).isoformat()


def todays_files() -> Files:
    """The small fleet as it stands today: the left boom hose is over its age limit, a window is near,
    and the shelf holds what its successor takes but one sleeve."""
    files = fleet_files()
    for row in files["positions"]:
        row.update(design="D-100", working_pressure_psi="3000", peak_pressure_psi="", critical="")
    files["meter_readings"] += [
        {"machine": "EX-01", "read_on": day(-3), "hours": "7000"},
        {"machine": "WL-02", "read_on": day(-3), "hours": "12000"},
    ]
    files["service_windows"] = [
        {"machine": "EX-01", "starts_on": day(ahead), "ends_on": day(ahead + 1), "labour_minutes": "480"}
        for ahead in (5, 30)
    ]
    files["site_labour"] = []
    files["open_orders"] = []
    for row in files["parts"]:
        row.update(lead_time_days="25")
    own = {"site": "North pit", "made_on": day(-100)}
    files["stock"] = [
        own | {"part": "H-2SN-06", "piece": "R-1", "lot": "L-8", "on_hand": "50"},
        own | {"part": "E-JIC-06", "piece": "E-1", "lot": "E-1", "on_hand": "25"},
        own | {"part": "F-06", "piece": "F-1", "lot": "F-1", "on_hand": "25"},
        own | {"part": "S-06N", "piece": "S-1", "lot": "S-1", "on_hand": "1"},
    ]
    return {name: rows for name, rows in files.items() if rows}


@pytest.fixture
def pit(transactional_db):
    """North Pit, with nothing in it but its people."""
    pit = Organization.objects.create(name="North Pit", slug="north-pit")
    for name, role in PEOPLE.items():
        user = User.objects.create_user(name, password=PASSWORD)
        Membership.objects.create(user=user, organization=pit, role=role)
    return pit


@pytest.fixture
def sign_in(pit, browser, live_server):
    """Opens a browser of a person's own, signed in; complaints of the browser fail the test."""
    contexts, complaints = [], []

    def as_person(name, width, scheme):
        context = browser.new_context(
            base_url=live_server.url, viewport={"width": width, "height": 900}, color_scheme=scheme
        )
        contexts.append(context)
        page = context.new_page()
        page.on("console", lambda said: complaints.append(said.text) if said.type == "error" else None)
        page.on("pageerror", lambda error: complaints.append(str(error)))
        page.goto("/sign-in/")
        page.get_by_label("Name").fill(name)
        page.get_by_label("Password").fill(PASSWORD)
        page.get_by_role("button", name="Sign in").click()
        page.get_by_role("navigation", name="Pages").wait_for()
        return page

    yield as_person
    for context in contexts:
        context.close()
    assert complaints == []


def look(page, name: str) -> None:
    """Keeps a picture, and fails where the page is wider than its window.

    Something of the page must have been waited for, or what is looked at may be no page yet.
    """
    page.wait_for_load_state()
    keep_picture(page, name)
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth"), f"{name} is too wide"
    keep_print(page, f"{name}-print")


def way(page, name: str) -> None:
    page.get_by_role("navigation", name="Pages").get_by_role("link", name=name, exact=True).click()


def plan_and_decide(page, folder, look) -> None:
    page.get_by_role("heading", name="There is no fleet yet").wait_for()
    page.get_by_role("link", name="Send what is filled in").click()
    page.get_by_label("All its .csv files at once").set_input_files(sorted(folder.iterdir()))
    page.get_by_role("button", name="See what would change").click()
    page.get_by_role("button", name="Store it").wait_for(timeout=15_000)
    look(page, "folder")
    page.get_by_role("button", name="Store it").click()
    page.get_by_role("link", name="On to the plan").click(timeout=15_000)
    page.get_by_role("button", name="Make the first plan").click()
    page.get_by_role("link", name="See what is due").click(timeout=30_000)
    page.get_by_role("link", name="Decide about A-2").first.click()
    page.get_by_role("link", name="Move it here").first.wait_for()
    look(page, "due")
    page.get_by_role("link", name="Move it here").first.click()
    page.get_by_label("Why (it stands beside your name)").fill("the machine hauls until then")
    page.get_by_role("button", name="Decide so").click()
    page.get_by_text("Decided about A-2.").wait_for()


def build_and_tag(page, look) -> str:
    """The key of the assembly that the bench accepted."""
    page.get_by_role("article").filter(has_text="EX-01").get_by_role("link").first.click()
    begin = page.get_by_role("button", name="Begin this kit")
    begin.wait_for()
    look(page, "kit")
    begin.click()
    page.get_by_text("is at the bench").wait_for()
    record = page.get_by_role("row").filter(has_text="boom left")
    record.get_by_role("link", name="Record the build").click()
    page.get_by_role("heading", name="Build record").wait_for()
    look(page, "build-record")
    asked = page.locator("label").filter(has_text="Length of the cut").inner_text()
    page.get_by_label("Length of the cut").fill(asked.partition("asked for: ")[2].split()[0].replace(",", ""))
    page.get_by_label("Projectiles shot before crimping").fill("2")
    for end in "ab":
        page.get_by_label(f"End {end}: mark at the shell before crimping").check()
        page.get_by_label(f"End {end}: mark still at the shell after crimping").check()
        for number in (1, 2, 3):
            page.get_by_label(f"End {end}, reading {number}").fill("21.2")
    page.get_by_label("Projectiles shot after crimping").fill("1")
    page.get_by_label("Proof pressure (psi)").fill("9600")
    page.get_by_label("Held for (seconds)").fill("30")
    page.get_by_role("button", name="Accept the assembly").click()
    page.get_by_role("heading", name="Accepted:").wait_for()
    return page.locator("h1 .key").inner_text()


def install_from_tag(page, made: str, look) -> None:
    page.get_by_role("link", name="Install", exact=True).click()
    page.get_by_role("heading", name=made).wait_for()
    look(page, "tag")
    page.get_by_label("planned changeout").check()
    page.get_by_label("Hour meter shows").fill("7010")
    page.get_by_role("button", name="Installed it").click()
    page.get_by_text("In EX-01, boom left").wait_for()


def order_and_receive(page, look) -> None:
    way(page, "Order")
    line = page.get_by_role("row").filter(has_text="S-06N")
    line.get_by_role("link", name="Order it").click()
    much = int(page.get_by_label("How much").input_value())
    look(page, "order")
    page.get_by_role("button", name="Note the order").click()
    page.get_by_role("link", name="Receive").click()
    page.get_by_label("How much came").fill(str(much // 2))
    page.get_by_label("Lot, as printed on it").fill("S-2")
    page.get_by_role("button", name="Lay it on the shelf").click()
    page.get_by_role("heading", name="What is coming").wait_for()
    look(page, "coming")
    assert OpenOrder.objects.get().quantity == much - much // 2, "what did not come stays open"


@pytest.mark.parametrize("width, scheme", [(390, "dark"), (820, "light"), (1440, "light")])
def test_a_folder_becomes_a_plan_a_hose_and_an_order(sign_in, tmp_path, width, scheme):
    folder = write_fleet_folder(tmp_path / "folder", todays_files())

    def seen(page, name):
        look(page, f"day-{name}-{width}-{scheme}")

    plan_and_decide(sign_in("petra", width, scheme), folder, seen)
    assert ChangeoutDecision.objects.get().assembly.key == "A-2"

    shop = sign_in("sam", width, scheme)
    made = build_and_tag(shop, seen)
    install_from_tag(shop, made, seen)
    assert Assembly.objects.get(key="A-2").removal_cause == "planned"
    assert str(Assembly.objects.get(key=made).position) == "EX-01 boom left"

    order_and_receive(sign_in("maria", width, scheme), seen)
