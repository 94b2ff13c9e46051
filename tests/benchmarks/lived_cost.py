"""What it costs to live with the plan for three years, beside planners who know less and more.

    python -m tests.benchmarks.lived_cost [--kinds gamma_luck,…] [--policies plan,…] [--seeds 3]
        [--first-seed 1] [--positions 400] [--results var/lived_cost.csv]

Each month the register of that day is planned anew and what falls in the month is done; the rest is left to
fail. The lives to come are common to all policies (`lived_fleets`):

    run_to_failure   nothing is changed ahead of failure
    fixed_age        in the first window after one age, the best of FIXED_AGES for that fleet in hindsight
    plan             the service's chain, from meters and margins over the fit to the changeouts
    knows_luck       one who knows the law of life and each position's luck
    knows_law        one who knows the law, and learns the luck from the lives on record

The last two ask the same optimizer with true chances. The plan keeps to the windows that it announced as the
service does. Kits, stock and what else the main job makes are left out: they move no date where all parts are
on the shelf. Limits are too: what is installed counts as fit.

Share: Σ(run to failure − policy) ÷ Σ(run to failure − knows_luck), over the seeds of a kind, of what was paid
in these years; `settled_` with the hoses in place at the end counted at what they then cost against new ones
(`cost_at_end`); `expected_` the same with failures as they were to be expected of the hoses in place while
they were, which has the same mean and less chance in it. Aim: the plan's share .90 or more, and never below
that of the fixed age. A result that stands in the file is not made again: another number of positions wants
another file. The more of them, the less chance is in what was paid.
"""

import argparse
import csv
import time
from collections.abc import Callable
from dataclasses import asdict, dataclass
from pathlib import Path

import numpy as np
import pandas as pd

from forecasting.ahead.forecasts import Forecaster
from forecasting.history import known_on
from forecasting.life.life_model import fit_life_model
from forecasting.life.standing import Standing
from forecasting.outputs import MARGINS
from forecasting.policies import Settings, position_limits
from forecasting.stops.changeouts import plan_changeouts
from forecasting.stops.due import find_due
from forecasting.stops.prospects import look_ahead
from forecasting.stops.renewal import economic_day
from forecasting.tables import make_table

from .laws import DAY_ZERO, KINDS, PAST_MONTHS, Law, luck_nodes, luck_posterior, small, wear_hazard
from .lived_fleets import MONTHS, STOP_SETUP_COST, LivedFleet, date_of, first_day_of

POSITIONS = 400  # of a kind that has more, unless others are asked for
LABOUR_MINUTES = {"lemons": 360.0, "usage_drift": 360.0}  # a window; any in the other kinds
CHANGEOUT_MINUTES = 60.0
FIXED_AGES = (*np.geomspace(0.75, 8.0, 21), np.inf)  # years
SETTINGS = Settings(stop_setup_cost=STOP_SETUP_COST)
LEFT = "run_to_failure"
POLICIES = (LEFT, "fixed_age", "knows_luck", "knows_law", "plan")
TRIED = [kind for kind in KINDS if kind not in ("very_late_register", "twelve_lemons")]
Decide = Callable[[LivedFleet, int], np.ndarray]


@dataclass(frozen=True, slots=True)
class Lived:
    """What three years cost under one policy: a row of the results."""

    kind: str
    seed: int
    policy: str
    cost: float
    expected_cost: float
    end_cost: float
    failures: int
    planned: int
    stops: int
    seconds: float


