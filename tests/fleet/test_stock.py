"""Parts ordered, received, counted and moved: what lies where adds up, and nothing is laid down twice."""

import datetime

import pytest

from fleet.models import OpenOrder, Organization, Part, PartKind, Setting, Site, StockMove, StockPiece, User
from fleet.services.stock.errors import (
    CancelledWithoutReason,
    DayRefused,
    MoreThanOrdered,
    NotEnough,
    NotInRegister,
    OrderMoved,
    OrderNotOpen,
    OrderTaken,
    PartNoLongerMade,
    PieceTaken,
    QuantityRefused,
    SamePlace,
    StockMoved,
)
from fleet.services.stock.moving import (
    cancel_order,
    count_stock,
    expect_order,
    move_stock,
    next_order_number,
    order_part,
    receive_order,
)
from tests.fleet.at_once import at_once

TODAY = datetime.date(2026, 5, 4)
MADE = datetime.date(2026, 3, 1)

pytestmark = pytest.mark.django_db


@pytest.fixture
def gravel():
    """Two sites, a hose by the metre, an end by number, and a ferrule nobody makes any more."""
    gravel = Organization.objects.create(name="Gravel Works", slug="gravel-works")
    for key in ("north", "south"):
        Site.objects.create(organization=gravel, key=key)
    for key, kind in (("H-08", PartKind.BULK_HOSE), ("E-08", PartKind.HOSE_END), ("F-09", PartKind.FERRULE)):
        Part.objects.create(organization=gravel, key=key, kind=kind, lead_time_days=9.5)
    old = Part.objects.create(organization=gravel, key="F-08", kind=PartKind.FERRULE, obsolete=True)
    old.superseded_by = Part.objects.get(key="F-09")
    old.save()
    return gravel


@pytest.fixture
def ada(gravel):
    return User.objects.create_user("ada")


def ordered(gravel, user=None, part="E-08", quantity=40.0, order="PO-1", **more) -> OpenOrder:
    return order_part(
        organization=gravel, user=user, part=part, site="north", quantity=quantity, order=order, today=TODAY,
        **more,
    )  # fmt: skip


def received(gravel, user=None, part="E-08", quantity=40.0, order="PO-1", **more):
    return receive_order(
        organization=gravel, user=user, order=order, part=part, site="north", quantity=quantity, today=TODAY,
        **more,
    )  # fmt: skip


def cancelled(gravel, user=None, reason="the supplier has none", **more) -> float:
    return cancel_order(
        organization=gravel, user=user, order="PO-1", part="E-08", site="north", reason=reason, **more
    )


def expected(gravel, day, user=None, **more) -> OpenOrder:
    return expect_order(
        organization=gravel, user=user, order="PO-1", part="E-08", site="north", expected_on=day, today=TODAY,
        **more,
    )  # fmt: skip


def counted(gravel, on_hand, part="E-08", site="north", **more) -> StockPiece:
    return count_stock(
        organization=gravel, user=None, part=part, site=site, on_hand=on_hand, today=TODAY, **more
    )


def moved(gravel, quantity, part="E-08", **more) -> StockPiece:
    return move_stock(
        organization=gravel, user=None, part=part, from_site="north", to_site="south", quantity=quantity,
        **more,
    )  # fmt: skip


def on_shelf(part="E-08") -> dict[tuple[str, str], float]:
    """What lies there of a part, by site and piece; empty pieces left out."""
    rows = StockPiece.objects.filter(part__key=part, on_hand__gt=0).select_related("site")
    return {(row.site.key, row.piece): row.on_hand for row in rows}


def test_an_order_without_a_number_gets_the_next_of_the_day_and_comes_after_the_lead_time(gravel, ada):
    first, second = (ordered(gravel, ada, order="", part=part) for part in ("E-08", "H-08"))

    assert (first.order, second.order) == ("20260504-1", "20260504-2")
    assert first.expected_on == datetime.date(2026, 5, 14)
    assert first.history.get().history_user == ada


