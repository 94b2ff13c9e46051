"""Who goes short where stock is taken for something that comes first: the kits before it and after it."""

from datetime import date, timedelta

import pandas as pd

from ..designs.stand_ins import find_stand_ins
from ..policies import Settings
from ..tables import date as day
from ..tables import make_table, number, table, text
from .kits import give_stock

DUST = 1e-6

DISPLACED = table(
    "displaced",
    "one row per kit and part that lacks more than it did",
    ("kit", "part"),
    text("kit", may_be_empty=False),
    text("site", may_be_empty=False),
    text("part", may_be_empty=False),
    text("unit", may_be_empty=False),
    number("short_by", "more than before; bulk hose in metres", may_be_empty=False),
    day("available_on"),
)


def related_parts(tables: dict[str, pd.DataFrame], parts: pd.Series) -> set[str]:
    """The parts, what may stand in for them, and what they may stand in for: all that asks the same shelf."""
    successors = find_stand_ins(tables)
    taken = set(parts) | set(successors[successors.index.isin(parts)])
    return taken | set(successors.index[successors.isin(taken)])


def rows_that_say_of(tables: dict[str, pd.DataFrame], parts: set[str]) -> pd.DataFrame:
    """The rows of PARTS by which the parts are judged: their own, and those of all that supersedes them."""
    catalogue = tables["parts"]
    superseded_by = catalogue.set_index("part")["superseded_by"].dropna()
    said, new = set(parts), set(parts)
    while new:
        new = set(superseded_by[superseded_by.index.isin(new)]) - said
        said |= new
    return catalogue[catalogue["part"].isin(said)]


def find_displaced(
    lines: pd.DataFrame,
    first: pd.DataFrame,
    tables: dict[str, pd.DataFrame],
    settings: Settings,
    as_of: date,
) -> pd.DataFrame:
    """DISPLACED: what kits lack once `first` is given stock before all of them, and did not lack without it.

    `lines` and `first` are as `give_stock` takes them. Lines of a kit that falls away once `first` is there
    have `freed` set: they ask for stock before, and not after. available_on is the day on which the last of
    what is missing is there, on an open order or as if it were ordered on `as_of`; empty where nothing says.
    """
    asked = lines[lines["part"].isin(related_parts(tables, first["part"]))].reset_index(drop=True)
    if asked.empty:
        return make_table(None, DISPLACED)
    before = give_stock(asked.copy(), tables, settings, as_of).set_index(["kit", "line"])["short_by"]
    earliest = min(asked["needed_by"].min(), pd.Timestamp(as_of)) - timedelta(days=1)
    goes_first = first.assign(needed_by=earliest, purpose="changeout", taken_first=True)
    after = pd.concat(
        [asked[~asked["freed"].astype(bool)].assign(taken_first=False), goes_first], ignore_index=True
    )
    given = give_stock(after, tables, settings, as_of)
    given = given[~given["taken_first"].astype(bool)]
    was = before.reindex(pd.MultiIndex.from_frame(given[["kit", "line"]])).to_numpy()
    given = given.assign(short_by=given["short_by"] - was)
    lacking = given[given["short_by"] > DUST]
    unknown = lacking["available_on"].isna().groupby([lacking["kit"], lacking["part"]]).any()
    found = lacking.groupby(["kit", "part"], as_index=False).agg(
        site=("site", "first"),
        unit=("unit", "first"),
        short_by=("short_by", "sum"),
        available_on=("available_on", "max"),
        needed_by=("needed_by", "first"),
    )
    places = pd.MultiIndex.from_frame(found[["kit", "part"]])
    found["available_on"] = found["available_on"].mask(unknown.reindex(places).to_numpy(bool))
    return make_table(found.sort_values(["needed_by", "kit", "part"]), DISPLACED)
