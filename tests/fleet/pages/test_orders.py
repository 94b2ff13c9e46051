"""Ordering, receiving, counting and moving on the pages: plain forms, refusals beside what was entered."""

import re

import pytest
from django.urls import reverse

from fleet.models import OpenOrder, Organization, Part, Role, Site, StockPiece
from fleet.services.stock.moving import count_stock, move_stock, order_part, receive_order
from tests.fleet.pages.reading import read
from tests.fleet.pages.small_fleet import set_setting

HOSE, END = "H-2SN-08", "E-08"


def page(name: str, organization: Organization, **asked) -> str:
    return reverse(name, args=[organization.slug], query=asked)


def ordered(organization, part=END, quantity=40.0, order="PO-1") -> OpenOrder:
    return order_part(
        organization=organization, user=None, part=part, site="north", quantity=quantity, order=order
    )


def counted(organization, part=END, on_hand=12.0, **more) -> StockPiece:
    return count_stock(organization=organization, user=None, part=part, site="north", on_hand=on_hand, **more)


@pytest.fixture
def manager(planned, member_of):
    return member_of(planned, Role.MANAGER)


@pytest.fixture
def shop(planned, member_of):
    return member_of(planned, Role.SHOP)


def test_a_line_of_the_advice_becomes_an_order_with_two_taps(planned, manager):
    address = page("place_order", planned, part=HOSE, site="north")
    assert address.replace("&", "&amp;") in manager.get(page("order", planned)).content.decode()
    form = manager.get(address).context["form"]
    assert form.initial["quantity"] == 40

    answer = manager.post(address, {**form.initial, "expected_on": "2099-01-01"}, follow=True)

    line = OpenOrder.objects.get()
    assert (line.part.key, line.site.key, line.quantity) == (HOSE, "north", 40)
    assert line.history.get().history_user.username == "manager of Gravel Works"
    assert "Ordered: 40 m of H-2SN-08 for north" in read(answer)


def test_what_was_ordered_since_the_plan_is_not_proposed_again(planned, manager):
    ordered(planned, part=HOSE, quantity=40)
    shown = manager.get(page("place_order", planned, part=HOSE, site="north"))
    assert shown.context["form"].initial["quantity"] is None
    assert "Coming already" in shown.content.decode()


@pytest.mark.parametrize(("quantity", "warned"), [("40", False), ("80", False), ("30", True)])
def test_an_order_of_no_whole_number_of_packs_is_noted_with_a_word(planned, manager, quantity, warned):
    Part.objects.filter(key=HOSE).update(pack_quantity=40)
    sent = {"quantity": quantity, "order": "PO-9"}
    answer = manager.post(page("place_order", planned, part=HOSE, site="north"), sent, follow=True)
    assert ("is not a whole number of them" in answer.content.decode()) is warned
    assert OpenOrder.objects.get().quantity == float(quantity)


def test_an_order_sent_twice_is_placed_once(planned, manager):
    address = page("place_order", planned, part=HOSE, site="north")
    sent = {"quantity": "40", "order": "PO-9"}
    manager.post(address, sent)
    again = manager.post(address, sent)
    assert again.status_code == 422 and "it is placed already" in again.content.decode()
    assert OpenOrder.objects.count() == 1


def test_the_shop_receives_and_counts_but_does_not_order(planned, shop):
    assert shop.get(page("place_order", planned, part=END, site="north")).status_code == 403
    assert "Order it" not in shop.get(page("order", planned)).content.decode()
    assert shop.get(page("count_stock", planned, part=END, site="north")).status_code == 200


def test_a_viewer_sees_what_is_coming_and_changes_nothing(planned, member_of):
    ordered(planned)
    viewer = member_of(planned, Role.VIEWER)
    text = viewer.get(page("coming", planned)).content.decode()
    assert "PO-1" in text and "Receive" not in text
    for name in ("receive", "count_stock", "move_stock"):
        assert viewer.post(page(name, planned, part=END, site="north", order="PO-1")).status_code == 403


def test_what_came_is_received_in_part_and_the_rest_stays_open(planned, shop):
    ordered(planned)
    address = page("receive", planned, order="PO-1", part=END, site="north")
    assert address.replace("&", "&amp;") in shop.get(page("coming", planned)).content.decode()

    answer = shop.post(address, {"quantity": "15", "lot": "L-1", "made_on": "2026-03-01"}, follow=True)

    assert "25 are still to come." in answer.content.decode()
    piece = StockPiece.objects.get()
    assert (piece.on_hand, piece.lot, str(piece.made_on)) == (15, "L-1", "2026-03-01")


def test_a_receipt_sent_twice_is_laid_down_once(planned, shop):
    ordered(planned)
    address = page("receive", planned, order="PO-1", part=END, site="north")
    sent = {"quantity": "15", "seen_open": "40.0"}
    shop.post(address, sent)
    again = shop.post(address, sent)
    assert again.status_code == 422 and "shop of Gravel Works received 15" in again.content.decode()
    assert StockPiece.objects.get().on_hand == 15


