"""A page asks the database as often for ten times the rows, and never more than twelve times."""

from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from fleet.models import Role
from fleet.pages.urls import of_organization
from tests.fleet.pages.every_page import NOT_PAGES, PAGES, POSTED, furnish, page_addresses
from tests.fleet.pages.small_fleet import small_fleet, small_plan

MOST_QUERIES = 12
# A burst asks of the catalogue what bears the place, and then what is built, planned, in stock and to come.
MORE_FOR = {"burst": 9, "choose_design": 1}


def test_a_page_takes_few_queries_whatever_the_fleet(gravel, quarry, member_of):
    counts: dict[str, list[int]] = {}
    fleets = [(gravel, 2), (quarry, 20)]
    if connection.vendor == "postgresql":  # it is asked as often: what counts there is that it answers
        fleets = fleets[1:]
    for organization, positions in fleets:
        small_fleet(organization, positions=positions)
        small_plan(organization)
        furnish(organization)
        client = member_of(organization, Role.OWNER)
        for name, address in page_addresses(organization).items():
            with CaptureQueriesContext(connection) as queries:
                answer = client.get(address)
            assert answer.status_code == 200, name
            assert b'href=""' not in answer.content, f"{name} has a link that leads nowhere"
            counts.setdefault(name, []).append(len(queries))
    assert {
        name: n
        for name, n in counts.items()
        if len(set(n)) > 1 or n[0] > MOST_QUERIES + MORE_FOR.get(name, 0)
    } == {}


def test_every_address_is_known_to_be_a_page_or_none(client):
    names = {one.name for one in of_organization}
    assert names == PAGES.keys() | NOT_PAGES.keys()
    assert not PAGES.keys() & NOT_PAGES.keys()
    for one in of_organization:
        if NOT_PAGES.get(one.name) == POSTED:
            keys = dict.fromkeys(one.pattern.converters, 1)
            assert client.get(reverse(one.name, kwargs={"slug": "gravel-works", **keys})).status_code == 405