def test_a_number_is_not_given_again_once_its_order_has_come(gravel):
    ordered(gravel, order="")
    received(gravel, order="20260504-1")

    assert next_order_number(gravel, TODAY) == "20260504-2"


def test_a_part_is_not_ordered_twice_on_one_number(gravel):
    ordered(gravel)
    with pytest.raises(OrderTaken, match=r"Order PO-1 has E-08 for north already.*20260504-1 is free"):
        ordered(gravel)
    assert ordered(gravel, part="H-08").order == "PO-1"


def test_what_nobody_makes_any_more_is_not_ordered_but_its_successor_named(gravel):
    with pytest.raises(PartNoLongerMade, match=r"F-08 is no longer made. Order its successor F-09."):
        ordered(gravel, part="F-08")


@pytest.mark.parametrize("quantity", [0, -1, 2.5, float("nan"), float("inf"), 1e12])
def test_an_order_of_no_whole_number_of_ends_is_refused(gravel, quantity):
    with pytest.raises(QuantityRefused):
        ordered(gravel, quantity=quantity)
    assert not OpenOrder.objects.exists()


def test_a_part_that_is_misspelt_is_refused_with_the_nearest(gravel):
    with pytest.raises(NotInRegister, match=r"There is no part E-8 in the register. Did you mean E-08?"):
        ordered(gravel, part="E-8")


def test_a_part_of_another_organization_cannot_be_ordered(gravel):
    quarry = Organization.objects.create(name="Slate Quarry", slug="slate-quarry")
    with pytest.raises(NotInRegister):
        ordered(quarry)


def test_an_order_cannot_be_expected_in_the_past(gravel):
    with pytest.raises(DayRefused):
        ordered(gravel, expected_on=TODAY - datetime.timedelta(days=1))


def test_an_order_shrinks_by_what_came_and_is_gone_once_all_is_there(gravel, ada):
    ordered(gravel)
    part = received(gravel, ada, quantity=15, lot="L-1", made_on=MADE)
    assert (part.still_open, OpenOrder.objects.get().quantity) == (25, 25)

    whole = received(gravel, ada, quantity=25, lot="L-1", made_on=MADE)

    assert whole.still_open == 0 and not OpenOrder.objects.exists()
    assert on_shelf() == {("north", "L-1"): 40}
    reasons = [(one.history_user, one.history_change_reason) for one in whole.piece.history.all()]
    assert reasons == [(ada, "received 25 on order PO-1"), (ada, "received 15 on order PO-1")]


def test_hose_that_comes_is_a_piece_of_its_own_and_never_joins_a_reel(gravel):
    ordered(gravel, part="H-08", quantity=100)
    for metres in (50.5, 49.5):
        received(gravel, part="H-08", quantity=metres, lot="L-1")
    assert on_shelf("H-08") == {("north", "PO-1"): 50.5, ("north", "PO-1-2"): 49.5}

    ordered(gravel, part="H-08", quantity=10)
    with pytest.raises(PieceTaken, match=r"PO-1 of H-08 at north holds 50.5 m, and hose is not spliced"):
        received(gravel, part="H-08", quantity=10, piece="PO-1", lot="L-1")


def test_ends_of_two_lots_are_kept_apart(gravel):
    counted(gravel, 3, lot="L-1", piece="bin 4")
    ordered(gravel)
    with pytest.raises(PieceTaken, match="bin 4 of E-08 at north holds lot L-1"):
        received(gravel, piece="bin 4", lot="L-2")
    received(gravel, lot="L-2")
    assert on_shelf() == {("north", "bin 4"): 3, ("north", "L-2"): 40}


def test_more_than_was_ordered_is_taken_only_when_confirmed(gravel):
    ordered(gravel)
    with pytest.raises(MoreThanOrdered, match="42 of E-08 came on order PO-1, where 40 were to come"):
        received(gravel, quantity=42)
    assert on_shelf() == {}

    assert received(gravel, quantity=42, confirmed=True).still_open == 0
    assert on_shelf() == {("north", ""): 42}


