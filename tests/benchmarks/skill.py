"""How close the forecasts come to the truth in invented fleets, and how honest their intervals are.

    python -m tests.benchmarks.skill [--kinds gamma_luck,…] [--seeds 5] [--first-seed 1]

Each fleet goes the way of the main job: tables, what was known, usage, margins, lives, model, forecasts. A
loss is the expected log loss under the true chances, over the four horizons. The skill of a kind is what the
forecaster gains over the plain regression (`one_life_table`), as a share of what one gains who knows the law
and learns each position's luck (`laws.bayes_chances`), both summed over the seeds. Counts that the intervals
are held against are drawn from the true chances. An empty chance is refused: a row dropped is a row won.
"""

import argparse
import time
from dataclasses import dataclass, field

import numpy as np
import pandas as pd

from forecasting.ahead.counts import count_failures
from forecasting.ahead.forecasts import Forecaster
from forecasting.hindsight.past_counts import look_back
from forecasting.life.life_model import fit_life_model
from forecasting.life.simple_models import age_only, one_life_table
from forecasting.life.standing import Standing

from .laws import AS_OF, BAD_YEARS, HORIZONS, KINDS
from .worlds import World, bayes_chances, simulate

DRAWN = 50  # futures drawn for each fleet
LEAST = 1e-9
SMALL = 1000  # a kind of fewer positions gets twice the seeds


def expected_log_loss(told: pd.DataFrame, truth: pd.DataFrame) -> float:
    """Mean log loss to be expected of `told` (assembly, p_fail_…d) if `truth` (assembly, true_…d) holds.

    Raises ValueError where an assembly of the truth has no chance, or one that is none.
    """
    both = truth.merge(told, on="assembly", how="left", validate="one_to_one")
    chances = both[[f"p_fail_{horizon}d" for horizon in HORIZONS]].to_numpy()
    true = both[[f"true_{horizon}d" for horizon in HORIZONS]].to_numpy()
    if not ((chances >= 0) & (chances <= 1)).all():
        bad = both["assembly"].iloc[int((~((chances >= 0) & (chances <= 1))).any(axis=1).argmax())]
        raise ValueError(f"Assembly {bad} has no chance between 0 and 1.")
    chances = np.clip(chances, LEAST, 1 - LEAST)
    return float(-(true * np.log(chances) + (1 - true) * np.log1p(-chances)).mean())


@dataclass
class Score:
    """What is summed over the fleets of a kind."""

    gained: float = 0.0
    best: float = 0.0
    by_fleet: list[float] = field(default_factory=list)
    age_only_gained: float = 0.0
    expected: np.ndarray = field(default_factory=lambda: np.zeros(len(HORIZONS)))
    true: np.ndarray = field(default_factory=lambda: np.zeros(len(HORIZONS)))
    counts: list[pd.DataFrame] = field(default_factory=list)
    held: list[float] = field(default_factory=list)
    seconds: float = 0.0

    def add(self, world: World, seed: int) -> None:
        truth = world.truth
        standing = Standing.on(world.tables, AS_OF)
        lives = standing.lives
        began = time.perf_counter()
        model = fit_life_model(lives, np.random.default_rng(seed))
        forecaster = Forecaster(model, lives)
        told = forecaster.table()
        past = look_back(standing.tables, lives, model, AS_OF)
        counted = count_failures(forecaster, HORIZONS, past.variances)
        self.seconds += time.perf_counter() - began

        plain, best = (
            expected_log_loss(one, truth) for one in (one_life_table(lives, HORIZONS), bayes_chances(world))
        )
        own = expected_log_loss(told, truth)
        self.gained += (plain - own) * len(truth)
        self.best += (plain - best) * len(truth)
        self.age_only_gained += (plain - expected_log_loss(age_only(lives, HORIZONS), truth)) * len(truth)
        self.by_fleet.append((plain - own) / (plain - best))
        both = told.merge(truth, on="assembly", validate="one_to_one")
        self.expected += [both[f"p_fail_{horizon}d"].sum() for horizon in HORIZONS]
        self.true += [both[f"true_{horizon}d"].sum() for horizon in HORIZONS]
        year = both["true_365d"]
        self.held.append(float(year.between(both["p_fail_365d_low"], both["p_fail_365d_high"]).mean()))
        self.counts.append(_held_counts(forecaster.installed, counted, truth, seed))

    def line(self, kind: str) -> dict:
        counts = pd.concat(self.counts)
        ratio = self.expected / self.true
        return {
            "kind": kind,
            "skill": self.gained / self.best,
            "worst": min(self.by_fleet),
            "age_only": self.age_only_gained / self.best,
            **{f"e/t_{horizon}": one for horizon, one in zip(HORIZONS, ratio, strict=True)},
            "held_80": counts["held_80"].mean(),
            "held_95": counts["held_95"].mean(),
            "counts": len(counts),
            "own_80": np.mean(self.held),
            "seconds": self.seconds / len(self.by_fleet),
        }


def _held_counts(
    installed: pd.DataFrame, counted: pd.DataFrame, truth: pd.DataFrame, seed: int
) -> pd.DataFrame:
    """One row per scope (all and each site) and horizon: in how many drawn futures its interval holds."""
    rng = np.random.default_rng([seed, 77])
    true = truth.set_index("assembly").loc[installed["assembly"]]
    site = installed["site"].to_numpy(str)
    told = []
    for row in counted.itertuples():
        if row.scope != "all" and not row.scope.startswith("site:"):
            continue
        here = (
            np.ones(len(site), dtype=bool) if row.scope == "all" else site == row.scope.removeprefix("site:")
        )
        chances = true[f"true_{row.horizon_days}d"].to_numpy()[here]
        failures = (rng.random((DRAWN, len(chances))) < chances).sum(axis=1)
        told.append(
            {
                "held_80": np.mean((failures >= row.low_80) & (failures <= row.high_80)),
                "held_95": np.mean((failures >= row.low_95) & (failures <= row.high_95)),
            }
        )
    return pd.DataFrame(told)


def main() -> None:
    asked = argparse.ArgumentParser(description="Skill and honesty of the forecasts in invented fleets.")
    asked.add_argument("--kinds", default=",".join(KINDS))
    asked.add_argument("--seeds", type=int, default=5)
    asked.add_argument("--first-seed", type=int, default=1)
    given = asked.parse_args()
    lines = []
    laws = KINDS | {BAD_YEARS.name: BAD_YEARS}
    for kind in given.kinds.split(","):
        score = Score()
        seeds = given.seeds * (2 if laws[kind].positions < SMALL else 1)
        for seed in range(given.first_seed, given.first_seed + seeds):
            score.add(simulate(laws[kind], seed), seed)
        lines.append(score.line(kind))
        with pd.option_context("display.width", 200, "display.max_columns", 20):
            print(
                pd.DataFrame(lines[-1:]).round(3).to_string(index=False, header=len(lines) == 1), flush=True
            )


if __name__ == "__main__":
    main()
