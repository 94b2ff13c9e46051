"""Standby kits: which assemblies to keep made up for failures to come, by downtime saved per money spent."""

import itertools
from datetime import date
from typing import Protocol

import numpy as np
import pandas as pd

from ..ahead.counts import poisson_binomial
from ..policies import Settings
from ..shelves import find_usable
from .cutting import NOT_PLACED, find_pieces, place_lines
from .takings import days_to_changeout, designs_to_follow

HOURS_PER_DAY = 24.0  # a machine that waits for parts waits day and night
MOST_OF_ONE = 5  # standby kits of one design at one site
COLUMNS = ["kit", "purpose", "changeout", "machine", "site", "needed_by", "design"]


class Chances(Protocol):
    """What is asked of `forecasts.Forecaster`."""

    installed: pd.DataFrame

    def survival(self, days: np.ndarray) -> np.ndarray: ...


def choose_standby(
    changeouts: pd.DataFrame,
    given: pd.DataFrame,
    standing_by: pd.DataFrame,
    bill: pd.DataFrame,
    tables: dict[str, pd.DataFrame],
    settings: Settings,
    as_of: date,
    forecaster: Chances,
) -> pd.DataFrame:
    """The standby kits that the budget buys, one row per kit: the columns of KITS and its design.

    The n-th kit of a design at a site saves (hours of its longest lead time) × (downtime cost of its
    machines) × P(at least n more are wanted before its parts come than the bin can make). It is worth having
    where that is more than holding its parts so long costs; kits are taken by what they save per money until
    the budget is spent. A design with a part of unknown cost or lead time is left out, and so is an assembly
    on a machine whose downtime cost is not known. `given` are the changeout kits' lines, `standing_by` what
    kits hold that were begun to stand by (`begun.find_standing_by`): they are there already, and paid for out
    of the budget.
    """
    designs = _designs_to_weigh(bill, tables)
    wanted = _wanted(designs, changeouts, tables, as_of, forecaster)
    if wanted.empty:
        return pd.DataFrame(columns=COLUMNS)
    begun = standing_by.drop_duplicates("kit")
    bins = _makeable(bill, given, tables, settings, as_of).add(
        begun.groupby(["site", "design"]).size(), fill_value=0
    )
    offers = []
    for (site, design), rows in wanted.groupby(["site", "design"]):
        kit = designs.loc[design]
        more_than = poisson_binomial(rows["chance"].to_numpy()[None, :])[0][::-1].cumsum()[::-1]
        hour_cost = np.average(rows["downtime_cost_per_hour"], weights=rows["chance"])
        in_bin = int(bins.get((site, design), 0))
        for number in range(1, MOST_OF_ONE + 1):
            chance = more_than[in_bin + number] if in_bin + number < len(more_than) else 0.0
            saved = kit["lead_time_days"] * HOURS_PER_DAY * hour_cost * chance
            held = kit["cost"] * settings.holding_rate_per_year * kit["lead_time_days"] / 365
            if saved > held:
                offers.append((saved / max(kit["cost"], 1e-9), site, design, number, kit["cost"]))
    left, chosen, taken = settings.standby_budget, [], set(begun["kit"])
    left -= float((standing_by["quantity"] * standing_by["unit_cost"]).sum())
    for _, site, design, _, cost in sorted(offers, key=lambda offer: (-offer[0], offer[1:4])):
        if cost <= left:
            left -= cost
            names = (f"S-{site}:{design}:{number}" for number in itertools.count(1))
            kit = next(name for name in names if name not in taken)
            taken.add(kit)
            chosen.append({"kit": kit, "site": site, "design": design})
    kits = pd.DataFrame(chosen, columns=["kit", "site", "design"])
    kits = kits.assign(purpose="standby", changeout=None, machine=None, needed_by=pd.Timestamp(as_of))
    return kits[COLUMNS]


