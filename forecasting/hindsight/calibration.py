"""Whether chances come true: the line between chances and failures, and what failed of each band."""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from statsmodels.genmod.families import Binomial
from statsmodels.genmod.generalized_linear_model import GLM
from statsmodels.stats.proportion import proportion_confint

from ..tables import Table, number, table, whole

LEAST_EVENTS = 10  # failures, and as many that lasted: common practice for one slope, no source
BAND_EDGES = (0.0, 0.01, 0.02, 0.05, 0.1, 0.2, 0.3, 0.5, 0.75, 1.0)

BANDS: Table = table(
    "bands",
    "one row per horizon and band of chances in which an assembly fell; past dates together",
    ("horizon_days", "chance_from"),
    whole("horizon_days", unit="d"),
    number("chance_from"),
    number("chance_to", may_be_empty=False),
    whole("assemblies", "each once for every past date"),
    number("expected", "the sum of their chances", may_be_empty=False),
    whole("failed", "while watched"),
    whole("taken_out", "lost from sight before the horizon was over"),
    number("failed_of_all", "as many as would have failed, had all been watched; empty: none was to the end"),
    number("share_low", "of the share that failed, were hoses and past dates independent: 4 times in 5"),
    number("share_high"),
)


@dataclass(frozen=True, slots=True)
class Line:
    """logit P(failed) = intercept + slope · logit(chance): 0 and 1 where chances come true.

    A slope below 1: chances too far from each other. An intercept below 0, at slope 1: chances too high.
    Both NaN where there is no line; `reason` then says why.
    """

    slope: float = float("nan")
    intercept: float = float("nan")
    reason: str = ""


def regress(chance: np.ndarray, failed: np.ndarray, weights: np.ndarray) -> Line:
    """The calibration line of chances within (0, 1), rows of weight 0 left out.

    Source: Cox, "Two further applications of a model for binary regression", Biometrika 45 (1958).
    """
    known = weights > 0
    chance, failed, weights = chance[known], failed[known], weights[known]
    failures, lasted = int(failed.sum()), int((~failed).sum())
    if min(failures, lasted) < LEAST_EVENTS:
        return Line(
            reason=f"{failures} failed and {lasted} lasted; a calibration line needs {LEAST_EVENTS} of each"
        )
    logit = np.log(chance) - np.log1p(-chance)
    if np.ptp(logit) < 1e-6:
        return Line(reason="all were given the same chance, which leaves no slope to see")
    if logit[failed].min() >= logit[~failed].max() or logit[failed].max() <= logit[~failed].min():
        return Line(
            reason="chances part those that failed from those that lasted, so no finite slope fits best"
        )
    line = np.column_stack([np.ones(len(logit)), logit])
    intercept, slope = GLM(failed.astype(float), line, family=Binomial(), var_weights=weights).fit().params
    return Line(float(slope), float(intercept))


def band_rows(chance: np.ndarray, failed: np.ndarray, weights: np.ndarray, horizon_days: int) -> pd.DataFrame:
    """What one forecast puts into each band at one horizon: sums that `add_bands` adds up."""
    edges = np.array(BAND_EDGES)
    band = np.clip(np.searchsorted(edges, chance, side="right") - 1, 0, len(edges) - 2)
    return (
        pd.DataFrame(
            {
                "horizon_days": horizon_days,
                "chance_from": edges[band],
                "chance_to": edges[band + 1],
                "assemblies": 1,
                "expected": chance,
                "failed": failed.astype(int),
                "taken_out": (weights == 0).astype(int),
                "weight": weights,
                "failed_weight": weights * failed,
            }
        )
        .groupby(["horizon_days", "chance_from", "chance_to"], as_index=False)
        .sum()
    )


def add_bands(rows: list[pd.DataFrame]) -> pd.DataFrame:
    """BANDS of all that `band_rows` gave; the range of a share is Wilson's (JASA 22, 1927)."""
    if not rows:
        return pd.DataFrame()
    added = pd.concat(rows).groupby(["horizon_days", "chance_from", "chance_to"], as_index=False).sum()
    share = added["failed_weight"] / added["weight"].where(added["weight"] > 0)
    watched = (added["assemblies"] - added["taken_out"]).where(share.notna())
    low, high = proportion_confint(share * watched, watched, alpha=0.2, method="wilson")
    return added.assign(failed_of_all=share * added["assemblies"], share_low=low, share_high=high)


def tell_bands(bands: pd.DataFrame, horizon_days: int) -> list[str]:
    """A sentence for each band of BANDS at a horizon, lowest chances first."""
    told = []
    for row in bands[bands["horizon_days"] == horizon_days].itertuples():
        many = f"{row.assemblies:,} {'assembly' if row.assemblies == 1 else 'assemblies'}"
        said = (
            f"Of {many} given {_percent(row.chance_from)}–{_percent(row.chance_to)} %, {row.failed:,} failed"
        )
        if row.taken_out:
            said += f" and {row.taken_out:,} were taken out ahead or lost from sight"
        if round(np.nan_to_num(row.failed_of_all)) > row.failed:
            said += f", as if {row.failed_of_all:,.0f} of all had failed"
        told.append(f"{said}; {row.expected:,.1f} were expected.")
    return told


def _percent(share: float) -> str:
    return f"{share * 100:g}"
