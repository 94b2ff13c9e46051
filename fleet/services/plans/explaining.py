"""What the forecasts rest on, and how they were tried, for a reader who wants to judge them."""

import csv
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import numpy as np
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop
from scipy import special

from forecasting.hindsight.past_counts import PRIOR_SD
from forecasting.hours.usage import ESTIMATE_SPREAD, OWN_SPREAD
from forecasting.life.hazards import AT_LIFE
from forecasting.life.luck import LEMON_LEAST
from forecasting.life.observations import OTHER_REMOVALS_A_YEAR
from forecasting.life.priors import (
    AGE_HEAT,
    EFFECTS,
    FAULTS,
    NO_SOURCE,
    PRIORS,
    SPREADS,
    YEAR_DAYS,
    EffectPrior,
    Prior,
)
from forecasting.life.workmanship import USUAL_BAND_MM

FOUR_IN_FIVE = float(special.ndtri(0.9))  # standard deviations to either side
OUR_JUDGMENT = gettext_noop("our judgment, no source")
YEARS = gettext_noop("years")
HALF_WORN = float(np.log(2) / AT_LIFE)  # cumulative hazard when half are worn out, over that at the life
TRIED_FLEETS = Path(__file__).with_name("tried_fleets.csv")
TRIED_FIGURES = Path(__file__).with_name("tried_figures.csv")
SAVED_BY = ("share", "fixed_age", "knows_law")  # the plan's share, and those beside it
TRIED_COSTS = Path(__file__).with_name("tried_costs.csv")


@dataclass(frozen=True, slots=True)
class Assumption:
    """One belief that holds until the fleet's own record says otherwise, its figures to three digits.

    Four in five lie from `low` to `high`; both None where no range is given. `unit` may be empty.
    """

    words: str
    value: float
    low: float | None
    high: float | None
    unit: str
    source: str


# How a parameter of the law reads for a person, and its unit.
_READINGS: dict[str, tuple[Callable[[float], float], str]] = {
    "log_life": (lambda log: np.exp(log) * HALF_WORN ** (1 / np.exp(PRIORS["log_shape"].mean)), "h"),
    "log_shape": (np.exp, ""),
    "log_bend": (np.exp, ""),
    "log_age_life": (lambda log: np.exp(log) / YEAR_DAYS, YEARS),
    "log_age_shape": (np.exp, ""),
    "early": (lambda odds: 100 * special.expit(odds), "%"),
    "log_early_hours": (np.exp, "h"),
    "log_luck_sd": (lambda log: 100 * np.exp(log), "%"),
    "lemon_odds": (lambda odds: 100 * special.expit(odds), "%"),
    "log_lemon": (lambda log: LEMON_LEAST + np.exp(log), "×"),
    "log_removals_before": (np.exp, "×"),
}


def list_assumptions() -> dict[str, list[Assumption]]:
    """Every belief that the forecasts begin with, by what it is about, in the order in which to read them."""
    wear = [
        _of_effect(one, _("life is divided by this for a hose %(words)s") % {"words": _(one.words)})
        for one in EFFECTS
    ]
    ageing = _of_effect(
        AGE_HEAT,
        _("life by the calendar is divided by this for a hose %(words)s") % {"words": _(AGE_HEAT.words)},
    )
    builds = [
        _of_effect(
            one,
            _("the odds of an early failure are multiplied by this for a hose %(words)s")
            % {"words": _(one.words)},
        )
        for one in FAULTS
    ]
    groups = [
        Assumption(_(one.words), _rounded(np.exp(one.sd)), None, None, "×", _(NO_SOURCE))
        for one in SPREADS.values()
    ]
    return {
        _("The law of life"): [_of_parameter(name, prior) for name, prior in PRIORS.items()],
        _("What shortens a life"): [*wear, ageing],
        _("How it was built"): builds,
        _("How alike groups are"): groups,
        _("How the record is read"): [
            Assumption(
                _("removals that are no failure, of a hundred hoses in a year; weighs as one removal"),
                100 * OTHER_REMOVALS_A_YEAR,
                None,
                None,
                "%",
                _(NO_SOURCE),
            ),
            Assumption(
                _(
                    "a crimp further than this from its chart's diameter is off, where the "
                    "chart names no band"
                ),
                USUAL_BAND_MM,
                None,
                None,
                "mm",
                _(NO_SOURCE),
            ),
        ],
        _("How far hours and counts swing"): [
            _of_swing(_("quarters of a machine's work differ by this; weighs as one quarter"), OWN_SPREAD),
            _of_swing(_("the work of a machine that nobody reads may lie this far off"), ESTIMATE_SPREAD),
            _of_swing(
                _(
                    "failures of a whole site or fleet swing together by this from year to "
                    "year; none is the likeliest until past years say otherwise"
                ),
                PRIOR_SD,
            ),
        ],
    }


def _of_swing(words: str, share: float) -> Assumption:
    return Assumption(words, _rounded(100 * share), None, None, "%", _(OUR_JUDGMENT))


