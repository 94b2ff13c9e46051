"""How far counts of failures swung from what was expected of them: what befalls all of a scope together.

A bad year, a heavy season or a change of habits moves all assemblies of a scope at once; neither the chance
of each nor what is unknown of the law holds that. It is read off the register's own past: on up to four dates
the lives as they stood then are forecast, and the failures that came in the time after are held against those
expected. What counts differ by, beyond chance, is the variance of a multiplier with mean one that a scope's
hazards share, so that each count is negative binomial.

The law is today's, not one fitted anew on each date: fitting costs more than all the rest of this. It has
seen the failures it is held against, so the level of each scope agrees of itself; therefore that level is
summed out and only what dates differ by among themselves is counted. How well the level is known is in the
parameter draws. Ages, positions' luck and the usage to come are those known on each date.
Source: Lawless, "Negative binomial and mixed Poisson regression", Canadian Journal of Statistics 15 (1987).
"""

from dataclasses import dataclass, field, replace
from datetime import date, timedelta

import numpy as np
import pandas as pd
from scipy import special

from ..ahead.counts import SCOPE_KINDS
from ..ahead.forecasts import LEAST_DRAWS, Forecaster
from ..life.life_model import FEW_FAILURES, LifeModel
from ..life.standing import Standing
from ..wording import gettext as _
from ..wording import ngettext
from .scoring import outcomes_after

SPAN_DAYS = (365, 180, 90)  # the longest of which two have passed since the register began
ORIGINS = 4
SAMPLE_LIVES = 20_000  # of a larger fleet, the machines of about so many lives are looked at
PRIOR_SD = (
    0.1  # mean of the exponential prior on the multiplier's sd, most likely none: our judgment, no source
)
SD_GRID = np.linspace(0.0, 1.0, 101)
LEVEL_SD = 1.0  # of the log of a scope's level, which is summed out
LEVEL_STEPS = np.linspace(-4.0, 4.0, 17)
LEAST_VARIANCE = 1e-9


@dataclass(frozen=True)
class PastCounts:
    """What past dates told of counts.

    `cells` has one row per date, kind of scope and scope: kind, scope, as_of, observed, expected; none where
    too few failed. `variances` is that of the shared multiplier, by kind of scope; empty where too little was
    seen: `reason` says why, and `otherwise` what the intervals then rest on.
    """

    cells: pd.DataFrame
    span_days: int = 0
    variances: dict[str, float] = field(default_factory=dict)
    reason: str = ""
    otherwise: str = "parameter_draws"

    @property
    def basis(self) -> str:
        """What the intervals of counts rest on: past_dates, bootstrap or parameter_draws."""
        return "past_dates" if self.variances else self.otherwise

    def report(self) -> dict:
        """What report.json says of the intervals of counts: their basis, dates, and shared spread."""
        dates = sorted(self.cells["as_of"].unique()) if len(self.cells) else []
        return {
            "basis": self.basis,
            "dates": [str(day) for day in dates] if self.variances else [],
            "span_days": self.span_days if self.variances else None,
            "shared_sd_percent": {
                kind: round(100 * float(np.sqrt(one)), 1) for kind, one in self.variances.items()
            },
            "reason": self.reason,
        }


def look_back(
    tables: dict[str, pd.DataFrame], lives: pd.DataFrame, model: LifeModel, as_of: date
) -> PastCounts:
    """What counts of the past tell of those to come.

    `tables` are those known on `as_of`, `lives` LIVES of them and `model` their law. Fewer than
    FEW_FAILURES, or a register too young for two dates, tell nothing: the intervals then rest on the
    parameter draws, in which the prior stands for what was not seen; of few failures these are bootstrapped.
    """
    otherwise = "bootstrap" if model.bootstrapped else "parameter_draws"
    nothing = pd.DataFrame(columns=["kind", "scope", "as_of", "observed", "expected"])
    span_days, origins = past_origins(lives, as_of)
    if not origins:
        return PastCounts(
            nothing, reason=_("The register is too young to look back on two dates."), otherwise=otherwise
        )
    tables, lives = _sample(tables, lives, np.random.default_rng(model.seed))
    outcomes = {origin: outcomes_after(lives, pd.Timestamp(origin)) for origin in origins}
    failures = sum(int(_failed_within(span_days, one).sum()) for one in outcomes.values())
    if failures < FEW_FAILURES:  # before the forecasts of the past, which take long
        reason = ngettext(
            "Only %(failures)s failure came after the dates looked back on; %(needed)s are needed.",
            "Only %(failures)s failures came after the dates looked back on; %(needed)s are needed.",
            failures,
        ) % {"failures": failures, "needed": FEW_FAILURES}
        return PastCounts(nothing, span_days, reason=reason, otherwise=otherwise)
    few = replace(model, draws=model.draws[:LEAST_DRAWS])
    cells = pd.concat([_counted(tables, told, few, origin, span_days) for origin, told in outcomes.items()])
    told = {kind: shared_variance(of_kind) for kind, of_kind in cells.groupby("kind")}
    # What moves the whole fleet moves each part of it.
    return PastCounts(cells, span_days, {kind: max(one, told["all"]) for kind, one in told.items()})


