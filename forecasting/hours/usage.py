"""Machine hours on any day, from meter readings, meter replacements and estimates.

A machine's course is a line through its readings. The hours of its successive meters are joined: what ran
between an old meter's last reading and its replacement is estimated from the rate around it. Behind the last
reading the recent rate carries the hours forward; before the first they run back to the meter's zero.

Every rate is hours run over days watched in a fixed span of the course, so that a further reading on the
line, or a new meter, changes nothing.
"""

import datetime
from dataclasses import dataclass

import numpy as np
import pandas as pd

from .courses import Course
from .meters import HOURS_A_DAY, POINT, day_numbers, meter_points
from .to_come import QUARTER_DAYS, STANDING

RECENT_DAYS = 365  # a whole year, so that a season weighs as it does in the year to come
AROUND_DAYS = 182  # the span on either side of a meter's replacement that tells the rate through it
ENOUGH_DAYS = 28  # under this a machine's own rate is mixed with what is assumed of it
QUARTERS, YEAR_QUARTERS = 8, 4  # the spread is that between quarters of the last two years
ASSUMED_HOURS_PER_DAY = 2000 / 365.25  # one shift through the working year: common practice, no source
OWN_SPREAD = 0.3  # spread ÷ rate that weighs as one quarter among a machine's own: our judgment, no source
ESTIMATE_SPREAD = 0.5  # spread ÷ rate of what nobody read: our judgment, no source
PLAUSIBLE_FACTOR = 3.0  # between the rate since commissioning and the rate read: our judgment, no source
LONGEST_PAST_DAYS = 36_525


@dataclass(frozen=True, slots=True)
class Usage:
    """Every machine's hours by day.

    `rates` has one row per machine: machine, hours_per_day (the recent rate), how far the rate to come may
    lie from it (see `to_come`: hours_per_day_sd of its level, hours_per_day_noise of single quarters,
    hours_per_day_drift from one quarter to the next) and basis (readings | estimate | fleet | assumed). Once
    a machine is retired all are 0.
    """

    rates: pd.DataFrame
    course: Course

    def hours_at(self, machine: pd.Series, day) -> np.ndarray:
        """Cumulative hours of each machine on each day, or of all on one day.

        Never falls from one day to the next, over replaced meters too. Raises ValueError for a machine that
        the register does not have, and for a missing day.
        """
        day = np.asarray(day, dtype="datetime64[D]")
        codes = pd.Index(self.rates["machine"]).get_indexer(pd.Index(machine))
        if (codes < 0).any():
            raise ValueError(f"Machine {pd.Index(machine)[codes < 0][0]} is not among the machines.")
        if np.isnat(day).any():
            raise ValueError("Hours on a missing day: give the as-of date for what has not ended.")
        return self.course.at(codes, np.broadcast_to(day_numbers(day), codes.shape))

    def rates_at(self, machine: pd.Series, day) -> tuple[np.ndarray, np.ndarray]:
        """Hours a day just before and just after each day: the slope of the course on either side."""
        day = np.asarray(day, dtype="datetime64[D]")
        here = self.hours_at(machine, day)
        return here - self.hours_at(machine, day - 1), self.hours_at(machine, day + 1) - here


def fit_usage(
    machines: pd.DataFrame, meter_readings: pd.DataFrame, installations: pd.DataFrame, as_of: datetime.date
) -> Usage:
    """The hours of every machine in `machines`, from tables that hold what was known on `as_of`.

    A rate comes from the machine's own readings, else its estimate, else the fleet's median, else a stated
    assumption. A retired machine stops on its last day.
    """
    index = pd.Index(machines["machine"])
    estimate = machines["hours_per_day"].clip(0, HOURS_A_DAY).to_numpy()
    points = meter_points(index, meter_readings, installations)
    points = _with(points, _origins(points, estimate, machines, installations, as_of))

    watched = _watched(points, len(index))
    assumed = _assumed(watched, estimate)
    own, days = _rate(watched, watched.last_days - RECENT_DAYS, watched.last_days)
    rate = _mixed(own, days, assumed["hours_per_day"])
    spread = {
        name: np.where(days >= ENOUGH_DAYS, own, assumed.get(name, 0.0))
        for name, own in _spread(watched, rate, days).items()
    }

    points["hours"] = _hours_through_meters(points, watched, assumed["hours_per_day"])
    points = _with(points, _zeros(points, watched, assumed["hours_per_day"]))
    points = _with(points, _stops(points, rate, machines["retired_on"]))

    works = machines["retired_on"].isna().to_numpy()
    told = {"hours_per_day": rate, **spread}
    rates = pd.DataFrame(
        {"machine": machines["machine"].to_numpy()}
        | {name: values * works for name, values in told.items()}
        | {"basis": assumed["basis"]}
    ).astype({"machine": "str"})
    machine, day, hours = (points[name].to_numpy() for name in ("machine", "day", "hours"))
    return Usage(rates, Course.through(machine, day, hours, rates["hours_per_day"].to_numpy()))


