"""Invented laws of failure, fleets that live by them, and the chances that are true in them.

None of the laws has the service's own form: wear may be lognormal, log-logistic or Weibull, luck may be
gamma, a few points, lognormal, none, or hold a small part of short-lived positions; early failures come from
crimpers and lots. A fleet is simulated position by position, each failed or replaced hose followed by the
next, and is seen as a register that began late would see it. All of it is invented for the benchmark.
"""

from copy import copy
from dataclasses import dataclass, field, replace
from datetime import date, timedelta

import numpy as np
import pandas as pd
from scipy import stats

from forecasting.inputs import INPUTS
from forecasting.tables import make_table

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


@dataclass(frozen=True)
class World:
    """A simulated fleet: the tables a register would hold, the truth, and what the Bayes forecaster needs."""

    law: Law
    tables: dict[str, pd.DataFrame]
    truth: pd.DataFrame
    lives: pd.DataFrame = field(repr=False)
    usage: "UsagePaths" = field(repr=False)


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


def simulate(law: Law, seed: int) -> World:
    """A fleet that lived by `law`, seen on AS_OF by a register that began `register_years` before."""
    rng = np.random.default_rng([seed, *law.name.encode()])
    positions = law.positions
    machines = positions // law.per_machine
    usage = UsagePaths(machines, law, rng)
    machine = np.arange(positions) // law.per_machine
    commissioned = rng.uniform(0, AS_OF_DAY - 400, machines).round()
    catalogue = _catalogue(law, rng)
    design = rng.integers(len(catalogue), size=positions)
    place = pd.DataFrame(
        {
            "position": np.arange(positions),
            "machine": machine,
            "design": design,
            "ratio": np.clip(np.exp(rng.normal(np.log(0.6), 0.25, positions)), 0.15, 1.15),
            "temperature": np.clip(rng.normal(60, 15, positions), 10, 110).round(),
            "exposure": rng.integers(len(EXPOSURES), size=positions),
        }
    )
    values, chances = luck_nodes(law)
    place["luck"] = rng.choice(values, size=positions, p=chances)
    push = (
        law.pressure_power * np.log(place["ratio"] / 0.6)
        + law.temperature_slope * (place["temperature"] - 60)
        + np.array(law.exposure)[place["exposure"]]
        + catalogue["effect"].to_numpy()[design]
    )
    place["scale"] = law.wear_hours * np.exp(-push / (law.wear_shape if law.wear != "lognormal" else 2.0))
    lives = _live(law, place, commissioned, usage, rng)
    tables = _register(law, lives, place, catalogue, commissioned, usage, rng)
    installed = lives[lives["removed_day"].isna()].reset_index(drop=True)
    return World(law, tables, true_chances(law, installed, usage), lives, usage)


def true_chances(law: Law, installed: pd.DataFrame, usage: UsagePaths) -> pd.DataFrame:
    """The chance of each installed assembly to fail within each horizon, under the law and its true luck."""
    machine = installed["machine"].to_numpy()
    now = np.full(len(installed), float(AS_OF_DAY))
    luck = installed["luck"].to_numpy()
    start = log_survival(law, installed, now, usage.hours_at(machine, now), luck)
    truth = {"assembly": installed["assembly"].to_numpy()}
    for days in HORIZONS:
        later = now + days
        end = log_survival(law, installed, later, usage.hours_at(machine, later), luck)
        truth[f"true_{days}d"] = -np.expm1(end - start)
    return pd.DataFrame(truth)


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


def bayes_chances(world: World) -> pd.DataFrame:
    """What one can know at best: the law known, each position's luck learned from its recorded lives."""
    law, usage = world.law, world.usage
    seen = world.lives[world.lives["recorded"]].reset_index(drop=True)
    values, _ = luck_nodes(law)
    luck = values[None, :]
    posterior = luck_posterior(law, seen, usage, float(AS_OF_DAY))

    rows = seen[seen["removed_day"].isna()].reset_index(drop=True)
    weight = posterior[rows["position"].to_numpy()]
    machine = rows["machine"].to_numpy()
    now = np.full(len(rows), float(AS_OF_DAY))
    hours_now = usage.hours_at(machine, now)
    start = log_survival_by_luck(law, rows, now, hours_now, luck)
    rate = usage.recent_rate()[machine]
    known = {"assembly": rows["assembly"].to_numpy()}
    for days in HORIZONS:
        end = log_survival_by_luck(law, rows, now + days, hours_now + rate * days, luck)
        known[f"p_fail_{days}d"] = (weight * -np.expm1(end - start)).sum(axis=1)
    return pd.DataFrame(known)


