"""From which day on an installed assembly should be off its machine, and why."""

from datetime import date

import numpy as np
import pandas as pd

from .prospects import Prospects
from .renewal import FARTHEST_DAYS, economic_day, first_risky_day

# Earliest wins; on one day the first of these names it. The last, cost, is no limit: one may weigh it.
REASONS = ("unfit", "inspection", "age_limit", "hours_limit", "risk", "economy")
USUAL_RISK_HORIZON_DAYS = 365.0  # where a risk limit names no time; common practice, no source


def find_due(
    prospects: Prospects,
    margins: pd.DataFrame,
    limits: pd.DataFrame,
    inspections: pd.DataFrame,
    as_of: date,
) -> pd.DataFrame:
    """When each installed assembly is due, one row each in the order of `prospects`.

    Columns: assembly, due_on (NaT: not within forty years), due_reason, and limit_on and limit_reason: the
    last day it may stay by a limit that cost cannot outweigh. Never before `as_of`.

    unfit        its margin is `short`: at once
    inspection   its latest inspection says `replace`: at once
    age_limit    the calendar age since it was built, else installed, reaches the limit
    hours_limit  its machine hours reach the limit at the machine's present usage
    risk         the first day on which the chance to fail within the risk horizon would pass the limit,
                 given that it has come so far
    economy      the day from which leaving it costs more a day than its successors do (`renewal`)

    A critical position is not deferred: there any due date is a limit.
    """
    installed = prospects.installed
    held_to = installed[["machine", "position"]].merge(limits, on=["machine", "position"], how="left")
    limit = {name: held_to[name].to_numpy(float) for name in limits.select_dtypes("number")}

    verdict = installed["assembly"].map(margins.set_index("assembly")["verdict"])
    at_once = {
        "unfit": (verdict == "short").to_numpy(bool),
        "inspection": installed["assembly"].isin(_condemned(inspections)).to_numpy(bool),
    }
    economy, _ = economic_day(
        prospects.now, prospects.planned_cost, prospects.failure_cost, prospects.renewal.rate
    )
    horizon = np.where(
        np.isnan(limit["risk_horizon_days"]), USUAL_RISK_HORIZON_DAYS, limit["risk_horizon_days"]
    )
    days = np.column_stack(
        [
            *(np.where(at_once[name], 0.0, np.inf) for name in ("unfit", "inspection")),
            limit["age_limit_days"] - installed["age_days"].to_numpy(float),
            _days_to_hours(limit["hours_limit"], installed),
            first_risky_day(prospects.now, limit["risk_limit"], horizon),
            economy,
        ]
    )
    days = np.floor(np.maximum(np.where(np.isnan(days), np.inf, days), 0.0))
    days[days > FARTHEST_DAYS] = np.inf
    limiting = days.copy()
    limiting[~prospects.assemblies["critical"].to_numpy(), REASONS.index("economy")] = np.inf

    found = pd.DataFrame({"assembly": installed["assembly"].to_numpy()})
    for on, reason, waits in (("due_on", "due_reason", days), ("limit_on", "limit_reason", limiting)):
        first = waits.min(axis=1)
        found[on] = days_after(as_of, first)
        found[reason] = np.where(np.isinf(first), "none", np.array(REASONS)[waits.argmin(axis=1)])
    return found.astype({"assembly": "str", "due_reason": "str", "limit_reason": "str"})


def days_after(as_of: date, days: np.ndarray) -> np.ndarray:
    """The dates (datetime64[s]) so many whole days after `as_of`; NaT where the days are inf or NaN."""
    today = np.datetime64(as_of, "D")
    finite = np.isfinite(days)
    dates = today + np.where(finite, days, 0).astype("timedelta64[D]")
    dates[~finite] = np.datetime64("NaT")
    return dates.astype("datetime64[s]")


def _condemned(inspections: pd.DataFrame) -> pd.Series:
    """The assemblies whose latest inspection says `replace`."""
    latest = inspections.sort_values("inspected_on", kind="stable").drop_duplicates("assembly", keep="last")
    return latest.loc[latest["grade"] == "replace", "assembly"]


def _days_to_hours(limit: np.ndarray, installed: pd.DataFrame) -> np.ndarray:
    """Days until the hours run reach `limit`: none where they are over it, inf where the machine stands."""
    left = limit - installed["age_hours"].to_numpy(float)
    rate = installed["hours_per_day"].to_numpy(float)
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.where(left <= 0, 0.0, np.where(rate > 0, left / rate, np.inf))
