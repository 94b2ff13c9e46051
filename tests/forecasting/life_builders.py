"""Plain builders of lives, with trade defaults: what a test does not say is ordinary."""

import numpy as np
import pandas as pd

from forecasting.life.lives import LIVES
from forecasting.tables import make_table


def make_lives(size: int | None = None, **columns) -> pd.DataFrame:
    """LIVES of assemblies watched from installation, on machines that work ten hours a day."""
    given = pd.DataFrame(columns, index=None if size is None else range(size))
    count = len(given)
    numbers = pd.Series(range(1, count + 1), index=given.index).astype(str)
    ordinary = {
        "assembly": "A" + numbers,
        "machine": "EX-1",
        "position": "P" + numbers,
        "site": "North",
        "machine_model": "Excavator 20 t",
        "design": "D1",
        "hose_part": "H8",
        "end_a_part": "E8",
        "end_b_part": "E8",
        "construction": "100R2",
        "population": "100R2/-8",
        "crimped_by": "Bench 1",
        "hose_lot": None,
        "installed_on": "2023-01-01",
        "ended_on": "2025-01-01",
        "end": "watched",
        "installed": given["end"].eq("watched") if "end" in given else True,
        "removal_cause": given["end"].where(given["end"] != "watched") if "end" in given else None,
        "found": given["entry_hours"] > 0 if "entry_hours" in given else False,
        "with_machine": True,
        "entry_hours": 0.0,
        "exit_hours": 2000.0,
        "end_hours_per_day": 10.0,
        "hours_per_day": 10.0,
        "hours_per_day_sd": 1.0,
        "hours_per_day_noise": 0.0,
        "hours_per_day_drift": 0.0,
        "pressure_ratio": 0.7,
        "temperature_c": 60.0,
        "sheltered": 0.0,
        "abrasive": 0.0,
        "hot": 0.0,
        "flexing": 0.0,
    }
    for name, value in ordinary.items():
        if name not in given:
            given[name] = value
    for ours, theirs in (
        ("age_hours", given["exit_hours"]),
        ("exit_days", given["exit_hours"] / 10),
        ("entry_days", given["entry_hours"] / 10),
        ("age_days", given["exit_hours"] / 10),
    ):
        if ours not in given:
            given[ours] = theirs
    for name in ("installed", "found", "with_machine"):
        given[name] = given[name].astype("boolean")
    return make_table(given, LIVES)


def weibull_lives(rng: np.random.Generator, size: int, shape: float, scale: float, watched: float, **columns):
    """LIVES that failed by a Weibull law, or were still sound after `watched` hours."""
    life = scale * rng.weibull(shape, size)
    failed = life < watched
    return make_lives(
        exit_hours=np.where(failed, life, watched), end=np.where(failed, "failed", "watched"), **columns
    )
