"""Real repairs that others have published: a fit without luck to find, a trend, and a mean count."""

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from forecasting.ahead.forecasts import Forecaster
from forecasting.hindsight.repairs import Watch
from forecasting.life.life_model import fit_life_model
from forecasting.life.luck import Luck
from tests.forecasting.life_builders import make_lives

REFERENCES = Path(__file__).parents[1] / "references"
# Kumar & Klefsjö, Reliability Engineering & System Safety 35 (1992): hydraulics of six loaders of a mine.
LOADERS = pd.read_csv(REFERENCES / "loader_hydraulics.csv")


def test_loaders_as_like_as_they_are_still_get_finite_chances():
    # The frailty between these loaders goes to its boundary, zero: a fit must stand that.
    lives = make_lives(
        assembly="L" + LOADERS["loader"].astype(str) + "-" + LOADERS["failure"].astype(str),
        machine="L" + LOADERS["loader"].astype(str),
        position="hydraulics",
        exit_hours=LOADERS["hours_since_previous"].astype(float),
        end="failed",
        installed=False,
    )
    now = make_lives(
        assembly="L" + lives["machine"].drop_duplicates() + "-now",
        machine=lives["machine"].drop_duplicates(),
        position="hydraulics",
        exit_hours=100.0,
    )
    lives = pd.concat([lives, now], ignore_index=True)
    model = fit_life_model(lives, np.random.default_rng(1))
    chances = Forecaster(model, lives).table()["p_fail_90d"]
    assert np.isfinite(model.fit.theta).all()
    assert chances.between(0.5, 1.0).all()  # 900 hours, of systems that fail every 150
    assert np.ptp(chances) < 0.1
    assert Luck.of(model.fit.theta, model.layout).sd < 0.5


def test_failures_of_the_loaders_come_closer_together_by_the_generalised_laplace_test():
    # Kvaløy & Lindqvist, Technometrics 62 (2020), print .062: each loader watched until its last failure.
    failed_at = LOADERS.groupby("loader")["hours_since_previous"].cumsum().to_numpy(float)
    loader, _ = pd.factorize(LOADERS["loader"])
    last = pd.Series(failed_at).groupby(loader).max().to_numpy()
    told = Watch.through(np.zeros(len(last)), last, loader, failed_at).trend()
    assert told["p_value"] == pytest.approx(0.0623, abs=5e-5)
    assert told["trend"] == "closer" and told["failures"] == len(LOADERS) - 6


def test_valve_seats_are_replaced_as_often_as_nelson_counts():
    # Nelson, Technometrics 37 (1995); at each of these days, by a general-purpose library.
    seats = pd.read_csv(REFERENCES / "valve_seats.csv")
    engines = seats[seats["status"] == 0].set_index("id")["time"].astype(float)
    replaced = seats[seats["status"] == 1]
    watch = Watch.through(
        np.zeros(len(engines)),
        engines.to_numpy(),
        engines.index.get_indexer(replaced["id"]),
        replaced["time"].to_numpy(float),
    )
    counted = watch.mean_count(np.array([0.0, 98.0, 344.0, 573.0, 653.0]))["mean"].cumsum()
    assert counted.tolist() == pytest.approx([0.14634, 0.56098, 0.95854, 1.54269], abs=5e-6)
