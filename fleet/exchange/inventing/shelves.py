"""What lies on the shelves of the invented sites and what is on order."""

import numpy as np
import pandas as pd

from .calendar import DAYS_PER_YEAR, to_dates
from .workshops import LOT_DAYS, SITES_PER_LOT, Workshops

YEARS_BETWEEN_CHANGES = 2.6
EMPTY_SHARE = 0.06
THIN_SHARE = 0.12
SHELF_YEARS = 0.45
EXPIRED_SHARE = 0.04
ORDERED_SHARE = 0.5


def make_demand(
    positions: pd.DataFrame, machines: pd.DataFrame, designs: pd.DataFrame, bill: pd.DataFrame
) -> pd.DataFrame:
    """One row per site (number) and part: what a year takes of it, roughly. Retired machines take nothing."""
    machine = positions["machine"].to_numpy()
    working = np.isinf(machines["retired"].to_numpy())[machine]
    counts = (
        pd.DataFrame(
            {
                "site": machines["site"].to_numpy()[machine],
                "design": designs["design"].to_numpy()[positions["place"]],
            }
        )[working]
        .groupby(["site", "design"], as_index=False)
        .size()
    )
    needs = counts.merge(bill, on="design")
    needs["a_year"] = needs["size"] * needs["quantity"] / YEARS_BETWEEN_CHANGES
    return needs.groupby(["site", "part"], as_index=False)["a_year"].sum()


def make_stock(
    demand: pd.DataFrame,
    parts: pd.DataFrame,
    sites: pd.DataFrame,
    workshops: Workshops,
    hoses: list[str],
    rng: np.random.Generator,
    until: float,
) -> pd.DataFrame:
    """One row per part, site and piece: hose as a reel and offcuts, the rest as one bin each.

    `hoses` are the hose parts in the order of the workshops' lots.
    """
    kept = demand.merge(parts[["part", "kind", "lead_time_days"]], on="part")
    level = (
        kept["a_year"]
        * (kept["lead_time_days"] / DAYS_PER_YEAR + SHELF_YEARS)
        * rng.lognormal(0.1, 0.5, len(kept))
    )
    chance = rng.random(len(kept))
    level = np.where(
        chance < EMPTY_SHARE, 0, np.where(chance < EMPTY_SHARE + THIN_SHARE, 0.25 * level, level)
    )
    is_hose = (kept["kind"] == "bulk_hose").to_numpy()
    bins = kept[~is_hose]
    counted = pd.DataFrame(
        {"part": bins["part"], "site": bins["site"], "piece": None, "on_hand": np.round(level[~is_hose])}
    )
    reels = kept[is_hose]
    metres = np.where(level[is_hose] > 0, np.maximum(2, level[is_hose] + 3), 0)
    on_reels = pd.DataFrame(
        {"part": reels["part"], "site": reels["site"], "piece": "reel 1", "on_hand": np.round(metres, 1)}
    )
    offcuts = rng.poisson(1.2, len(reels))
    left_over = reels.loc[np.repeat(reels.index.to_numpy(), offcuts), ["part", "site"]]
    number = left_over.groupby(["part", "site"]).cumcount() + 1
    left_over = left_over.assign(
        piece="offcut " + number.astype(str), on_hand=np.round(rng.uniform(0.35, 2.2, len(left_over)), 2)
    )
    pieces = pd.concat([on_reels, left_over], ignore_index=True)
    lots = _lots(pieces, workshops, hoses, rng, until)
    pieces = pieces.assign(lot=workshops.lot_names(lots), made_on=to_dates(workshops.lot_made(lots)))
    counted = counted.assign(lot=None, made_on=pd.NaT)
    stock = pd.concat([pieces, counted.astype({"made_on": pieces["made_on"].dtype})], ignore_index=True)
    stock = stock.assign(site=sites["site"].to_numpy()[stock["site"]])
    stock = stock.sort_values(["site", "part", "piece"], ignore_index=True)
    return stock[["part", "site", "piece", "lot", "on_hand", "made_on"]]


def _lots(pieces: pd.DataFrame, workshops: Workshops, hoses: list[str], rng, until: float) -> np.ndarray:
    """A lot of the last years for each piece of hose; some pieces lie there longer than they may."""
    newest = int((until - workshops.began) // LOT_DAYS) - 1
    ages = rng.choice([0, 1, 2, 3], len(pieces), p=[0.4, 0.3, 0.2, 0.1])
    ages = np.where(rng.random(len(pieces)) < EXPIRED_SHARE, 9, ages)
    hose = pd.Index(hoses).get_indexer(pieces["part"])
    return workshops.lot_number(hose, newest - ages, pieces["site"].to_numpy() // SITES_PER_LOT)


def make_open_orders(
    demand: pd.DataFrame,
    stock: pd.DataFrame,
    parts: pd.DataFrame,
    sites: pd.DataFrame,
    rng: np.random.Generator,
    until: float,
) -> pd.DataFrame:
    """One row per order: half of what ran low is on order, a few orders are late."""
    wanted = demand.assign(site=sites["site"].to_numpy()[demand["site"]])
    held = stock.groupby(["part", "site"], as_index=False)["on_hand"].sum()
    wanted = wanted.merge(held, on=["part", "site"], how="left")
    wanted = wanted.merge(parts[["part", "lead_time_days", "pack_quantity"]], on="part")
    low = wanted["on_hand"].fillna(0) < wanted["a_year"] * wanted["lead_time_days"] / DAYS_PER_YEAR
    ordered = wanted[low & (rng.random(len(wanted)) < ORDERED_SHARE)].reset_index(drop=True)
    packs = np.maximum(1, np.round(ordered["a_year"] * 0.25 / ordered["pack_quantity"]))
    days = np.ceil(rng.uniform(-0.05, 1, len(ordered)) * ordered["lead_time_days"])
    numbers = pd.Series(np.arange(1, len(ordered) + 1).astype(str))
    return pd.DataFrame(
        {
            "order": "PO-" + numbers.str.zfill(max(4, len(str(len(ordered))))),
            "part": ordered["part"],
            "site": ordered["site"],
            "quantity": packs * ordered["pack_quantity"],
            "expected_on": to_dates(until + days),
        }
    )
