"""Which real piece or lot each part of an assembly comes from: as the plan gives stock to kits.

Hose is cut from the piece that the plan's cut list names while it still holds the cut, else from the one that
the core finds; other parts come from the lot that expires first. What begun kits hold is not there.
"""

import datetime
from collections.abc import Collection, Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd
from django.db.models import Q
from django.utils.translation import gettext as _

from fleet.frames.register import catalogue_tables, chosen_age_rule, core_settings, shelf_tables
from fleet.models import Design, Organization, StockPiece
from fleet.trade.ratings import load_ratings
from forecasting.policies import Settings
from forecasting.shelves import find_usable
from forecasting.supply.cutting import NOT_PLACED, find_pieces, in_order_of_need, place_lines
from forecasting.supply.kits import give_stock, list_bill
from forecasting.wording import tell_day

from ..stock.shelves import told_in, unit_of

Tables = dict[str, pd.DataFrame]


@dataclass(frozen=True, slots=True)
class Wanted:
    """One assembly to supply: its number in the kit, and what for. `name` is how a person knows it."""

    number: int
    design: str
    critical: bool
    name: str


@dataclass(frozen=True, slots=True)
class Share:
    """So much of one piece for one assembly; hose in metres, the kerf not counted."""

    number: int
    place: str
    part: str
    substitute_for: str
    quantity: float
    cut_length_mm: float | None
    kerf_mm: float
    piece: StockPiece


@dataclass(frozen=True, slots=True)
class Allotment:
    """What each assembly takes (`shares`, by number), and of those that cannot be supplied what they lack."""

    shares: dict[int, list[Share]]
    lacks: dict[int, str]


def allot_stock(
    organization: Organization,
    wanted: list[Wanted],
    *,
    site: str,
    needed_by: datetime.date,
    today: datetime.date,
    pieces: Mapping[int, str] | None = None,
) -> Allotment:
    """What stock of the site gives the assemblies, each whole or not at all, the first ones first.

    `pieces` names for a number the piece of hose that it is to be cut from, if that still holds it.
    """
    tables = _tables_of(organization, site, {one.design for one in wanted})
    bill = list_bill(tables)
    asked = pd.DataFrame(
        [{"number": one.number, "design": one.design, "critical": one.critical} for one in wanted]
    )
    lines = asked.merge(bill, on="design")
    return _allot(organization, tables, lines, wanted, site, needed_by, today, pieces or {})


def allot_again(
    organization: Organization,
    wanted: Wanted,
    spoilt: list[dict],
    *,
    site: str,
    needed_by: datetime.date,
    today: datetime.date,
) -> Allotment:
    """What stock gives in place of the spoilt parts alone: rows of place, part, quantity, cut_length_mm."""
    tables = _tables_of(organization, site, {wanted.design})
    parts = tables["parts"].set_index("part")
    lines = pd.DataFrame(spoilt).assign(number=wanted.number, design=wanted.design, critical=wanted.critical)
    for column in ("kind", "unit", "unit_cost"):
        lines[column] = lines["part"].map(parts[column])
    lines["line"] = range(1, len(lines) + 1)
    lines["cut_length_mm"] = lines["cut_length_mm"].astype(float)
    return _allot(organization, tables, lines, [wanted], site, needed_by, today, {})


def _tables_of(organization: Organization, site: str, designs: Collection[str]) -> Tables:
    drawn = Design.objects.of(organization).filter(key__in=designs)
    catalogue = catalogue_tables(organization, chosen_age_rule(organization), drawn)
    shelves = shelf_tables(organization, Q(site__key=site), orders=True)
    return catalogue | shelves | {"ratings": load_ratings()}


def _allot(
    organization: Organization,
    tables: Tables,
    lines: pd.DataFrame,
    wanted: list[Wanted],
    site: str,
    needed_by: datetime.date,
    today: datetime.date,
    pieces: Mapping[int, str],
) -> Allotment:
    settings = core_settings(organization)
    # What is overdue is needed now; stock must outlast the day on which it is.
    day = max(needed_by, today)
    lines = lines.assign(
        kit=lines["number"].map("{:06d}".format).astype("str"),
        purpose="changeout",
        site=site,
        needed_by=pd.Timestamp(day).as_unit("s"),
    )

    def give(numbers: list[int]) -> pd.DataFrame:
        asked = lines[lines["number"].isin(numbers)].reset_index(drop=True)
        return give_stock(asked, tables, settings, today)

    numbers = [one.number for one in wanted if (lines["number"] == one.number).any()]
    complete = numbers
    given = give(numbers) if numbers else lines.assign(short_by=0.0)
    if (given["short_by"] > 0).any():
        complete = []
        for number in numbers:
            if not (give([*complete, number])["short_by"] > 0).any():
                complete.append(number)
    shares: dict[int, list[Share]] = {}
    if complete:
        shares = _shares(organization, give(complete), tables, settings, site, today, pieces)
    short = {number: of_number for number, of_number in given.groupby("number") if number not in complete}
    # One that could be supplied alone lacks what those before it take.
    lacks = {
        one.number: f"{one.name}: {_told(short.get(one.number), give, one.number, complete, settings)}"
        for one in wanted
        if one.number not in complete
    }
    return Allotment({number: shares.get(number, []) for number in complete}, lacks)