def test_who_comes_second_to_an_order_is_told_who_received_it(planned, shop):
    ordered(planned)
    address = page("receive", planned, order="PO-1", part=END, site="north")
    receive_order(organization=planned, user=None, order="PO-1", part=END, site="north", quantity=40)
    told = shop.post(address, {"quantity": "40"})
    assert told.status_code == 422 and "Nothing of E-08 is to come to north" in read(told)
    assert shop.get(address).status_code == 404


def test_more_than_was_ordered_asks_for_a_tick(planned, shop):
    ordered(planned)
    address = page("receive", planned, order="PO-1", part=END, site="north")
    asked = shop.post(address, {"quantity": "42"})
    assert asked.status_code == 422 and "more came than was ordered" in asked.content.decode()
    assert 'type="checkbox" name="confirmed"' in asked.content.decode()
    shop.post(address, {"quantity": "42", "confirmed": "on"})
    assert StockPiece.objects.get().on_hand == 42


def test_hose_is_received_whole_in_feet_without_a_remainder(planned, shop):
    set_setting(planned, "length_unit", "in")
    ordered(planned, part=HOSE, quantity=40)
    address = page("receive", planned, order="PO-1", part=HOSE, site="north")
    form = shop.get(address).context["form"]
    assert form.initial["quantity"] == 131.234
    shop.post(address, form.initial)
    assert StockPiece.objects.get().on_hand == 40 and not OpenOrder.objects.exists()


def test_an_order_that_comes_later_or_not_at_all_is_changed_from_what_is_coming(planned, manager):
    ordered(planned)
    address = page("change_order", planned, order="PO-1", part=END, site="north")
    assert address.replace("&", "&amp;") in manager.get(page("coming", planned)).content.decode()
    assert manager.get(address).context["cancel_form"].initial["seen_open"] == 40

    manager.post(address, {"expected_on": "2099-03-01", "reason": "told by telephone"})
    assert str(OpenOrder.objects.get().expected_on) == "2099-03-01"

    asked = manager.post(address, {"cancel": "yes", "why": ""})
    assert asked.status_code == 422 and OpenOrder.objects.exists()
    done = manager.post(
        address, {"cancel": "yes", "why": "they stopped making it", "seen_open": "40.0"}, follow=True
    )
    assert "Cancelled: 40 of E-08 on order PO-1." in read(done)
    assert not OpenOrder.objects.exists() and manager.get(address).status_code == 404


def test_a_refusal_breaks_no_key_and_shows_what_was_sent_as_text(planned, shop):
    ordered(planned)
    address = page("receive", planned, order="PO-1", part=HOSE, site="north") + "<b>"
    assert "<b>" not in shop.get(address).content.decode()
    counted(planned, part=HOSE, piece="R-1", on_hand=4)
    order_part(organization=planned, user=None, part=HOSE, site="north", quantity=9, order="PO-2")
    sent = {"quantity": "9", "piece": "R-1", "lot": "<b>L-1</b>"}
    told = shop.post(page("receive", planned, order="PO-2", part=HOSE, site="north"), sent).content.decode()
    assert (
        '<span class="nowrap">R-1</span> of <span class="nowrap">H-2SN-08</span> at north holds 4\xa0m'
        in told
    )
    assert "&lt;b&gt;L-1&lt;/b&gt;" in told and "<b>" not in told


def test_who_may_not_order_does_not_cancel(planned, shop):
    ordered(planned)
    address = page("change_order", planned, order="PO-1", part=END, site="north")
    assert "Another day, or not at all" not in shop.get(page("coming", planned)).content.decode()
    assert shop.post(address, {"cancel": "yes", "why": "no"}).status_code == 403


def test_a_count_replaces_what_stood_on_the_shelf(planned, shop):
    counted(planned, lot="L-1")
    address = page("count_stock", planned, part=END, site="north")
    shop.post(address, {"on_hand": "9", "piece": ""})
    row = StockPiece.objects.get()
    assert (row.on_hand, row.lot, row.history.first().history_user.username) == (
        9, "L-1", "shop of Gravel Works",
    )  # fmt: skip


def test_the_shelves_lead_to_the_count_of_each_part(planned, shop):
    shelf = page("count_stock", planned, part=HOSE, site="north").replace("&", "&amp;")
    assert shelf in shop.get(page("shelves", planned)).content.decode()


def test_a_piece_that_nobody_knew_of_is_added_with_its_lot(planned, shop):
    address = page("count_stock", planned, part=HOSE, site="north")
    shop.post(address, {"on_hand": "7.5", "piece": "offcut 3", "lot": "L-9"})
    assert [(one.piece, one.lot, one.on_hand) for one in StockPiece.objects.all()] == [
        ("offcut 3", "L-9", 7.5)
    ]


