"""A program orders, receives, counts and moves; what it may not do, or comes too late for, it is told."""

import pytest
from rest_framework.test import APIClient

from fleet.models import OpenOrder, Role, Site, StockPiece

END, SITE = "gravel-hose_end", "gravel yard"


@pytest.fixture
def manager(gravel, member, client_of) -> APIClient:
    """A client signed in as a manager of the gravel works, which has a second site."""
    Site.objects.create(organization=gravel, key="gravel pit")
    return client_of(member(gravel, Role.MANAGER))


def sent(client: APIClient, what: str, **data):
    return client.post(f"/api/v1/stock/{what}/", {"part": END, **data}, format="json")


def on_shelf() -> dict[tuple[str, str], float]:
    rows = StockPiece.objects.filter(part__key=END, on_hand__gt=0).select_related("site")
    return {(row.site.key, row.piece): row.on_hand for row in rows}


def test_a_part_is_ordered_received_counted_and_moved(manager):
    ordered = sent(manager, "orders", site=SITE, quantity=40, order="PO-1", expected_on="2099-01-01")
    assert (ordered.status_code, ordered.json()) == (
        201,
        {"order": "PO-1", "part": END, "site": SITE, "quantity": 40, "expected_on": "2099-01-01"},
    )

    received = sent(
        manager, "receipts", site=SITE, order="PO-1", quantity=15, lot="L-1", made_on="2024-01-05"
    )
    assert (received.status_code, received.json()["still_open"]) == (201, 25)
    assert received.json()["piece"] == {
        "part": END, "site": SITE, "piece": "L-1", "lot": "L-1", "on_hand": 15, "made_on": "2024-01-05",
    }  # fmt: skip

    counted = sent(manager, "counts", site=SITE, piece="L-1", on_hand=14)
    assert (counted.status_code, counted.json()["on_hand"]) == (200, 14)

    moved = sent(manager, "moves", from_site=SITE, to_site="gravel pit", piece="L-1", quantity=4)
    assert (moved.status_code, moved.json()["site"]) == (200, "gravel pit")
    assert on_shelf() == {(SITE, "L-1"): 10, ("gravel pit", "L-1"): 4}


def test_who_receives_an_order_second_is_in_conflict_with_the_first(manager):
    sent(manager, "orders", site=SITE, quantity=40, order="PO-1")
    assert sent(manager, "receipts", site=SITE, order="PO-1", quantity=40).status_code == 201
    second = sent(manager, "receipts", site=SITE, order="PO-1", quantity=40)
    assert (second.status_code, second.json()["code"]) == (409, "order_not_open")
    assert "ada received 40 on order PO-1" in second.json()["text"]
    assert on_shelf() == {(SITE, ""): 40}


def test_an_order_is_moved_to_another_day_and_its_rest_cancelled(manager):
    sent(manager, "orders", site=SITE, quantity=40, order="PO-1")
    moved = sent(manager, "expected-days", site=SITE, order="PO-1", expected_on="2099-01-01")
    assert (moved.status_code, moved.json()["expected_on"]) == (200, "2099-01-01")
    gone = sent(manager, "cancellations", site=SITE, order="PO-1", reason="none left", seen_open=40)
    assert (gone.status_code, gone.json()["cancelled"]) == (200, 40)
    again = sent(manager, "cancellations", site=SITE, order="PO-1", reason="none left")
    assert (again.status_code, again.json()["code"]) == (409, "order_not_open")


@pytest.mark.parametrize(
    ("what", "data", "code"),
    [
        ("orders", {"site": SITE, "quantity": 2.5}, "quantity_refused"),
        ("orders", {"site": "gravel yrd", "quantity": 2}, "not_in_register"),
        ("counts", {"site": SITE, "on_hand": -1}, "quantity_refused"),
        ("moves", {"from_site": SITE, "to_site": SITE, "quantity": 1}, "same_place"),
        ("moves", {"from_site": SITE, "to_site": "gravel pit", "quantity": 1}, "not_enough"),
        ("orders", {"site": SITE}, "invalid"),
    ],
)
def test_what_cannot_be_is_refused_with_a_code_and_a_sentence(manager, what, data, code):
    answer = sent(manager, what, **data)
    assert (answer.status_code, answer.json()["code"]) == (400, code)
    assert answer.json()["text"].strip()
    assert on_shelf() == {}


def test_the_shop_counts_but_does_not_order(gravel, member, client_of):
    shop = client_of(member(gravel, Role.SHOP))
    assert sent(shop, "counts", site=SITE, on_hand=3).status_code == 200
    assert sent(shop, "orders", site=SITE, quantity=3).status_code == 403
    assert not OpenOrder.objects.filter(part__key=END).exists()


def test_a_part_of_another_organization_is_not_in_the_register(manager, quarry):
    answer = manager.post(
        "/api/v1/stock/counts/", {"part": "quarry-hose_end", "site": SITE, "on_hand": 3}, format="json"
    )
    assert answer.json()["code"] == "not_in_register"
