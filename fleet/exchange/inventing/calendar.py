"""Days as numbers while a fleet is invented, and the calendar ahead: service windows and labour."""

import numpy as np
import pandas as pd

DAYS_PER_YEAR = 365.25
WINDOW_EVERY_DAYS = 28
LONG_WINDOW_EVERY = 6
WINDOW_MINUTES = 180
LONG_WINDOW_MINUTES = 900


def to_dates(days) -> pd.Series:
    """Days numbered from 1970-01-01 as dates; what is not finite is empty."""
    numbers = np.asarray(days, dtype=float)
    known = np.isfinite(numbers)
    dates = np.where(known, numbers, 0).astype("int64").astype("datetime64[D]").astype("datetime64[s]")
    return pd.Series(np.where(known, dates, np.datetime64("NaT")))


def make_service_windows(machines: pd.DataFrame, rng: np.random.Generator, until: float) -> pd.DataFrame:
    """One row per machine and time it stands in the year ahead: a day each month, three days twice a year."""
    working = machines[np.isinf(machines["retired"])]
    each = int(DAYS_PER_YEAR // WINDOW_EVERY_DAYS)
    along = np.tile(np.arange(each), len(working))
    offset = np.repeat(rng.integers(1, WINDOW_EVERY_DAYS + 1, len(working)), each)
    long = (
        along + np.repeat(rng.integers(0, LONG_WINDOW_EVERY, len(working)), each)
    ) % LONG_WINDOW_EVERY == 0
    starts = until + offset + WINDOW_EVERY_DAYS * along
    return pd.DataFrame(
        {
            "machine": np.repeat(working["machine"].to_numpy(), each),
            "starts_on": to_dates(starts),
            "ends_on": to_dates(starts + np.where(long, 2, 0)),
            "labour_minutes": np.where(long, LONG_WINDOW_MINUTES, WINDOW_MINUTES),
        }
    )


def make_site_labour(sites: pd.DataFrame, machines: pd.DataFrame, until: float) -> pd.DataFrame:
    """One row per site and four weeks of the year ahead, enough for the ordinary work and a little more."""
    spans = int(DAYS_PER_YEAR // WINDOW_EVERY_DAYS) + 1
    counts = machines.groupby("site").size().reindex(np.arange(len(sites)), fill_value=0).to_numpy()
    starts = until + 1 + WINDOW_EVERY_DAYS * np.tile(np.arange(spans), len(sites))
    return pd.DataFrame(
        {
            "site": np.repeat(sites["site"].to_numpy(), spans),
            "starts_on": to_dates(starts),
            "ends_on": to_dates(starts + WINDOW_EVERY_DAYS - 1),
            "labour_minutes": np.repeat(np.maximum(480, 120 * counts), spans),
        }
    )
