"""The stops of each machine in which hose could be changed: its service windows, and special stops.

A special stop is asked for where no window suits: on the last day that an assembly may stay, or, where its
machine has no window in the horizon that is long enough for it, on the day from which leaving costs more. It
has no limit of labour.

A window is used from its first day on, and on later ones by what could not go sooner: those on which parts
come, the labour of the site begins anew, or before which a person wants nothing done. They are stops of one
window: the machine stands for all of it.
"""

from datetime import date

import numpy as np
import pandas as pd

from .parts import days_of_arrival
from .problem import SLACK, Shared, draw_on_spans
from .prospects import USUAL_CHANGEOUT_MINUTES

STOP = ["machine", "day", "window_starts_on", "special", "labour_minutes", "begun"]
MACHINES_AT_ONCE = 500  # each of their windows meets each of their days: more would fill the memory


def find_stops(
    due: pd.DataFrame,
    assemblies: pd.DataFrame,
    earliest: np.ndarray,
    bought: np.ndarray,
    done: pd.DataFrame,
    tables: dict[str, pd.DataFrame],
    horizon_days: float,
    as_of: date,
) -> tuple[pd.DataFrame, np.ndarray]:
    """The stops within the horizon, one row each, by machine and window; and which assemblies fit no window.

    `due` is that of `find_due` with `assemblies` (machine, minutes) and the first day on which each may be
    changed, `earliest`, beside it, row by row; `done` is the `work_done`. Columns: machine, day (whole days
    after `as_of`), window_starts_on (NaT where special), special, labour_minutes (inf: any), column (its
    place among the stops of its machine, by the first day of its window and then its own), window (the column
    of the first day of its window) and begun (whether something was changed in it). A window that runs
    already is used from `as_of`, with what labour was not taken.
    """
    machine = assemblies["machine"]
    windows = open_windows(tables["service_windows"], machine, horizon_days, as_of)
    longest = machine.map(windows.groupby("machine")["labour_minutes"].max())
    fits_none = ~(assemblies["minutes"] <= longest + SLACK).to_numpy(bool)
    wanted = _special_days(due, machine, fits_none, earliest, bought, windows, horizon_days, as_of)
    taken = _taken_by(done, windows, "machine", "window_starts_on")
    windows["begun"] = taken > 0
    windows["labour_minutes"] = (windows["labour_minutes"] - taken).clip(lower=0.0)
    special = pd.DataFrame(
        {
            "machine": wanted["machine"],
            "day": wanted["day"],
            "window_starts_on": pd.NaT,
            "special": True,
            "labour_minutes": np.inf,
            "begun": False,
        }
    ).astype({"window_starts_on": "datetime64[s]"})
    days = _days_inside(windows, assemblies, earliest, tables, horizon_days, as_of)
    windows, special = (one.assign(opens=one["day"]) for one in (windows, special))
    stops = pd.concat([windows, *(one for one in (days, special) if len(one))])[[*STOP, "opens"]]
    window = ["machine", "opens", "special", "window_starts_on"]
    stops = stops.sort_values([*window, "day"], kind="stable", ignore_index=True)
    stops["column"] = stops.groupby("machine").cumcount()
    stops["window"] = stops["column"].mask(stops.duplicated(window)).ffill().astype(int)
    return stops.drop(columns="opens"), fits_none


def share_labour(
    site: pd.Series,
    minutes: np.ndarray,
    day: np.ndarray,
    done: pd.DataFrame,
    tables: dict[str, pd.DataFrame],
    as_of: date,
) -> Shared:
    """What n assemblies, done in windows on `day` (n, W; inf: none), take of the labour of their `site`.

    Special stops are beyond plan. What was `done` in a span by `as_of` is taken off.
    """
    labour, today = tables["site_labour"], pd.Timestamp(as_of)
    running = labour[(labour["starts_on"] <= today) & (labour["ends_on"] >= today)]
    taken = _taken_by(done, running, "site", "starts_on").reindex(labour.index)
    spans = pd.DataFrame(
        {
            "group": labour["site"],
            "first_day": (labour["starts_on"] - today).dt.days.astype(float),
            "end_day": (labour["ends_on"] - today).dt.days + 1.0,
            "most": (labour["labour_minutes"].astype(float) - taken.fillna(0.0)).clip(lower=0.0),
        }
    )
    takes = pd.DataFrame({"row": np.arange(len(minutes)), "group": site.to_numpy(), "amount": minutes})
    takes["until"] = np.inf
    return draw_on_spans(takes, spans.assign(more_on=np.nan), day)


def work_done(tables: dict[str, pd.DataFrame], as_of: date) -> pd.DataFrame:
    """The hoses that were changed by `as_of`, one row each: machine, site, installed_on, minutes.

    The first hose of a place came with its machine, and was no work of a window.
    """
    hoses = tables["installations"]
    first = hoses.groupby(["machine", "position"])["installed_on"].transform("min")
    done = hoses[(hoses["installed_on"] > first) & (hoses["installed_on"] <= pd.Timestamp(as_of))]
    done = done[["machine", "position", "installed_on"]]
    done = done.merge(tables["positions"][["machine", "position", "changeout_minutes"]], how="left")
    site = done["machine"].map(tables["machines"].set_index("machine")["site"])
    return done.assign(site=site, minutes=done["changeout_minutes"].fillna(USUAL_CHANGEOUT_MINUTES))