def _catalogue(law: Law, rng: np.random.Generator) -> pd.DataFrame:
    rows = [
        (construction, dash, rating)
        for construction, ratings in (
            ("100R1", {4: 225, 8: 160}),
            ("100R2", {4: 400, 6: 330, 8: 275, 12: 215}),
            ("EN 856 4SP", {8: 415, 12: 350, 16: 280}),
        )
        for dash, rating in ratings.items()
    ]
    frame = pd.DataFrame(rows, columns=["construction", "dash", "rating"])
    frame["effect"] = rng.normal(0, law.population_sd, len(frame))
    return frame


def _live(law, place, commissioned, usage, rng) -> pd.DataFrame:
    """Every life of every position up to AS_OF, generation by generation."""
    crimper_share = np.array(law.early_share)
    lots_a_year, years = 12, PAST_MONTHS // 12 + 1
    bad = set()
    if law.bad_lots:
        recent = np.arange((years - 4) * lots_a_year, years * lots_a_year - 4)
        bad = {
            (int(d), int(lot))
            for d, lot in zip(
                rng.integers(9, size=law.bad_lots),
                rng.choice(recent, law.bad_lots, replace=False),
                strict=True,
            )
        }
    start = commissioned[place["machine"]].astype(float)
    alive = place.assign(start_day=start)
    planner = rng.random(len(place)) < law.planned_share
    generations = []
    while len(alive):
        n = len(alive)
        machine = alive["machine"].to_numpy()
        day = alive["start_day"].to_numpy()
        built = np.maximum(day - rng.integers(0, 60, n), 0)
        crimper = rng.integers(len(crimper_share), size=n)
        lot = (built / 365.25 * lots_a_year).astype(int)
        in_bad = np.array([(d, t) in bad for d, t in zip(alive["design"], lot, strict=True)], dtype=bool)
        share = np.where(in_bad, law.bad_lot_share, crimper_share[crimper])
        hours = usage.hours_at(machine, day)
        luck = alive["luck"].to_numpy()
        worn_at = usage.day_at(
            machine, hours + wear_hours(law, rng.exponential(size=n) / luck, alive["scale"].to_numpy())
        )
        aged_at = built + 365.25 * law.age_years * (rng.exponential(size=n) / luck) ** (1 / law.age_shape)
        aged_at = np.where(aged_at < day, day + 1, aged_at)
        early_at = np.where(
            rng.random(n) < share,
            usage.day_at(machine, hours + rng.exponential(law.early_hours, n)),
            np.inf,
        )
        failed_at = np.ceil(np.minimum(np.minimum(worn_at, aged_at), early_at))
        failed_at = np.maximum(failed_at, day + 1)
        other_at = np.ceil(day + rng.exponential(365.25 / law.damage_per_year, n))
        cause = np.full(n, "damaged", dtype=object)
        planned_at = np.where(
            planner[alive["position"]],
            day + np.ceil(365.25 * law.planned_age_years * rng.uniform(0.8, 1.2, n)),
            np.inf,
        )
        cause[planned_at < other_at] = "planned"
        other_at = np.minimum(planned_at, other_at)
        fails = failed_at <= other_at
        cause[fails] = np.where(rng.random(fails.sum()) < 0.2, "worn", "failed")
        removed = np.minimum(failed_at, other_at)
        here = alive.assign(
            built_day=built,
            start_hours=hours,
            crimper=crimper,
            lot=lot,
            early_share=share,
            removed_day=np.where(removed <= AS_OF_DAY, removed, np.nan),
            cause=cause,
        )
        here.loc[here["removed_day"].isna(), "cause"] = None
        generations.append(here)
        going = removed < AS_OF_DAY
        alive = alive[going].assign(start_day=removed[going])
    lives = pd.concat(generations, ignore_index=True).sort_values(
        ["position", "start_day"], ignore_index=True
    )
    lives["assembly"] = [f"A{i:06d}" for i in range(len(lives))]
    site = lives["machine"].to_numpy() % 3
    lives["register_day"] = AS_OF_DAY - 365.25 * law.register_years * np.array([1.0, 0.8, 1.15])[site]
    lives["register_day"] = lives["register_day"].round().clip(lower=0)
    lives["recorded"] = lives["removed_day"].isna() | (lives["removed_day"] >= lives["register_day"])
    hidden = (rng.random(len(lives)) < law.unknown_share) & lives["cause"].notna()
    lives.loc[hidden, "cause"] = "unknown"
    return lives


