"""Whether chances come true: the line between chances and failures, and what failed of each band."""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from statsmodels.genmod.families import Binomial
from statsmodels.genmod.generalized_linear_model import GLM
from statsmodels.stats.proportion import proportion_confint

from ..tables import Table, number, table, whole
from ..wording import gettext as _
from ..wording import ngettext

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
            reason=_("%(failed)s failed and %(lasted)s lasted; a calibration line needs %(least)s of each")
            % {"failed": failures, "lasted": lasted, "least": LEAST_EVENTS}
        )
    logit = np.log(chance) - np.log1p(-chance)
    if np.ptp(logit) < 1e-6:
        return Line(reason=_("all were given the same chance, which leaves no slope to see"))
    if logit[failed].min() >= logit[~failed].max() or logit[failed].max() <= logit[~failed].min():
        return Line(
            reason=_("chances part those that failed from those that lasted, so no finite slope fits best")
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
        many = ngettext("%(n)s assembly", "%(n)s assemblies", row.assemblies)
        as_if = round(np.nan_to_num(row.failed_of_all)) > row.failed
        told.append(
            _band_form(bool(row.taken_out), as_if)
            % {
                "assemblies": many % {"n": f"{row.assemblies:,}"},
                "low": _percent(row.chance_from),
                "high": _percent(row.chance_to),
                "failed": f"{row.failed:,}",
                "taken_out": f"{row.taken_out:,}",
                "as_if": f"{row.failed_of_all:,.0f}",
                "expected": f"{row.expected:,.1f}",
            }
        )
    return told


def _band_form(taken_out: bool, as_if: bool) -> str:
    """The sentence of a band, where some were taken out or not, and had more failed of all or not."""
    if taken_out and as_if:
        return _(
            "Of %(assemblies)s given %(low)s–%(high)s %%, %(failed)s failed and %(taken_out)s were taken out "
            "ahead or lost from sight, as if %(as_if)s of all had failed; %(expected)s were expected."
        )
    if taken_out:
        return _(
            "Of %(assemblies)s given %(low)s–%(high)s %%, %(failed)s failed and %(taken_out)s were taken out "
            "ahead or lost from sight; %(expected)s were expected."
        )
    if as_if:
        return _(
            "Of %(assemblies)s given %(low)s–%(high)s %%, %(failed)s failed, as if %(as_if)s of all had "
            "failed; %(expected)s were expected."
        )
    return _("Of %(assemblies)s given %(low)s–%(high)s %%, %(failed)s failed; %(expected)s were expected.")


def _percent(share: float) -> str:
    return f"{share * 100:g}"