def test_hose_made_on_a_day_to_come_is_refused(gravel):
    ordered(gravel, part="H-08")
    with pytest.raises(DayRefused, match="The made date 5 May 2026 is yet to come"):
        received(gravel, part="H-08", made_on=TODAY + datetime.timedelta(days=1))


def test_who_receives_what_another_received_is_told_who_that_was(gravel, ada):
    ordered(gravel)
    received(gravel, ada)
    with pytest.raises(OrderNotOpen, match="ada received 40 on order PO-1 on "):
        received(gravel)
    with pytest.raises(OrderNotOpen, match="no such order was placed"):
        received(gravel, order="PO-7")


def test_a_part_delivery_that_another_received_meanwhile_is_not_received_twice(gravel, ada):
    ordered(gravel)
    received(gravel, ada, quantity=20)
    with pytest.raises(OrderMoved, match="40 were to come when you looked and 20 are now: ada received 20"):
        received(gravel, quantity=20, seen_open=40)
    assert on_shelf() == {("north", ""): 20}


def test_the_rest_of_an_order_is_cancelled_and_what_came_stays(gravel, ada):
    ordered(gravel)
    received(gravel, quantity=15)
    assert cancelled(gravel, ada, seen_open=25) == 25
    assert not OpenOrder.objects.exists() and on_shelf() == {("north", ""): 15}
    told = OpenOrder.history.filter(history_type="-").get()
    assert (told.history_user, told.history_change_reason) == (
        ada,
        "cancelled what was to come of it, 25: the supplier has none",
    )
    with pytest.raises(OrderNotOpen, match="ada cancelled what was to come of it, 25: the supplier has none"):
        received(gravel)


def test_an_order_is_not_cancelled_without_a_reason_or_after_it_moved(gravel, ada):
    ordered(gravel)
    with pytest.raises(CancelledWithoutReason):
        cancelled(gravel, reason="  ")
    received(gravel, ada, quantity=20)
    with pytest.raises(OrderMoved, match="40 were to come when you looked and 20 are now: ada received 20"):
        cancelled(gravel, seen_open=40)
    assert OpenOrder.objects.get().quantity == 20


def test_an_order_is_expected_on_another_day_and_its_history_says_from_which(gravel, ada):
    ordered(gravel, expected_on=TODAY)
    later = TODAY + datetime.timedelta(days=9)
    line = expected(gravel, later, ada, reason="told by telephone")
    assert OpenOrder.objects.get().expected_on == later
    newest = line.history.first()
    assert (newest.history_user, newest.history_change_reason) == (
        ada,
        "moved it from 2026-05-04 to 2026-05-13: told by telephone",
    )
    assert expected(gravel, None).expected_on is None
    with pytest.raises(DayRefused, match="cannot be expected on 3 May 2026"):
        expected(gravel, TODAY - datetime.timedelta(days=1))


@pytest.mark.django_db(transaction=True)
def test_of_two_who_receive_one_order_at_once_one_is_told(gravel):
    ordered(gravel)
    said = at_once(*[lambda: received(gravel).still_open] * 2)
    assert sorted(said, key=str) == [0, "order_not_open"]
    assert on_shelf() == {("north", ""): 40}


def test_a_count_replaces_what_stood_and_keeps_who_counted(gravel, ada):
    counted(gravel, 12, lot="L-1", made_on=MADE)
    row = count_stock(organization=gravel, user=ada, part="E-08", site="north", on_hand=9)

    assert (row.on_hand, row.lot, row.made_on) == (9, "L-1", MADE)
    newest = row.history.first()
    assert (newest.history_user, newest.history_change_reason, newest.prev_record.on_hand) == (
        ada,
        "counted",
        12,
    )


def test_what_was_entered_in_feet_is_not_written_out_as_feet_once_counted(gravel):
    row = counted(gravel, 50, part="H-08", piece="R-1")
    StockPiece.objects.filter(pk=row.pk).update(entered={"on_hand": [164.0, "ft"]})

    assert counted(gravel, 44.5, part="H-08", piece="R-1").entered == {}


