"""What the shelves give for a hose that burst: one assembly is asked of every site, as kits are."""

import datetime
from collections.abc import Collection
from dataclasses import dataclass
from functools import cached_property

import pandas as pd
from django.db.models import Q
from django.utils.translation import gettext as _

from fleet.frames.register import shelf_tables
from fleet.models import LINES, Design, Organization, Plan, Position, Site
from forecasting.policies import Settings
from forecasting.shelves import EVEN, find_due_orders, find_usable
from forecasting.supply.displaced import related_parts, rows_that_say_of
from forecasting.supply.kits import give_stock

from ..stock.shelves import told_in, unit_of
from .replacements import BurstLine, Replacement, listed
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
    def sites(self) -> list[str]:
        """Every site of the organization, by key."""
        return sorted(Site.objects.of(self.organization).values_list("key", flat=True))

    @cached_property
    def parts(self) -> set[str]:
        """What it takes, and all that asks the same shelves."""
        return related_parts(self.tables, self.bill["part"])

    @cached_property
    def stock_tables(self) -> dict[str, pd.DataFrame]:
        """The tables with the parts, the stock and the orders of nothing but what it takes, or what may stand
        in: each question then costs what this one hose asks, not what the catalogue does."""
        shelves = shelf_tables(self.organization, Q(part__key__in=self.parts), orders=True)
        return self.tables | shelves | {"parts": rows_that_say_of(self.tables, self.parts)}

    @property
    def first(self) -> pd.DataFrame:
        """The assembly asked of every site's shelves at once, a kit each."""
        sites = pd.DataFrame({"site": self.sites}, dtype="str")
        return sites.merge(self.bill, how="cross").assign(
            kit=lambda lines: lines["site"],
            purpose="changeout",
            position=self.position.key,
            needed_by=pd.Timestamp(self.today),
            critical=bool(self.position.critical),
        )


class Shelves:
    """What each site could build of its own stock, and when."""

    def __init__(self, asked: Asked) -> None:
        given = give_stock(asked.first, asked.stock_tables, asked.settings, asked.today)
        self.asked = asked
        self.parts = _each_part_once(given)
        self.orders = dict(iter(find_due_orders(asked.stock_tables, asked.today).groupby(["part", "site"])))
        lacking = self.parts[self.parts["short_by"] > 0]
        of_site = lacking.groupby("site").agg(on=("missing_on", "max"), unknown=("nobody_knows", "any"))
        self._comes = of_site["on"].mask(of_site["unknown"]).to_dict()

    @property
    def sites(self) -> list[str]:
        return self.asked.sites

    def has_all(self, site: str) -> bool:
        return site not in self._comes

    def ready_on(self, site: str) -> datetime.date | None:
        """The day on which the last part is there; None where nothing says when."""
        if self.has_all(site):
            return self.asked.today
        comes = self._comes[site]
        return None if pd.isna(comes) else comes.date()

    def worth_telling(self) -> list[str]:
        """The machine's own site, those that have all of it, and those that would have it sooner."""
        own = self.ready_on(self.asked.home) or datetime.date.max
        return [
            site
            for site in self.sites
            if site == self.asked.home
            or self.has_all(site)
            or (self.ready_on(site) or datetime.date.max) < own
        ]

    def with_spares(self, plan: Plan | None) -> set[str]:
        """The sites that have it beside what kits of the plan take there before more could come.

        By its own parts and their whole quantity alone: neither what stands in for them nor how long the
        pieces of hose are is looked at.
        """
        if plan is None:
            return set()
        takes = self.asked.bill.groupby("part")["quantity"].sum()
        wanted = LINES["stock_advice"].objects.filter(plan=plan, part__in=takes.index)
        rows = pd.DataFrame(
            wanted.order_by().values_list("site", "part", "planned_demand"),
            columns=["site", "part", "planned"],
        )
        usable = find_usable(self.asked.stock_tables, self.asked.today)
        there = usable.groupby(["site", "part"])["on_hand"].sum()
        places = pd.MultiIndex.from_product([self.sites, takes.index])
        left = there.reindex(places, fill_value=0.0) - takes.reindex(places.get_level_values(1)).to_numpy()
        left -= rows.set_index(["site", "part"])["planned"].reindex(places, fill_value=0.0)
        enough = (left >= -EVEN).groupby(level=0).all()
        return set(enough.index[enough])

    def way(self, site: str) -> Replacement:
        """What the site has of it and what it lacks, as a way to a new assembly."""
        asked, lines = self.asked, self._lines(site)
        lacking = [line for line in lines if line.short_by]
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
        return Replacement("stock", site, "", "", self.ready_on(site), told, tuple(lines))

    @cached_property
    def _by_site(self) -> dict[str, list]:
        rows: dict[str, list] = {site: [] for site in self.sites}
        for row in self.parts.itertuples(index=False):
            rows[row.site].append(row)
        return rows

    @cached_property
    def _sites_with(self) -> dict[str, tuple[str, ...]]:
        there = self.parts[self.parts["short_by"] == 0].sort_values("site")
        return there.groupby("part")["site"].agg(tuple).to_dict()

    def _lines(self, site: str) -> list[BurstLine]:
        lines = []
        for row in self._by_site[site]:
            short_by = float(row.short_by)
            day = None if row.nobody_knows or pd.isna(row.missing_on) else row.missing_on.date()
            order, promised = "", False
            if short_by and (row.part, site) in self.orders:
                arrives = self.orders[row.part, site]
                enough = arrives[arrives["quantity"].cumsum() >= short_by - 1e-9]
                if not enough.empty and enough["due_on"].iloc[0].date() == day:
                    order, promised = enough["order"].iloc[0], bool(enough["promised"].iloc[0])
            others = (one for one in self._sites_with.get(row.part, ()) if one != site)
            lines.append(
                BurstLine(
                    part=row.part,
                    substitute_for="" if pd.isna(row.substitute_for) else row.substitute_for,
                    unit=row.unit,
                    quantity=float(row.quantity),
                    cut_length_mm=None if pd.isna(row.cut_length_mm) else float(row.cut_length_mm),
                    short_by=short_by,
                    lacks=told_in(unit_of(row.unit, self.asked.settings), short_by) if short_by else "",
                    available_on=day,
                    order=order,
                    promised=promised,
                    elsewhere=tuple(others) if short_by else (),
                )
            )
        return lines


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


def _each_part_once(given: pd.DataFrame) -> pd.DataFrame:
    """The lines of `give_stock` as one row per site and part, in the order of the bill."""
    given = given.sort_values("line").assign(
        missing_on=lambda rows: rows["available_on"].where(rows["short_by"] > 0),
        nobody_knows=lambda rows: (rows["short_by"] > 0) & rows["available_on"].isna(),
    )
    return given.groupby(["site", "part"], sort=False, as_index=False).agg(
        substitute_for=("substitute_for", "first"),
        unit=("unit", "first"),
        cut_length_mm=("cut_length_mm", "first"),
        quantity=("quantity", "sum"),
        short_by=("short_by", "sum"),
        missing_on=("missing_on", "max"),
        nobody_knows=("nobody_knows", "any"),
    )


def carried(site: str, home: str) -> str:
    """That it must be carried to the machine's site, where it must: nobody enters how long that takes."""
    if site == home:
        return ""
    return _(" It must be carried to %(home)s; how long that takes is not known here.") % {"home": home}
