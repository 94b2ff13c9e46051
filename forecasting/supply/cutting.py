"""Which reel or offcut each cut comes off: real pieces, a saw's kerf, no splice, little scrap.

A piece of length L yields cuts of lengths c where Σ(c + kerf) ≤ L + kerf: the last cut needs no kerf where
nothing is left beyond it. What is left below the keep length is scrap. Pieces are taken in turn, the oldest
offcut first and then the reels, and each is given the set of cuts that leaves least scrap (a subset-sum over
lengths in tenths of a millimetre, held as the bits of a whole number).
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date

import numpy as np
import pandas as pd

from ..outputs import CUT_LIST
from ..policies import Settings
from ..shelves import day_numbers, find_usable
from ..tables import make_table
from .begun import is_held

STEPS_PER_MM = 10
OFFCUT_BELOW_MM = 10_000.0  # common practice, no source: shorter pieces are offcuts, longer ones reels
TAIL_MM = 15_000.0  # of a longer piece only so much is fitted exactly, the longest cuts come off it before
MOST_SIZES = 256  # different lengths weighed at once
# To keep an offcut has a price in handling: scrap up to this share of the keep length is preferred to it.
KEPT_OFFCUT_SHARE = 0.05
NOT_PLACED = -1


@dataclass(frozen=True, slots=True)
class Saw:
    """How hose is cut: the length a cut turns to dust, and the least length of an end worth keeping."""

    kerf_mm: float
    keep_length_mm: float


def cut_hoses(
    kit_lines: pd.DataFrame,
    kits: pd.DataFrame,
    tables: dict[str, pd.DataFrame],
    settings: Settings,
    as_of: date,
) -> pd.DataFrame:
    """CUT_LIST: one row per cut of the kit lines that are on hand, in the order of cutting.

    What a begun kit holds is cut already, or set aside for its own cut, and not listed. Lines without a cut
    length reserve the hose they may need but are not listed: nobody can cut them yet. What must not be built
    comes last on its piece: whoever passes over it finds the piece as long as the cut before says.
    """
    lines = list_cuts(kit_lines[~is_held(kit_lines, kits, tables)], kits)
    pieces = find_pieces(tables, as_of)
    lines["piece_row"] = place_lines(lines, pieces, settings)
    lines = lines[lines["piece_row"] != NOT_PLACED]
    lines = lines.assign(
        reserved_only=lines["cut_length_mm"].isna(), passed_over=lines["not_to_build"].notna()
    ).sort_values(
        ["site", "part", "piece_row", "reserved_only", "passed_over", "length_mm", "kit", "line"],
        ascending=[True, True, True, True, True, False, True, True],
        ignore_index=True,
    )
    on_piece = pieces.loc[lines["piece_row"]].reset_index(drop=True)
    gone = (lines["length_mm"] + settings.kerf_mm).groupby(lines["piece_row"]).cumsum()
    lines["left_on_piece_mm"] = (on_piece["length_mm"] - gone).clip(lower=0).round(3)
    lines["piece"], lines["lot"] = on_piece["piece"], on_piece["lot"]
    listed = lines[~lines["reserved_only"]].rename(columns={"part": "hose_part"})
    return make_table(listed, CUT_LIST)


def list_cuts(kit_lines: pd.DataFrame, kits: pd.DataFrame) -> pd.DataFrame:
    """The bulk hose lines that are not short, most needed first.

    One row per cut: kit, line, site, part, needed_by, cut_length_mm, length_mm (overall where the cut length
    is not known), substitute_for.
    """
    hose = kit_lines[(kit_lines["kind"] == "bulk_hose") & (kit_lines["short_by"] == 0)]
    lines = hose.merge(kits[["kit", "purpose", "site", "needed_by"]], on="kit", how="left")
    lines["length_mm"] = lines["cut_length_mm"].fillna(lines["quantity"] * 1000)
    return in_order_of_need(lines)


def in_order_of_need(lines: pd.DataFrame) -> pd.DataFrame:
    """Kit lines as stock is given to them: changeouts before standby, the first needed first.

    Of one day a part's own lines come before those that it stands in for: what is needed later is planned for
    when more of it is there.
    """
    order = lines.assign(stand_in=lines["substitute_for"].notna(), standby=lines["purpose"] == "standby")
    order = order.sort_values(["standby", "needed_by", "stand_in", "kit", "line"])
    return order.drop(columns=["stand_in", "standby"]).reset_index(drop=True)


def find_pieces(tables: dict[str, pd.DataFrame], as_of: date) -> pd.DataFrame:
    """Every usable piece of bulk hose in the order of use: the oldest offcut first, then the oldest reel.

    One row per piece: part, site, piece, lot, length_mm, made_on, expires_on. Of one age the shorter comes
    first; a piece of unknown age comes last.
    """
    stock = find_usable(tables, as_of)
    pieces = stock[stock["kind"] == "bulk_hose"].assign(length_mm=lambda hose: hose["on_hand"] * 1000)
    pieces["is_reel"] = pieces["length_mm"] >= OFFCUT_BELOW_MM
    order = ["part", "site", "is_reel", "made_on", "length_mm", "piece"]
    return pieces.sort_values(order, ignore_index=True).drop(columns=["is_reel", "on_hand", "kind"])


def place_lines(lines: pd.DataFrame, pieces: pd.DataFrame, settings: Settings) -> np.ndarray:
    """The row of `pieces` that each line is cut off, NOT_PLACED where no piece can give it.

    `lines` (part, site, length_mm, needed_by) stand in order of need. A piece serves what is needed before
    it expires.
    """
    saw = Saw(settings.kerf_mm, settings.keep_length_mm)
    found = np.full(len(lines), NOT_PLACED)
    pieces_of = pieces.groupby(["part", "site"]).indices
    expires = day_numbers(pieces["expires_on"])
    lengths, needed = lines["length_mm"].to_numpy(float), day_numbers(lines["needed_by"])
    piece_lengths = pieces["length_mm"].to_numpy(float)
    for place, rows in lines.groupby(["part", "site"]).indices.items():
        mine = pieces_of.get(place)
        if mine is None:
            continue
        placed = place_cuts(lengths[rows], piece_lengths[mine], saw, needed[rows], expires[mine])
        found[rows] = np.where(placed == NOT_PLACED, NOT_PLACED, mine[placed])
    return found


def place_cuts(
    cuts_mm: np.ndarray,
    pieces_mm: np.ndarray,
    saw: Saw,
    needed: np.ndarray | None = None,
    expires: np.ndarray | None = None,
) -> np.ndarray:
    """The piece of each cut, NOT_PLACED where it finds none. Cuts stand in order of need, pieces of use.

    A cut needed on day `needed` comes off a piece only where that is before day `expires`. Where not all can
    be made, as many of the most needed ones as can be made together are, then what fits into what is left.
    """
    needed = np.zeros(len(cuts_mm)) if needed is None else needed
    expires = np.full(len(pieces_mm), np.inf) if expires is None else expires
    placed = np.full(len(cuts_mm), NOT_PLACED)
    allowed = needed[:, None] < expires[None, :]
    possible = np.flatnonzero(((cuts_mm[:, None] <= pieces_mm[None, :]) & allowed).any(axis=1))

    def fit(count: int) -> np.ndarray | None:
        first = possible[:count]
        return _fit_all(cuts_mm[first], pieces_mm, allowed[first], saw)

    # Together they need room: a bound that spares most of the search where hose is scarce.
    room = np.cumsum(cuts_mm[possible] + saw.kerf_mm) <= (pieces_mm + saw.kerf_mm).sum() + 1e-6
    low, high, best = 0, int(room.sum()), None
    fits = fit(high)
    while fits is None and high - low > 1:
        middle = (low + high) // 2
        attempt = fit(middle)
        if attempt is None:
            high = middle
        else:
            low, best = middle, attempt
    if fits is not None:
        low, best = high, fits
    if best is not None:
        placed[possible[:low]] = best
    _fit_one_by_one(placed, possible[low:], cuts_mm, pieces_mm, allowed, saw)
    return placed


def _fit_all(cuts_mm: np.ndarray, pieces_mm: np.ndarray, allowed: np.ndarray, saw: Saw) -> np.ndarray | None:
    """The piece of each cut, or None where no way was found to make them all."""
    if not len(cuts_mm):
        return np.zeros(0, dtype=int)
    for choose in (_least_scrap, _fullest):
        placed = _fill_in_turn(cuts_mm, pieces_mm, allowed, saw, choose)
        if (placed != NOT_PLACED).all():
            return placed
    placed = np.full(len(cuts_mm), NOT_PLACED)
    _fit_one_by_one(placed, np.argsort(-cuts_mm, kind="stable"), cuts_mm, pieces_mm, allowed, saw)
    return placed if (placed != NOT_PLACED).all() else None


def _fit_one_by_one(
    placed: np.ndarray,
    cuts: np.ndarray,
    cuts_mm: np.ndarray,
    pieces_mm: np.ndarray,
    allowed: np.ndarray,
    saw: Saw,
) -> None:
    """Places the named cuts in turn, each into the shortest remainder that takes it (best fit)."""
    done = placed != NOT_PLACED
    gone = np.bincount(placed[done], weights=cuts_mm[done] + saw.kerf_mm, minlength=len(pieces_mm))
    left = pieces_mm - gone
    for cut in cuts:
        rest = np.where(allowed[cut], left - cuts_mm[cut], -1.0)
        rest[rest < -1e-6] = np.inf
        piece = int(rest.argmin()) if len(rest) else NOT_PLACED
        if piece != NOT_PLACED and np.isfinite(rest[piece]):
            placed[cut] = piece
            left[piece] -= cuts_mm[cut] + saw.kerf_mm


def _fill_in_turn(
    cuts_mm: np.ndarray,
    pieces_mm: np.ndarray,
    allowed: np.ndarray,
    saw: Saw,
    choose: Callable[[int, int, Saw], int],
) -> np.ndarray:
    placed = np.full(len(cuts_mm), NOT_PLACED)
    longest_first = np.argsort(-cuts_mm, kind="stable")
    # Rounded against us, so that what fits on the grid fits in truth.
    steps = np.ceil((cuts_mm + saw.kerf_mm) * STEPS_PER_MM - 1e-6).astype(np.int64)
    for piece, length in enumerate(pieces_mm):
        open_cuts = longest_first[placed[longest_first] == NOT_PLACED]
        if not len(open_cuts):
            break
        room = int((length + saw.kerf_mm) * STEPS_PER_MM + 1e-6)
        mine = open_cuts[allowed[open_cuts, piece] & (steps[open_cuts] <= room)]
        if steps[mine].sum() <= room:
            placed[mine] = piece
            continue
        taken = []
        while len(mine) and room > TAIL_MM * STEPS_PER_MM:
            taken.append(mine[0])
            room -= int(steps[mine[0]])
            mine = mine[1:]
        mine = mine[steps[mine] <= room]
        taken.extend(_best_set(mine, steps[mine], room, saw, choose))
        placed[taken] = piece
    return placed


def _best_set(
    cuts: np.ndarray, steps: np.ndarray, room: int, saw: Saw, choose: Callable[[int, int, Saw], int]
) -> list[int]:
    """The cuts whose lengths add up to what `choose` picks of all reachable sums, the longest preferred.

    `cuts` stand longest first. Cuts of one length are bundled by powers of two, so that a thousand equal
    ones are ten steps; bit s of `reached` says that a sum of s steps can be had.
    """
    sizes, starts, counts = np.unique(-steps, return_index=True, return_counts=True)
    if len(sizes) > MOST_SIZES:
        kept = np.linspace(0, len(sizes) - 1, MOST_SIZES).astype(int)
        sizes, starts, counts = sizes[kept], starts[kept], counts[kept]
    within = (1 << (room + 1)) - 1
    bundles, reached = [], [1]
    for size, start, count in zip(-sizes, starts, np.minimum(counts, room // -sizes), strict=True):
        bundle, left = 1, int(count)
        while left:
            many = min(bundle, left)
            bundles.append((int(start), many, int(size) * many))
            reached.append((reached[-1] | reached[-1] << bundles[-1][2]) & within)
            left -= many
            bundle *= 2
    goal = choose(reached[-1], room, saw)
    used: dict[int, int] = {}
    for (start, many, width), before in zip(reversed(bundles), reversed(reached[:-1]), strict=True):
        if not before >> goal & 1:
            used[start] = used.get(start, 0) + many
            goal -= width
    return [cut for start, many in used.items() for cut in cuts[start : start + many]]


def _fullest(reached: int, room: int, saw: Saw) -> int:
    return reached.bit_length() - 1


def _least_scrap(reached: int, room: int, saw: Saw) -> int:
    """The fullest sum, or the fullest that leaves an end worth keeping where that scraps clearly less."""
    fullest = reached.bit_length() - 1
    kerf, keep = saw.kerf_mm * STEPS_PER_MM, saw.keep_length_mm * STEPS_PER_MM
    scrap = max(room - kerf - fullest, 0)
    if scrap >= keep or scrap <= KEPT_OFFCUT_SHARE * keep:
        return fullest
    most = int(np.floor(room - kerf - keep))
    if most <= 0:
        return fullest
    keeping = (reached & ((1 << (most + 1)) - 1)).bit_length() - 1
    return keeping if keeping > 0 else fullest
