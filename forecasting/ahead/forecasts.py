"""Chances of failing for what is installed, given the age each assembly has reached.

    p(t) = mean over draws and luck of 1 − exp(−z·[B(t) − B(0)] − [E(t) − E(0)])

B wear and ageing, E early failure, z the luck of the position, by its posterior given all its lives. A draw
holds a parameter vector of the posterior and, for each machine, a usage to come. All figures come of the same
draws, so that counts, chances and curves agree.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import cached_property, partial

import numpy as np
import pandas as pd
from scipy.interpolate import PchipInterpolator

from ..hours.to_come import UsageToCome
from ..life.laws import Laws, early_of
from ..life.life_model import LifeModel
from ..life.likelihood import PlaceBlock
from ..life.luck import Luck
from ..outputs import FORECASTS
from ..tables import make_table
from .factors import tell_factors

HORIZONS = (30, 90, 180, 365)
MEDIAN_WITHIN_DAYS = 3650.0  # a median life left beyond ten years is not told
INTERVAL = (0.1, 0.9)  # four in five; of whatever is told with a range, but where a table says otherwise
# Chances are computed on these days and drawn smoothly between them (log of −log survival on log of days).
KNOT_DAYS = np.union1d(np.geomspace(1, 21_900, 20).round(), HORIZONS)
HORIZON_KNOTS = np.searchsorted(KNOT_DAYS, HORIZONS)
DRAWS_FOR = ((5_000, 200), (50_000, 60))  # up to so many assemblies, so many draws; beyond, LEAST_DRAWS
LEAST_DRAWS = 16  # what is not known of a law fitted to so many lives is little
FRESH_DRAWS = 64  # by which the successors of some may be followed one draw at a time
BLOCK = 8192  # assemblies drawn at once
WHEN_DUE = ["due_on", "due_reason", "limit_on", "limit_reason"]  # the columns that `stops.due` fills
IN_CACHE = 512  # assemblies whose luck is mixed at once
SMALLEST = 1e-300
USAGE_COLUMNS = ("hours_per_day", "hours_per_day_sd", "hours_per_day_noise", "hours_per_day_drift")


@dataclass(frozen=True)
class Part:
    """The installed assemblies of a block of positions: which rows of it, and which of `installed`."""

    block: PlaceBlock
    beginnings: np.ndarray | None
    rows: np.ndarray
    installed: np.ndarray
    age_hours: np.ndarray
    age_days: np.ndarray
    machine: np.ndarray

    def some(self, kept: np.ndarray) -> "Part":
        """Those `kept` (bool) of its assemblies."""
        return replace(
            self,
            rows=self.rows[kept],
            installed=self.installed[kept],
            age_hours=self.age_hours[kept],
            age_days=self.age_days[kept],
            machine=self.machine[kept],
        )


@dataclass(frozen=True)
class Ahead:
    """Hazards ahead of the assemblies of a part under one draw, one row each and one column a day."""

    lasting: np.ndarray
    early: np.ndarray
    posterior: np.ndarray  # value of luck × assembly
    luck: Luck

    def survival(self) -> np.ndarray:
        """Mixed over the luck of each position."""
        mixed = np.exp(-self.early)
        for first in range(0, len(mixed), IN_CACHE):
            rows = slice(first, first + IN_CACHE)
            lasting, kept = self.lasting[rows], np.zeros(mixed[rows].shape)
            one = np.empty_like(kept)
            for value, chance in zip(self.luck.values, self.posterior[:, rows, None], strict=True):
                np.exp(np.multiply(lasting, -value, out=one), out=one)
                kept += np.multiply(one, chance, out=one)
            mixed[rows] *= kept
        return mixed


class Forecaster:
    """What the model says of the assemblies now installed; every array is in the order of `installed`."""

    def __init__(self, model: LifeModel, lives: pd.DataFrame):
        self.model = model
        self._lives = lives
        self._likelihood, self._seen = model.observe(lives)
        here = lives["installed"].to_numpy(bool)
        self.installed = lives[here].reset_index(drop=True)
        size = len(self.installed)
        count = next((draws for most, draws in DRAWS_FOR if size <= most), LEAST_DRAWS)
        self._thetas = model.draws[:count]
        machines, self._machine = np.unique(self.installed["machine"].to_numpy(str), return_inverse=True)
        usage = np.zeros((len(USAGE_COLUMNS), len(machines)))
        for of_machine, column in zip(usage, USAGE_COLUMNS, strict=True):
            of_machine[self._machine] = self.installed[column]
        rng = np.random.default_rng(model.seed)
        self._luck_levels = (rng.permutation(count) + 0.5) / count  # first: however many machines there are
        self._usage = UsageToCome.draw(usage[0], usage[1], usage[2], usage[3], count, rng)
        self._parts = list(self._split(here))

    def _split(self, here: np.ndarray):
        number = np.where(here, np.cumsum(here) - 1, -1)[self._seen.order]
        first = 0
        for block in self._likelihood.blocks:
            of_rows = number[first : first + len(block.rows)]
            first += len(block.rows)
            rows = np.flatnonzero(of_rows >= 0)
            installed = of_rows[rows]
            yield Part(
                block,
                self._likelihood.of_block(block),
                rows,
                installed,
                self.installed["age_hours"].to_numpy()[installed],
                self.installed["age_days"].to_numpy()[installed],
                self._machine[installed],
            )

    def survival(self, days: np.ndarray) -> np.ndarray:
        """Chance, one row an assembly and one column a day, to be unfailed so many days from now."""
        return _between_knots(self._ahead.curve, days)

    def fresh_survival(self, days: np.ndarray) -> np.ndarray:
        """The same of a new assembly in the same position, counted from its installation."""
        return _between_knots(self._fresh, days)

    def fresh_draws(self, rows: np.ndarray) -> Iterator[Callable[[np.ndarray], np.ndarray]]:
        """The same of the assemblies `rows` alone, one function of the days for each draw."""
        place = np.full(len(self.installed), -1)
        place[rows] = np.arange(len(rows))
        parts = [part.some(place[part.installed] >= 0) for part in self._parts]
        for draw in range(min(self.draws, FRESH_DRAWS)):
            survival = np.empty((len(rows), len(KNOT_DAYS)))
            for part in parts:
                survival[place[part.installed]] = self._look(part, draw, KNOT_DAYS, fresh=True).survival()
            yield partial(_between_knots, survival)

    def chance_draws(self, days: float, draws: int) -> np.ndarray:
        """Chance of failing within `days`, one row a draw and one column an assembly."""
        if float(days) in HORIZONS:
            chances = self._ahead.chances[HORIZONS.index(int(days))]
        else:
            chances = np.empty((self.draws, len(self.installed)), dtype=np.float32)
            for part in self._parts:
                for draw in range(min(draws, self.draws)):
                    ahead = self._look(part, draw, np.array([float(days)]))
                    chances[draw, part.installed] = 1 - ahead.survival()[:, 0]
        return chances[np.arange(draws) % self.draws].astype(float)

    def hazards(self, days: np.ndarray) -> np.ndarray:
        """The cumulative hazard, one an assembly, that each passes through within its own number of days."""
        survival = np.zeros(len(self.installed))
        for part in self._parts:
            own = days[part.installed, None]
            for draw in range(self.draws):
                survival[part.installed] += self._look(part, draw, own).survival()[:, 0] / self.draws
        return -np.log(np.maximum(survival, SMALLEST))

    @property
    def draws(self) -> int:
        """How many draws stand behind the chances: ask `chance_draws` for as many to have their mean."""
        return len(self._thetas)

    def table(self) -> pd.DataFrame:
        """FORECASTS, one row per installed assembly; what `stops.due` tells is not there."""
        chances = 1 - self._ahead.curve[:, HORIZON_KNOTS]
        low, high = self._ahead.interval
        told = self.installed[
            ["assembly", "machine", "position", "population", "age_days", "age_hours"]
        ].assign(
            **{f"p_fail_{horizon}d": chances[:, i] for i, horizon in enumerate(HORIZONS)},
            p_fail_365d_low=np.minimum(low, chances[:, -1]),
            p_fail_365d_high=np.maximum(high, chances[:, -1]),
            median_days_left=_median_days(self._ahead.curve),
            due_reason="none",
        )
        return make_table(told, FORECASTS).drop(columns=WHEN_DUE)

    def factors(self) -> pd.DataFrame:
        """FACTORS, one row per assembly and factor, heaviest first within an assembly."""
        return tell_factors(self.model, self._lives, self._likelihood, self._seen)

    def _look(self, part: Part, draw: int, days: np.ndarray, fresh: bool = False) -> Ahead:
        theta, layout = self._thetas[draw], self.model.layout
        luck = Luck.of(theta, layout)
        rows = part.block.rows.some(part.rows)
        laws = Laws.of(theta, layout, rows.of_unknown_build() if fresh else rows)
        if fresh and laws.early is not None:
            share = np.full(len(rows), self._early_shares[draw])
            laws = replace(laws, early=replace(laws.early, share=share))
        laws = laws.widened()
        posterior = part.block.posterior(theta, part.beginnings)[:, part.block.local[part.rows]]
        more = self._usage.hours(draw, part.machine, days)
        if fresh:
            return Ahead(laws.lasting(more, np.atleast_2d(days)), laws.of_early(more), posterior, luck)
        hours, age = part.age_hours[:, None], part.age_days[:, None]
        lasting = laws.lasting(hours + more, age + days) - laws.lasting(hours, age)
        early = laws.of_early(hours + more) - laws.of_early(hours)
        return Ahead(np.maximum(lasting, 0.0), np.maximum(early, 0.0), posterior, luck)

    @cached_property
    def _early_shares(self) -> np.ndarray:
        """The share of early failures among successors under each draw.

        Who will crimp them, and of which lot, is not known: they are built as those now installed were. That
        is more than an ordinary bench and lot let fail, for the worst make most of the early failures.
        """
        shares = np.zeros(self.draws)
        for draw in range(len(shares)):
            for part in self._parts:
                rows = part.block.rows.some(part.rows)
                early = early_of(self._thetas[draw], self.model.layout, rows)
                shares[draw] += 0.0 if early is None else early.share.sum()
        return shares / max(len(self.installed), 1)

    @cached_property
    def _fresh(self) -> np.ndarray:
        """Survival of successors on KNOT_DAYS, by the same draws as that of what is installed.

        The two are weighed against each other: by fewer draws, which lie far apart where little is known, a
        new hose seemed worse than the next one and was due on its first day. 4,500 hoses take 2 s instead
        of .1 s.
        """
        survival = np.zeros((len(self.installed), len(KNOT_DAYS)))
        for part in self._parts:
            for draw in range(self.draws):
                survival[part.installed] += self._look(part, draw, KNOT_DAYS, fresh=True).survival()
        return survival / self.draws

    @cached_property
    def _ahead(self) -> "Curves":
        size = len(self.installed)
        curve = np.zeros((size, len(KNOT_DAYS)))
        chances = np.zeros((len(HORIZONS), self.draws, size), dtype=np.float32)
        interval = np.zeros((len(INTERVAL), size))
        for part in self._parts:
            year = np.empty((self.draws, len(part.rows)))
            for draw in range(self.draws):
                ahead = self._look(part, draw, KNOT_DAYS)
                survival = ahead.survival()
                curve[part.installed] += survival
                chances[:, draw, part.installed] = 1 - survival[:, HORIZON_KNOTS].T
                own = ahead.luck.quantile(ahead.posterior, self._luck_levels[draw])
                last = HORIZON_KNOTS[-1]
                year[draw] = -np.expm1(-own * ahead.lasting[:, last] - ahead.early[:, last])
            interval[:, part.installed] = np.quantile(year, INTERVAL, axis=0)
        return Curves(curve / self.draws, chances, interval)


@dataclass(frozen=True)
class Curves:
    """Of each installed assembly: survival on KNOT_DAYS, chances by horizon and draw, limits of a year's."""

    curve: np.ndarray
    chances: np.ndarray
    interval: np.ndarray


