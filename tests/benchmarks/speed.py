"""How long a fit, and a fit with forecasts and counts, take beside lifelines' Weibull regression.

    python -m tests.benchmarks.speed [--lives 10000,100000,1000000] [--lifelines-python PATH]

Both see the same rows (hours run, delayed entry) and the same columns: pressure, heat, exposure, and which
population and which crimper. The service does more with them: two clocks, early failures, lots, luck. Aim: at
most 2 times the regression for the fit and 5 times for all, at a million lives, in at most 4 GB.

Each side runs in a process of its own, so that its memory is its own, with one thread of linear algebra;
times are seconds of its processor, which other work on the machine does not lengthen. Without
--lifelines-python a virtual environment is made for the run.
"""

import argparse
import json
import os
import resource
import subprocess
import sys
import tempfile
import time
import venv
from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd

from forecasting.ahead.counts import count_failures
from forecasting.ahead.forecasts import HORIZONS, Forecaster
from forecasting.life.life_model import fit_life_model
from forecasting.life.observations import Groups
from forecasting.life.standing import Standing

from .laws import AS_OF, KINDS
from .worlds import simulate

LIVES_A_POSITION = 2.0  # on record of the simulated kind, at least
ONE_THREAD = dict.fromkeys(("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"), "1")
LIFELINES = ("lifelines==0.30.*", "pandas<3")
COLUMNS = ["lives", "columns", "lifelines_fit", "fit", "fit_ratio", "all", "all_ratio", "peak_gb"]


def make_case(folder: Path, lives: int) -> None:
    """Writes the lives of a simulated fleet for both sides."""
    law = replace(KINDS["gamma_luck"], positions=int(np.ceil(lives / LIVES_A_POSITION / 20)) * 20)
    made = Standing.on(simulate(law, 1).tables, AS_OF).lives
    made = made[made["exit_hours"] > made["entry_hours"]].head(lives).reset_index(drop=True)
    made.to_pickle(folder / "lives.pkl")
    np.save(folder / "entry.npy", made["entry_hours"].to_numpy())
    np.save(folder / "exit.npy", made["exit_hours"].to_numpy())
    np.save(folder / "event.npy", (made["end"] != "watched").to_numpy(float))
    np.save(folder / "columns.npy", same_columns(made))


def same_columns(lives: pd.DataFrame) -> np.ndarray:
    """What the service regresses on, a row a life: covariates that vary, population and crimper as 0 or 1."""
    groups = Groups.learn(lives)
    stress = groups.covariates.stress(lives, groups.population_numbers(lives))
    names = lives[["population", "crimped_by"]]
    dummies = pd.get_dummies(names, drop_first=True, dtype=float).to_numpy()
    return np.hstack([stress[:, np.ptp(stress, axis=0) > 0], dummies])


def run_service(folder: Path) -> dict:
    """Seconds of the fit and of fit, forecasts and counts; the greatest memory of this process."""
    lives = pd.read_pickle(folder / "lives.pkl")
    began = time.process_time()
    model = fit_life_model(lives, np.random.default_rng(1))
    fitted = time.process_time()
    forecaster = Forecaster(model, lives)
    told = forecaster.table()
    counted = count_failures(forecaster, HORIZONS)
    done = time.process_time()
    return {
        "lives": len(lives),
        "installed": len(told),
        "expected_365d": float(counted["expected"].iloc[len(HORIZONS) - 1]),
        "fit_seconds": fitted - began,
        "all_seconds": done - began,
        "peak_gb": resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024**2,  # Linux counts in kB
    }


def lifelines_python(folder: Path) -> Path:
    """The Python of a fresh virtual environment with lifelines in it."""
    print("Making a virtual environment for lifelines …", file=sys.stderr, flush=True)
    venv.create(folder, with_pip=True)
    python = folder / "bin" / "python"
    subprocess.run([python, "-m", "pip", "install", "--quiet", *LIFELINES], check=True)
    return python


def measure(lives: int, python: Path) -> dict:
    """One line of the report."""
    own = [sys.executable, "-m", "tests.benchmarks.speed", "--step"]
    with tempfile.TemporaryDirectory() as name:
        _said([*own, "make", name, "--lives", str(lives)])
        service = _said([*own, "service", name])
        other = _said([str(python), str(Path(__file__).with_name("lifelines_fit.py")), name])
        columns = np.load(Path(name) / "columns.npy", mmap_mode="r").shape[1]
    return {
        "lives": service["lives"],
        "columns": columns,
        "lifelines_fit": other["fit_seconds"],
        "fit": service["fit_seconds"],
        "fit_ratio": service["fit_seconds"] / other["fit_seconds"],
        "all": service["all_seconds"],
        "all_ratio": service["all_seconds"] / other["fit_seconds"],
        "peak_gb": service["peak_gb"],
    }


def _said(command: list[str]) -> dict:
    """What the command prints, one line of JSON."""
    ran = subprocess.run(
        command, env={**os.environ, **ONE_THREAD}, stdout=subprocess.PIPE, text=True, check=True
    )
    return json.loads(ran.stdout or "{}")


def main() -> None:
    asked = argparse.ArgumentParser(description="Fit and forecast as a ratio to lifelines' Weibull AFT.")
    asked.add_argument("--lives", default="10000,100000,1000000")
    asked.add_argument("--lifelines-python", type=Path, metavar="PATH")
    asked.add_argument("--step", nargs=2, metavar=("STEP", "FOLDER"), help=argparse.SUPPRESS)
    given = asked.parse_args()
    if given.step:
        step, folder = given.step[0], Path(given.step[1])
        if step == "make":
            make_case(folder, int(given.lives))
        else:
            print(json.dumps(run_service(folder)))
        return
    with tempfile.TemporaryDirectory() as name:
        python = given.lifelines_python or lifelines_python(Path(name))
        for place, lives in enumerate(given.lives.split(",")):
            line = pd.DataFrame([measure(int(lives), python)], columns=COLUMNS).round(2)
            print(line.to_string(index=False, header=place == 0), flush=True)


if __name__ == "__main__":
    main()
