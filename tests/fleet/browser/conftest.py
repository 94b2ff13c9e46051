"""A planned fleet with its members, and pages of a real browser that fail the test where it complains."""

import pytest
from django.urls import reverse

from fleet.models import Membership, Organization, Role, User
from tests.fleet.pages.every_page import furnish, page_addresses
from tests.fleet.pages.small_fleet import small_fleet, small_plan

from .line import Line

PASSWORD = "a long pass phrase"
PHONE = {"viewport": {"width": 390, "height": 844}}


@pytest.fixture
def gravel(transactional_db):
    """Gravel Works with a planned fleet, and a member who may see every page."""
    organization = Organization.objects.create(name="Gravel Works", slug="gravel-works")
    small_fleet(organization, positions=8)
    small_plan(organization)
    user = User.objects.create_user("ines", password=PASSWORD)
    Membership.objects.create(user=user, organization=organization, role=Role.OWNER)
    return organization


@pytest.fixture
def addresses(gravel):
    """Every page of the organization by name, with something on each."""
    furnish(gravel)
    return page_addresses(gravel)


@pytest.fixture
def open_pages(browser, live_server):
    """Opens a page of a fresh browser as asked, signed in; what the browser complains of fails the test."""
    contexts, complaints = [], []

    def open_page(**asked):
        context = browser.new_context(base_url=live_server.url, **asked)
        contexts.append(context)
        page = context.new_page()
        page.on(
            "console",
            lambda said: complaints.append(said.text) if said.type in ("error", "warning") else None,
        )
        page.on("pageerror", lambda error: complaints.append(str(error)))
        page.goto(reverse("sign_in"))
        page.get_by_label("Name").fill("ines")
        page.get_by_label("Password").fill(PASSWORD)
        page.get_by_role("button", name="Sign in").click()
        page.wait_for_url(f"**{reverse('due', args=['gravel-works'])}")
        return page

    yield open_page
    for context in contexts:
        context.close()
    assert complaints == [], "the browser complains of nothing, least of all of the content security policy"


@pytest.fixture
def line(live_server):
    """The line over which `phone` reaches the service."""
    line = Line(live_server.url)
    yield line
    line.close()


@pytest.fixture
def phone(browser, line, client):
    """A page of a phone on which Ines is signed in; whoever asks for it has made her before.

    It complains of nothing: without a connection it would.
    """
    client.force_login(User.objects.get(username="ines"), "django.contrib.auth.backends.ModelBackend")
    context = browser.new_context(base_url=line.url, **PHONE)
    session = client.cookies["sessionid"].value
    context.add_cookies([{"name": "sessionid", "value": session, "url": line.url}])
    yield context.new_page()
    context.close()
