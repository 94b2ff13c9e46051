"""What stock is worth that is kept as the advice says."""

import numpy as np
import pandas as pd

from ..shelves import DEFAULT_LEAD_TIME_DAYS


def value_stock(stock_advice: pd.DataFrame, parts: pd.DataFrame, review_days: float) -> float:
    """The expected value (money) of stock kept by STOCK_ADVICE, at the parts' costs; NaN where none has one.

    Between orders, stock on hand and on order lies on average halfway between reorder point and order-up-to
    level; what lies on the shelf is less by the demand over the lead time. Parts without a cost are left out.

    Source: Hadley & Whitin, Analysis of Inventory Systems (1963), order-up-to policies, from memory.
    """
    cost = stock_advice["part"].map(parts.set_index("part")["unit_cost"]).to_numpy(float)
    lead_time = stock_advice["lead_time_days"].fillna(DEFAULT_LEAD_TIME_DAYS)
    window_demand = stock_advice["planned_demand"] + stock_advice["unplanned_demand_mean"]
    in_lead_time = window_demand * lead_time / np.maximum(lead_time + review_days, 1e-9)
    level = (stock_advice["reorder_point"] + stock_advice["order_up_to"]) / 2
    held = np.maximum(level - in_lead_time, 0.0).to_numpy(float)
    if len(held) and np.isnan(cost).all():
        return float("nan")
    return float(np.nansum(held * cost))
