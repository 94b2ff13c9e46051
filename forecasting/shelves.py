"""What lies on the shelves and what is on its way: usable lots and open orders, with their dates."""

from datetime import date

import numpy as np
import pandas as pd

EVEN = 1e-9  # what rounding may take
DEFAULT_LEAD_TIME_DAYS = 14.0  # common practice, no source: where the register names no lead time


def find_usable(tables: dict[str, pd.DataFrame], as_of: date) -> pd.DataFrame:
    """Stock that may still be used on `as_of`, the first to expire first.

    One row per part, site and piece: part, site, piece, lot, on_hand (bulk hose in metres), made_on,
    expires_on (empty: never, or the made date or shelf life is not known), kind.
    """
    parts = tables["parts"].set_index("part")
    stock = tables["stock"]
    stock = stock[stock["on_hand"] > 0].reset_index(drop=True)
    shelf_life = pd.to_timedelta(stock["part"].map(parts["shelf_life_days"]), unit="D")
    stock["expires_on"] = (stock["made_on"] + shelf_life).astype("datetime64[s]")
    stock["kind"] = stock["part"].map(parts["kind"])
    usable = stock[~(stock["expires_on"] <= pd.Timestamp(as_of))]
    return usable.sort_values(["part", "site", "expires_on", "made_on", "piece"], ignore_index=True)


def find_due_orders(tables: dict[str, pd.DataFrame], as_of: date) -> pd.DataFrame:
    """Open orders, the first to arrive first: order, part, site, quantity, due_on, promised.

    An order without a date, or past it, is not promised, and reckoned to come as if it were placed today.
    """
    orders = tables["open_orders"]
    orders = orders[orders["quantity"] > 0].reset_index(drop=True)
    orders["promised"] = orders["expected_on"] >= pd.Timestamp(as_of)
    reckoned = arrival_if_ordered(orders["part"], tables["parts"], as_of)
    orders["due_on"] = orders["expected_on"].where(orders["promised"], reckoned)
    columns = ["order", "part", "site", "quantity", "due_on", "promised"]
    return orders[columns].sort_values(["part", "site", "due_on", "order"], ignore_index=True)


def arrival_if_ordered(part: pd.Series, parts: pd.DataFrame, as_of: date) -> pd.Series:
    """The day each part would be on the shelf if it were ordered on `as_of`, one element per element."""
    lead_time = part.map(parts.set_index("part")["lead_time_days"]).fillna(DEFAULT_LEAD_TIME_DAYS)
    days = pd.Timestamp(as_of) + pd.to_timedelta(lead_time.astype(float), unit="D").dt.ceil("D")
    return days.astype("datetime64[s]")


def take_from_shelf(lines: pd.DataFrame, stock: pd.DataFrame) -> np.ndarray:
    """How much each line gets of what it asks for (not hose, which is cut): first line first.

    `lines` (part, site, quantity, needed_by) stand in order of need, `stock` in the order of expiry. A lot
    serves what is needed before it expires.
    """
    taken = np.zeros(len(lines))
    lots = stock.groupby(["part", "site"]).indices
    on_hand, expires = stock["on_hand"].to_numpy(float), day_numbers(stock["expires_on"])
    quantity, needed = lines["quantity"].to_numpy(float), day_numbers(lines["needed_by"])
    for place, rows in lines.groupby(["part", "site"]).indices.items():
        mine = lots.get(place)
        if mine is None:
            continue
        if expires[mine].min() > needed[rows].max():
            reached = np.minimum(quantity[rows].cumsum(), on_hand[mine].sum())
            taken[rows] = np.diff(reached, prepend=0.0)
        else:
            taken[rows] = _take_in_turn(quantity[rows], needed[rows], on_hand[mine], expires[mine])
    return taken


def _take_in_turn(
    quantity: np.ndarray, needed: np.ndarray, on_hand: np.ndarray, expires: np.ndarray
) -> np.ndarray:
    left, taken = on_hand.copy(), np.zeros(len(quantity))
    for row, asked in enumerate(quantity):
        for lot in np.flatnonzero((expires > needed[row]) & (left > 0)):
            got = min(asked - taken[row], left[lot])
            taken[row] += got
            left[lot] -= got
    return taken


def take_from_lots(left: np.ndarray, lots: np.ndarray, amount: float, *, whole: bool) -> np.ndarray | None:
    """The places of the `lots` that `amount` comes from, in their order, a cut (`whole`) from one alone.

    Takes it off `left`; None, and nothing is taken, where there is not enough.
    """
    if whole:
        lots = lots[left[lots] + EVEN >= amount][:1]
    taken = np.diff(np.minimum(left[lots].cumsum(), amount), prepend=0.0)
    if taken.sum() + EVEN < amount:
        return None
    left[lots] -= taken
    return lots[taken > 0]


def day_numbers(days: pd.Series) -> np.ndarray:
    """Days as numbers; what has no date never comes (∞)."""
    known = days.notna().to_numpy()
    numbers = np.full(len(days), np.inf)
    numbers[known] = days[known].to_numpy().astype("datetime64[D]").astype(float)
    return numbers
