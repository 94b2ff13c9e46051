"""Whether failures come closer together with the hours machines run: of the fleet, of each machine model.

A machine is watched from the day on which its site's register and its own hoses are both there until the
as-of date or its last removal; what befell it before, nobody knows, and it counts nowhere. A failure is a
removal as `failed` or `worn`, as in all else here.
"""

import numpy as np
import pandas as pd
from scipy import stats
from statsmodels.stats.multitest import multipletests

from ..ahead.suspects import FALSE_DISCOVERIES
from ..hours.usage import Usage
from .repairs import Watch

WATCHED_AT_ONCE = 5  # fewer do not tell how machines differ; from here on 95 % hold, as a test simulates
SPANS = 5  # of machine hours, or one or two more where their edges are round


def tell_trends(lives: pd.DataFrame, usage: Usage) -> list[dict]:
    """Of all machines, then of each machine model by name: scope, what `Watch.trend` says, and spans.

    A trend that chance makes too is `none`: p_value is put right for the number of models (Benjamini &
    Hochberg 1995, as for suspects). A span of machine hours has from_hours, until_hours, machines, failures,
    per_1000_hours (failures of one machine) and its 95 % interval low, high: None where nothing failed or
    fewer than WATCHED_AT_ONCE were watched.
    """
    watched, model = _watch(lives, usage)
    if not len(watched.begin):
        return []
    scopes = {"all": watched}
    for name in sorted(model.dropna().unique()):
        scopes[f"machine_model:{name}"] = watched.of(model.eq(name).to_numpy(bool))
    trends = [{"scope": scope} | watch.trend() | {"spans": _spans(watch)} for scope, watch in scopes.items()]
    for family in (trends[:1], trends[1:]):
        tested = [one for one in family if one["p_value"] is not None]
        if not tested:
            continue
        p_values = [one["p_value"] for one in tested]
        for one, p_value in zip(tested, multipletests(p_values, method="fdr_bh")[1], strict=True):
            one["p_value"] = float(p_value)
            if p_value > FALSE_DISCOVERIES:
                one["trend"] = "none"
    return trends


def _watch(lives: pd.DataFrame, usage: Usage) -> tuple[Watch, pd.Series]:
    """What was watched of each machine that ran meanwhile, and its model."""
    seen = lives[lives["exit_days"] > lives["entry_days"]]
    since = seen["ended_on"] - pd.to_timedelta(seen["age_days"] - seen["entry_days"], unit="D")
    machines = (
        seen.assign(since=since)
        .groupby("machine", sort=True)
        .agg(model=("machine_model", "first"), since=("since", "min"), until=("ended_on", "max"))
        .reset_index()
    )
    machines["begin"], machines["end"] = (
        usage.hours_at(machines["machine"], machines[day].to_numpy()) for day in ("since", "until")
    )
    machines = machines[machines["end"] > machines["begin"]].reset_index(drop=True)
    failed = seen[(seen["end"] != "watched") & seen["machine"].isin(machines["machine"])]
    return Watch.through(
        machines["begin"].to_numpy(),
        machines["end"].to_numpy(),
        pd.Index(machines["machine"]).get_indexer(failed["machine"]),
        usage.hours_at(failed["machine"], failed["ended_on"].to_numpy()),
    ), machines["model"]


def _spans(watch: Watch) -> list[dict]:
    """The spans of `tell_trends`, their edges at round hours; none in which nobody watched."""
    least = (watch.end.max() - watch.begin.min()) / SPANS
    power = 10.0 ** np.floor(np.log10(least))
    step = power * next(one for one in (1, 2, 5, 10) if one * power >= least)
    first = np.floor(watch.begin.min() / step) * step
    counted = watch.mean_count(np.arange(first, watch.end.max() + step, step))
    spans = []
    for one in counted[counted["watched_hours"] > 0].itertuples():
        rate = 1000 * one.mean / one.watched_hours
        low, high = None, None
        if one.at_once >= WATCHED_AT_ONCE:
            # That each of them failed once is no proof that it must: no narrower than by chance alone. Of
            # the logarithm, so that no bound is below zero; Student's, as machines are few.
            se = max(one.se, one.se_poisson)
            off = float(np.exp(stats.t.ppf(0.975, one.at_once - 1) * se / one.mean))
            low, high = rate / off, rate * off
        spans.append(
            {
                "from_hours": one.from_hours,
                "until_hours": one.until_hours,
                "machines": one.machines,
                "failures": one.failures,
                "per_1000_hours": rate,
                "low": low,
                "high": high,
            }
        )
    return spans
