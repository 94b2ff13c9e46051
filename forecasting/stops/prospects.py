"""What changing an installed assembly costs, and what its days to come look like."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Protocol

import numpy as np
import pandas as pd

from ..designs.bills import price_designs
from ..policies import Settings
from .renewal import Curves, Renewal, best_renewal

USUAL_CHANGEOUT_MINUTES = 60.0  # common practice, no source
Survival = Callable[[np.ndarray], np.ndarray]  # of n lives on (m,) days, (n, m)


class Forecasts(Protocol):
    """What is asked of `forecasts.Forecaster`; arrays stand in the order of `installed`."""

    installed: pd.DataFrame

    def survival(self, days: np.ndarray) -> np.ndarray: ...

    def fresh_survival(self, days: np.ndarray) -> np.ndarray: ...

    def fresh_draws(self, rows: np.ndarray) -> Iterator[Survival]: ...

    def chance_draws(self, days: float, draws: int) -> np.ndarray: ...


@dataclass(frozen=True, slots=True)
class Prospects:
    """What deciding about n installed assemblies needs.

    `installed` are the forecaster's rows of them. `assemblies` has one row each, in the same order: assembly,
    machine, position, site, design, planned_cost, failure_cost (money, NaN where not known), minutes,
    critical (bool). `now` follows those installed from the as-of date, `fresh` their successors from
    installation, and `renewal` is the cheapest way to go on with these.
    """

    installed: pd.DataFrame
    assemblies: pd.DataFrame
    now: Curves
    fresh: Curves
    renewal: Renewal

    @property
    def planned_cost(self) -> np.ndarray:
        return self.assemblies["planned_cost"].to_numpy()

    @property
    def failure_cost(self) -> np.ndarray:
        return self.assemblies["failure_cost"].to_numpy()


def look_ahead(forecaster: Forecasts, tables: dict[str, pd.DataFrame], settings: Settings) -> Prospects:
    """The prospects of every installed assembly, in the order of `forecaster.installed`."""
    assemblies = price_changeouts(forecaster.installed, tables, settings)
    fresh = Curves.follow(forecaster.fresh_survival)
    renewal = best_renewal(
        fresh, assemblies["planned_cost"].to_numpy(), assemblies["failure_cost"].to_numpy()
    )
    now = Curves.follow(forecaster.survival)
    return Prospects(forecaster.installed, assemblies, now, fresh, renewal)


def price_changeouts(
    installed: pd.DataFrame, tables: dict[str, pd.DataFrame], settings: Settings
) -> pd.DataFrame:
    """Cost and labour of changing each of `installed`, one row each in its order: see `Prospects`.

    A planned changeout costs what the position says, else its design's parts and the labour. Where a part's
    cost is missing too, it is not known.
    """
    positions = tables["positions"].rename(columns={"design": "usual_design"})
    wanted = ["usual_design", "changeout_minutes", "planned_cost", "failure_cost", "critical"]
    priced = installed[["assembly", "machine", "position", "site", "design"]].merge(
        positions[["machine", "position", *wanted]], on=["machine", "position"], how="left"
    )
    priced["design"] = priced["usual_design"].fillna(priced["design"])  # the successor is the position's
    priced["minutes"] = priced["changeout_minutes"].fillna(USUAL_CHANGEOUT_MINUTES)
    labour = priced["minutes"] / 60 * settings.labour_cost_per_hour
    parts = priced["design"].map(price_designs(tables)).astype(float)
    priced["planned_cost"] = priced["planned_cost"].fillna(parts + labour)
    priced["critical"] = priced["critical"].fillna(False).astype(bool)
    return priced.drop(columns=["usual_design", "changeout_minutes"])