def _told(rows: pd.DataFrame | None, give, number: int, complete: list[int], settings: Settings) -> str:
    """What one assembly lacks, each part once, and when it is there."""
    if rows is None:
        return _("nobody knows what it is made of.")
    if not (rows["short_by"] > 0).any():
        rows = give([*complete, number])
        rows = rows[rows["number"] == number]
    short = rows[rows["short_by"] > 0]
    if short.empty:
        return _("those before it take what is there.")
    told = []
    for part, of_part in short.groupby("part", sort=True):
        unit = unit_of(of_part["unit"].iloc[0], settings)
        days = of_part["available_on"]
        there = (
            _("nothing says when it is there")
            if days.isna().any()
            else _("there on %(day)s") % {"day": tell_day(days.max())}
        )
        told.append(
            _("%(quantity)s of %(part)s (%(there)s)")
            % {"quantity": told_in(unit, float(of_part["short_by"].sum())), "part": part, "there": there}
        )
    return ", ".join(told) + "."


def _shares(
    organization: Organization,
    given: pd.DataFrame,
    tables: Tables,
    settings: Settings,
    site: str,
    today: datetime.date,
    pieces: Mapping[int, str],
) -> dict[int, list[Share]]:
    rows = {
        (row.part.key, row.piece): row
        for row in StockPiece.objects.of(organization)
        .filter(site__key=site, part__key__in=set(given["part"]))
        .select_related("part")
    }
    given = given.sort_values(["number", "line"], ignore_index=True)
    hose = given["kind"] == "bulk_hose"
    takes = [
        *_cuts(given[hose], tables, settings, today, pieces),
        *_lots(given[~hose], find_usable(tables, today)),
    ]
    shares: dict[int, list[Share]] = {}
    for line, piece, quantity in sorted(takes, key=lambda take: (take[0]["number"], take[0]["line"])):
        is_cut = line["kind"] == "bulk_hose"
        shares.setdefault(int(line["number"]), []).append(
            Share(
                number=int(line["number"]),
                place=line["place"],
                part=line["part"],
                substitute_for="" if pd.isna(line["substitute_for"]) else line["substitute_for"],
                quantity=round(float(quantity), 6),
                cut_length_mm=None if pd.isna(line["cut_length_mm"]) else float(line["cut_length_mm"]),
                kerf_mm=settings.kerf_mm if is_cut else 0.0,
                piece=rows[line["part"], piece],
            )
        )
    return shares


def _cuts(
    lines: pd.DataFrame, tables: Tables, settings: Settings, today: datetime.date, wished: Mapping[int, str]
) -> list[tuple[dict, str, float]]:
    """Each cut with its piece: all from those that are wished for, or all placed anew."""
    if lines.empty:
        return []
    pieces = find_pieces(tables, today)
    lines = in_order_of_need(lines.assign(length_mm=lines["cut_length_mm"].fillna(lines["quantity"] * 1000)))
    at = _as_wished(lines, pieces, settings, wished)
    if at is None:
        at = place_lines(lines, pieces, settings)
    if (at == NOT_PLACED).any():
        raise ValueError("Stock was given to a cut that no piece holds.")
    names = pieces["piece"].fillna("").to_numpy()[at]
    return list(zip(lines.to_dict("records"), names, lines["quantity"], strict=True))


def _as_wished(
    lines: pd.DataFrame, pieces: pd.DataFrame, settings: Settings, wished: Mapping[int, str]
) -> np.ndarray | None:
    """The row of `pieces` that each line wishes for; None where one wishes none or they do not all fit."""
    if not wished:
        return None
    named = lines[["number", "part", "site", "needed_by", "length_mm"]].assign(
        piece=lines["number"].map(dict(wished))
    )
    known = pieces.assign(piece=pieces["piece"].fillna(""), row=range(len(pieces)))
    met = named.merge(known[["part", "site", "piece", "row", "expires_on", "length_mm"]], how="left",
                      on=["part", "site", "piece"], suffixes=("", "_of_piece"))  # fmt: skip
    if met["row"].isna().any() or (met["expires_on"] <= met["needed_by"]).any():
        return None
    taken = (met["length_mm"] + settings.kerf_mm).groupby(met["row"]).sum() - settings.kerf_mm
    room = met.groupby("row")["length_mm_of_piece"].first()
    return None if (taken > room + 1e-6).any() else met["row"].astype(int).to_numpy()


def _lots(lines: pd.DataFrame, stock: pd.DataFrame) -> list[tuple[dict, str, float]]:
    """Each line with the lots it takes, the first to expire first; `stock` stands in that order."""
    left = stock["on_hand"].to_numpy(float).copy()
    takes = []
    for line in lines.to_dict("records"):
        fits = (stock["part"] == line["part"]) & (stock["site"] == line["site"])
        fits &= ~(stock["expires_on"] <= line["needed_by"])
        missing = float(line["quantity"])
        for lot in fits.to_numpy().nonzero()[0]:
            got = min(missing, left[lot])
            if got > 1e-9:
                piece = stock["piece"].iloc[lot]
                takes.append((line, "" if pd.isna(piece) else piece, got))
                left[lot] -= got
                missing -= got
        if missing > 1e-6:
            raise ValueError("Stock was given to a line that no lot holds.")
    return takes