def _with(points: pd.DataFrame, more: pd.DataFrame) -> pd.DataFrame:
    return pd.concat([points, more[POINT]], ignore_index=True).sort_values(POINT[:2], ignore_index=True)


def _known_steps(points: pd.DataFrame) -> pd.DataFrame:
    """Days and hours since the point before on the same meter; 0 where a meter or a machine begins."""
    same_meter = (points[["machine", "meter"]].diff() == 0).all(axis=1)
    return points[["day", "hours"]].diff().where(same_meter, 0.0)


def _watched(points: pd.DataFrame, size: int) -> Course:
    """Hours run over days watched, by machine: the course with the gaps between meters taken out."""
    clock = _known_steps(points).groupby(points["machine"]).cumsum()
    return Course.through(
        points["machine"].to_numpy(),
        clock["day"].to_numpy(np.int64),
        clock["hours"].to_numpy(),
        slope_after=np.zeros(size),
    )


def _rate(watched: Course, start, end, machine=None) -> tuple[np.ndarray, np.ndarray]:
    """Hours a day between two days watched of each machine, and how many days those were (0: no rate)."""
    machine = np.arange(len(watched.last_days)) if machine is None else machine
    start = np.maximum(start, 0)
    days = np.maximum(np.minimum(end, watched.last_days[machine]) - start, 0)
    hours = watched.at(machine, start + days) - watched.at(machine, start)
    return hours / np.maximum(days, 1), days


def _mixed(own: np.ndarray, days: np.ndarray, assumed: np.ndarray) -> np.ndarray:
    """The machine's own rate, led by the assumed one as long as few days were watched."""
    weight = np.minimum(days / ENOUGH_DAYS, 1)
    return weight * own + (1 - weight) * assumed


def _assumed(watched: Course, estimate: np.ndarray) -> dict[str, np.ndarray]:
    """What is assumed of each machine before its own readings: estimate, else fleet, else assumption.

    `basis` already says `readings` for a machine whose own readings are enough.
    """
    own, days = _rate(watched, watched.last_days - RECENT_DAYS, watched.last_days)
    enough, estimated = days >= ENOUGH_DAYS, ~np.isnan(estimate)
    fleet = own[enough] if enough.any() else estimate[estimated]
    middle = np.median(fleet) if len(fleet) else ASSUMED_HOURS_PER_DAY
    rate = np.where(estimated, estimate, middle)
    between = np.std(fleet) if len(fleet) else 0.0
    spread = np.maximum(ESTIMATE_SPREAD * rate, np.where(estimated, 0.0, between))
    basis = np.select([enough, estimated], ["readings", "estimate"], "fleet" if len(fleet) else "assumed")
    return {"hours_per_day": rate, "hours_per_day_sd": spread, "basis": basis}


def _spread(watched: Course, rate: np.ndarray, days: np.ndarray) -> dict[str, np.ndarray]:
    """How far each machine's rate to come may lie from the rate of its last `days`, in hours a day.

    Rates of quarters that are k apart differ, squared, by 2 noise² + k drift². Drift is told by the whole
    fleet, and only as far as it is sure; noise by each machine, drawn to a share of its rate.
    """
    machine = np.arange(len(rate))[:, None]
    ends = watched.last_days[:, None] - QUARTER_DAYS * np.arange(QUARTERS + 1)
    rates = -np.diff(watched.at(machine, ends), axis=1) / QUARTER_DAYS
    whole = ends[:, 1:] >= 0
    next_quarter, next_year = (_mean_square(rates, whole, lag) for lag in (1, YEAR_QUARTERS))
    used = np.maximum(rate, STANDING)
    drift_square = _sure_drift((next_year - next_quarter) / (YEAR_QUARTERS - 1) / used**2) * rate**2
    told = np.maximum(whole.sum(axis=1) - 1, 0)
    own = np.maximum(np.nan_to_num(next_quarter) - drift_square, 0.0) / 2
    noise_square = (told * own + (OWN_SPREAD * rate) ** 2) / (told + 1)
    quarters = np.maximum(days, ENOUGH_DAYS) / QUARTER_DAYS
    return {
        "hours_per_day_sd": np.sqrt(noise_square / quarters + drift_square * quarters / 3),
        "hours_per_day_noise": np.sqrt(noise_square),
        "hours_per_day_drift": np.sqrt(drift_square),
    }


