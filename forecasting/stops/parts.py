"""Parts that changeouts could want before more of them are there: who has to wait, and what is to be shared.

What an order of today brings is enough for all from the day it is there. Before that day changeouts take from
what is on hand and due. What waits at the bench for an empty position has its parts before all. What must go
sooner, by a limit, is given its parts next, in the order of its last day, and goes even where there are none:
its kit is short. The others share the rest; of two spans of days each limits what may be taken in it, so that
nothing is taken before it is there or after it expires.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from itertools import chain, combinations, groupby

import numpy as np
import pandas as pd

from ..designs.bills import HOSE, list_parts
from ..designs.stand_ins import find_stand_ins
from ..policies import Settings
from ..shelves import EVEN, arrival_if_ordered, day_numbers, find_due_orders, find_usable, take_from_lots
from .problem import SLACK, Shared, draw_on_spans

MOST_TOGETHER = 6  # superseded parts that fall back on one part, weighed in every set of them
TAKES = ["row", "group", "amount", "until"]
SPANS = ["group", "first_day", "end_day", "most"]


@dataclass(frozen=True, slots=True)
class Parts:
    """What n assemblies to decide about find of their parts.

    earliest   (n,) the first day on which one that was given its parts has them; 0 for all others
    short_to   (n,) of one that goes without, the day on which its parts would be there (inf: no day is
               known); NaN where it need not
    bought     (n,) the first day on which an order of today has all that could be short
    shared     what the others take of what there is before an order of today would be there
    """

    earliest: np.ndarray
    short_to: np.ndarray
    bought: np.ndarray
    shared: Shared


def days_to_buy(assemblies: pd.DataFrame, tables: dict[str, pd.DataFrame], as_of: date) -> np.ndarray:
    """In how many days (n,) an order of today has all parts of each of the `assemblies` (design, critical).

    inf: never; NaN where nobody knows what it is made of.
    """
    bill = list_parts(tables)
    days = _days_to_buy_parts(tables, as_of).reindex(bill["part"])
    slowest = days.groupby(bill["design"].to_numpy()).max().reindex(assemblies["design"])
    return np.where(assemblies["critical"], slowest["own"], slowest["any"])


def find_unbuyable(
    due: pd.DataFrame,
    assemblies: pd.DataFrame,
    changeouts: pd.DataFrame,
    tables: dict[str, pd.DataFrame],
    horizon_days: float,
    as_of: date,
) -> pd.DataFrame:
    """What is due within the horizon and not changed, with its parts that nobody can buy any more and nothing
    may stand in for: one row per assembly and part.

    `due` is that of `heed_decisions`, so that what a person wants to stay is not missed, with `assemblies`
    (design, critical) beside it, row by row.
    """
    stays = (due["due_on"] - pd.Timestamp(as_of)).dt.days <= horizon_days
    stays &= ~due["assembly"].isin(changeouts["assembly"])
    asked = assemblies.loc[stays.to_numpy(bool), ["assembly", "design", "critical"]]
    days = _days_to_buy_parts(tables, as_of).reset_index(names="part")
    lines = asked.merge(list_parts(tables)[["design", "part"]])
    lines = lines.drop_duplicates().merge(days, on="part")
    never = np.isinf(np.where(lines["critical"], lines["own"], lines["any"]))
    return lines.loc[never, ["assembly", "part"]]


def days_of_arrival(assemblies: pd.DataFrame, tables: dict[str, pd.DataFrame], as_of: date) -> pd.DataFrame:
    """In how many days parts of `assemblies` (machine, site, design) or what stands in for them could come.

    One row per machine and day (`later`) on which an open order or one of today brings some of them.
    """
    bill = list_parts(tables)[["design", "part"]]
    stands_in = bill.assign(part=bill["part"].map(find_stand_ins(tables))).dropna()
    bill = pd.concat([bill, stands_in]).drop_duplicates()
    buying, orders = _days_to_buy_parts(tables, as_of)["own"], find_due_orders(tables, as_of)
    bought = bill.assign(later=bill["part"].map(buying))[["design", "later"]].drop_duplicates()
    orders["later"] = (orders["due_on"] - pd.Timestamp(as_of)).dt.days.astype(float)
    due = bill.merge(orders, on="part")[["site", "design", "later"]].drop_duplicates()
    asked = assemblies[["machine", "site", "design"]].drop_duplicates()
    found = pd.concat([asked.merge(bought, on="design"), asked.merge(due, on=["site", "design"])])
    return found[["machine", "later"]].drop_duplicates(ignore_index=True)


def share_parts(
    assemblies: pd.DataFrame,
    day: np.ndarray,
    until: np.ndarray,
    tables: dict[str, pd.DataFrame],
    settings: Settings,
    as_of: date,
) -> Parts:
    """What the `assemblies` (machine, position, site, design, critical) find who could be changed on `day`.

    `day` (n, W) is inf where one may not be changed. `until` (n,) is the day by which one must be changed, in
    a special stop of its own where it finds no parts on its days; inf: it may be left.
    """
    lines, lots = _list_lines(assemblies, tables, settings, as_of), _list_lots(tables, settings, as_of)
    waiting = _list_waiting(tables)
    if len(waiting):
        first = _list_lines(waiting, tables, settings, as_of).assign(last_day=0.0, until=0.0)
        lots = _give_in_turn(first, lots, np.zeros(len(waiting)), np.full(len(waiting), np.nan))
    first_day = day.min(axis=1, initial=np.inf)
    lines = lines[first_day[lines["row"]] < lines["bought"]]
    lines = lines[~_is_plenty(lines, lots)].reset_index(drop=True)
    count = len(assemblies)
    bought = np.zeros(count)
    np.maximum.at(bought, lines["row"].to_numpy(int), lines["bought"].to_numpy(float))
    at_once = until < bought
    earliest, short_to = np.zeros(count), np.full(count, np.nan)
    first = lines[at_once[lines["row"]]]
    if len(first):
        last_day = np.where(np.isfinite(day), day, -np.inf).max(axis=1, initial=-np.inf)
        first = first.assign(last_day=last_day[first["row"]], until=until[first["row"]])
        first = first.sort_values(["until", "last_day", "row"], kind="stable")
        lots = _give_in_turn(first, lots, earliest, short_to)
    takes, spans = _list_pools(lines[~at_once[lines["row"]]].reset_index(drop=True), lots)
    early = np.where(day < bought[:, None], day, np.inf)
    shared = draw_on_spans(takes, spans.assign(more_on=spans["end_day"]), early)
    return Parts(earliest, short_to, bought, shared)


def days_awaited(parts: Parts, if_had: np.ndarray, days: np.ndarray, stop: np.ndarray) -> np.ndarray:
    """The day (n,) from which the parts are there of what would have gone sooner; NaN where they were.

    A choice (n,) of stops made the rest of the parts scarce. `if_had` (n, W) are the costs of the stops on
    `days`, parts aside. What is in none of its stops would have gone in any of them.
    """
    shared, every, width = parts.shared, np.arange(len(stop)), days.shape[1]
    at = np.minimum(stop, width - 1)
    day, cost = (np.where(stop < width, of_stop[every, at], np.inf) for of_stop in (days, if_had))
    wished = (days < day[:, None]) & (if_had < cost[:, None])
    key = shared.row * max(len(shared.most), 1) + shared.span
    own = np.isin(key, key[stop[shared.row] == shared.stop]) * shared.amount
    full = shared.asked(stop)[shared.span] - own + shared.amount > shared.most[shared.span] + SLACK
    more_on = np.minimum(shared.more_on[shared.span], parts.bought[shared.row])
    barred = full & wished[shared.row, shared.stop] & (more_on <= day[shared.row])
    awaited = np.full(len(stop), -np.inf)
    np.maximum.at(awaited, shared.row[barred], more_on[barred])
    given = (wished & (days < parts.earliest[:, None])).any(axis=1)
    awaited = np.maximum(awaited, np.where(given, parts.earliest, -np.inf))
    return np.where(np.isinf(awaited), np.nan, awaited)


def _days_to_buy_parts(tables: dict[str, pd.DataFrame], as_of: date) -> pd.DataFrame:
    """In how many days an order of today is there, by part: `own`, inf where nobody can buy it, and `any`,
    that of the part or of what may stand in for it, whichever comes sooner."""
    parts = tables["parts"]
    arrival = arrival_if_ordered(parts["part"], parts, as_of)
    own = (arrival - pd.Timestamp(as_of)).dt.days.astype(float).set_axis(parts["part"])
    own[parts["obsolete"].fillna(False).to_numpy(bool)] = np.inf
    successor = find_stand_ins(tables)
    either = own.copy()
    either[successor.index] = np.minimum(own[successor.index], own[successor].to_numpy())
    return pd.DataFrame({"own": own, "any": either})


def _list_lines(
    assemblies: pd.DataFrame, tables: dict[str, pd.DataFrame], settings: Settings, as_of: date
) -> pd.DataFrame:
    """What each assembly takes, one line per part: row, site, part, stand_in, amount, cut and bought.

    `stand_in` is the part that may stand in for it (NaN: none), `amount` is in pieces, or in metres of hose
    with the kerf of its `cut` (NaN where nothing is cut). What the shop has begun takes nothing more.
    """
    bill = list_parts(tables)
    overall = bill["design"].map(tables["designs"].set_index("design")["overall_length_mm"]) / 1000
    cut = (bill["place"] == HOSE) & (bill["kind"] == "bulk_hose")
    bill["amount"] = bill["quantity"].fillna(overall) + cut * settings.kerf_mm / 1000
    bill["cut"] = bill["amount"].where(cut)
    bill = bill.groupby(["design", "part"], as_index=False)[["amount", "cut"]].sum(min_count=1)
    place = ["machine", "position", "design"]
    begun = pd.MultiIndex.from_frame(tables["begun_kits"][place].dropna().drop_duplicates())
    asked = assemblies[[*place, "site", "critical"]].reset_index(drop=True).rename_axis("row").reset_index()
    asked = asked[~pd.MultiIndex.from_frame(asked[place]).isin(begun)]
    lines = asked[["row", "site", "design", "critical"]].merge(bill, on="design")
    lines["stand_in"] = lines["part"].map(find_stand_ins(tables)).where(~lines["critical"])
    days = _days_to_buy_parts(tables, as_of).reindex(lines["part"])
    lines["bought"] = np.where(lines["critical"], days["own"], days["any"])  # nothing stands in there
    return lines[["row", "site", "part", "stand_in", "amount", "cut", "bought"]]


def _list_waiting(tables: dict[str, pd.DataFrame]) -> pd.DataFrame:
    """What waits at the bench for positions that are empty: their machines stand, so they come before all.

    One row per assembly: machine, position, design, site, critical.
    """
    place = ["machine", "position"]
    waiting = tables["waiting_builds"].dropna(subset=["position"])
    stays = tables["installations"]
    filled = pd.MultiIndex.from_frame(stays.loc[stays["removed_on"].isna(), place])
    empty = waiting[~pd.MultiIndex.from_frame(waiting[place]).isin(filled)]
    found = empty.merge(tables["positions"][[*place, "critical"]], on=place, how="left")
    found["critical"] = found["critical"].fillna(False).astype(bool)
    return found[[*place, "design", "site", "critical"]]


def _list_lots(tables: dict[str, pd.DataFrame], settings: Settings, as_of: date) -> pd.DataFrame:
    """What is on hand and due: site, part, left (hose with a kerf to spare), first_day and end_day of use."""
    today = float(np.datetime64(as_of, "D").astype(int))
    hose = tables["parts"].set_index("part")["kind"] == "bulk_hose"
    stock, orders = find_usable(tables, as_of), find_due_orders(tables, as_of)
    lots = pd.DataFrame(
        {
            "site": pd.concat([stock["site"], orders["site"]]),
            "part": pd.concat([stock["part"], orders["part"]]),
            "left": np.concatenate([stock["on_hand"].to_numpy(float), orders["quantity"].to_numpy(float)]),
            "first_day": np.concatenate([np.zeros(len(stock)), day_numbers(orders["due_on"]) - today]),
            "end_day": np.concatenate(
                [day_numbers(stock["expires_on"]) - today, np.full(len(orders), np.inf)]
            ),
        }
    )
    lots["left"] += lots["part"].map(hose).fillna(False).to_numpy(bool) * settings.kerf_mm / 1000
    return lots.sort_values(["first_day", "end_day", "left"], kind="stable", ignore_index=True)


def _is_plenty(lines: pd.DataFrame, lots: pd.DataFrame) -> np.ndarray:
    """Lines whose part is on hand for all lines, to last until more can be bought."""
    alone = lines[["site", "part", "amount", "cut", "bought"]]
    others = lines.dropna(subset="stand_in")
    others = others[["site", "stand_in", "amount", "cut", "bought"]].rename(columns={"stand_in": "part"})
    asked = pd.concat([alone, others], ignore_index=True).groupby(["site", "part"])
    wanted = asked.agg(amount=("amount", "sum"), cut=("cut", "max"), bought=("bought", "max"))
    wanted["lines"] = asked.size()
    here = lots[lots["first_day"] == 0].merge(wanted.reset_index(), on=["site", "part"])
    here = here[here["end_day"] >= here["bought"]]
    here["gives"] = np.where(here["cut"].isna(), here["left"], np.floor(here["left"] / here["cut"] + EVEN))
    gives = here.groupby(["site", "part"])["gives"].sum().reindex(wanted.index, fill_value=0.0)
    plenty = gives + EVEN >= wanted["amount"].where(wanted["cut"].isna(), wanted["lines"])
    return plenty.reindex(pd.MultiIndex.from_frame(lines[["site", "part"]])).to_numpy(bool)


def _give_in_turn(
    lines: pd.DataFrame, lots: pd.DataFrame, earliest: np.ndarray, short_to: np.ndarray
) -> pd.DataFrame:
    """The lots after the `lines` took theirs in turn: all of a row for the `last_day` of its stops, else all
    for `until`, else what there is. The lines of a row stand together.

    Writes into `earliest` and `short_to` by row what each had or lacks.
    """
    left = lots["left"].to_numpy(float).copy()
    opens, ends = lots["first_day"].to_numpy(float), lots["end_day"].to_numpy(float)
    of_part = lots.groupby(["site", "part"]).indices
    nothing = np.empty(0, int)

    def lots_of(line) -> np.ndarray:
        places = (
            of_part.get((line.site, line.part), nothing),
            of_part.get((line.site, line.stand_in), nothing),
        )
        return np.concatenate(places)

    def take(line, day: float, left: np.ndarray) -> np.ndarray | None:
        mine = lots_of(line)
        in_time = mine[(opens[mine] <= day) & (ends[mine] > day)]
        return take_from_lots(left, in_time, line.amount, whole=not np.isnan(line.cut))

    for row, of_row in groupby(lines.itertuples(), key=lambda line: line.row):
        wanted = list(of_row)
        for day in (wanted[0].last_day, wanted[0].until):
            rest = left.copy()
            taken = [places for line in wanted if (places := take(line, day, rest)) is not None]
            if len(taken) == len(wanted):
                left, earliest[row] = rest, opens[np.concatenate(taken)].max()
                break
        else:
            for line in wanted:
                if take(line, line.last_day, left) is not None:
                    continue
                # It goes short, and what comes first is laid to its kit: it is for nobody else.
                mine = lots_of(line)
                to_come = mine[(opens[mine] < line.bought) & (ends[mine] > line.last_day)]
                to_come = to_come[np.argsort(opens[to_come], kind="stable")]
                got = take_from_lots(left, to_come, line.amount, whole=not np.isnan(line.cut))
                if got is None and np.isnan(line.cut):
                    left[to_come] = 0.0
                comes = line.bought if got is None else opens[got].max()
                short_to[row] = np.fmax(short_to[row], comes)
    return lots.assign(left=left)


class _Pools:
    """What is taken of each pool of parts, and what there is of it in which days, gathered pool by pool."""

    def __init__(self) -> None:
        self.takes: list[tuple[np.ndarray, ...]] = []
        self.spans: list[tuple[np.ndarray, ...]] = []

    def add(
        self,
        row: np.ndarray,
        amount: np.ndarray,
        until: np.ndarray,
        begin: np.ndarray,
        stop: np.ndarray,
        most: np.ndarray,
    ) -> None:
        """Keeps the pool where its rows together could use up a span of it."""
        if amount.sum() > most.min(initial=np.inf) + EVEN:
            number = len(self.takes)
            self.takes.append((row, np.full(len(row), number), amount, until))
            self.spans.append((np.full(len(most), number), begin, stop, most))

    def frames(self) -> tuple[pd.DataFrame, pd.DataFrame]:
        takes, spans = (
            pd.DataFrame(dict(zip(columns, map(np.concatenate, zip(*gathered, strict=True)), strict=True)))
            if gathered
            else pd.DataFrame(columns=columns, dtype=float)
            for gathered, columns in ((self.takes, TAKES), (self.spans, SPANS))
        )
        return takes, spans


def _list_pools(lines: pd.DataFrame, lots: pd.DataFrame) -> tuple[pd.DataFrame, pd.DataFrame]:
    """The takes and spans of each part at each site that its `lines` could use up before more is bought.

    Parts that another may stand in for share its stock with all that ask for it. What insists on one part is
    held to the stock of that one, and of those that fall back on another any of them together, with what
    insists on that one, to the stock of all of these: one may have more than it needs, which helps no other.
    """
    pools, nothing = _Pools(), np.empty(0, int)
    asks, has = (one.groupby(["site", "part"]).indices for one in (lines, lots))
    insists = lines["stand_in"].isna().to_numpy(bool)
    for place, mine in asks.items():
        if insists[mine].any():
            _add_pool(pools, lines.iloc[mine[insists[mine]]], lots.iloc[has.get(place, nothing)])
    stood_in = lines[["site", "part", "stand_in"]].dropna().drop_duplicates()
    for (site, other), superseded in stood_in.groupby(["site", "stand_in"])["part"]:
        for parts in _sets_of(superseded.tolist()):
            places = [(site, part) for part in (*parts, other)]
            asked, held = (
                np.concatenate([one.get(place, nothing) for place in places]) for one in (asks, has)
            )
            _add_pool(pools, lines.iloc[asked], lots.iloc[held])
    return pools.frames()


def _sets_of(parts: list[str]) -> Iterator[tuple[str, ...]]:
    """Every set of them; of more than MOST_TOGETHER each alone and all of them."""
    sizes = range(1, len(parts) + 1) if len(parts) <= MOST_TOGETHER else (1, len(parts))
    return chain.from_iterable(combinations(parts, size) for size in sizes)


def _add_pool(pools: _Pools, lines: pd.DataFrame, lots: pd.DataFrame) -> None:
    """Adds what `lines` take of `lots`: pieces as they are, hose by metres and by cuts of so much or more.

    Each line takes of them before the day on which it is bought, and the last of these days ends the spans.
    """
    until = lines["bought"].to_numpy(float)
    bought = until.max()
    row, amount, left = (
        lines["row"].to_numpy(int),
        lines["amount"].to_numpy(float),
        lots["left"].to_numpy(float),
    )
    opens, ends = lots["first_day"].to_numpy(float), lots["end_day"].to_numpy(float)
    begins = np.unique(np.append(ends[ends < bought], 0.0))
    stops = np.unique(np.append(opens[(opens > 0) & (opens < bought)], bought))
    begin, stop = (one.ravel() for one in np.meshgrid(begins, stops, indexing="ij"))
    begin, stop = begin[begin < stop], stop[begin < stop]
    usable = (ends > begin[:, None]) & (opens < stop[:, None])
    if lines["cut"].isna().any():
        pools.add(row, amount, until, begin, stop, usable @ left)
        return
    for length in np.unique(amount):
        longer, cuts = amount >= length, np.floor(left / length + EVEN)
        pools.add(row[longer], np.ones(longer.sum()), until[longer], begin, stop, usable @ cuts)
        metres = usable @ np.where(cuts > 0, left, 0.0)
        pools.add(row[longer], amount[longer], until[longer], begin, stop, metres)
