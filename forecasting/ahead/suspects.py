"""Groups that fail more than the model expects of them: benches, lots, parts, designs, places, machines.

What a life was expected to fail is the hazard it was watched through, the luck of its position known only
from what that position had seen before: failures less that sum to zero in any innocent group, however luck
differs. The effects of benches and lots are left out where these are judged, so that a lot that is bad for
its bench is named and explained. Both the whole life and its beginning alone are
judged (bad workmanship shows early, and there little else does), the lesser p-value doubled; what is not
known of the expectation itself makes the count negative binomial. The false discovery rate is held within
each kind. Source: Benjamini & Hochberg (1995), as statsmodels computes it.
"""

import numpy as np
import pandas as pd
from scipy import stats
from statsmodels.stats.multitest import multipletests

from ..life.life_model import LifeModel
from ..outputs import SUSPECTS
from ..tables import make_table

FALSE_DISCOVERIES = 0.05
FEWEST_FAILURES = 3  # two failures of a group are a coincidence that no arithmetic makes a pattern
LEAST_RATIO = 1.25  # fewer more than expected are no case for a workshop to act on. Our judgment, no source
REST_WEIGHT = 5.0  # failures: how much the rest of a population must have failed to be believed over the law
EARLY_SPANS = 3.0  # mean times to an early failure: the beginning of a life, in which 95 in 100 of them come
COVERED = 0.8  # share of a group's failures that another holds, to be what explains it
INTERVAL = (0.025, 0.975)

COLUMNS = {
    "crimped_by": ("crimped_by",),
    "hose_lot": ("hose_lot",),
    "part": ("hose_part", "end_a_part", "end_b_part"),
    "design": ("design",),
    "machine": ("machine",),
    "position": ("machine", "position"),
    "machine_model": ("machine_model",),
}
OF_WORKSHOP = ("crimped_by", "hose_lot")  # kinds that the law has effects of


def find_suspects(lives: pd.DataFrame, model: LifeModel) -> pd.DataFrame:
    """SUSPECTS, one row per group named, worst first within its kind."""
    if (lives["end"] != "watched").sum() < FEWEST_FAILURES:
        return make_table(None, SUSPECTS)  # no group can have as many as one that is named
    members = {kind: _members(lives, kind) for kind in COLUMNS}
    likelihood, seen = model.observe(lives)

    def judged(theta: np.ndarray) -> pd.DataFrame:
        """Of each life: population, failures and those expected, in all and in its beginning."""
        failed = (lives["end"] != "watched").to_numpy(float)
        beginning = EARLY_SPANS * model.early_hours
        whole, early = (likelihood.expected(theta, within)[seen.row] for within in (np.inf, beginning))
        return lives[["population"]].assign(
            failed=failed,
            expected=whole,
            failed_early=failed * (lives["exit_hours"] <= beginning),
            expected_early=early,
            installed_now=lives["installed"].astype(int),
        )

    as_fitted, without_workshop = judged(model.fit.theta), judged(model.theta_without_groups(seen.rows))
    named = [
        _judge(kind, members[kind], without_workshop if kind in OF_WORKSHOP else as_fitted)
        for kind in COLUMNS
    ]
    named = [one for one in named if not one.empty]
    if not named:
        return make_table(None, SUSPECTS)
    suspects = pd.concat(named, ignore_index=True)
    suspects["explained_by"] = _explain(suspects, members, without_workshop)
    return make_table(suspects, SUSPECTS)


def _members(lives: pd.DataFrame, kind: str) -> pd.DataFrame:
    """One row per life and group of this kind that it belongs to: life (its row), name."""
    if kind == "position":
        name = lives["machine"] + "/" + lives["position"]
        return pd.DataFrame({"life": np.arange(len(lives)), "name": name.to_numpy()})
    belongs = [
        pd.DataFrame({"life": np.arange(len(lives)), "name": lives[column].to_numpy()})
        for column in COLUMNS[kind]
    ]
    return pd.concat(belongs, ignore_index=True).dropna().drop_duplicates(ignore_index=True)


