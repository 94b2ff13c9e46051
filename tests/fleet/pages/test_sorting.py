"""Lists stand in the order that their address asks for, from whichever end."""

import pytest
from django.urls import reverse

from fleet.models import LINES

LISTS = (
    "machines", "assemblies", "parts", "margins", "empty_places", "order", "shelves", "transfers", "suspects",
    "gaps",
)  # fmt: skip


@pytest.mark.parametrize("name", LISTS)
def test_every_head_that_sorts_is_followed_both_ways(planned, member_of, name):
    client = member_of(planned)
    address = reverse(name, args=[planned.slug])
    columns = client.get(address).context["sorting"].columns
    for column in columns:
        up, down = (
            list(client.get(address, {"sort": sort}).context["page"]) for sort in (column, f"-{column}")
        )
        assert sorted(row.pk for row in up) == sorted(row.pk for row in down)


def test_machines_stand_by_the_failures_that_the_plan_expects(planned, member_of):
    LINES["forecasts"].objects.filter(machine="M-01").update(p_fail_365d=0.9)
    client = member_of(planned)

    def machines(sort: str) -> list[str]:
        rows = client.get(reverse("machines", args=[planned.slug]), {"sort": sort}).context["rows"]
        return [row.machine.key for row in rows]

    assert machines("failures") == ["M-02", "M-01"]
    assert machines("-failures") == ["M-01", "M-02"]


def test_the_head_says_which_way_it_stands_and_leads_the_other_way(planned, member_of):
    page = member_of(planned).get(reverse("parts", args=[planned.slug]), {"sort": "costs", "q": "08"})
    text = page.content.decode()
    assert 'aria-sort="ascending"' in text
    assert 'href="?sort=-costs&amp;q=08"' in text


def test_an_order_that_is_none_leaves_the_list_as_it_is(planned, member_of):
    client = member_of(planned)
    address = reverse("assemblies", args=[planned.slug])
    plain, odd = (list(client.get(address, asked).context["page"]) for asked in ({}, {"sort": "-password"}))
    assert plain == odd