def _mean_square(rates: np.ndarray, whole: np.ndarray, lag: int) -> np.ndarray:
    """Mean squared difference between quarters `lag` apart, by machine; NaN where there are no two."""
    both = whole[:, lag:] & whole[:, :-lag]
    squares = ((rates[:, lag:] - rates[:, :-lag]) ** 2 * both).sum(axis=1)
    count = both.sum(axis=1)
    return np.where(count > 0, squares / np.maximum(count, 1), np.nan)


def _sure_drift(squares: np.ndarray) -> float:
    """The mean of what single machines tell of drift², less its standard error; 0 where that is below 0."""
    told = squares[np.isfinite(squares)]
    if len(told) < 2:
        return 0.0
    return max(float(told.mean() - told.std(ddof=1) / np.sqrt(len(told))), 0.0)


def _origins(
    points: pd.DataFrame,
    estimate: np.ndarray,
    machines: pd.DataFrame,
    installations: pd.DataFrame,
    as_of: datetime.date,
) -> pd.DataFrame:
    """The points with 0 hours at which machines began: on commissioning, else with the first hose.

    A first meter that shows far less than the machine's age was changed before the records began: its gap
    is then estimated. One that shows far more came with a used machine: no origin, the hours run back.
    """
    index = pd.Index(machines["machine"])
    watched = _watched(points, len(index))
    first = points.drop_duplicates("machine").set_index("machine").reindex(range(len(index)))
    with_first_hose = installations.groupby("machine")["installed_on"].min().reindex(index)
    commissioned = machines["commissioned_on"].notna().to_numpy()
    since = np.where(commissioned, machines["commissioned_on"], with_first_hose)
    since = np.where(np.isnat(since), np.datetime64(as_of, "s"), since)
    day = day_numbers(since)

    assumed = _assumed(watched, estimate)["hours_per_day"]
    own, days = _rate(watched, 0, RECENT_DAYS)
    told = (days >= ENOUGH_DAYS) | ~np.isnan(estimate) | ~commissioned
    later_rate = np.where(days >= ENOUGH_DAYS, own, np.where(told, assumed, 0.0))
    rate = (first["hours"] / (first["day"] - day).clip(lower=1)).to_numpy()
    too_little = rate * PLAUSIBLE_FACTOR < later_rate
    most = later_rate * np.where(commissioned, PLAUSIBLE_FACTOR, 1.0)
    too_much = (rate > HOURS_A_DAY) | ((later_rate > 0) & (rate > most))

    unread = first["day"].isna().to_numpy()
    later_meter = (first["meter"] > 0).to_numpy()
    before = (first["day"] > day).to_numpy() & (later_meter | ~too_much)
    meter = np.where(later_meter | (too_little & ~unread), -1, 0)
    origins = pd.DataFrame({"machine": np.arange(len(index)), "day": day, "hours": 0.0, "meter": meter})
    return origins[unread | before]


def _hours_through_meters(points: pd.DataFrame, watched: Course, assumed: np.ndarray) -> pd.Series:
    """Cumulative hours at each point: known steps, and between meters the rate around the gap."""
    machine = points["machine"].to_numpy()
    known = _known_steps(points)
    day_watched = known["day"].groupby(machine).cumsum().to_numpy(np.int64)
    gap = points["meter"].diff().ne(0) & points["machine"].diff().eq(0)
    gap_days = points["day"].diff().where(gap, 0.0)
    around, days = _rate(watched, day_watched - AROUND_DAYS, day_watched + AROUND_DAYS, machine)
    steps = known["hours"] + gap_days * _mixed(around, days, assumed[machine])
    return points.groupby("machine")["hours"].transform("first") + steps.groupby(machine).cumsum()


def _zeros(points: pd.DataFrame, watched: Course, assumed: np.ndarray) -> pd.DataFrame:
    """Where the first meter stood at 0, run back from its first reading at the rate that follows it."""
    first = points.drop_duplicates("machine")
    early = _mixed(*_rate(watched, 0, RECENT_DAYS), assumed)[first["machine"]]
    shown = (first["hours"] > 0) & (first["meter"] == 0) & (early > 0)
    first, early = first[shown], early[shown]
    back = np.minimum(np.ceil(first["hours"] / early), LONGEST_PAST_DAYS).astype(np.int64)
    return first.assign(day=first["day"] - back, hours=0.0)


def _stops(points: pd.DataFrame, rate: np.ndarray, retired_on: pd.Series) -> pd.DataFrame:
    """The last day of each machine retired after its last point, with the hours it had by then."""
    last = points.drop_duplicates("machine", keep="last")
    last_day = retired_on.iloc[last["machine"]].to_numpy()
    days = np.where(np.isnat(last_day), 0, day_numbers(last_day) - last["day"])
    stop = last.assign(day=last["day"] + days, hours=last["hours"] + days * rate[last["machine"]])
    return stop[days > 0]