def _taken_by(done: pd.DataFrame, spans: pd.DataFrame, at: str, starts_on: str) -> pd.Series:
    """The minutes of `work_done` since each of the `spans` (which are not over) began `at` its place."""
    inside = spans[[at, starts_on]].rename_axis("span").reset_index().merge(done, on=at)
    inside = inside[inside["installed_on"] >= inside[starts_on]]
    return inside.groupby("span")["minutes"].sum().reindex(spans.index, fill_value=0.0)


def open_windows(windows: pd.DataFrame, machine: pd.Series, horizon_days: float, as_of: date) -> pd.DataFrame:
    """The windows of those machines that begin within the horizon and are not over, one row each.

    Columns: machine, day (the first on which it can be used), last_day, window_starts_on, window_ends_on,
    special, labour_minutes (inf: any).
    """
    today = pd.Timestamp(as_of)
    day = np.maximum((windows["starts_on"] - today).dt.days, 0).astype(float)
    still = (windows["ends_on"] >= today) & (day <= horizon_days) & windows["machine"].isin(machine)
    return pd.DataFrame(
        {
            "machine": windows["machine"],
            "day": day,
            "last_day": (windows["ends_on"] - today).dt.days.astype(float),
            "window_starts_on": windows["starts_on"],
            "window_ends_on": windows["ends_on"],
            "special": False,
            "labour_minutes": windows["labour_minutes"].fillna(np.inf),
        }
    )[still]


def first_windows(machine: pd.Series, least: np.ndarray, windows: pd.DataFrame) -> np.ndarray:
    """The first day from `least` on that lies in one of the `windows` of each `machine`; NaN: none."""
    asked = pd.DataFrame({"machine": machine.to_numpy(), "least": least}).reset_index(names="line")
    pairs = asked.merge(windows, on="machine")
    pairs = pairs[pairs["last_day"] >= pairs["least"]]
    first = pairs[["day", "least"]].max(axis=1).groupby(pairs["line"]).min()
    return first.reindex(asked["line"]).to_numpy(float)


def _days_inside(
    windows: pd.DataFrame,
    assemblies: pd.DataFrame,
    earliest: np.ndarray,
    tables: dict[str, pd.DataFrame],
    horizon_days: float,
    as_of: date,
) -> pd.DataFrame:
    """The later days of `windows` that may be used, one row each, with what stands of their window: those on
    which parts come or the labour of the site begins anew, and before which a person wants nothing done."""
    long = windows[windows["last_day"] > windows["day"]]
    of_them = assemblies["machine"].isin(long["machine"]).to_numpy(bool)
    put_off = of_them & (earliest > 0) & (earliest <= horizon_days)
    labour = tables["site_labour"]
    begins = pd.DataFrame(
        {"site": labour["site"], "later": (labour["starts_on"] - pd.Timestamp(as_of)).dt.days.astype(float)}
    )
    sites = assemblies.loc[of_them, ["machine", "site"]].drop_duplicates()
    days = pd.concat(
        [
            days_of_arrival(assemblies[of_them], tables, as_of),
            sites.merge(begins, on="site")[["machine", "later"]],
            pd.DataFrame({"machine": assemblies["machine"].to_numpy()[put_off], "later": earliest[put_off]}),
        ]
    ).drop_duplicates()
    machines = pd.Index(long["machine"].unique())
    of_window, of_day = (machines.get_indexer(one["machine"]) // MACHINES_AT_ONCE for one in (long, days))
    found = [long.iloc[:0].assign(opens=np.nan)]
    for block in range(-(-len(machines) // MACHINES_AT_ONCE)):
        pairs = long[of_window == block].merge(days[of_day == block], on="machine")
        last_day = pairs["last_day"].clip(upper=horizon_days)
        pairs = pairs[(pairs["later"] > pairs["day"]) & (pairs["later"] <= last_day)]
        found.append(pairs.assign(opens=pairs["day"], day=pairs["later"]).drop(columns="later"))
    return pd.concat([one for one in found if len(one)] or found)


def _special_days(
    due: pd.DataFrame,
    machine: pd.Series,
    fits_none: np.ndarray,
    earliest: np.ndarray,
    bought: np.ndarray,
    windows: pd.DataFrame,
    horizon_days: float,
    as_of: date,
) -> pd.DataFrame:
    """The machine and day of each special stop that may be needed: no window comes in time."""
    today = pd.Timestamp(as_of)
    first_window = (
        machine.map(windows.groupby("machine")["day"].min()).mask(fits_none).to_numpy(float, copy=True)
    )
    put_off = np.flatnonzero((earliest > 0) & ~fits_none)
    first_window[put_off] = first_windows(machine.iloc[put_off], earliest[put_off], windows)
    limit = (due["limit_on"] - today).dt.days.to_numpy(float)
    wished = (due["due_on"] - today).dt.days.to_numpy(float)
    with np.errstate(invalid="ignore"):
        stranded = (limit <= horizon_days) & ~(first_window <= limit)
        homeless = (wished <= horizon_days) & fits_none
    day = np.where(stranded, limit, np.where(homeless, wished, np.nan))
    # Nobody stops a machine of his own accord for parts that are not there.
    with_parts = np.where(homeless & ~stranded & (bought > wished) & (bought <= horizon_days), bought, np.nan)
    both = np.concatenate([machine.to_numpy(), machine.to_numpy()]), np.concatenate([day, with_parts])
    found = pd.DataFrame(dict(zip(("machine", "day"), both, strict=True)))
    return found.dropna().drop_duplicates(ignore_index=True)
