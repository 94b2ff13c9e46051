"""What the shelves give for a hose that burst: at each site, and which kits of the plan then go short.

One assembly is asked of every site at once as kits are; whatever it takes, the kits are given stock again
without it, and what they lack more than before is told.
"""

import datetime
from collections.abc import Collection
from dataclasses import dataclass, replace
from functools import cached_property

import pandas as pd
from django.db.models import Q
from django.utils.translation import gettext as _

from fleet.frames.planned_kits import as_asked
from fleet.frames.register import shelf_tables
from fleet.models import Design, Organization, Position
from forecasting.policies import Settings
from forecasting.shelves import find_due_orders
from forecasting.supply.displaced import find_displaced, related_parts
from forecasting.supply.kits import give_stock

from ..stock.shelves import told_in, unit_of
from .replacements import BurstLine, Replacement, Shortage, listed
from .stand_ins import CandidateShown, judge_position


@dataclass(frozen=True)
class Asked:
    """What burst, and what it is judged by: `bill` is what it takes; the tables are `place_tables`, without
    stock."""

    organization: Organization
    position: Position
    design: Design
    today: datetime.date
    tables: dict[str, pd.DataFrame]
    settings: Settings
    bill: pd.DataFrame

    @property
    def home(self) -> str:
        return self.position.machine.site.key

    @cached_property
    def parts(self) -> set[str]:
        """What it takes, and all that asks the same shelves."""
        return related_parts(self.tables, self.bill["part"])

    @cached_property
    def shelves(self) -> dict[str, pd.DataFrame]:
        """The tables with the stock and the orders of nothing but what it takes, or what may stand in."""
        return self.tables | shelf_tables(self.organization, Q(part__key__in=self.parts))

    @property
    def first(self) -> pd.DataFrame:
        """The assembly asked of every site's shelves at once, a kit each."""
        sites = pd.DataFrame({"site": self.tables["sites"]["site"]})
        return sites.merge(self.bill, how="cross").assign(
            kit=lambda lines: lines["site"],
            purpose="changeout",
            position=self.position.key,
            needed_by=pd.Timestamp(self.today),
            critical=bool(self.position.critical),
        )


def ways_from_stock(asked: Asked) -> dict[str, Replacement]:
    """What each site could build of its own stock, by site."""
    given = give_stock(asked.first, asked.shelves, asked.settings, asked.today)
    lines = _lines(given, find_due_orders(asked.shelves, asked.today), asked.settings)
    return {site: _way(site, of_site, asked) for site, of_site in lines.items()}


def tell_shortages(
    ways: dict[str, Replacement], asked: Asked, waiting: pd.DataFrame
) -> dict[str, Replacement]:
    """The `ways_from_stock` with the kits of the plan that then go short, of those that `waiting` holds."""
    shortages = _shortages(asked, waiting)
    return {site: replace(way, goes_short=tuple(shortages.get(site, ()))) for site, way in ways.items()}


def _shortages(asked: Asked, waiting: pd.DataFrame) -> dict[str, list[Shortage]]:
    """The kits of the plan that lack more once a site's shelf has given the assembly its parts, by site."""
    if waiting.empty:
        return {}
    lines = as_asked(waiting)
    first = asked.first.assign(kit=lambda rows: "burst at " + rows["site"], freed=False)
    found = find_displaced(lines, first, asked.shelves, asked.settings, asked.today)
    kits = {kit.kit: kit for kit in lines.drop_duplicates("kit").itertuples(index=False)}
    shortages: dict[str, list[Shortage]] = {}
    for row in found.itertuples(index=False):
        kit = kits[row.kit]
        shortages.setdefault(row.site, []).append(
            Shortage(
                kit=row.kit,
                site=row.site,
                machine="" if pd.isna(kit.machine) else kit.machine,
                needed_by=kit.needed_by.date(),
                part=row.part,
                unit=row.unit,
                short_by=float(row.short_by),
                lacks=told_in(unit_of(row.unit, asked.settings), float(row.short_by)),
                available_on=None if pd.isna(row.available_on) else row.available_on.date(),
            )
        )
    return shortages