class KnownLives:
    """A forecaster that knows the law; of each position's luck, the `chances` (n, m) of `values` (n, m).

    What is asked of `Forecaster` by `stops`; hours go on as in the half year before.
    """

    def __init__(self, fleet: LivedFleet, month: int, values: np.ndarray, chances: np.ndarray) -> None:
        self.law, self.hoses, day = fleet.law, fleet.hoses, float(first_day_of(month))
        self.values, self.chances = values, chances
        machine = self.hoses["machine"].to_numpy()
        self.rate = fleet.usage.recent_rate(PAST_MONTHS + month)[machine]
        hours = fleet.usage.hours_at(machine, np.full(len(machine), day))
        self.run = np.maximum(hours - self.hoses["start_hours"].to_numpy(), 0.0)
        self.age_days = day - self.hoses["built_day"].to_numpy(float)
        places = fleet.register["positions"]
        self.installed = pd.DataFrame(
            {
                "assembly": self.hoses["assembly"].to_numpy(),
                "machine": places["machine"].to_numpy(),
                "position": places["position"].to_numpy(),
                "site": fleet.register["machines"]["site"].to_numpy()[machine],
                "design": places["design"].to_numpy(),
                "age_days": self.age_days,
                "age_hours": self.run,
                "hours_per_day": self.rate,
            }
        )

    def survival(self, days: np.ndarray) -> np.ndarray:
        return self._survival(days, self.run, self.age_days, self.hoses["early_share"].to_numpy())

    def fresh_survival(self, days: np.ndarray) -> np.ndarray:
        new = np.zeros(len(self.hoses))
        return self._survival(days, new, new, np.full(len(new), np.mean(self.law.early_share)))

    def chance_draws(self, days: float, draws: int) -> np.ndarray:
        return np.tile(1 - self.survival(np.array([days]))[:, 0], (draws, 1))

    def _survival(self, days: np.ndarray, run: np.ndarray, age_days: np.ndarray, share: np.ndarray):
        law, days = self.law, np.asarray(days, float)[None, :]
        worn, scale = run[:, None] + self.rate[:, None] * days, self.hoses["scale"].to_numpy()[:, None]

        def hazard(worn: np.ndarray, age_days: np.ndarray) -> np.ndarray:
            years = np.maximum(age_days, 0.0) / 365.25
            return wear_hazard(law, worn, scale) + (years / law.age_years) ** law.age_shape

        def no_early(worn: np.ndarray) -> np.ndarray:
            return 1 + share[:, None] * np.expm1(-worn / law.early_hours)

        ahead = hazard(worn, age_days[:, None] + days) - hazard(run[:, None], age_days[:, None])
        mixed = np.zeros(ahead.shape)
        for value, chance in zip(self.values.T, self.chances.T, strict=True):
            mixed += chance[:, None] * np.exp(-value[:, None] * ahead)
        return mixed * no_early(worn) / no_early(run[:, None])


def change_at_age(years: float) -> Decide:
    """Everything that is so old in a window is changed there, the oldest first where labour is short."""

    def decide(fleet: LivedFleet, month: int) -> np.ndarray:
        first_day = first_day_of(month)
        windows, machines = fleet.windows, fleet.register["machines"]["machine"]
        day = (windows["starts_on"] - pd.Timestamp(DAY_ZERO)).dt.days
        now = windows[(day > first_day) & (day <= first_day_of(month + 1))].assign(day=day)
        now = now.set_index("machine").loc[machines]
        machine = fleet.hoses["machine"].to_numpy()
        day = now["day"].to_numpy(float)[machine]
        age = pd.Series(day - fleet.hoses["built_day"].to_numpy(float))
        due = age >= years * 365.25
        turn = age.where(due).groupby(machine).rank(method="first", ascending=False)
        room = np.floor(now["labour_minutes"].fillna(np.inf).to_numpy()[machine] / CHANGEOUT_MINUTES)
        return np.where(due & (turn <= room), day, np.inf)

    return decide


def change_as_planned(seed: int) -> Decide:
    """What the service plans on the register of the day."""
    announced: list[pd.DataFrame] = []

    def decide(fleet: LivedFleet, month: int) -> np.ndarray:
        as_of = date_of(first_day_of(month))
        standing = Standing.on(fleet.tables(), as_of)
        lives = standing.lives
        model = fit_life_model(lives, np.random.default_rng([seed, month]))
        before = announced[-1] if announced else None
        changeouts = plan_stops(Forecaster(model, lives), standing.tables, month, before)
        announced.append(changeouts)
        return days_of_changeouts(fleet, changeouts)

    return decide


