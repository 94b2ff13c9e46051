"""Invented fleets that live on for three years under whatever is decided about them.

The lives to come are common to all policies: the k-th hose of a position has the same wear, ageing, early
failure, bench and age on the shelf whoever fits it and whenever, and damage comes to a position on the same
days. So two policies differ by their decisions alone, and one that decides nothing is run to failure.

Each machine can be stopped in one window a month, on days of its own, where its kind of world has so much
labour a window or any. Parts are on the shelf: what is tried is when to change. What is lost to damage costs
nothing here, for it costs the same under every policy.
"""

from dataclasses import dataclass, field
from datetime import date, timedelta

import numpy as np
import pandas as pd

from forecasting.inputs import INPUTS
from forecasting.tables import make_table

from .laws import (
    AS_OF_DAY,
    DAY_ZERO,
    FUTURE_MONTHS,
    MONTH,
    PAST_MONTHS,
    Law,
    UsagePaths,
    log_survival,
    wear_hazard,
    wear_hours,
)
from .worlds import World, simulate

MONTHS = 36
PLANNED_COST, FAILURE_COST, STOP_SETUP_COST = 300.0, 2_500.0, 150.0
SHELF_DAYS = 60  # a successor was built at most so long before it is fitted
GENERATIONS = 40  # hoses of a position drawn ahead: more than any policy uses up
DAMAGES = 8  # of a position drawn ahead
EVERYTHING_ON_HAND = 1e6
BAD_LOTS_A_YEAR = 1 / 4  # of those of the last four years: bad hose goes on coming as it did


def first_day_of(month: int) -> int:
    """The day on which the `month`-th month is planned: those after AS_OF_DAY belong to it."""
    return AS_OF_DAY + round(month * MONTH)


def date_of(day: float) -> date:
    return DAY_ZERO + timedelta(days=int(day))


@dataclass(frozen=True, slots=True)
class Fates:
    """What happens to the k-th hose of each position, (K, n), and to the position, whoever decides."""

    wear: np.ndarray
    ageing: np.ndarray
    early: np.ndarray
    early_hours: np.ndarray
    crimper: np.ndarray
    shelf_days: np.ndarray
    worn: np.ndarray
    unknown: np.ndarray
    damage_days: np.ndarray
    bad_lots: frozenset[tuple[int, int]]

    @classmethod
    def draw(cls, law: Law, world: World, rng: np.random.Generator) -> "Fates":
        shape = GENERATIONS, law.positions
        gaps = rng.exponential(365.25 / law.damage_per_year, (DAMAGES, law.positions))
        return cls(
            wear=rng.exponential(size=shape),
            ageing=rng.exponential(size=shape),
            early=rng.random(shape),
            early_hours=rng.exponential(law.early_hours, shape),
            crimper=rng.integers(len(law.early_share), size=shape),
            shelf_days=rng.integers(0, SHELF_DAYS, shape),
            worn=rng.random(shape) < 0.2,
            unknown=rng.random(shape) < law.unknown_share,
            damage_days=np.ceil(AS_OF_DAY + gaps.cumsum(axis=0)),
            bad_lots=_bad_lots(law, world, rng),
        )


def _bad_lots(law: Law, world: World, rng: np.random.Generator) -> frozenset[tuple[int, int]]:
    """Hose and month of each bad lot: those that showed already, and as many a year to come."""
    if not law.bad_lots:
        return frozenset()
    lives = world.lives[world.lives["early_share"] == law.bad_lot_share]
    seen = set(zip(lives["design"].tolist(), lives["lot"].tolist(), strict=True))
    count = round(law.bad_lots * BAD_LOTS_A_YEAR * MONTHS / 12)
    lots = rng.integers(PAST_MONTHS + 1, PAST_MONTHS + MONTHS, count).tolist()
    designs = rng.integers(world.lives["design"].max() + 1, size=count).tolist()
    return frozenset(seen | set(zip(designs, lots, strict=True)))


