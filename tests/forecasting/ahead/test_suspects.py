"""Groups that fail too much are named, innocent ones are not, and what explains what is told."""

import numpy as np
import pandas as pd

from forecasting.ahead.suspects import find_suspects
from forecasting.life.life_model import fit_life_model
from tests.forecasting.life_builders import weibull_lives


def fleet(seed: int, size: int = 800, **weak) -> pd.DataFrame:
    """Hoses from five benches and twenty lots on forty machines; `weak` groups live a third as long."""
    rng = np.random.default_rng(seed)
    groups = {
        "crimped_by": rng.choice([f"Bench {n}" for n in range(1, 6)], size),
        "hose_lot": rng.choice([f"L{n}" for n in range(1, 21)], size),
        "machine": rng.choice([f"EX-{n}" for n in range(1, 41)], size),
        "design": rng.choice([f"D{n}" for n in range(1, 9)], size),
        "machine_model": rng.choice(["E20", "E35"], size),
    }
    poor = np.zeros(size, dtype=bool)
    for column, name in weak.items():
        poor |= groups[column] == name
    return weibull_lives(rng, size, 2.0, np.where(poor, 5000.0, 15_000.0), 6000, **groups)


def suspects_of(lives: pd.DataFrame) -> pd.DataFrame:
    return find_suspects(lives, fit_life_model(lives, np.random.default_rng(0)))


def test_a_poor_bench_is_named_with_what_it_has_in_service():
    lives = fleet(31, crimped_by="Bench 3")
    suspects = suspects_of(lives)
    (bench,) = suspects[suspects["kind"] == "crimped_by"].to_dict("records")
    own = lives[lives["crimped_by"] == "Bench 3"]
    assert bench["name"] == "Bench 3"
    assert bench["lives"] == len(own)
    assert bench["failures"] == (own["end"] == "failed").sum()
    assert bench["installed_now"] == own["installed"].sum()
    assert bench["ratio_low"] < bench["ratio"] < bench["ratio_high"]
    assert bench["ratio_low"] > 2
    assert bench["q_value"] < 0.05


def test_a_bad_lot_is_named():
    suspects = suspects_of(fleet(32, size=1500, hose_lot="L7"))
    assert suspects.loc[suspects["kind"] == "hose_lot", "name"].tolist() == ["L7"]


def test_a_kind_of_a_sound_fleet_has_hardly_a_suspect():
    # One kind in twenty may name a group by chance; five kinds have groups to compare in each fleet.
    named = [suspects_of(fleet(seed))["kind"].nunique() for seed in range(40, 60)]
    assert sum(named) <= 0.1 * 5 * len(named)


def test_a_lot_all_crimped_on_the_poor_bench_is_explained_by_it():
    lives = fleet(33, crimped_by="Bench 3")
    on_bench = lives["crimped_by"] == "Bench 3"
    lots = np.where(on_bench & (lives.index % 3 == 0), "L99", lives["hose_lot"])
    suspects = suspects_of(lives.assign(hose_lot=pd.Series(lots, dtype="str")))
    told = suspects.set_index(["kind", "name"])["explained_by"]
    assert told["hose_lot", "L99"] == "crimped_by Bench 3"
    assert pd.isna(told["crimped_by", "Bench 3"])


def test_a_group_that_is_the_whole_fleet_is_held_against_nothing():
    lives = fleet(34).assign(machine_model="E20", hose_lot=None, crimped_by="Bench 1")
    assert not set(suspects_of(lives)["kind"]) & {"machine_model", "crimped_by", "hose_lot"}
