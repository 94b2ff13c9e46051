"""What the registers of the invented fleet hold of its lives: not all of it, and some of it late."""

import numpy as np
import pandas as pd

from .calendar import to_dates
from .lives import AGEING, EARLY, WEAR
from .machines import Hours
from .workshops import POOR_BENCH_TIMES, Workshops

BUILDS_KEPT_DAYS = 200
READINGS_EACH_END = 3
HOURS_NOTED_SHARE = 0.85
OLD_DETAILS_KNOWN_SHARE = 0.35
ROUNDS_DAYS_AGO = (25, 205)
MACHINES_INSPECTED_SHARE = 0.75
HOSES_INSPECTED_SHARE = 0.6

MODES = {
    WEAR: ("cover worn through and wire rusted", "burst at the bend, wires broken", "wires broken, weeping"),
    AGEING: ("cover hardened and cracked", "tube hardened, weeping at the end"),
    EARLY: ("leak at the crimp", "hose blown off the end"),
}
STRUCK = ("struck", "cut by a sharp edge", "crushed")
SEEN = {
    "fit": ("no fault seen",),
    "watch": ("cover rubbed, no wire to be seen", "cover dull, first small cracks"),
    "replace": ("wire to be seen", "cover cracked down to the wire", "damp at the end"),
}


def keep_known(lives: pd.DataFrame, began: np.ndarray) -> pd.DataFrame:
    """The lives a register knows that began on a day of its own: what came off before is not in it."""
    return lives[lives["removed"] >= began[lives["position"]]].reset_index(drop=True)


def name_assemblies(lives: pd.DataFrame) -> np.ndarray:
    width = max(5, len(str(len(lives))))
    return np.char.add("A", np.char.zfill(np.arange(1, len(lives) + 1).astype(str), width)).astype(object)


def installations_file(
    lives: pd.DataFrame,
    names: pd.DataFrame,
    hours: Hours,
    workshops: Workshops,
    sites: np.ndarray,
    rng: np.random.Generator,
) -> pd.DataFrame:
    """The lives as they stand in `installations.csv`.

    `names` has one row per life: machine (number), machine_name, position_name, metered, began (the day on
    which its site's register began).
    """
    size = len(lives)
    old = (lives["installed"] < names["began"]).to_numpy()
    known = ~old | (rng.random(size) < OLD_DETAILS_KNOWN_SHARE)
    lots = np.where(known, lives["lot"], -1)
    benches = np.where(known, lives["bench"], -1)
    built_known = known & (rng.random(size) < 0.93)
    return pd.DataFrame(
        {
            "assembly": name_assemblies(lives),
            "machine": names["machine_name"],
            "position": names["position_name"],
            "built_on": to_dates(np.where(built_known, lives["built"], np.nan)),
            "hose_made_on": to_dates(workshops.lot_made(lots)),
            "hose_lot": workshops.lot_names(lots),
            "installed_on": to_dates(lives["installed"]),
            "installed_hours": _meter(lives["installed"], names, hours, known, rng),
            "removed_on": to_dates(lives["removed"]),
            "removed_hours": _meter(lives["removed"], names, hours, np.isfinite(lives["removed"]), rng),
            "removal_cause": lives["cause"].where(lives["cause"] != "", None),
            "failure_mode": _failure_modes(lives, rng),
            "crimped_by": workshops.bench_names(benches, sites),
        }
    )


def _meter(day, names: pd.DataFrame, hours: Hours, known, rng) -> np.ndarray:
    """What the meter showed, where somebody wrote it down; never on the day a new meter came."""
    machine = names["machine"].to_numpy()
    finite = np.where(np.isfinite(day), day, hours.start)
    shown = hours.on_meter(machine, finite)
    noted = np.asarray(known) & names["metered"].to_numpy() & (rng.random(len(shown)) < HOURS_NOTED_SHARE)
    noted &= (finite != hours.replaced_on[machine]) & (shown >= 0)
    return np.where(noted, shown, np.nan)


def _failure_modes(lives: pd.DataFrame, rng: np.random.Generator) -> np.ndarray:
    words = np.full(len(lives), None, dtype=object)
    ended = lives["cause"].isin(["failed", "worn"]).to_numpy()
    for mode, choices in MODES.items():
        here = ended & (lives["mode"] == mode).to_numpy()
        words[here] = rng.choice(np.array(choices, dtype=object), here.sum())
    damaged = (lives["cause"] == "damaged").to_numpy()
    words[damaged] = rng.choice(np.array(STRUCK, dtype=object), damaged.sum())
    return words


