"""What the whole stock is worth at every service level, and what share of demand each of them meets."""

import numpy as np
import pandas as pd

from .holdings import value_stock
from .reckoning import Reckoning, at_level

LEVELS = (0.5, 0.7, 0.8, 0.9, 0.95, 0.975, 0.99, 0.995)


def curve_of_value(
    reckonings: dict[str, dict[str, Reckoning]], parts: pd.DataFrame, review_days: float
) -> list[dict]:
    """For each of LEVELS: service_level, stock_value (money) and fill_rate, were all parts kept at it.

    `reckonings` by part and site. The fill rate is weighed by the money demanded within lead time and review;
    both figures are of parts whose cost is known, and None where none is.
    """
    cost = parts.set_index("part")["unit_cost"]
    lead_time = parts.set_index("part")["lead_time_days"]
    rows = []
    for level in LEVELS:
        kept = pd.DataFrame(
            [
                {
                    "part": part,
                    "lead_time_days": lead_time[part],
                    "planned_demand": one.planned,
                    "unplanned_demand_mean": one.unplanned_mean,
                    "reorder_point": one.reorder_point,
                    "order_up_to": one.order_up_to,
                    "fill_rate": one.expected_fill_rate,
                }
                for part, at_sites in reckonings.items()
                for one in (at_level(each, level) for each in at_sites.values())
            ],
            columns=[*CURVE_COLUMNS],
        )
        demanded = (kept["planned_demand"] + kept["unplanned_demand_mean"]) * kept["part"].map(cost)
        met = demanded.where(kept["fill_rate"].notna()) * kept["fill_rate"]
        value, all_demand = value_stock(kept, parts, review_days), demanded[met.notna()].sum()
        rows.append(
            {
                "service_level": level,
                "stock_value": None if np.isnan(value) or not len(kept) else value,
                "fill_rate": float(met.sum() / all_demand) if all_demand > 0 else None,
            }
        )
    return rows


CURVE_COLUMNS = (
    "part",
    "lead_time_days",
    "planned_demand",
    "unplanned_demand_mean",
    "reorder_point",
    "order_up_to",
    "fill_rate",
)