def _judge(kind: str, members: pd.DataFrame, judged: pd.DataFrame) -> pd.DataFrame:
    """The groups of one kind that are named, with their figures."""
    if members["name"].nunique() < 2:
        return pd.DataFrame()  # a group that is the whole fleet has nothing to be held against
    rows = members.join(judged, on="life")
    groups = rows.groupby("name", sort=True).agg(
        lives=("life", "size"), installed_now=("installed_now", "sum"), failures=("failed", "sum")
    )
    p_values = []
    for part in ("", "_early"):
        expected, doubt = _expected(rows, judged, part)
        failures = rows.groupby("name", sort=True)[f"failed{part}"].sum()
        p_values.append(_chance_of_so_many(failures.to_numpy(), expected, doubt))
        if not part:
            groups["expected"], groups["doubt"] = expected, doubt
    groups["p_value"] = np.minimum(2 * np.minimum(*p_values), 1.0)
    groups = groups[groups["expected"] > 0].reset_index()
    if groups.empty:
        return groups
    failures = groups["failures"].round().astype(int)
    groups["q_value"] = multipletests(groups["p_value"], alpha=FALSE_DISCOVERIES, method="fdr_bh")[1]
    low, high = (stats.gamma.ppf(tail, failures + 0.5, scale=1 / groups["expected"]) for tail in INTERVAL)
    groups = groups.assign(
        kind=kind,
        failures=failures,
        ratio=failures / groups["expected"],
        ratio_low=low,
        ratio_high=high,
    )
    named = (groups["q_value"] <= FALSE_DISCOVERIES) & (failures >= FEWEST_FAILURES)
    named &= groups["ratio"] >= LEAST_RATIO
    return groups[named].sort_values(["q_value", "ratio"], ascending=[True, False], ignore_index=True)


def _expected(rows: pd.DataFrame, judged: pd.DataFrame, part: str) -> tuple[np.ndarray, np.ndarray]:
    """Failures expected of each group by name, put right by how the rest of each population fared, and the
    squared relative doubt of them."""
    columns = [f"failed{part}", f"expected{part}"]
    cells = rows.groupby(["name", "population"], sort=True)[columns].sum()
    whole = judged.groupby("population")[columns].sum()
    rest = whole.reindex(cells.index.get_level_values("population")).to_numpy() - cells.to_numpy()
    rest = rest.clip(min=0.0) + REST_WEIGHT
    right = cells[columns[1]] * rest[:, 0] / rest[:, 1]
    told = (
        pd.DataFrame({"right": right, "doubt": right**2 / rest[:, 0]}).groupby(level="name", sort=True).sum()
    )
    expected = told["right"].to_numpy()
    return expected, told["doubt"].to_numpy() / np.maximum(expected, 1e-12) ** 2


def _chance_of_so_many(failures: np.ndarray, expected: np.ndarray, doubt: np.ndarray) -> np.ndarray:
    """P(as many failures or more), the expectation known up to a gamma factor of variance `doubt`."""
    doubt = np.maximum(doubt, 1e-9)
    return stats.nbinom.sf(failures - 1, 1 / doubt, 1 / (1 + doubt * np.maximum(expected, 1e-12)))


def _explain(
    suspects: pd.DataFrame, members: dict[str, pd.DataFrame], judged: pd.DataFrame
) -> list[str | None]:
    """For each suspect the other suspect that accounts for it, as `kind name`, or nothing.

    Another accounts for it when it holds most of the group's failures and, of the two, the stronger evidence,
    and what is left of the group outside it is not above expectation.
    """
    lives_of = [
        np.unique(members[kind].loc[members[kind]["name"] == name, "life"])
        for kind, name in zip(suspects["kind"], suspects["name"], strict=True)
    ]
    failed, expected = judged["failed"].to_numpy(), judged["expected"].to_numpy()
    explained: list[str | None] = []
    for one, own in enumerate(lives_of):
        best, best_q = None, np.inf
        for other, others in enumerate(lives_of):
            if suspects["kind"].iloc[other] == suspects["kind"].iloc[one]:
                continue
            inside, outside = np.intersect1d(own, others), np.setdiff1d(own, others)
            q = suspects["q_value"].iloc[other]
            covers = failed[inside].sum() >= COVERED * failed[own].sum()
            quiet_outside = (
                stats.poisson.sf(failed[outside].sum() - 1, max(expected[outside].sum(), 1e-9)) > 0.05
            )
            # Two names for the same rows explain each other; only the one with less evidence is explained.
            stronger = (q, other) < (suspects["q_value"].iloc[one], one)
            if covers and quiet_outside and stronger and q < best_q:
                best, best_q = f"{suspects['kind'].iloc[other]} {suspects['name'].iloc[other]}", q
        explained.append(best)
    return explained