@dataclass
class LivedFleet:
    """A fleet as it stands on a day: `hoses` has one row per position, `past` those that are gone.

    Both have the columns of `worlds.World.lives`; `hoses` besides `generation` and `fails_on`, the day on
    which it will fail if it is left. `planned`, `failures` and `stops` count what happened since AS_OF.
    """

    law: Law
    usage: UsagePaths
    fates: Fates
    windows: pd.DataFrame
    register: dict[str, pd.DataFrame] = field(repr=False)
    hoses: pd.DataFrame = field(repr=False)
    past: list[pd.DataFrame] = field(repr=False)
    planned: int = 0
    failures: int = 0
    stops: int = 0
    hazard: float = 0.0

    @classmethod
    def begin(cls, law: Law, seed: int, labour_minutes: float = np.nan) -> "LivedFleet":
        """The fleet of `worlds.simulate` with that seed, on AS_OF."""
        world = simulate(law, seed)
        rng = np.random.default_rng([seed, *law.name.encode(), *b"lived"])
        usage = world.usage.prolonged(MONTHS + 1 - FUTURE_MONTHS, law, rng)
        lives = world.lives[world.lives["recorded"]].copy()
        lives.loc[lives["removed_day"] == AS_OF_DAY, ["removed_day", "cause"]] = (
            np.nan,
            None,
        )  # nobody knows yet
        here = lives["removed_day"].isna()
        hoses = lives[here].sort_values("position", ignore_index=True).assign(generation=0)
        fleet = cls(
            law=law,
            usage=usage,
            fates=Fates.draw(law, world, rng),
            windows=_list_windows(world.tables["machines"]["machine"], labour_minutes),
            register=_prolong_register(world, usage),
            hoses=hoses,
            past=[lives[~here]],
        )
        fleet.hoses["fails_on"] = fleet._failing_days(hoses, float(AS_OF_DAY))
        return fleet

    @property
    def cost(self) -> float:
        """What was spent since AS_OF, in money."""
        return PLANNED_COST * self.planned + STOP_SETUP_COST * self.stops + FAILURE_COST * self.failures

    @property
    def expected_cost(self) -> float:
        """The same with the failures that were to be expected of what was in place while it was.

        Of the same mean as `cost`, without the luck of which hose failed.
        """
        return PLANNED_COST * self.planned + STOP_SETUP_COST * self.stops + FAILURE_COST * self.hazard

    def live(self, changed_on: np.ndarray, first_day: int, last_day: int) -> None:
        """Lives from after `first_day` until `last_day`, each hose (n,) changed on its day unless it is gone.

        inf: it is not changed. A stop for which nothing is left to do is still made.
        """
        inside = (changed_on > first_day) & (changed_on <= last_day)
        changed_on = np.where(inside, changed_on, np.inf)
        machine = self.hoses["machine"].to_numpy()
        self.stops += len(np.unique(np.column_stack([machine, changed_on])[inside], axis=0))
        done = float(first_day)
        damage = self.fates.damage_days
        while True:
            # Nothing comes to a hose on the day on which it is fitted.
            after = np.maximum(self.hoses["start_day"].to_numpy(float), done)
            damaged_on = np.where(damage > after, damage, np.inf).min(axis=0)
            fails_on = self.hoses["fails_on"].to_numpy(float)
            ends_on = np.minimum(np.minimum(fails_on, damaged_on), changed_on)
            ending = ends_on <= last_day
            if not ending.any():
                return
            failed = ending & (fails_on <= ends_on)
            planned = ending & ~failed & (changed_on <= ends_on)
            cause = np.full(len(ends_on), "damaged", dtype=object)
            cause[planned] = "planned"
            generation = self.hoses["generation"].to_numpy(), np.arange(len(ends_on))
            cause[failed] = np.where(self.fates.worn[generation], "worn", "failed")[failed]
            self.failures += int(failed.sum())
            self.planned += int(planned.sum())
            cause[self.fates.unknown[generation]] = "unknown"
            self._renew(np.flatnonzero(ending), ends_on, cause)
            changed_on = np.where(ending, np.inf, changed_on)

    def finish(self, day: int) -> None:
        """Counts what was to be expected until `day` of what is still in place."""
        self._count_hazard(self.hoses, np.full(len(self.hoses), float(day)))

    def lives(self) -> pd.DataFrame:
        """Every life on record, those in place last."""
        return pd.concat([*self.past, self.hoses.drop(columns=["generation", "fails_on"])], ignore_index=True)

    def tables(self) -> dict[str, pd.DataFrame]:
        """The register with what was recorded until now."""
        lives, places = self.lives(), self.register["positions"]
        place = lives["position"].to_numpy()
        made = pd.DataFrame(
            {
                "assembly": lives["assembly"].to_numpy(),
                "machine": places["machine"].to_numpy()[place],
                "position": places["position"].to_numpy()[place],
                "design": places["design"].to_numpy()[place],
                "built_on": _dates(lives["built_day"]),
                "installed_on": _dates(lives["start_day"]),
                "removed_on": _dates(lives["removed_day"]),
                "removal_cause": lives["cause"].to_numpy(),
                "crimped_by": [f"bench {c + 1}" for c in lives["crimper"]],
                "hose_lot": [f"{d}-{lot}" for d, lot in zip(lives["design"], lives["lot"], strict=True)],
            }
        )
        installations = make_table(made, INPUTS["installations"])
        return {**self.register, "installations": installations, "service_windows": self.windows}

    def _renew(self, rows: np.ndarray, ends_on: np.ndarray, cause: np.ndarray) -> None:
        """Puts the next hose in the positions `rows`, on the day on which the one before ended."""
        gone = self.hoses.iloc[rows]
        self._count_hazard(gone, ends_on[rows])
        gone = gone.drop(columns=["generation", "fails_on"])
        self.past.append(gone.assign(removed_day=ends_on[rows], cause=cause[rows]))
        generation = self.hoses["generation"].to_numpy()[rows] + 1
        fates, at = self.fates, (generation, rows)
        day = ends_on[rows]
        built = day - fates.shelf_days[at]
        lot = (built / 365.25 * 12).astype(int)
        design = gone["design"].to_numpy()
        bad = np.array([one in fates.bad_lots for one in zip(design.tolist(), lot.tolist(), strict=True)])
        share = np.array(self.law.early_share)[fates.crimper[at]]
        fresh = gone.assign(
            assembly=[f"B{row:05d}-{k}" for row, k in zip(rows, generation, strict=True)],
            start_day=day,
            built_day=built,
            start_hours=self.usage.hours_at(gone["machine"].to_numpy(), day),
            crimper=fates.crimper[at],
            lot=lot,
            early_share=np.where(bad, self.law.bad_lot_share, share),
            generation=generation,
        )
        fresh["fails_on"] = self._failing_days(fresh, day)
        self.hoses = pd.concat([self.hoses.drop(index=rows), fresh]).sort_index()

    def _failing_days(self, hoses: pd.DataFrame, today: np.ndarray | float) -> np.ndarray:
        """The day on which each of `hoses`, sound `today`, fails if it is left; inf: not in these years."""
        law, usage, fates = self.law, self.usage, self.fates
        at = hoses["generation"].to_numpy(), hoses["position"].to_numpy()
        machine, luck, scale = (hoses[name].to_numpy() for name in ("machine", "luck", "scale"))
        started, built = hoses["start_hours"].to_numpy(), hoses["built_day"].to_numpy(float)
        today = np.broadcast_to(np.asarray(today, float), len(hoses))
        now = usage.hours_at(machine, today)
        run = np.maximum(now - started, 0.0)
        worn = wear_hours(law, wear_hazard(law, run, scale) + fates.wear[at] / luck, scale)
        aged = ((today - built) / 365.25 / law.age_years) ** law.age_shape + fates.ageing[at] / luck
        share = hoses["early_share"].to_numpy() * np.exp(-run / law.early_hours)
        share = share / (1 - hoses["early_share"].to_numpy() + share)  # of those that have come so far
        early = np.where(fates.early[at] < share, usage.day_at(machine, now + fates.early_hours[at]), np.inf)
        fails = np.minimum(usage.day_at(machine, started + worn), early)
        fails = np.minimum(fails, built + 365.25 * law.age_years * aged ** (1 / law.age_shape))
        return np.maximum(np.ceil(fails), today + 1)

    def _count_hazard(self, hoses: pd.DataFrame, until: np.ndarray) -> None:
        since = np.maximum(hoses["start_day"].to_numpy(float), AS_OF_DAY)
        machine, luck = hoses["machine"].to_numpy(), hoses["luck"].to_numpy()
        began, ended = (
            log_survival(self.law, hoses, day, self.usage.hours_at(machine, day), luck)
            for day in (since, until)
        )
        self.hazard += float((began - ended).sum())