def test_nothing_left_is_a_count_too(gravel):
    counted(gravel, 12)
    counted(gravel, 0)
    assert on_shelf() == {}
    with pytest.raises(QuantityRefused):
        counted(gravel, -1)


def test_a_move_takes_nothing_away_and_adds_nothing(gravel):
    counted(gravel, 12, lot="L-1", made_on=MADE)
    row = moved(gravel, 5)

    assert on_shelf() == {("north", ""): 7, ("south", "L-1"): 5}
    assert (row.lot, row.made_on, row.history.get().history_change_reason) == (
        "L-1",
        MADE,
        "moved 5 from north",
    )


def test_what_was_moved_where_and_when_is_kept(gravel):
    counted(gravel, 12)
    row = moved(gravel, 5)

    kept = StockMove.objects.get()
    assert (kept.part.key, kept.from_site.key, kept.to_site.key, kept.quantity) == (
        "E-08",
        "north",
        "south",
        5,
    )
    assert abs(kept.moved_at - row.history.get().history_date) < datetime.timedelta(seconds=1)


def test_a_reel_that_is_moved_keeps_its_name_where_that_is_free(gravel):
    counted(gravel, 50, part="H-08", piece="R-1", lot="L-1")
    counted(gravel, 8, part="H-08", site="south", piece="R-1", lot="L-0")
    moved(gravel, 20.5, part="H-08", piece="R-1")
    assert on_shelf("H-08") == {("north", "R-1"): 29.5, ("south", "R-1"): 8, ("south", "R-1-2"): 20.5}


def test_no_more_is_moved_than_lies_there(gravel):
    counted(gravel, 4)
    with pytest.raises(NotEnough, match=r"4 of E-08 lie at north, not 5. Move 4 at most"):
        moved(gravel, 5)
    counted(gravel, 1.38, part="H-08", piece="R-1")
    with pytest.raises(NotEnough, match=r"1.38 m of H-08 lie at north, piece R-1, not 5.4 m. Move 1.38 m at"):
        moved(gravel, 5.4, part="H-08", piece="R-1")
    with pytest.raises(NotEnough, match="0 of E-08 lie at north, piece B-9"):
        moved(gravel, 1, piece="B-9")


def test_a_move_that_another_did_meanwhile_is_not_done_twice(gravel):
    counted(gravel, 12)
    moved(gravel, 5, seen_on_hand=12)
    with pytest.raises(StockMoved, match="E-08 at north was 12 when you looked and is 7 now"):
        moved(gravel, 5, seen_on_hand=12)


def test_a_move_to_where_it_lies_already_is_refused(gravel):
    counted(gravel, 4)
    with pytest.raises(SamePlace):
        move_stock(
            organization=gravel, user=None, part="E-08", from_site="north", to_site="north", quantity=1
        )


def read_in_feet(gravel) -> None:
    Setting.objects.create(organization=gravel, name="length_unit", value="in")


def test_what_is_refused_is_told_in_the_unit_that_the_organization_counts_hose_in(gravel):
    read_in_feet(gravel)
    counted(gravel, 1.38, part="H-08", piece="R-1")
    with pytest.raises(
        NotEnough, match=r"4.527 ft of H-08 lie at north, piece R-1, not 20 ft. Move 4.527 ft at"
    ):
        moved(gravel, 20 * 0.3048, part="H-08", piece="R-1")
    row = moved(gravel, 4.527 * 0.3048, part="H-08", piece="R-1")
    assert row.history.first().history_change_reason == "moved 4.527 ft from north"
    with pytest.raises(QuantityRefused, match=r"−1 ft of H-08: enter 0 or more, at most 32,808,398.95 ft."):
        counted(gravel, -0.3048, part="H-08")
    ordered(gravel, part="H-08", quantity=30.48)
    with pytest.raises(
        MoreThanOrdered, match=r"101 ft of H-08 came on order PO-1, where 100 ft were to come"
    ):
        received(gravel, part="H-08", quantity=101 * 0.3048)
    with pytest.raises(NotEnough, match=r"0 of E-08 lie at north, not 1. Move 0 at most"):
        moved(gravel, 1)
