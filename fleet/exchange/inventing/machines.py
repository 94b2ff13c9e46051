"""Invented sites and machines, and the hours those machines work."""

import math
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from .calendar import DAYS_PER_YEAR, to_dates
from .models import MODELS, SITE_KINDS

MACHINES_PER_SITE = 10
YEARS_BEFORE_THE_REGISTER = (
    6.0  # lives run so long before the records begin that no trace of the start is left
)
YEARS_AHEAD = 6.0
STEP_DAYS = 30.4375
NO_METER_SHARE = 0.05
METER_REPLACED_SHARE = 0.06
RETIRED_SHARE = 0.04


@dataclass(frozen=True, slots=True)
class Hours:
    """True hours of each machine since `start`, a day's number: one row a machine, one column a STEP_DAYS.

    `at_zero` are the hours that its first meter did not count; `replaced_on` is inf where none was replaced.
    """

    start: float
    worked: np.ndarray
    at_zero: np.ndarray
    replaced_on: np.ndarray

    def at(self, machine: np.ndarray, day: np.ndarray) -> np.ndarray:
        """Hours since `start` on a day, for machines given by their number."""
        steps = (day - self.start) / STEP_DAYS
        column = np.clip(steps.astype(np.int64), 0, self.worked.shape[1] - 2)
        before, after = self.worked[machine, column], self.worked[machine, column + 1]
        return before + (steps - column) * (after - before)

    def day_of(self, machine: np.ndarray, hours: np.ndarray) -> np.ndarray:
        """The day on which a machine has worked so many hours since `start`; inf beyond the last column."""
        columns = self.worked.shape[1]
        # One search for all machines: each machine's hours stand in a band of their own.
        band = self.worked[:, -1].max() + 1
        bands = (self.worked + band * np.arange(len(self.worked))[:, None]).ravel()
        reached = np.minimum(hours, band - 0.5)
        place = np.searchsorted(bands, reached + band * machine, side="right") - 1 - machine * columns
        column = np.clip(place, 0, columns - 2)
        before, after = self.worked[machine, column], self.worked[machine, column + 1]
        share = (hours - before) / np.maximum(after - before, 1e-9)
        return np.where(hours < self.worked[machine, -1], self.start + STEP_DAYS * (column + share), np.inf)

    def on_meter(self, machine: np.ndarray, day: np.ndarray) -> np.ndarray:
        """What the hour meter shows on a day, in whole hours."""
        replaced = day >= self.replaced_on[machine]
        zero = np.where(
            replaced,
            self.at(machine, np.where(replaced, self.replaced_on[machine], day)),
            self.at_zero[machine],
        )
        return np.floor(self.at(machine, day) - zero)


def make_sites(machines: int, rng: np.random.Generator, until: float, years: float) -> pd.DataFrame:
    """One row per site; a third kept its register for all those years, the others began it later."""
    count = math.ceil(machines / MACHINES_PER_SITE)
    number = np.arange(count)
    names = np.array([name for name, _ in SITE_KINDS])[number % len(SITE_KINDS)]
    later = rng.uniform(0.1, 0.6, count) * years * DAYS_PER_YEAR
    began = until - years * DAYS_PER_YEAR + np.where(number % 3 == 0, 0, later)
    width = max(2, len(str(count)))
    return pd.DataFrame(
        {
            "site": [f"S{one + 1:0{width}d}" for one in number],
            "name": [f"{name} {one // len(SITE_KINDS) + 1}" for one, name in enumerate(names)],
            "kind": number % len(SITE_KINDS),
            "began": np.floor(began),
        }
    )


def make_machines(
    machines: int, sites: pd.DataFrame, rng: np.random.Generator, until: float, years: float
) -> pd.DataFrame:
    """One row per machine, with its site's and model's number, its days, and its true hours a day."""
    site = np.arange(machines) * len(sites) // machines
    model = np.empty(machines, dtype=np.int64)
    kinds = sites["kind"].to_numpy()[site]
    for kind, (_, models) in enumerate(SITE_KINDS):
        here = np.flatnonzero(kinds == kind)
        model[here] = np.array([MODELS.index(one) for one in models])[
            np.concatenate([np.arange(len(models)), rng.integers(0, len(models), len(here))])[: len(here)]
        ]
    # A third of the fleet is bought while the register is kept, the rest is older.
    newer = rng.random(machines) < 0.3
    age_years = np.where(newer, rng.uniform(0.3, years, machines), rng.uniform(years, years + 9, machines))
    retired = (rng.random(machines) < RETIRED_SHARE) & ~newer & (np.arange(machines) > 0)
    counter = pd.Series(model).groupby(model).cumcount().to_numpy() + 1
    width = max(2, len(str(machines)))
    rates = np.array([one.hours_per_day for one in MODELS])[model] * rng.lognormal(0, 0.2, machines)
    downtime = np.array([one.downtime_cost_per_hour for one in MODELS])[model] * rng.lognormal(
        0, 0.15, machines
    )
    return pd.DataFrame(
        {
            "machine": [
                f"{MODELS[one].prefix}-{count:0{width}d}" for one, count in zip(model, counter, strict=True)
            ],
            "site": site,
            "model": model,
            "commissioned": np.floor(until - age_years * DAYS_PER_YEAR),
            "retired": np.where(retired, until - rng.integers(40, 300, machines), np.inf),
            "rate": np.minimum(rates, 19),
            "downtime_cost_per_hour": 5 * np.round(downtime / 5),
            "metered": rng.random(machines) >= NO_METER_SHARE,
        }
    )


