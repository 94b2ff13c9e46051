"""Invented laws of failure, how hours come to machines, and what the lives of a position tell of its luck.

None of the laws has the service's own form: wear may be lognormal, log-logistic or Weibull, luck may be
gamma, a few points, lognormal, none, or hold a small part of short-lived positions; early failures come from
crimpers and lots. All of it is invented for the benchmark; `worlds` has fleets that lived by them.
"""

from copy import copy
from dataclasses import dataclass, replace
from datetime import date, timedelta

import numpy as np
import pandas as pd
from scipy import stats

AS_OF = date(2026, 6, 30)
HORIZONS = (30, 90, 180, 365)
MONTH = 30.4375
PAST_MONTHS, FUTURE_MONTHS = 168, 14  # of usage, about the as-of date
DAY_ZERO = AS_OF - timedelta(days=round(PAST_MONTHS * MONTH))
AS_OF_DAY = (AS_OF - DAY_ZERO).days
EXPOSURES = ("sheltered", "normal", "abrasive", "hot", "flexing")


@dataclass(frozen=True)
class Law:
    """One kind of world. Lives in machine hours and years; `luck` names the distribution of Z."""

    name: str
    positions: int = 2000
    per_machine: int = 20
    wear: str = "weibull"  # weibull | lognormal | loglogistic
    wear_shape: float = 2.2
    wear_hours: float = 14_000.0
    age_shape: float = 4.0
    age_years: float = 11.0
    pressure_power: float = 3.0
    temperature_slope: float = 0.02
    exposure: tuple[float, ...] = (-0.4, 0.0, 0.5, 0.3, 0.6)
    population_sd: float = 0.3
    luck: str = "gamma"  # none | gamma | lognormal | points | lemons
    luck_variance: float = 0.5
    early_share: tuple[float, ...] = (0.02, 0.02, 0.03, 0.10)  # a crimper each
    early_hours: float = 400.0
    bad_lots: int = 0
    bad_lot_share: float = 0.35
    register_years: float = 5.0
    drift: float = 0.0  # monthly standard deviation of the log of usage
    year_sd: float = 0.0  # of the log of usage from year to year, of all machines alike
    planned_age_years: float = 4.5
    planned_share: float = 0.3
    unknown_share: float = 0.03
    damage_per_year: float = 0.02


KINDS: dict[str, Law] = {
    law.name: law
    for law in (
        Law("gamma_luck"),
        Law("no_luck", luck="none"),
        Law("lognormal_wear", wear="lognormal", wear_shape=0.55, wear_hours=13_000, luck="points"),
        Law("loglogistic_wear", wear="loglogistic", wear_shape=3.0, luck="lognormal", luck_variance=0.6),
        Law("lemons", luck="lemons"),
        Law("bad_lots", bad_lots=3, early_share=(0.02, 0.02, 0.02, 0.02)),
        Law("calendar_led", age_years=5.5, age_shape=5.0, wear_hours=40_000),
        Law("usage_drift", drift=0.08, luck="points"),
        Law("late_register", register_years=1.5),
        Law("very_late_register", register_years=0.6, luck="lemons"),
        Law("twelve_machines", positions=216, per_machine=18, luck="gamma"),
        Law("twelve_lemons", positions=216, per_machine=18, luck="lemons", register_years=3.0),
    )
}
# The year to come moves all counts of such a fleet at once, and no one can know it: asked for by name only.
BAD_YEARS = Law("bad_years", year_sd=0.25)


