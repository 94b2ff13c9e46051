"""What hour meters showed: readings, and the hours noted with installations that agree with them."""

import numpy as np
import pandas as pd

from .courses import in_order

HOURS_A_DAY = 24.0
POINT = ["machine", "day", "hours", "meter"]


def day_numbers(days) -> np.ndarray:
    """Whole days since 1970 of any dates; a missing one is the least integer."""
    return np.asarray(days, dtype="datetime64[D]").astype(np.int64)


def meter_points(
    machines: pd.Index, meter_readings: pd.DataFrame, installations: pd.DataFrame
) -> pd.DataFrame:
    """What the meters showed: machine (its place in `machines`), day, hours, meter, sorted; a day once.

    A machine's meters count up from 0 where its first reading starts no new meter, else from 1. Hours noted
    in `installations` stand beside the readings of the same meter where, between those, the meter neither
    runs backward nor over 24 hours a day; what does is left out here and is for the reader of the files to
    complain of. Where several notes disagree, the most that agree among themselves are taken.
    """
    read = _read_points(machines, meter_readings)
    noted = _noted_points(machines, installations, read)
    points = pd.concat([read, noted], ignore_index=True).sort_values(POINT[:2], ignore_index=True)
    return points[_holds_together(points)].reset_index(drop=True)


def _read_points(machines: pd.Index, meter_readings: pd.DataFrame) -> pd.DataFrame:
    points = pd.DataFrame(
        {
            "machine": machines.get_indexer(meter_readings["machine"]),
            "day": day_numbers(meter_readings["read_on"].to_numpy()),
            "hours": meter_readings["hours"].to_numpy(),
            "meter": meter_readings["meter_replaced"].fillna(False).astype(np.int64).to_numpy(),
        }
    )
    points = points[points["machine"] >= 0].sort_values(POINT[:2], ignore_index=True)
    points["meter"] = points.groupby("machine")["meter"].cumsum()
    return points[_holds_together(points)].reset_index(drop=True)


def _noted_points(machines: pd.Index, installations: pd.DataFrame, read: pd.DataFrame) -> pd.DataFrame:
    """Hours noted at installations and removals on days without a reading, consistent with the readings."""
    noted = pd.concat(
        [
            pd.DataFrame(
                {
                    "machine": machines.get_indexer(installations["machine"]),
                    "day": installations[f"{event}_on"],
                    "hours": installations[f"{event}_hours"],
                }
            )
            for event in ("installed", "removed")
        ]
    ).dropna()
    noted["day"] = day_numbers(noted["day"].to_numpy())
    # Several hoses are changed in one stop; the middle of what was noted that day is the meter's reading.
    noted = noted[noted["machine"] >= 0].groupby(["machine", "day"], as_index=False)["hours"].median()

    # Both tables by day: the reading before tells the meter, the one after bounds the hours.
    noted, by_day = noted.sort_values("day"), read.sort_values("day")
    for side, direction in (("before", "backward"), ("after", "forward")):
        reading = by_day.rename(columns={name: f"{name}_{side}" for name in POINT[1:]})
        noted = pd.merge_asof(
            noted,
            reading,
            left_on="day",
            right_on=f"day_{side}",
            by="machine",
            direction=direction,
        )
    noted["meter"] = noted["meter_before"].fillna(0).astype(np.int64)
    rise = noted["hours"] - noted["hours_before"]
    fits = rise.isna() | rise.between(0, HOURS_A_DAY * (noted["day"] - noted["day_before"]))
    rise = (noted["hours_after"] - noted["hours"]).where(noted["meter_after"] == noted["meter"])
    fits &= rise.isna() | rise.between(0, HOURS_A_DAY * (noted["day_after"] - noted["day"]))
    fits &= (noted["day_before"] != noted["day"]) & (noted["day_after"] != noted["day"])
    return noted.loc[fits, POINT]


def _holds_together(points: pd.DataFrame) -> np.ndarray:
    one_meter = points.groupby(["machine", "meter"]).ngroup().to_numpy()
    return in_order(one_meter, points["day"].to_numpy(), points["hours"].to_numpy(), HOURS_A_DAY)