def ways_of_stand_ins(asked: Asked, sites: Collection[str]) -> list[Replacement]:
    """The first other hose that passes every check and can be built now at each of the sites."""
    if not sites:
        return []
    judged = judge_position(
        asked.organization, asked.position, asked.design, asked.tables, asked.settings, asked.today
    )
    first: dict[str, CandidateShown] = {}
    for candidate in judged.fitting:
        if candidate.kinship != "own":
            for site in candidate.ready_at:
                first.setdefault(site, candidate)
    return [
        Replacement(
            kind="stand_in",
            site=site,
            assembly="",
            kit="",
            ready_on=asked.today,
            says=_("%(site)s could build one of %(parts)s, which passes every check that is made here.")
            % {"site": site, "parts": _parts_of(one)}
            + carried(site, asked.home),
            then=(one.reason,) if one.reason else (),
        )
        for site, one in first.items()
        if site in sites
    ]


def _parts_of(candidate: CandidateShown) -> str:
    ends = [end.part for end in (candidate.end_a, candidate.end_b) if end]
    return f"hose {candidate.hose.part} with {listed([f'end {end}' for end in dict.fromkeys(ends)])}"


def _lines(given: pd.DataFrame, orders: pd.DataFrame, settings: Settings) -> dict[str, list[BurstLine]]:
    """The parts that the assembly takes, by site, each part once."""
    given = given.sort_values("line").assign(
        missing_on=lambda rows: rows["available_on"].where(rows["short_by"] > 0),
        nobody_knows=lambda rows: (rows["short_by"] > 0) & rows["available_on"].isna(),
    )
    of_parts = given.groupby(["site", "part"], sort=False, as_index=False).agg(
        substitute_for=("substitute_for", "first"),
        unit=("unit", "first"),
        cut_length_mm=("cut_length_mm", "first"),
        quantity=("quantity", "sum"),
        short_by=("short_by", "sum"),
        missing_on=("missing_on", "max"),
        nobody_knows=("nobody_knows", "any"),
    )
    there = of_parts[of_parts["short_by"] == 0].sort_values("site")
    has = there.groupby("part")["site"].agg(tuple).to_dict()
    coming = dict(iter(orders.groupby(["part", "site"])))
    lines: dict[str, list[BurstLine]] = {}
    for row in of_parts.itertuples(index=False):
        short_by = float(row.short_by)
        day = None if row.nobody_knows or pd.isna(row.missing_on) else row.missing_on.date()
        order, promised = "", False
        if short_by and (row.part, row.site) in coming:
            arrives = coming[row.part, row.site]
            enough = arrives[arrives["quantity"].cumsum() >= short_by - 1e-9]
            if not enough.empty and enough["due_on"].iloc[0].date() == day:
                order, promised = enough["order"].iloc[0], bool(enough["promised"].iloc[0])
        lines.setdefault(row.site, []).append(
            BurstLine(
                part=row.part,
                substitute_for="" if pd.isna(row.substitute_for) else row.substitute_for,
                unit=row.unit,
                quantity=float(row.quantity),
                cut_length_mm=None if pd.isna(row.cut_length_mm) else float(row.cut_length_mm),
                short_by=short_by,
                lacks=told_in(unit_of(row.unit, settings), short_by),
                available_on=day,
                order=order,
                promised=promised,
                elsewhere=tuple(one for one in has.get(row.part, ()) if one != row.site) if short_by else (),
            )
        )
    return lines


def _way(site: str, lines: list[BurstLine], asked: Asked) -> Replacement:
    lacking = [line for line in lines if line.short_by]
    days = [line.available_on for line in lacking]
    ready_on = asked.today if not days else None if None in days else max(one for one in days if one)
    own = _(", the machine's own site,") if site == asked.home else ""
    if not lacking:
        says = _("%(site)s%(own)s has every part of %(design)s: today, once it is built.") % {
            "site": site,
            "own": own,
            "design": asked.design,
        }
    else:
        says = _("%(site)s%(own)s lacks %(parts)s.") % {
            "site": site,
            "own": own,
            "parts": listed([line.part for line in lacking]),
        }
    stand_ins = [
        _("%(part)s stands in for %(substitute_for)s.")
        % {"part": line.part, "substitute_for": line.substitute_for}
        for line in lines
        if line.substitute_for
    ]
    told = " ".join([says + carried(site, asked.home), *stand_ins])
    return Replacement("stock", site, "", "", ready_on, told, tuple(lines))


def carried(site: str, home: str) -> str:
    """That it must be carried to the machine's site, where it must: nobody enters how long that takes."""
    if site == home:
        return ""
    return _(" It must be carried to %(home)s; how long that takes is not known here.") % {"home": home}