def builds_file(
    installations: pd.DataFrame,
    lives: pd.DataFrame,
    workshops: Workshops,
    designs: pd.DataFrame,
    places: np.ndarray,
    facts: pd.DataFrame,
    rng: np.random.Generator,
    until: float,
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """`builds.csv` and `crimp_readings.csv` of what the benches made lately.

    `places` is each life's place; `facts` has one row per place: cut_mm, rated_bar, crimp_mm, die.
    """
    recent = (lives["built"] >= until - BUILDS_KEPT_DAYS) & installations["crimped_by"].notna()
    recent &= installations["built_on"].notna()
    made, life = installations[recent].reset_index(drop=True), lives[recent].reset_index(drop=True)
    fact = facts.iloc[places[recent.to_numpy()]].reset_index(drop=True)
    design = designs["design"].to_numpy()[places[recent.to_numpy()]]
    size = len(made)
    poor = workshops.bench_times[life["bench"]] >= POOR_BENCH_TIMES
    seen = np.where(rng.random(size) < np.where(poor, 0.2, 0.01), "no", "yes")
    builds = pd.DataFrame(
        {
            "assembly": made["assembly"],
            "design": design,
            "built_on": made["built_on"],
            "built_by": made["crimped_by"],
            "hose_lot": made["hose_lot"],
            "cut_length_mm": np.round(fact["cut_mm"] + rng.normal(0, 1.2, size)),
            "insertion_a_seen": seen,
            "insertion_b_seen": "yes",
            "cleanings_before": 1,
            "cleanings_after": np.where(poor, 0, 2),
            "gauge": "calliper " + (life["bench"] % 3 + 1).astype(str),
            "die": fact["die"],
            "proof_pressure_bar": np.round(2 * fact["rated_bar"]),
            "proof_seconds": np.where(poor, 15, 45),
            "accepted": "yes",
        }
    )
    each = 2 * READINGS_EACH_END
    target = np.repeat(fact["crimp_mm"].to_numpy(), each)
    off = np.repeat(rng.normal(np.where(poor, 0.09, 0.0), np.where(poor, 0.06, 0.025)), each)
    readings = pd.DataFrame(
        {
            "assembly": np.repeat(made["assembly"].to_numpy(), each),
            "end": np.tile(np.repeat(["a", "b"], READINGS_EACH_END), size),
            "number": np.tile(np.arange(1, READINGS_EACH_END + 1), 2 * size),
            "diameter_mm": np.round(target + off + rng.normal(0, 0.02, size * each), 2),
        }
    )
    return builds, readings


def inspections_file(
    installations: pd.DataFrame,
    lives: pd.DataFrame,
    names: pd.DataFrame,
    hours: Hours,
    machines: int,
    rng: np.random.Generator,
    until: float,
) -> pd.DataFrame:
    """`inspections.csv`: two rounds of the last year, and the inspection behind each hose found worn."""
    machine = names["machine"].to_numpy()
    inspected = rng.random(machines) < MACHINES_INSPECTED_SHARE
    rounds = []
    for number, days_ago in enumerate(ROUNDS_DAYS_AGO):
        day = until - days_ago - rng.integers(0, 20, machines)[machine]
        there = (lives["installed"] < day - 3) & (lives["removed"] > day + 1) & inspected[machine]
        there &= rng.random(len(lives)) < HOSES_INSPECTED_SHARE
        left = np.where(lives["mode"] == EARLY, np.inf, lives["fails"] - day)[there]
        rounds.append(_round(np.flatnonzero(there), day[there], left, rng, may_replace=number == 0))
    worn = np.flatnonzero(lives["cause"] == "worn")
    rounds.append(pd.DataFrame({"life": worn, "day": lives["removed"].to_numpy()[worn], "grade": "replace"}))
    seen = pd.concat(rounds).drop_duplicates(["life", "day"], keep="last")
    seen = seen.sort_values(["life", "day"], ignore_index=True)
    life, day = seen["life"].to_numpy(), seen["day"].to_numpy()
    finding = np.full(len(seen), None, dtype=object)
    for grade, choices in SEEN.items():
        here = (seen["grade"] == grade).to_numpy()
        finding[here] = rng.choice(np.array(choices, dtype=object), here.sum())
    return pd.DataFrame(
        {
            "assembly": installations["assembly"].to_numpy()[life],
            "inspected_on": to_dates(day),
            "hours": _meter(day, names.iloc[life].reset_index(drop=True), hours, True, rng),
            "finding": finding,
            "grade": seen["grade"],
        }
    )


def _round(life: np.ndarray, day: np.ndarray, left: np.ndarray, rng, *, may_replace: bool) -> pd.DataFrame:
    """Grades by what is left of each life: the nearer its end, the likelier a fault is seen."""
    chance = rng.random(len(life))
    grade = np.where(chance < 0.02, "watch", "fit")
    grade = np.where((left < 240) & (chance < 0.45), "watch", grade)
    if may_replace:
        grade = np.where((left < 120) & (chance < 0.4), "replace", grade)
    return pd.DataFrame({"life": life, "day": day, "grade": grade})