def change_knowing(chances_of: Callable[[LivedFleet, int], tuple[np.ndarray, np.ndarray]]) -> Decide:
    """What is planned with true chances, the luck of positions known as far as `chances_of` says."""

    def decide(fleet: LivedFleet, month: int) -> np.ndarray:
        values, chances = chances_of(fleet, month)
        forecaster = KnownLives(fleet, month, values, chances)
        known = known_on(fleet.tables(), date_of(first_day_of(month)))
        return days_of_changeouts(fleet, plan_stops(forecaster, known, month, None))

    return decide


def know_luck(fleet: LivedFleet, month: int) -> tuple[np.ndarray, np.ndarray]:
    """Of each position the one value that its luck has, for certain."""
    luck = fleet.hoses[["luck"]].to_numpy(float)
    return luck, np.ones(luck.shape)


def learn_luck(fleet: LivedFleet, month: int) -> tuple[np.ndarray, np.ndarray]:
    """The values that luck may have, and their chances by position after all its lives on record."""
    chances = luck_posterior(fleet.law, fleet.lives(), fleet.usage, float(first_day_of(month)))
    values, _ = luck_nodes(fleet.law)
    return np.tile(values, (len(chances), 1)), chances


def plan_stops(
    forecaster, known: dict[str, pd.DataFrame], month: int, announced: pd.DataFrame | None
) -> pd.DataFrame:
    """CHANGEOUTS as the main job plans them, with no limit but cost."""
    as_of, limits = date_of(first_day_of(month)), position_limits(known)
    prospects = look_ahead(forecaster, known, SETTINGS)
    due = find_due(prospects, make_table(None, MARGINS), limits, known["inspections"], as_of)
    return plan_changeouts(due, prospects, known, SETTINGS, as_of, announced)[0]


def days_of_changeouts(fleet: LivedFleet, changeouts: pd.DataFrame) -> np.ndarray:
    """The day (n,) on which each hose is to be changed; inf: not within the plan."""
    planned_on = changeouts.set_index("assembly")["planned_on"].reindex(fleet.hoses["assembly"])
    return (planned_on - pd.Timestamp(DAY_ZERO)).dt.days.fillna(np.inf).to_numpy(float)


def live_under(fleet: LivedFleet, decide: Decide, months: int = MONTHS) -> LivedFleet:
    """The fleet after so many months of doing what is decided at the beginning of each."""
    for month in range(months):
        fleet.live(decide(fleet, month), first_day_of(month), first_day_of(month + 1))
    fleet.finish(first_day_of(months))
    return fleet


def cost_at_end(fleet: LivedFleet) -> float:
    """What the hoses in place at the end cost against new ones, where all is known: from 0 to the changeout.

    Years that end would else reward leaving old hose in place when they do.
    """
    forecaster = KnownLives(fleet, MONTHS, *know_luck(fleet, MONTHS))
    ahead = look_ahead(forecaster, fleet.tables(), SETTINGS)
    _, value = economic_day(ahead.now, ahead.planned_cost, ahead.failure_cost, ahead.renewal.rate)
    return float(value.sum())


def policies(seed: int) -> dict[str, Decide]:
    return {
        LEFT: change_at_age(np.inf),
        **{f"fixed_age {years:.2f}": change_at_age(years) for years in FIXED_AGES},
        "knows_luck": change_knowing(know_luck),
        "knows_law": change_knowing(learn_luck),
        "plan": change_as_planned(seed),
    }


def law_of(kind: str, positions: int = POSITIONS) -> Law:
    law = KINDS[kind]
    return small(law, min(law.positions, positions))


