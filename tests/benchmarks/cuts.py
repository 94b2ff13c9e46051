"""How much hose the cut list scraps, and how long it takes, beside best-fit decreasing in the same run.

    python -m tests.benchmarks.cuts [--seeds 20] [--first-seed 20270104]

Each problem has 200 cuts of 40 lengths for 25 offcuts and 5 reels, a kerf of 3 mm, and ends of 500 mm and
more are kept; all of it is drawn from the seed. Scrap is the length of all begun pieces' ends below the keep
length. Best-fit decreasing takes the longest cut first, off the shortest piece that it fits. Aims: less than
0.5 % of the length cut, in at most 50 times the time. Times are seconds of the processor, the best of five.
"""

import argparse
import time
from collections.abc import Callable

import numpy as np
import pandas as pd

from forecasting.supply.cutting import NOT_PLACED, place_cuts
from tests.forecasting.supply.test_cutting import SAW, best_fit_decreasing, scrap_mm

TRIES = 5


def make_problem(seed: int) -> tuple[np.ndarray, np.ndarray]:
    """The cuts and the pieces, in mm."""
    rng = np.random.default_rng(seed)
    lengths = rng.integers(250, 2_500, 40).astype(float)
    cuts = rng.choice(lengths, 200)
    pieces = np.concatenate([rng.integers(500, 6_000, 25), rng.integers(35_000, 60_000, 5)]).astype(float)
    return cuts, pieces


def clock(place: Callable[[], np.ndarray]) -> tuple[np.ndarray, float]:
    """What was placed, and the seconds of the fastest try."""
    seconds = []
    for _ in range(TRIES):
        began = time.process_time()
        placed = place()
        seconds.append(time.process_time() - began)
    return placed, min(seconds)


def measure(seed: int) -> dict:
    """One line of the report."""
    cuts, pieces = make_problem(seed)
    ours, seconds = clock(lambda: place_cuts(cuts, pieces, SAW))
    usual, usual_seconds = clock(lambda: best_fit_decreasing(cuts, pieces, SAW.kerf_mm))
    return {
        "seed": seed,
        "metres_cut": cuts.sum() / 1_000,
        "not_placed": int((ours == NOT_PLACED).sum()),
        "scrap_percent": 100 * scrap_mm(pieces, cuts, ours, SAW) / cuts.sum(),
        "best_fit_percent": 100 * scrap_mm(pieces, cuts, usual, SAW) / cuts.sum(),
        "ms": 1_000 * seconds,
        "times_best_fit": seconds / usual_seconds,
    }


def main() -> None:
    asked = argparse.ArgumentParser(description="Scrap and time of the cut list beside best-fit decreasing.")
    asked.add_argument("--seeds", type=int, default=20)
    asked.add_argument("--first-seed", type=int, default=20270104)
    given = asked.parse_args()
    lines = pd.DataFrame([measure(given.first_seed + number) for number in range(given.seeds)])
    print(lines.round(3).to_string(index=False))
    print(lines.drop(columns="seed").agg(["mean", "max"]).round(3).to_string())


if __name__ == "__main__":
    main()