def past_origins(lives: pd.DataFrame, as_of: date) -> tuple[int, list[date]]:
    """How many days are counted from each past date, and the dates: none where not two fit in."""
    watched = lives[lives["exit_days"] > lives["entry_days"]]
    if watched.empty:
        return 0, []
    began_on = watched["ended_on"] - pd.to_timedelta(watched["exit_days"] - watched["entry_days"], unit="D")
    known_days = (pd.Timestamp(as_of) - began_on.min()).days
    for span in SPAN_DAYS:
        if known_days >= 2 * span:
            many = min(known_days // span, ORIGINS)
            return span, [as_of - timedelta(days=span * back) for back in range(many, 0, -1)]
    return 0, []


def _sample(tables, lives, rng) -> tuple[dict[str, pd.DataFrame], pd.DataFrame]:
    """The tables and lives of some machines, drawn at random, where there are many."""
    if len(lives) <= SAMPLE_LIVES:
        return tables, lives
    machines = lives["machine"].drop_duplicates()
    taken = machines[rng.random(len(machines)) < SAMPLE_LIVES / len(lives)]
    some = {
        name: frame[frame["machine"].isin(taken)].reset_index(drop=True) if "machine" in frame else frame
        for name, frame in tables.items()
    }
    return some, lives[lives["machine"].isin(taken)].reset_index(drop=True)


def _failed_within(span_days: int, outcomes: pd.DataFrame) -> np.ndarray:
    failed = outcomes["failed"].fillna(False).to_numpy(bool)
    return failed & (outcomes["watched_days"] <= span_days).to_numpy(bool)


def _counted(tables, outcomes, model: LifeModel, origin: date, span_days: int) -> pd.DataFrame:
    """Failures that came and were expected of each scope while watched, within the span from `origin`."""
    forecaster = Forecaster(model, Standing.on(tables, origin).lives)
    then = forecaster.installed
    told = outcomes.set_index("assembly").reindex(then["assembly"])
    watched = told["watched_days"].fillna(0.0).clip(upper=span_days).to_numpy(float)
    failed = _failed_within(span_days, told)
    # Of a hazard passed through, failures less it are zero on average, whatever ended the watching.
    counts = then[[kind for kind in SCOPE_KINDS if kind != "all"]].assign(
        all="all", observed=failed.astype(float), expected=forecaster.hazards(watched)
    )
    told = [
        counts.groupby(kind)[["observed", "expected"]]
        .sum()
        .rename_axis("scope")
        .reset_index()
        .assign(kind=kind)
        for kind in SCOPE_KINDS
    ]
    return pd.concat(told).assign(as_of=origin)


def shared_variance(cells: pd.DataFrame) -> float:
    """The likeliest variance of the multiplier that all counts of a scope share on a date.

    `cells`: scope, observed and expected, one row per scope and date. The prior most believes in none.
    """
    cells = cells[cells["expected"] > 0]
    numbers, scopes = pd.factorize(cells["scope"])
    if not len(scopes):
        return 0.0
    observed, expected = cells["observed"].to_numpy(), cells["expected"].to_numpy()
    dates = np.bincount(numbers)
    seen, due = (np.bincount(numbers, weights=one) for one in (observed, expected))
    posterior = [-sd / PRIOR_SD for sd in SD_GRID]
    for place, sd in enumerate(SD_GRID):
        variance = max(sd**2, LEAST_VARIANCE)
        width = np.sqrt(1 / (seen + 1) + variance / dates)
        level = np.log((seen + 0.5) / (due + 0.5)) + width * LEVEL_STEPS[:, None]
        mean = expected * np.exp(level)[:, numbers]
        each = _log_negative_binomial(observed, mean, variance)
        by_scope = np.stack([np.bincount(numbers, weights=one) for one in each])
        believed = by_scope - (level / LEVEL_SD) ** 2 / 2 + np.log(width)
        posterior[place] += special.logsumexp(believed, axis=0).sum()
    return float(SD_GRID[int(np.argmax(posterior))] ** 2)


def _log_negative_binomial(observed: np.ndarray, mean: np.ndarray, variance: float) -> np.ndarray:
    """Log chance of a Poisson count whose mean is multiplied by a gamma of mean one and this variance.

    Without log(observed!), which no variance moves. The product form is steady where the variance is small:
    Γ(x + 1/v) / Γ(1/v) · v^x = Π (1 + v·j), j from 0 to x − 1.
    """
    rising = np.array([np.log1p(variance * np.arange(int(one))).sum() for one in observed])
    return rising + observed * np.log(mean) - (observed + 1 / variance) * np.log1p(variance * mean)