class UsagePaths:
    """Machine hours of each machine, linear within a month, from day zero on."""

    def __init__(self, machines: int, law: Law, rng: np.random.Generator) -> None:
        months = PAST_MONTHS + FUTURE_MONTHS
        level = np.clip(rng.lognormal(np.log(7.0), 0.5, machines), 1.0, 18.0)
        walk = np.cumsum(rng.normal(0.0, law.drift, (machines, months)), axis=1) if law.drift else 0.0
        noise = rng.normal(0.0, 0.15, (machines, months))
        if law.year_sd:  # the years end with PAST_MONTHS
            years = rng.normal(0.0, law.year_sd, -(-months // 12))
            walk = walk + np.repeat(years, 12)[:months]
        self.rates = np.clip(level[:, None] * np.exp(walk + noise), 0.3, 22.0)  # hours a day
        self.level = level * np.exp(np.broadcast_to(walk, noise.shape)[:, -1])  # in the last month
        self._add_up()

    def prolonged(self, months: int, law: Law, rng: np.random.Generator) -> "UsagePaths":
        """The same machines over so many months more, each from its last level on, as it drifts."""
        longer = copy(self)
        shape = len(self.rates), months
        walk = np.cumsum(rng.normal(0.0, law.drift, shape), axis=1)
        noise = rng.normal(0.0, 0.15, shape)
        more = np.clip(self.level[:, None] * np.exp(walk + noise), 0.3, 22.0)
        longer.rates = np.concatenate([self.rates, more], axis=1)
        longer.level = self.level * np.exp(walk[:, -1])
        longer._add_up()
        return longer

    def _add_up(self) -> None:
        machines = len(self.rates)
        self.cumulative = np.concatenate(
            [np.zeros((machines, 1)), np.cumsum(self.rates * MONTH, axis=1)], axis=1
        )
        self.span = float(self.cumulative.max()) + 1.0
        self.flat = (self.cumulative + np.arange(machines)[:, None] * self.span).ravel()
        self.columns = self.cumulative.shape[1]

    def hours_at(self, machine: np.ndarray, day: np.ndarray) -> np.ndarray:
        month = np.clip((day / MONTH).astype(int), 0, self.columns - 2)
        return self.cumulative[machine, month] + (day - month * MONTH) * self.rates[machine, month]

    def day_at(self, machine: np.ndarray, hours: np.ndarray) -> np.ndarray:
        """The day on which the machine's hours are reached; infinite beyond the simulated time."""
        spot = (
            np.searchsorted(self.flat, np.minimum(hours, self.span - 0.5) + machine * self.span, "right") - 1
        )
        month = np.clip(spot - machine * self.columns, 0, self.columns - 2)
        day = month * MONTH + (hours - self.cumulative[machine, month]) / self.rates[machine, month]
        return np.where(hours > self.cumulative[machine, -1], np.inf, day)

    def recent_rate(self, months: int = PAST_MONTHS) -> np.ndarray:
        """Hours a day of each machine in the half year before the end of so many months."""
        return self.rates[:, months - 6 : months].mean(axis=1)


def luck_nodes(law: Law, nodes: int = 60) -> tuple[np.ndarray, np.ndarray]:
    """Values of a position's luck Z and their chances: the law's own distribution, or a fine grid of it."""
    variance = law.luck_variance
    middle = (np.arange(nodes) + 0.5) / nodes
    if law.luck == "none":
        return np.ones(1), np.ones(1)
    if law.luck == "gamma":
        return stats.gamma(1 / variance, scale=variance).ppf(middle), np.full(nodes, 1 / nodes)
    if law.luck == "lognormal":
        sd = np.sqrt(np.log1p(variance))
        return np.exp(sd * stats.norm.ppf(middle) - sd**2 / 2), np.full(nodes, 1 / nodes)
    if law.luck == "points":
        return np.array([0.4, 1.0, 2.5]), np.array([0.35, 0.45, 0.2])
    return np.array([0.75, 1.1, 7.0]), np.array([0.45, 0.49, 0.06])  # lemons


def wear_hazard(law: Law, hours: np.ndarray, scale: np.ndarray) -> np.ndarray:
    """Cumulative hazard of wear after `hours` for a life of `scale` hours."""
    ratio = np.maximum(hours, 0.0) / scale
    if law.wear == "weibull":
        return ratio**law.wear_shape
    if law.wear == "lognormal":
        with np.errstate(divide="ignore"):
            return -stats.norm.logsf(np.log(ratio) / law.wear_shape)
    return np.log1p(ratio**law.wear_shape)


def wear_hours(law: Law, hazard: np.ndarray, scale: np.ndarray) -> np.ndarray:
    """The hours at which the cumulative hazard of wear is reached: the inverse of `wear_hazard`."""
    if law.wear == "weibull":
        return scale * hazard ** (1 / law.wear_shape)
    if law.wear == "lognormal":
        return scale * np.exp(law.wear_shape * stats.norm.isf(np.exp(-hazard)))
    return scale * np.expm1(np.minimum(hazard, 700)) ** (1 / law.wear_shape)


def log_survival(law: Law, rows: pd.DataFrame, day: np.ndarray, hours: np.ndarray, luck) -> np.ndarray:
    """Log chance that each life is unfailed on `day` at machine `hours`, given the position's luck."""
    worn = np.maximum(hours - rows["start_hours"].to_numpy(), 0.0)
    years = np.maximum(day - rows["built_day"].to_numpy(), 0.0) / 365.25
    base = wear_hazard(law, worn, rows["scale"].to_numpy()) + (years / law.age_years) ** law.age_shape
    share = rows["early_share"].to_numpy()
    return np.log1p(-share * -np.expm1(-worn / law.early_hours)) - luck * base


def log_survival_by_luck(
    law: Law, rows: pd.DataFrame, day: np.ndarray, hours: np.ndarray, luck: np.ndarray
) -> np.ndarray:
    """`log_survival` of each row, one column for each value of `luck`."""
    worn = np.maximum(hours - rows["start_hours"].to_numpy(), 0.0)
    years = np.maximum(day - rows["built_day"].to_numpy(), 0.0) / 365.25
    base = wear_hazard(law, worn, rows["scale"].to_numpy()) + (years / law.age_years) ** law.age_shape
    early = np.log1p(-rows["early_share"].to_numpy() * -np.expm1(-worn / law.early_hours))
    return early[:, None] - luck * base[:, None]


def luck_posterior(law: Law, seen: pd.DataFrame, usage: UsagePaths, today: float) -> np.ndarray:
    """Chance of each of `luck_nodes`, one row a position, given the lives `seen` of it until `today`."""
    machine = seen["machine"].to_numpy()
    values, chances = luck_nodes(law)
    luck = values[None, :]

    def survival(day: np.ndarray) -> np.ndarray:
        return log_survival_by_luck(law, seen, day, usage.hours_at(machine, day), luck)

    entry = np.maximum(seen["start_day"], seen["register_day"]).to_numpy()
    exit_day = seen["removed_day"].fillna(today).to_numpy()
    failed = seen["cause"].isin(["failed", "worn"]).to_numpy()
    at_entry, at_exit = survival(entry), survival(exit_day)
    at_eve = survival(np.maximum(exit_day - 1.0, entry))
    gone = np.log(np.maximum(np.exp(at_eve) - np.exp(at_exit), 1e-300))
    likelihood = np.where(failed[:, None], gone, at_exit) - at_entry
    summed = np.zeros((law.positions, len(values)))
    np.add.at(summed, seen["position"].to_numpy(), likelihood)
    summed += np.log(chances)
    posterior = np.exp(summed - summed.max(axis=1, keepdims=True))
    return posterior / posterior.sum(axis=1, keepdims=True)


def small(law: Law, positions: int) -> Law:
    """The same law in a fleet of another size."""
    return replace(law, positions=positions)