def _designs_to_weigh(bill: pd.DataFrame, tables: dict[str, pd.DataFrame]) -> pd.DataFrame:
    """Cost and longest lead time of the designs where all parts' are known, by design."""
    lead_time = bill["part"].map(tables["parts"].set_index("part")["lead_time_days"])
    priced = bill.assign(cost=bill["quantity"] * bill["unit_cost"], lead_time_days=lead_time)
    known = priced["cost"].notna() & priced["lead_time_days"].notna()
    whole = known.groupby(priced["design"]).transform("all")
    return priced[whole].groupby("design").agg(cost=("cost", "sum"), lead_time_days=("lead_time_days", "max"))


def _wanted(
    designs: pd.DataFrame,
    changeouts: pd.DataFrame,
    tables: dict[str, pd.DataFrame],
    as_of: date,
    forecaster: Chances,
) -> pd.DataFrame:
    """Assemblies that may want a kit before one can be made: site, design, chance, downtime_cost_per_hour."""
    installed = forecaster.installed[["assembly", "machine", "site"]].reset_index(drop=True)
    installed["design"] = designs_to_follow(forecaster.installed, tables)
    cost = tables["machines"].set_index("machine")["downtime_cost_per_hour"]
    installed["downtime_cost_per_hour"] = installed["machine"].map(cost)
    lead_time = installed["design"].map(designs["lead_time_days"])
    left_in = days_to_changeout(installed, changeouts, as_of) > lead_time
    counted = (lead_time > 0) & installed["downtime_cost_per_hour"].notna() & left_in
    installed = installed[counted]
    days, which = np.unique(lead_time[counted], return_inverse=True)
    if not len(days):
        return installed.assign(chance=0.0)
    failing = 1.0 - forecaster.survival(days)
    chance = failing[np.flatnonzero(counted), which]
    return installed.assign(chance=chance)[chance > 0]


def _makeable(
    bill: pd.DataFrame,
    given: pd.DataFrame,
    tables: dict[str, pd.DataFrame],
    settings: Settings,
    as_of: date,
) -> pd.Series:
    """How many of each design each site could make of what the changeout kits leave, by site and design."""
    stock = find_usable(tables, as_of)
    others = stock[stock["kind"] != "bulk_hose"].groupby(["site", "part"])["on_hand"].sum()
    reserved = (given["quantity"] - given["short_by"]).groupby([given["site"], given["part"]]).sum()
    left = others.sub(reserved.reindex(others.index), fill_value=0.0).clip(lower=0.0).rename("left")
    takes = bill.groupby(["design", "part", "kind"], as_index=False)["quantity"].sum()
    each = takes.merge(stock[["site"]].drop_duplicates(), how="cross")
    each = each.merge(left.reset_index(), on=["site", "part"], how="left")
    each["kits"] = np.floor(each["left"].fillna(0.0) / each["quantity"] + 1e-9)
    hose = each["kind"] == "bulk_hose"
    cuts = pd.MultiIndex.from_frame(each.loc[hose, ["site", "design"]])
    each.loc[hose, "kits"] = _cuts_left(takes, given, tables, settings, as_of).reindex(cuts).to_numpy()
    return each.fillna({"kits": 0.0}).groupby(["site", "design"])["kits"].min()


def _cuts_left(
    takes: pd.DataFrame,
    given: pd.DataFrame,
    tables: dict[str, pd.DataFrame],
    settings: Settings,
    as_of: date,
) -> pd.Series:
    """How many cuts of each design's hose each site's pieces still give, by site and design."""
    pieces = find_pieces(tables, as_of)
    cuts = given[(given["kind"] == "bulk_hose") & (given["short_by"] == 0)]
    cuts = cuts.assign(length_mm=cuts["cut_length_mm"].fillna(cuts["quantity"] * 1000))
    piece = place_lines(cuts, pieces, settings)
    gone = cuts["length_mm"].to_numpy() + settings.kerf_mm
    placed = piece != NOT_PLACED
    pieces["left_mm"] = pieces["length_mm"] - np.bincount(piece[placed], gone[placed], len(pieces))
    each = takes[takes["kind"] == "bulk_hose"].merge(pieces[["part", "site", "left_mm"]], on="part")
    cut_mm = each["quantity"] * 1000 + settings.kerf_mm
    each["cuts"] = np.floor((each["left_mm"] + settings.kerf_mm) / cut_mm + 1e-9)
    return each.groupby(["site", "design"])["cuts"].sum()