def _register(law, lives, place, catalogue, commissioned, usage, rng) -> dict[str, pd.DataFrame]:
    """The tables of a register that holds what was recorded, and no more."""

    def day(values) -> pd.Series:
        return pd.to_datetime(pd.Timestamp(DAY_ZERO) + pd.to_timedelta(pd.Series(values), unit="D"))

    machines = len(commissioned)
    names = np.array([f"M{m:04d}" for m in range(machines)])
    sites = np.array(["north", "south", "west"])
    hoses = catalogue["construction"].str.replace(" ", "") + "-" + catalogue["dash"].astype(str)
    seen = lives[lives["recorded"]]
    began = lives.groupby(lives["machine"] % 3)["register_day"].first()
    reading_days = np.arange(PAST_MONTHS) * MONTH
    readings = pd.DataFrame(
        {"m": np.repeat(np.arange(machines), PAST_MONTHS), "d": np.tile(np.round(reading_days), machines)}
    )
    first = began.reindex(readings["m"] % 3).to_numpy()
    readings = readings[readings["d"] >= np.maximum(first - 60, commissioned[readings["m"]])]
    rating = catalogue["rating"].to_numpy()[place["design"]]
    made = {
        "sites": {"site": sites, "register_began_on": day(began.reindex([0, 1, 2]).fillna(0).to_numpy())},
        "machines": {
            "machine": names,
            "site": sites[np.arange(machines) % 3],
            "commissioned_on": day(commissioned),
            "model": np.array(["digger", "loader", "press"])[np.arange(machines) % 3],
        },
        "meter_readings": {
            "machine": names[readings["m"]],
            "read_on": day(readings["d"].to_numpy()),
            "hours": (  # a meter shows 0 on the day its machine goes to work
                usage.hours_at(readings["m"].to_numpy(), readings["d"].to_numpy())
                - usage.hours_at(np.arange(machines), commissioned)[readings["m"]]
            ).round(1),
        },
        "parts": {
            "part": [*hoses, "END"],
            "kind": ["bulk_hose"] * len(hoses) + ["hose_end"],
            "construction": [*catalogue["construction"], None],
            "dash": [*catalogue["dash"], None],
            "rated_pressure_bar": [*catalogue["rating"].astype(float), 600.0],
            "maximum_temperature_c": [120.0] * (len(hoses) + 1),
        },
        "designs": {
            "design": "D-" + hoses,
            "hose_part": hoses,
            "end_a_part": "END",
            "end_b_part": "END",
            "overall_length_mm": 1000.0,
        },
        "positions": {
            "machine": names[place["machine"]],
            "position": [f"P{p:05d}" for p in place["position"]],
            "line": "pressure",
            "design": ("D-" + hoses).to_numpy()[place["design"]],
            "peak_pressure_bar": place["ratio"] * rating,
            "fluid_temperature_c": place["temperature"],
            "exposure": np.array(EXPOSURES)[place["exposure"]],
            "planned_cost": 300.0,
            "failure_cost": 2500.0,
        },
        "installations": {
            "assembly": seen["assembly"].to_numpy(),
            "machine": names[seen["machine"]],
            "position": [f"P{p:05d}" for p in seen["position"]],
            "design": ("D-" + hoses).to_numpy()[seen["design"]],
            "built_on": day(seen["built_day"].to_numpy()),
            "installed_on": day(seen["start_day"].to_numpy()),
            "removed_on": day(seen["removed_day"].to_numpy()),
            "removal_cause": seen["cause"].to_numpy(),
            "crimped_by": [f"bench {c + 1}" for c in seen["crimper"]],
            "hose_lot": [f"{d}-{lot}" for d, lot in zip(seen["design"], seen["lot"], strict=True)],
        },
    }
    return {
        name: make_table(pd.DataFrame(made[name]) if name in made else None, table)
        for name, table in INPUTS.items()
    }


def small(law: Law, positions: int) -> Law:
    """The same law in a fleet of another size."""
    return replace(law, positions=positions)
