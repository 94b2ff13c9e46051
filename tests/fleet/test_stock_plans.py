"""What is ordered, received, counted, moved to another day or cancelled counts in the next plan."""

import datetime

import pandas as pd
import pytest

from fleet.frames.register import core_tables
from fleet.models import LINES, Organization
from fleet.services.plans.replanning import request_plan, run_plan
from fleet.services.stock.moving import cancel_order, count_stock, expect_order, order_part, receive_order

from .builders import take_small_fleet

AS_OF = datetime.date(2024, 1, 15)
FIRST, LATER = datetime.date(2024, 1, 25), datetime.date(2024, 2, 20)
LINE = {"part": "F-06", "site": "North pit"}

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def gravel(kept_for_module, tmp_path_factory) -> Organization:
    """A small fleet with 40 ferrules to come on order PO-9 and none on the shelf."""
    return take_small_fleet(tmp_path_factory.mktemp("fleet"), "Gravel Works")


def to_come(gravel) -> dict[str, tuple[float, datetime.date | None]]:
    rows = core_tables(gravel)["open_orders"]
    days = [None if pd.isna(day) else day.date() for day in rows["expected_on"]]
    return dict(zip(rows["order"], zip(rows["quantity"], days, strict=True), strict=True))


def lies_there(gravel) -> dict[str, float]:
    rows = core_tables(gravel)["stock"]
    return dict(rows[rows["part"] == LINE["part"]].groupby("piece", dropna=False)["on_hand"].sum())


def test_each_move_of_the_stock_is_in_what_the_next_plan_is_made_from(gravel):
    own = {"organization": gravel, "user": None, **LINE}
    assert to_come(gravel) == {"PO-9": (40, datetime.date(2024, 2, 1))}

    order_part(**own, quantity=30, order="PO-10", expected_on=FIRST, today=AS_OF)
    expect_order(**own, order="PO-9", expected_on=LATER, today=AS_OF)
    assert to_come(gravel) == {"PO-9": (40, LATER), "PO-10": (30, FIRST)}

    receive_order(**own, order="PO-10", quantity=10, lot="L-1", today=AS_OF)
    assert to_come(gravel)["PO-10"] == (20, FIRST) and lies_there(gravel) == {"L-1": 10}

    count_stock(**own, piece="L-1", on_hand=7, today=AS_OF)
    cancel_order(**own, order="PO-9", reason="the supplier has none")
    assert to_come(gravel) == {"PO-10": (20, FIRST)} and lies_there(gravel) == {"L-1": 7}


def test_the_next_plan_orders_what_was_cancelled_and_counts_on_what_came(gravel):
    def advised() -> tuple[float, float, float]:
        plan = run_plan(request_plan(organization=gravel, user=None, as_of=AS_OF).pk)
        line = LINES["stock_advice"].objects.get(plan=plan, **LINE)
        return line.on_hand, line.on_order, line.order_now

    own = {"organization": gravel, "user": None, **LINE}
    assert advised() == (0, 40, 0)

    cancel_order(**own, order="PO-9", reason="the supplier has none")
    on_hand, on_order, order_now = advised()
    assert (on_hand, on_order) == (0, 0) and order_now > 0

    order_part(**own, quantity=order_now, order="PO-10", expected_on=FIRST, today=AS_OF)
    receive_order(**own, order="PO-10", quantity=1, today=AS_OF)
    assert advised() == (1, order_now - 1, 0)
