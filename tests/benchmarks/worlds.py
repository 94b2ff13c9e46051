"""Fleets that lived by an invented law, as a register that began late sees them, and their true chances.

A fleet is simulated position by position, each failed or replaced hose followed by the next.
"""

from dataclasses import dataclass, field

import numpy as np
import pandas as pd

from forecasting.inputs import INPUTS
from forecasting.tables import make_table

from .laws import (
    AS_OF_DAY,
    DAY_ZERO,
    EXPOSURES,
    HORIZONS,
    MONTH,
    PAST_MONTHS,
    Law,
    UsagePaths,
    log_survival,
    log_survival_by_luck,
    luck_nodes,
    luck_posterior,
    wear_hours,
)


@dataclass(frozen=True)
class World:
    """A simulated fleet: the tables a register would hold, the truth, and what the Bayes forecaster needs."""

    law: Law
    tables: dict[str, pd.DataFrame]
    truth: pd.DataFrame
    lives: pd.DataFrame = field(repr=False)
    usage: UsagePaths = field(repr=False)


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