def _list_windows(machines: pd.Series, labour_minutes: float) -> pd.DataFrame:
    """A window of two days a month for each machine, until a year after the last month."""
    number, month = (one.ravel() for one in np.indices((len(machines), MONTHS + 13)))
    day = np.array([first_day_of(one) for one in range(MONTHS + 13)])[month] + 3 + number * 7 % 24
    windows = pd.DataFrame(
        {
            "machine": machines.to_numpy()[number],
            "starts_on": _dates(day),
            "ends_on": _dates(day + 1),
            "labour_minutes": labour_minutes,
        }
    )
    return make_table(windows, INPUTS["service_windows"])


def _prolong_register(world: World, usage: UsagePaths) -> dict[str, pd.DataFrame]:
    """The tables of a world with the meter read on through the years to come, and all parts on hand."""
    tables, machines = dict(world.tables), world.tables["machines"]
    number, month = (one.ravel() for one in np.indices((len(machines), MONTHS + 1)))
    day = np.round((PAST_MONTHS + month) * MONTH)
    commissioned = (machines["commissioned_on"] - pd.Timestamp(DAY_ZERO)).dt.days.to_numpy(float)
    zero = usage.hours_at(np.arange(len(machines)), commissioned)
    more = pd.DataFrame(
        {
            "machine": machines["machine"].to_numpy()[number],
            "read_on": _dates(day),
            "hours": (usage.hours_at(number, day) - zero[number]).round(1),
        }
    )
    readings = pd.concat([tables["meter_readings"], make_table(more, INPUTS["meter_readings"])])
    tables["meter_readings"] = readings.drop_duplicates(["machine", "read_on"], ignore_index=True)
    stock = tables["parts"][["part"]].merge(tables["sites"][["site"]], how="cross")
    tables["stock"] = make_table(stock.assign(on_hand=EVERYTHING_ON_HAND), INPUTS["stock"])
    return tables


def _dates(days: pd.Series | np.ndarray) -> np.ndarray:
    """Dates of days after DAY_ZERO; NaT where there is none."""
    return (pd.Timestamp(DAY_ZERO) + pd.to_timedelta(pd.Series(np.asarray(days, float)), unit="D")).to_numpy()