def _median_days(survival: np.ndarray) -> np.ndarray:
    """Days until half would have failed; NaN beyond MEDIAN_WITHIN_DAYS."""
    log_hazard = _log_hazard(survival)
    half = np.log(np.log(2))
    after = np.argmax(log_hazard >= half, axis=1)
    reached = (log_hazard >= half).any(axis=1)
    before = np.maximum(after - 1, 0)
    row = np.arange(len(after))
    low, high = log_hazard[row, before], log_hazard[row, after]
    share = np.where(high > low, (half - low) / np.where(high > low, high - low, 1.0), 1.0)
    log_days = np.log(KNOT_DAYS)
    days = np.exp(log_days[before] + np.clip(share, 0, 1) * (log_days[after] - log_days[before]))
    return np.where(reached & (days <= MEDIAN_WITHIN_DAYS), days, np.nan)


def _log_hazard(survival: np.ndarray) -> np.ndarray:
    return np.log(np.maximum(-np.log(np.maximum(survival, SMALLEST)), SMALLEST))


def _between_knots(survival: np.ndarray, days: np.ndarray) -> np.ndarray:
    """Survival on any days from that on KNOT_DAYS: even within the first day, past the last by its slope."""
    days = np.asarray(days, dtype=float)
    log_days = np.log(np.clip(days, KNOT_DAYS[0], KNOT_DAYS[-1]))
    beyond = np.log(np.maximum(days, KNOT_DAYS[-1]) / KNOT_DAYS[-1])
    within_first = np.clip(days, 0.0, KNOT_DAYS[0]) / KNOT_DAYS[0]
    knots = np.log(KNOT_DAYS)
    drawn = np.empty((len(survival), len(days)))
    for first in range(0, len(survival), BLOCK):
        rows = slice(first, first + BLOCK)
        log_hazard = _log_hazard(survival[rows])
        slope = (log_hazard[:, -1] - log_hazard[:, -2]) / (knots[-1] - knots[-2])
        at_days = PchipInterpolator(knots, log_hazard, axis=1)(log_days) + slope[:, None] * beyond
        with np.errstate(over="ignore"):
            drawn[rows] = np.exp(-np.exp(at_days) * within_first)
    return drawn
