"""What takes parts from a site's stock: installed assemblies if they fail, and planned kits on their day."""

from dataclasses import dataclass
from datetime import date

import numpy as np
import pandas as pd

from ..policies import Settings
from .begun import PLACE


@dataclass(frozen=True, slots=True)
class Uses:
    """The `assemblies` (rows of `installed`) that take a part, and how much each `takes` if it fails."""

    assemblies: np.ndarray
    takes: np.ndarray

    def __add__(self, other: "Uses") -> "Uses":
        assemblies = np.concatenate([self.assemblies, other.assemblies])
        return Uses(assemblies, np.concatenate([self.takes, other.takes]))


@dataclass(frozen=True, slots=True)
class KitTakings:
    """How much each planned kit line `takes` of a part, and in how many `days`; the next one first."""

    days: np.ndarray
    takes: np.ndarray

    def within(self, days: np.ndarray | float) -> np.ndarray:
        """What is taken within so many days, one number per element of `days`."""
        total = np.concatenate([[0.0], self.takes.cumsum()])
        return total[np.searchsorted(self.days, days, side="right")]


NO_USES = Uses(np.zeros(0, dtype=int), np.zeros(0))
NO_KITS = KitTakings(np.zeros(0), np.zeros(0))
Place = tuple[str, str]  # part, site


def sum_bill(bill: pd.DataFrame, settings: Settings) -> pd.DataFrame:
    """How much of each part an assembly takes, the kerf of its cut counted: design, part, takes."""
    takes = bill["quantity"] + _kerf(bill, settings)
    return bill.assign(takes=takes).groupby(["design", "part"], as_index=False)["takes"].sum()


def list_uses(
    installed: pd.DataFrame, waiting: pd.DataFrame, tables: dict[str, pd.DataFrame], bill: pd.DataFrame
) -> dict[Place, Uses]:
    """What the installed assemblies take of each part at each site if they fail; `bill` from `sum_bill`.

    Where a kit of that design is begun for the position it takes nothing, nor where one is `waiting`
    (`begun.find_waiting`), which takes its parts as a kit.
    """
    here = installed[["machine", "position", "site"]].assign(
        design=designs_to_follow(installed, tables), assembly=np.arange(len(installed))
    )
    at_the_bench = pd.concat([tables["begun_kits"][PLACE], waiting[PLACE]]).dropna()
    begun = pd.MultiIndex.from_frame(at_the_bench)
    here = here[~pd.MultiIndex.from_frame(here[PLACE]).isin(begun)]
    used = here[["site", "design", "assembly"]].merge(bill, on="design")
    assemblies, takes = used["assembly"].to_numpy(), used["takes"].to_numpy(float)
    places = used.groupby(["part", "site"]).indices
    return {place: Uses(assemblies[rows], takes[rows]) for place, rows in places.items()}


def designs_to_follow(installed: pd.DataFrame, tables: dict[str, pd.DataFrame]) -> np.ndarray:
    """The design that follows each installed assembly: what belongs in its position, else its own."""
    belongs = tables["positions"][["machine", "position", "design"]].rename(columns={"design": "belongs"})
    here = installed[["machine", "position", "design"]].merge(belongs, on=["machine", "position"], how="left")
    return here["belongs"].fillna(here["design"]).to_numpy(object)


def list_kit_takings(
    kits: pd.DataFrame, kit_lines: pd.DataFrame, settings: Settings, as_of: date
) -> dict[Place, KitTakings]:
    """What the kits take of each part at each site, and when."""
    lines = kit_lines.merge(kits[["kit", "site", "needed_by"]], on="kit")
    lines["takes"] = lines["quantity"] + _kerf(lines, settings)
    lines["days"] = (lines["needed_by"] - pd.Timestamp(as_of)) / pd.Timedelta(days=1)
    lines = lines.sort_values("days")
    days, takes = lines["days"].to_numpy(float), lines["takes"].to_numpy(float)
    places = lines.groupby(["part", "site"]).indices
    return {place: KitTakings(days[rows], takes[rows]) for place, rows in places.items()}


def days_to_changeout(installed: pd.DataFrame, changeouts: pd.DataFrame, as_of: date) -> np.ndarray:
    """In how many days each installed assembly is to be changed, one element each; ∞: not planned."""
    planned = installed[["assembly"]].merge(changeouts[["assembly", "planned_on"]], how="left")
    days = (planned["planned_on"] - pd.Timestamp(as_of)) / pd.Timedelta(days=1)
    return days.fillna(np.inf).to_numpy(float)


def places_of_use(tables: dict[str, pd.DataFrame], bill: pd.DataFrame) -> set[Place]:
    """The part and site of every design that belongs in a position there."""
    positions = tables["positions"][["machine", "design"]]
    here = positions.merge(tables["machines"][["machine", "site"]], on="machine")
    used = here[["site", "design"]].drop_duplicates().merge(bill, on="design")
    return set(zip(used["part"], used["site"], strict=True))


def mean_taking(uses: Uses, chance: np.ndarray, kits: KitTakings) -> float:
    """What one demand takes on average, `chance` that of each use; 1 where nothing is demanded."""
    count = chance.sum() + len(kits.takes)
    total = chance @ uses.takes + kits.takes.sum()
    return float(total / count) if total > 0 else 1.0


def _kerf(lines: pd.DataFrame, settings: Settings) -> pd.Series:
    return (lines["kind"] == "bulk_hose") * settings.kerf_mm / 1000
