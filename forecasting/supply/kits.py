"""Kits: what the bench lays out for one stop of a machine, or keeps ready for a failure that may come.

A kit is the bill of materials of its assemblies; what is done in one stop on different days of its window has
a kit for each day. Stock is given to kit lines in order of need, site by site; what a line cannot have is
short, with the day it will be there. Hose counts as cuts that real pieces give. What the shop has begun keeps
what it holds.
"""

from datetime import date

import numpy as np
import pandas as pd

from ..designs.bills import HOSE, list_parts
from ..designs.stand_ins import find_stand_ins
from ..outputs import KIT_LINES, KITS
from ..policies import Settings
from ..shelves import day_numbers, find_usable, take_from_shelf
from ..tables import make_table
from .arrivals import find_arrivals
from .begun import PLACE, find_held, find_standing_by, find_waiting
from .cutting import NOT_PLACED, find_pieces, in_order_of_need, place_lines
from .standby import Chances, choose_standby

GIVEN = ["part", "substitute_for", "short_by"]


def build_kits(
    changeouts: pd.DataFrame,
    tables: dict[str, pd.DataFrame],
    settings: Settings,
    as_of: date,
    forecaster: Chances,
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """KITS and KIT_LINES: one kit per changeout and day, one per begun kit that waits for parts no changeout
    asks for, and standby kits as far as the budget goes.

    Each end is a line of its own, and so is each ferrule, sleeve and adapter of `design_parts`. Where a
    cut-off is not known the cut length is empty and the quantity of hose is the overall length, which is
    surely enough. A kit with a position whose design is not known is never ready. What the changeouts say is
    `not_to_build` stands beside each line, and in the kit by position. An assembly that the shop
    has begun for a position is that of its changeout, with the parts it holds; one that was begun to stand by
    is a standby kit of its own name, which the budget has paid for.
    """
    bill = list_bill(tables)
    waiting = find_waiting(tables, changeouts)
    changeouts = changeouts.assign(kit=_kit_name(changeouts, as_of))
    work = pd.concat([changeouts, waiting])
    work = work[["kit", *PLACE, "not_to_build"]].reset_index(drop=True)
    lines = _lines_of(work, tables, bill)
    standing_by = find_standing_by(tables)
    kits = pd.concat(
        [
            _changeout_kits(changeouts, tables),
            _waiting_kits(waiting, as_of),
            _standing_kits(standing_by, as_of),
        ],
        ignore_index=True,
    ).drop_duplicates("kit", ignore_index=True)
    stands = standing_by.drop(columns="site").assign(held=True, critical=True)
    lines = pd.concat([lines, stands], ignore_index=True)
    given = _give(lines, kits, tables, settings, as_of)
    if settings.standby_budget > 0:
        asked = given[~given["held"]]
        to_stand_by = waiting.loc[waiting["position"].isna(), ["kit", "site", "design"]]
        paid_for = pd.concat([standing_by, to_stand_by.merge(bill, on="design")], ignore_index=True)
        chosen = choose_standby(changeouts, asked, paid_for, bill, tables, settings, as_of, forecaster)
        kits = pd.concat([kits, chosen.drop(columns="design")], ignore_index=True)
        more = chosen[["kit", "design"]].merge(bill, on="design").assign(critical=True, held=False)
        lines = pd.concat([lines, more], ignore_index=True)
        given = _give(lines, kits, tables, settings, as_of)
    kits["ready"] = _ready(kits, work, given, bill)
    kits["not_to_build"] = kits["kit"].map(_warnings(work))
    given = given.sort_values(["kit", "line"])
    return make_table(kits, KITS), make_table(given, KIT_LINES)


def list_bill(tables: dict[str, pd.DataFrame]) -> pd.DataFrame:
    """The bill of materials of every design with a quantity in each row, numbered in `line` from 1.

    `bills.list_parts`, where hose of an unknown cut length counts by the overall length.
    """
    bill = list_parts(tables)
    overall = bill["design"].map(tables["designs"].set_index("design")["overall_length_mm"]) / 1000
    bill["quantity"] = bill["quantity"].mask(bill["quantity"].isna() & (bill["place"] == HOSE), overall)
    bill["line"] = bill.groupby("design").cumcount() + 1
    return bill


def _changeout_kits(changeouts: pd.DataFrame, tables: dict[str, pd.DataFrame]) -> pd.DataFrame:
    kits = changeouts.drop_duplicates("kit")[["kit", "changeout", "machine", "planned_on"]]
    site_of = tables["machines"].set_index("machine")["site"]
    return kits.assign(
        purpose="changeout",
        site=kits["machine"].map(site_of),
        needed_by=kits["planned_on"],
    ).drop(columns="planned_on")


def _standing_kits(standing_by: pd.DataFrame, as_of: date) -> pd.DataFrame:
    kits = standing_by[["kit", "site"]].drop_duplicates("kit")
    return kits.assign(purpose="standby", needed_by=pd.Timestamp(as_of).as_unit("s"))


def _waiting_kits(waiting: pd.DataFrame, as_of: date) -> pd.DataFrame:
    """The begun kits that wait, under their own names: needed on their day, now where it is past."""
    today = pd.Timestamp(as_of).as_unit("s")
    stands_by = waiting["position"].isna()
    needed_by = waiting["needed_by"].mask(stands_by).fillna(today).clip(lower=today)
    purpose = stands_by.map({True: "standby", False: "changeout"}).astype("str")
    return waiting[["kit", "machine", "site"]].assign(purpose=purpose, needed_by=needed_by)


def _lines_of(work: pd.DataFrame, tables: dict[str, pd.DataFrame], bill: pd.DataFrame) -> pd.DataFrame:
    """The lines of all `work` (kit, machine, position, design, not_to_build); those that a begun kit holds
    are `held`."""
    critical = tables["positions"][["machine", "position", "critical"]]
    work = work.merge(critical, on=["machine", "position"], how="left")
    # What is to stand by may be wanted anywhere.
    work["critical"] = work["critical"].fillna(False).astype(bool) | work["position"].isna()
    held = find_held(tables)
    begun = pd.MultiIndex.from_frame(work[PLACE]).isin(pd.MultiIndex.from_frame(held[PLACE]))
    lines = pd.concat(
        [
            work[~begun].merge(bill, on="design").assign(held=False),
            work[begun].merge(held, on=PLACE).assign(held=True),
        ],
        ignore_index=True,
    )
    lines = lines.sort_values(["kit", "position", "line"], ignore_index=True).drop(columns="machine")
    lines["line"] = lines.groupby("kit").cumcount() + 1
    return lines


def _give(
    lines: pd.DataFrame,
    kits: pd.DataFrame,
    tables: dict[str, pd.DataFrame],
    settings: Settings,
    as_of: date,
) -> pd.DataFrame:
    """The lines with what stock gives them; a held line lacks nothing."""
    lines = lines.merge(kits, on="kit").astype({"held": bool, "critical": bool})
    held = lines["held"]
    given = give_stock(lines[~held].reset_index(drop=True), tables, settings, as_of)
    kept = lines[held].reset_index(drop=True)
    kept = kept.assign(short_by=0.0, available_on=pd.Series(pd.NaT, kept.index, "datetime64[s]"))
    return pd.concat([given, kept], ignore_index=True)


def _kit_name(changeouts: pd.DataFrame, as_of: date) -> pd.Series:
    """With the day where it is not the first that its window still has. Whatever else is in the stop, so that
    a kit keeps its name when what goes before it is done."""
    day = changeouts["planned_on"]
    later = day > changeouts["window_starts_on"].clip(lower=pd.Timestamp(as_of))
    return "K-" + changeouts["changeout"] + (" " + day.dt.strftime("%Y-%m-%d")).where(later, "")


def give_stock(
    lines: pd.DataFrame, tables: dict[str, pd.DataFrame], settings: Settings, as_of: date
) -> pd.DataFrame:
    """The lines with part, substitute_for, short_by and available_on, in order of need.

    `lines` are those of a bill (`list_bill`) with the kit each is for and its purpose, site, needed_by and
    whether its position is critical.
    A line that its own part cannot fill takes the successor where that may stand in and is on hand in full or
    there sooner, or where its own part can no longer be bought; never on a critical position.
    """
    shelf = _Shelf(tables, settings, as_of)
    lines["substitute_for"] = pd.Series(None, index=lines.index, dtype="str")
    lines = shelf.give(lines)
    successor = lines["part"].map(find_stand_ins(tables))
    asked = (lines["short_by"] > 0) & successor.notna() & ~lines["critical"]
    if asked.any():
        own, comes = lines["part"], find_arrivals(lines, tables, settings, as_of)["available_on"]
        stood_in = lines.assign(
            part=own.mask(asked, successor), substitute_for=own.where(asked), own_part=own, own_comes=comes
        )
        stood_in = shelf.give(stood_in)
        back = stood_in["substitute_for"].notna() & (stood_in["short_by"] > 0)
        back &= _own_is_sooner(stood_in, tables, settings, as_of)
        stood_in["part"] = stood_in["part"].mask(back, stood_in["own_part"])
        stood_in["substitute_for"] = stood_in["substitute_for"].mask(back)
        lines = shelf.give(stood_in)
    lines = _cut_for_sure(lines, shelf)
    return lines.assign(available_on=find_arrivals(lines, tables, settings, as_of)["available_on"])


def _own_is_sooner(
    stood_in: pd.DataFrame, tables: dict[str, pd.DataFrame], settings: Settings, as_of: date
) -> pd.Series:
    """Whether each line's own part is there in time, or no later than what stands in for it.

    Where nobody knows when either comes: whether its own can still be bought.
    """
    comes = day_numbers(find_arrivals(stood_in, tables, settings, as_of)["available_on"])
    own_comes = day_numbers(stood_in["own_comes"])
    obsolete = tables["parts"].set_index("part")["obsolete"].fillna(False).astype(bool)
    still_made = ~stood_in["own_part"].map(obsolete).fillna(False).to_numpy(bool)
    sooner = own_comes <= np.maximum(comes, day_numbers(stood_in["needed_by"]))
    return pd.Series(sooner & (np.isfinite(own_comes) | still_made), index=stood_in.index)


class _Shelf:
    """Usable stock of every site, given out anew to any set of lines."""

    def __init__(self, tables: dict[str, pd.DataFrame], settings: Settings, as_of: date):
        stock = find_usable(tables, as_of)
        self.stock = stock[stock["kind"] != "bulk_hose"].reset_index(drop=True)
        self.pieces = find_pieces(tables, as_of)
        self.settings = settings

    def give(self, lines: pd.DataFrame) -> pd.DataFrame:
        """The lines in order of need, with `short_by`: a cut is had or not, other parts one by one."""
        lines = in_order_of_need(lines)
        hose = (lines["kind"] == "bulk_hose").to_numpy()
        short_by = lines["quantity"].to_numpy(float).copy()
        short_by[hose] = np.where(self.cut(lines[hose]) == NOT_PLACED, short_by[hose], 0.0)
        short_by[~hose] -= take_from_shelf(lines[~hose], self.stock)
        return lines.assign(short_by=short_by)

    def cut(self, lines: pd.DataFrame) -> np.ndarray:
        lengths = lines["cut_length_mm"].fillna(lines["quantity"] * 1000)
        return place_lines(lines.assign(length_mm=lengths), self.pieces, self.settings)


def _cut_for_sure(lines: pd.DataFrame, shelf: _Shelf) -> pd.DataFrame:
    """The lines, where hose that the cut list could not place without the short ones is short too.

    The cut list places the cuts that are on hand, and them alone; so they must go without the rest as well.
    """
    while True:
        on_hand = np.flatnonzero((lines["kind"] == "bulk_hose") & (lines["short_by"] == 0))
        lost = on_hand[shelf.cut(lines.iloc[on_hand]) == NOT_PLACED]
        if not len(lost):
            return lines
        short_by = lines["short_by"].to_numpy().copy()
        short_by[lost] = lines["quantity"].to_numpy()[lost]
        lines = lines.assign(short_by=short_by)


def _ready(kits: pd.DataFrame, work: pd.DataFrame, lines: pd.DataFrame, bill: pd.DataFrame) -> pd.Series:
    short = lines.loc[lines["short_by"] > 0, "kit"]
    unbilled = work.loc[~work["design"].isin(bill["design"]), "kit"]
    return ~kits["kit"].isin(short) & ~kits["kit"].isin(unbilled)


def _warnings(work: pd.DataFrame) -> pd.Series:
    """Why kits must not be built, all positions of a kit in one text, by kit."""
    warned = work.dropna(subset="not_to_build")
    told = warned["position"] + ": " + warned["not_to_build"]
    return told.groupby(warned["kit"]).agg(" ".join)
