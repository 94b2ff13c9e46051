"""When what kit lines lack is there: on an open order, or as if it were ordered today.

A line waits for an open order that covers it by the day it is needed; where none does, for what comes sooner:
an open order or one of today. So nothing is bought anew that is due in time, and nothing waits for a late
order that a new one would overtake. What counts on an order of today is what the stock advice must order.
"""

from datetime import date

import numpy as np
import pandas as pd

from ..policies import Settings
from ..shelves import arrival_if_ordered, day_numbers, find_due_orders, take_from_lots


def find_arrivals(
    lines: pd.DataFrame, tables: dict[str, pd.DataFrame], settings: Settings, as_of: date
) -> pd.DataFrame:
    """available_on and to_order, one row per line; both say nothing where nothing is short.

    `lines` (part, site, kind, short_by, purpose, needed_by) stand in order of need. available_on is the day
    on which the last missing part is there, empty where nothing says when: the part is no longer made, or
    its lead time is not known. to_order is what of it only an order of today brings by then, hose with its
    kerf. A standby kit has no day, and waits for what is due.
    """
    hose = (lines["kind"] == "bulk_hose").to_numpy(bool)
    kerf = settings.kerf_mm / 1000
    lacks = lines["short_by"].to_numpy(float)
    lacks = np.where(lacks > 0, lacks + kerf * hose, 0.0)
    parts = tables["parts"].set_index("part")
    may_buy = parts["lead_time_days"].notna() & ~parts["obsolete"].fillna(False).astype(bool)
    bought = arrival_if_ordered(lines["part"], tables["parts"], as_of)
    bought = day_numbers(bought.where(lines["part"].map(may_buy).astype(bool)))
    comes = np.where(lacks > 0, bought, np.inf)
    to_order = np.where(np.isfinite(comes), lacks, 0.0)

    needed = np.where(lines["purpose"] == "standby", np.inf, day_numbers(lines["needed_by"]))
    until = np.maximum(needed, bought)
    orders = find_due_orders(tables, as_of)
    due = day_numbers(orders["due_on"])
    left = orders["quantity"].to_numpy(float).copy()
    coming = orders.groupby(["part", "site"]).indices
    for place, rows in lines[lacks > 0].groupby(["part", "site"]).indices.items():
        if place not in coming:
            continue
        for row in np.flatnonzero(lacks > 0)[rows]:
            in_time = coming[place][due[coming[place]] <= until[row]]
            wanted = lacks[row] - kerf * hose[row]  # the last cut of a piece needs no kerf
            got = take_from_lots(left, in_time, wanted, whole=bool(hose[row]))
            if got is not None:
                left[got[-1:]] -= kerf * hose[row]
                comes[row], to_order[row] = due[got].max(), 0.0
            elif not hose[row]:  # what comes is laid to its kit, the rest is bought
                used = in_time[left[in_time] > 0]
                to_order[row] -= min(left[used].sum(), to_order[row])
                left[used] = 0.0
                comes[row] = due[used].max(initial=comes[row])
    known = np.isfinite(comes)
    days = np.where(known, comes, 0.0).astype("datetime64[D]").astype("datetime64[s]")
    days[~known] = np.datetime64("NaT")
    return pd.DataFrame({"available_on": days, "to_order": to_order}, index=lines.index)