def _of_parameter(name: str, prior: Prior) -> Assumption:
    read, unit = _READINGS[name]
    off = FOUR_IN_FIVE * prior.sd
    low, value, high = (_rounded(read(prior.mean + one)) for one in (-off, 0.0, off))
    unit = _(unit) if unit == YEARS else unit
    return Assumption(_(prior.words), value, low, high, unit, _(prior.source))


def _of_effect(prior: EffectPrior, words: str) -> Assumption:
    off = FOUR_IN_FIVE * prior.spread
    low, value, high = (_rounded(np.exp(prior.usual * np.exp(one) * prior.step)) for one in (-off, 0.0, off))
    return Assumption(words, value, low, high, "×", _(prior.source))


def _rounded(value: float) -> float:
    return float(f"{value:.3g}")


@dataclass(frozen=True, slots=True)
class TriedFleets:
    """How the forecasts did in invented fleets of one kind.

    `skill`: what they gain in log loss over the plain regression, as a share of what one gains who knows the
    law; at least `aim` was aimed at. The others: failures expected over true ones at the horizon where that
    is furthest from 1; shares of count intervals, and of the intervals of single chances, that hold the
    truth, the last None where it was not measured.
    """

    kind: str
    fleets: int
    aim: float
    skill: float
    expected_over_true: float
    counts_80: float
    counts_95: float
    chances_80: float | None

    @property
    def short_of_aim(self) -> bool:
        return self.skill < self.aim


@dataclass(frozen=True, slots=True)
class TrialRun:
    """All kinds of one run of the benchmark, in the order of its table."""

    measured_on: date
    command: str
    kinds: list[TriedFleets]


@dataclass(frozen=True, slots=True)
class Saved:
    """What the plan saves against run to failure, of what one saves who knows the law and each luck.

    `fixed_age` is the share of the best single age, found in hindsight, `knows_law` that of one who knows the
    law and learns the luck from the register; at least `aim` was aimed at.
    """

    share: float
    fixed_age: float
    knows_law: float
    aim: float

    @property
    def short_of_aim(self) -> bool:
        return self.share < self.aim

    @property
    def behind_fixed_age(self) -> bool:
        return self.share < self.fixed_age


@dataclass(frozen=True, slots=True)
class TriedCosts:
    """What three years under the plan cost in invented fleets of one kind.

    `expected` is of what was to be expected, the hoses in place at the end counted, `paid` of what was paid
    till then. Counts are those of a fleet: failures in run to failure and under the plan, and changeouts.
    """

    kind: str
    fleets: int
    expected: Saved
    paid: Saved
    failures_if_left: float
    failures: float
    changed: float


@dataclass(frozen=True, slots=True)
class CostRun:
    """All kinds of one run of the benchmark of costs, in the order of its table."""

    measured_on: date
    command: str
    kinds: list[TriedCosts]


@dataclass(frozen=True, slots=True)
class TriedFigure:
    """Another figure of the benchmarks: what it tells, the figure, what was aimed at, and its command."""

    what: str
    figure: str
    aim: str
    command: str
    measured_on: date


def list_trial_runs() -> list[TrialRun]:
    """The runs of the skill benchmark that `tried_fleets.csv` holds, in its order."""
    runs: dict[tuple[date, str], list[TriedFleets]] = {}
    for row in _rows(TRIED_FLEETS):
        tried = TriedFleets(
            kind=row["kind"],
            fleets=int(row["fleets"]),
            aim=float(row["aim"]),
            skill=float(row["skill"]),
            expected_over_true=float(row["expected_over_true"]),
            counts_80=float(row["counts_80"]),
            counts_95=float(row["counts_95"]),
            chances_80=float(row["chances_80"]) if row["chances_80"] else None,
        )
        runs.setdefault((date.fromisoformat(row["measured_on"]), row["command"]), []).append(tried)
    return [TrialRun(measured_on, command, kinds) for (measured_on, command), kinds in runs.items()]


def list_cost_runs() -> list[CostRun]:
    """The runs of the benchmark of costs that `tried_costs.csv` holds, in its order."""
    runs: dict[tuple[date, str], list[TriedCosts]] = {}
    for row in _rows(TRIED_COSTS):
        expected, paid = (
            Saved(aim=float(row["aim"]), **{way: float(row[f"{name}_{way}"]) for way in SAVED_BY})
            for name in ("expected", "paid")
        )
        counts = (float(row[name]) for name in ("failures_if_left", "failures", "changed"))
        tried = TriedCosts(row["kind"], int(row["fleets"]), expected, paid, *counts)
        runs.setdefault((date.fromisoformat(row["measured_on"]), row["command"]), []).append(tried)
    return [CostRun(measured_on, command, kinds) for (measured_on, command), kinds in runs.items()]


def list_tried_figures() -> list[TriedFigure]:
    """The figures of `tried_figures.csv`, in its order."""
    return [
        TriedFigure(
            row["what"], row["figure"], row["aim"], row["command"], date.fromisoformat(row["measured_on"])
        )
        for row in _rows(TRIED_FIGURES)
    ]


def _rows(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))