def make_hours(machines: pd.DataFrame, rng: np.random.Generator, until: float, years: float) -> Hours:
    """The hours of all machines, from long before the register until years ahead of the last day."""
    start = until - (years + YEARS_BEFORE_THE_REGISTER) * DAYS_PER_YEAR
    steps = int((until + YEARS_AHEAD * DAYS_PER_YEAR - start) / STEP_DAYS) + 1
    count = len(machines)
    seasons = 1 + 0.15 * np.sin(2 * np.pi * (np.arange(steps) * STEP_DAYS / DAYS_PER_YEAR))
    hours = (
        machines["rate"].to_numpy()[:, None] * STEP_DAYS * seasons * rng.lognormal(0, 0.18, (count, steps))
    )
    hours = np.minimum(hours, 23 * STEP_DAYS)
    worked = np.concatenate([np.zeros((count, 1)), np.cumsum(hours, axis=1)], axis=1)
    commissioned = machines["commissioned"].to_numpy()
    made = Hours(start, worked, np.zeros(count), np.full(count, np.inf))
    everyone = np.arange(count)
    earlier = (start - commissioned).clip(0) * machines["rate"].to_numpy()
    at_zero = np.where(commissioned > start, made.at(everyone, np.maximum(commissioned, start)), -earlier)
    replaced = (rng.random(count) < METER_REPLACED_SHARE) & machines["metered"].to_numpy()
    replaced &= np.isinf(machines["retired"]) & (commissioned < until - 500)
    replaced_on = np.where(replaced, until - rng.integers(90, 400, count), np.inf)
    return replace(made, at_zero=at_zero, replaced_on=replaced_on)


def make_meter_readings(
    machines: pd.DataFrame, sites: pd.DataFrame, hours: Hours, rng: np.random.Generator, until: float
) -> pd.DataFrame:
    """One row per machine and reading: about monthly, some left out, the last one on the newest day."""
    read = machines[machines["metered"]]
    number = read.index.to_numpy()
    first = np.maximum(read["commissioned"], sites["began"].to_numpy()[read["site"]]).to_numpy()
    last = np.minimum(read["retired"], until).to_numpy()
    counts = np.maximum(1, ((last - first) / STEP_DAYS).astype(np.int64))
    machine = np.repeat(number, counts)
    along = np.arange(counts.sum()) - np.repeat(np.cumsum(counts) - counts, counts)
    day = np.repeat(first, counts) + np.floor(along * STEP_DAYS)
    day += np.where(along > 0, rng.integers(-5, 6, len(day)), 0)
    kept = (along == 0) | (rng.random(len(day)) >= 0.05)
    kept &= day < np.repeat(last, counts) - 5
    replaced = number[np.isfinite(hours.replaced_on[number])]
    newest = np.concatenate([machine[kept], replaced, number])
    days = np.concatenate([day[kept], hours.replaced_on[replaced], last])
    readings = pd.DataFrame({"number": newest, "day": days})
    readings = readings.drop_duplicates().sort_values(["number", "day"], ignore_index=True)
    number, day = readings["number"].to_numpy(), readings["day"].to_numpy()
    new_meter = np.full(len(readings), None, dtype=object)
    new_meter[day == hours.replaced_on[number]] = "yes"
    return pd.DataFrame(
        {
            "machine": machines["machine"].to_numpy()[number],
            "read_on": to_dates(day),
            "hours": hours.on_meter(number, day),
            "meter_replaced": new_meter,
        }
    )


def machines_file(machines: pd.DataFrame, sites: pd.DataFrame) -> pd.DataFrame:
    """The machines as they stand in `machines.csv`."""
    estimate = np.where(~machines["metered"] | (machines.index % 4 == 0), machines["rate"].round(1), np.nan)
    return pd.DataFrame(
        {
            "machine": machines["machine"],
            "site": sites["site"].to_numpy()[machines["site"]],
            "model": [MODELS[one].name for one in machines["model"]],
            "commissioned_on": to_dates(machines["commissioned"]),
            "retired_on": to_dates(machines["retired"]),
            "hours_per_day": estimate,
            "downtime_cost_per_hour": machines["downtime_cost_per_hour"],
        }
    )


def sites_file(sites: pd.DataFrame) -> pd.DataFrame:
    """The sites as they stand in `sites.csv`."""
    return pd.DataFrame(
        {"site": sites["site"], "name": sites["name"], "register_began_on": to_dates(sites["began"])}
    )