def test_hose_that_is_used_up_stands_in_no_list_and_may_be_found_again(planned, shop):
    for part, piece in ((HOSE, "R-1"), (HOSE, "R-2"), (END, "bin 4")):
        counted(planned, part=part, piece=piece, on_hand=0 if piece != "R-2" else 9)
    shelf = page("count_stock", planned, part=HOSE, site="north")
    for address in (shelf, reverse("part", args=[planned.slug, HOSE])):
        told = shop.get(address).content.decode()
        assert "R-2" in told and "R-1" not in told
    assert "bin 4" in shop.get(page("count_stock", planned, part=END, site="north")).content.decode()
    shop.post(shelf, {"on_hand": "3", "piece": "R-1"})
    assert StockPiece.objects.get(piece="R-1").on_hand == 3


@pytest.mark.parametrize(("written", "told"), [("2.5", "counted one by one"), ("many", "Enter a number")])
def test_a_count_that_cannot_be_is_refused_with_what_would_be_right(planned, shop, written, told):
    answer = shop.post(page("count_stock", planned, part=END, site="north"), {"on_hand": written})
    assert answer.status_code == 422 and told in answer.content.decode()


def test_a_line_of_the_moves_is_filled_in_and_done(planned, shop):
    count_stock(organization=planned, user=None, part=END, site="south", on_hand=11)
    address = page("move_stock", planned, part=END, site="south", to="north", quantity="4.0")
    assert address.replace("&", "&amp;") in shop.get(page("transfers", planned)).content.decode()
    form = shop.get(address).context["form"]
    piece = form.fields["piece"].choices[0][0]
    sent = {"piece": piece, **form.initial}

    shop.post(address, sent)
    again = shop.post(address, sent)

    assert "Somebody took or counted some" in again.content.decode()
    assert {one.site.key: one.on_hand for one in StockPiece.objects.all()} == {"south": 7, "north": 4}
    for name in ("transfers", "order"):
        assert "Moved there since the plan: 4. The next" in shop.get(page(name, planned)).content.decode()


def test_what_is_left_of_a_planned_move_is_filled_in_until_nothing_is(planned, shop):
    own = {"organization": planned, "user": None, "part": END}
    count_stock(**own, site="south", on_hand=11)
    address = page("move_stock", planned, part=END, site="south", to="north").replace("&", "&amp;")
    for quantity, left in ((1.0, ["3.0"]), (3.0, [])):
        move_stock(**own, from_site="south", to_site="north", quantity=quantity)
        told = shop.get(page("transfers", planned)).content.decode()
        assert re.findall(re.escape(address) + r'&amp;quantity=([^"]*)">Move more<', told) == left
        assert ("Move more" in told) is bool(left)


def test_a_move_to_another_site_is_not_taken_for_that_of_the_plan(planned, shop):
    count_stock(organization=planned, user=None, part=END, site="south", on_hand=11)
    for target in ("far north", "road to north"):
        Site.objects.create(organization=planned, key=target)
        move_stock(organization=planned, user=None, part=END, from_site="south", to_site=target, quantity=4.0)
    assert "Moved there since" not in shop.get(page("transfers", planned)).content.decode()


def test_the_piece_that_is_long_enough_stands_in_the_form_of_a_move(planned, shop):
    hose = Part.objects.get(key=HOSE)
    north = Site.objects.get(key="north")
    hose.pieces.all().delete()
    for piece, metres in (("A-1", 1.38), ("B-1", 20.0), ("C-1", 6.0)):
        StockPiece.objects.create(organization=planned, part=hose, site=north, piece=piece, on_hand=metres)
    for quantity, piece in (("1.0", "A-1"), ("5.4", "C-1"), ("7.0", "B-1"), ("30.0", "B-1")):
        asked = page("move_stock", planned, part=hose.key, site="north", quantity=quantity)
        assert shop.get(asked).context["form"]["piece"].value().endswith(f" {piece}")


def test_hose_is_moved_by_a_form_that_names_the_unit_the_piece_and_its_lot(planned, shop):
    north = Site.objects.get(key="north")
    hose = Part.objects.get(key="H-2SN-08")
    reel = {"piece": "R-1", "lot": "L-80", "on_hand": 24}
    StockPiece.objects.create(organization=planned, part=hose, site=north, **reel)
    form = shop.get(page("move_stock", planned, part=hose.key, site="north")).context["form"]
    assert form.fields["quantity"].label == "How much (m)"
    assert form.fields["piece"].choices[0][1] == "R-1, lot L-80 (24\N{NO-BREAK SPACE}m)"


def test_the_forms_of_one_organization_know_no_parts_of_another(planned, quarry, member_of):
    Site.objects.create(organization=quarry, key="north")
    Part.objects.create(organization=quarry, key="X-1", kind="ferrule")
    client = member_of(planned, Role.OWNER)
    for name in ("place_order", "receive", "count_stock", "move_stock"):
        assert client.get(page(name, planned, part="X-1", site="north")).status_code == 404
