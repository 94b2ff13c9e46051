"""How often bad benches and lots are found in invented fleets, and how often sound fleets have any named.

    python -m tests.benchmarks.suspicion [--sound 200] [--bad 50]

Sound fleets live by the laws of `laws` with every bench and lot alike; the table counts, kind of group by
kind of group, the fleets in which any is named. Bad ones have a bench or lots with several times the share of
early failures; a group is to be found where it has at least 8 failures and 3 times those of its hoses' truth
without the fault.
"""

import argparse
from collections import Counter
from dataclasses import replace

import numpy as np
import pandas as pd

from forecasting.ahead.suspects import COLUMNS, find_suspects
from forecasting.life.life_model import fit_life_model
from forecasting.life.standing import Standing

from .laws import AS_OF, AS_OF_DAY, KINDS, log_survival, small
from .worlds import World, simulate

SOUND = ("gamma_luck", "no_luck", "lognormal_wear", "loglogistic_wear", "usage_drift", "late_register")
SIZES = (2000, 600, 220)
EVERY_BENCH = (0.02, 0.02, 0.02, 0.02)
BAD_BENCH = (0.02, 0.02, 0.02, 0.25)
CALM = {"wear_hours": 120_000.0, "age_years": 40.0}  # so that a bad bench tells in all its failures
FEWEST, TIMES = 8, 3.0


def suspects_of(world: World, seed: int) -> pd.DataFrame:
    lives = Standing.on(world.tables, AS_OF).lives
    return find_suspects(lives, fit_life_model(lives, np.random.default_rng(seed)))


def count_false_names(fleets: int, first_seed: int) -> Counter:
    """By kind of group, the sound fleets in which any is named."""
    named: Counter = Counter()
    for number in range(fleets):
        law = KINDS[SOUND[number % len(SOUND)]]
        law = replace(small(law, SIZES[number // len(SOUND) % len(SIZES)]), early_share=EVERY_BENCH)
        named.update(set(suspects_of(simulate(law, first_seed + number), number)["kind"]))
    return named


def expected_without_fault(world: World) -> pd.DataFrame:
    """Failures of each recorded life to be expected by the law and its true luck, were its build sound."""
    law, usage = world.law, world.usage
    seen = world.lives[world.lives["recorded"]].reset_index(drop=True)
    sound = seen.assign(early_share=min(law.early_share))
    machine, luck = seen["machine"].to_numpy(), seen["luck"].to_numpy()
    entry = np.maximum(seen["start_day"], seen["register_day"]).to_numpy(float)
    exit = seen["removed_day"].fillna(AS_OF_DAY).to_numpy(float)
    at = [log_survival(law, sound, day, usage.hours_at(machine, day), luck) for day in (entry, exit)]
    failed = seen["cause"].isin(["failed", "worn"])
    lot = seen["design"].astype(str) + "-" + seen["lot"].astype(str)
    bench = "bench " + (seen["crimper"] + 1).astype(str)
    bad = np.isclose(seen["early_share"], law.bad_lot_share) & (law.bad_lots > 0)
    return pd.DataFrame(
        {"failed": failed, "expected": at[0] - at[1], "bad_lot": lot.where(bad),
         "bad_bench": bench.where(seen["early_share"] == max(BAD_BENCH))}
    )  # fmt: skip


def count_found(fleets: int, first_seed: int) -> pd.DataFrame:
    """By kind of group, bad groups there were to find, and those found."""
    told = []
    for number in range(fleets):
        for kind, column, law in (
            ("hose_lot", "bad_lot", replace(small(KINDS["bad_lots"], 6000), bad_lots=6, bad_lot_share=0.6)),
            ("crimped_by", "bad_bench", replace(KINDS["gamma_luck"], early_share=BAD_BENCH, **CALM)),
        ):
            world = simulate(law, first_seed + number)
            groups = expected_without_fault(world).groupby(column)[["failed", "expected"]].sum()
            bad = groups.index[
                (groups["failed"] >= FEWEST) & (groups["failed"] >= TIMES * groups["expected"])
            ]
            if len(bad):
                named = suspects_of(world, number).query("kind == @kind")["name"]
                told.append({"kind": kind, "bad": len(bad), "found": int(bad.isin(named).sum())})
    return pd.DataFrame(told, columns=["kind", "bad", "found"])


def main() -> None:
    asked = argparse.ArgumentParser(description="False and missed names among the suspects.")
    asked.add_argument("--sound", type=int, default=200)
    asked.add_argument("--bad", type=int, default=50)
    asked.add_argument("--first-seed", type=int, default=1)
    given = asked.parse_args()
    named = count_false_names(given.sound, given.first_seed)
    print(f"Of {given.sound} sound fleets so many have a suspect:")
    print(pd.Series({kind: named[kind] for kind in COLUMNS}).to_string(), flush=True)
    found = count_found(given.bad, given.first_seed)
    print(found.assign(fleets=1, all_found=found["found"] == found["bad"]).groupby("kind").sum().to_string())


if __name__ == "__main__":
    main()