def measure(kind: str, seed: int, policy: str, positions: int = POSITIONS) -> Lived:
    """Three years of a fleet of that kind under that policy."""
    began = time.process_time()
    fleet = LivedFleet.begin(law_of(kind, positions), seed, LABOUR_MINUTES.get(kind, np.nan))
    fleet = live_under(fleet, policies(seed)[policy])
    end_cost = cost_at_end(fleet)
    seconds = time.process_time() - began
    return Lived(
        kind,
        seed,
        policy,
        fleet.cost,
        round(fleet.expected_cost, 1),
        round(end_cost, 1),
        fleet.failures,
        fleet.planned,
        fleet.stops,
        round(seconds, 1),
    )


def read_results(path: Path) -> pd.DataFrame:
    """The results that stand in the file, one row per kind, seed and policy."""
    columns = list(Lived.__dataclass_fields__)
    return pd.read_csv(path) if path.exists() else pd.DataFrame(columns=columns)


def write_result(path: Path, lived: Lived) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    begins = not path.exists()
    with path.open("a", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, list(asdict(lived)))
        if begins:
            writer.writeheader()
        writer.writerow(asdict(lived))


def tell_shares(results: pd.DataFrame) -> pd.DataFrame:
    """One row per kind: shares over the fleets that lived under all policies, and what was done in a fleet.

    knows_law may be missing.
    """
    told = []
    for kind, of_kind in results.groupby("kind", sort=False):
        cost, expected, end, failures, planned = (
            of_kind.pivot(index="seed", columns="policy", values=name)
            for name in ("cost", "expected_cost", "end_cost", "failures", "planned")
        )
        if not {LEFT, "plan", "knows_luck"} <= set(cost.columns):
            continue
        lived = cost.index[cost[[LEFT, "plan", "knows_luck"]].notna().all(axis=1)]
        shares = {
            prefix + name: share
            for prefix, spent in (("", cost), ("settled_", cost + end), ("expected_", expected + end))
            for name, share in _shares(spent.loc[lived]).items()
        }
        counts = {
            f"{name}_{what}": number.loc[lived, name].mean()
            for what, number in (("failures", failures), ("changed", planned))
            for name in (LEFT, "plan", "knows_luck")
        }
        told.append({"kind": kind, "fleets": len(lived), **shares, **counts})
    return pd.DataFrame(told)


def _shares(cost: pd.DataFrame) -> dict[str, float]:
    """Of what could be saved, the share that each policy saved; `cost` has one row per fleet."""
    paid = {"plan": cost["plan"], "fixed_age": cost.filter(like="fixed_age").min(axis=1)}
    if "knows_law" in cost and cost["knows_law"].notna().all():
        paid["knows_law"] = cost["knows_law"]
    could = (cost[LEFT] - cost["knows_luck"]).sum()
    return {name: float((cost[LEFT] - one).sum() / could) for name, one in paid.items()}


def main() -> None:
    asked = argparse.ArgumentParser(description="The cost of three years under the plan and its rivals.")
    asked.add_argument("--kinds", default=",".join(TRIED))
    asked.add_argument("--seeds", type=int, default=3)
    asked.add_argument("--first-seed", type=int, default=1)
    asked.add_argument("--positions", type=int, default=POSITIONS)
    asked.add_argument("--policies", default=",".join(POLICIES))
    asked.add_argument("--results", type=Path, default=Path("var/lived_cost.csv"))
    given = asked.parse_args()
    done = read_results(given.results)
    done = set(zip(done["kind"], done["seed"], done["policy"], strict=True))
    for seed in range(given.first_seed, given.first_seed + given.seeds):
        for kind in given.kinds.split(","):
            for policy in policies(seed):
                asked_for = policy.split()[0] in given.policies.split(",")
                if asked_for and (kind, seed, policy) not in done:
                    write_result(given.results, measure(kind, seed, policy, given.positions))
    results = read_results(given.results)
    results = results[results["kind"].isin(given.kinds.split(","))]
    with pd.option_context("display.width", 250, "display.max_columns", 30):
        print(tell_shares(results).round(3).to_string(index=False))


if __name__ == "__main__":
    main()
