"""Stock advice for every part at every site that has, awaits, wants or uses it, and moves between sites.

Demand over lead time and review is what planned kits ask for within it, and one chance of failing for each
installed assembly that no plan changes within it, times what an assembly takes of the part. So a position
counts once: with its kit, or with its chance. A position whose kit is begun asks nothing more of the shelf:
what it takes is set aside, or asked for by its kit where it waits for parts. Failures of successors within
one lead time are left out.
"""

from datetime import date

import numpy as np
import pandas as pd

from ..ahead.forecasts import INTERVAL
from ..designs.bills import list_units
from ..designs.stand_ins import find_stand_ins
from ..outputs import STOCK_ADVICE, TRANSFERS
from ..policies import DEFAULT_SERVICE_LEVEL, Settings
from ..shelves import DEFAULT_LEAD_TIME_DAYS, find_due_orders, find_usable
from ..tables import make_table
from .arrivals import find_arrivals
from .begun import find_waiting, is_held
from .cutting import find_pieces, in_order_of_need
from .demand import economic_quantity, mix_demand, spread_lead_times
from .kits import list_bill
from .lead_chances import Chances, LeadChances
from .reckoning import NO_DEMAND, YEAR, Lots, Reckoning, Terms, days_until_empty, reckon
from .takings import (
    NO_KITS,
    NO_USES,
    KitTakings,
    Place,
    Uses,
    days_to_changeout,
    list_kit_takings,
    list_uses,
    mean_taking,
    places_of_use,
    sum_bill,
)
from .transfers import Move, plan_moves
from .value_curve import curve_of_value
from .wording import tell_move, tell_stock

SCENARIOS = 64
NEVER = np.inf
NOTHING = pd.DataFrame()


def advise_stock(
    kits: pd.DataFrame,
    kit_lines: pd.DataFrame,
    changeouts: pd.DataFrame,
    forecaster: Chances,
    tables: dict[str, pd.DataFrame],
    settings: Settings,
    levels: pd.DataFrame,
    as_of: date,
    rng: np.random.Generator,
) -> tuple[pd.DataFrame, pd.DataFrame, list[dict]]:
    """STOCK_ADVICE, one row per part and site, TRANSFERS, and what all is worth by service level.

    `levels` gives the service level by part and site. Bulk hose counts in metres, each cut with its kerf, and
    what is on hand only as far as cuts that are wanted can be made of its pieces. Where a lead time is not
    known 14 days are assumed (common practice, no source), and `why` says so.
    """
    shop = _Shop(kits, kit_lines, changeouts, forecaster, tables, settings, levels, as_of, rng)
    reckonings: dict[str, dict[str, Reckoning]] = {}
    for part, site in shop.list_places():
        reckonings.setdefault(part, {})[site] = shop.reckon(part, site)
    moves: list[Move] = []
    rows = []
    for part, at_sites in sorted(reckonings.items()):
        made, after = shop.plan_moves(part, at_sites)
        moves += made
        for site, one in sorted(at_sites.items()):
            rows.append(shop.tell(part, site, one, after[site], made))
    told = [
        {
            "part": move.part,
            "from_site": move.from_site,
            "to_site": move.to_site,
            "quantity": move.quantity,
            "why": tell_move(
                move, reckonings[move.part][move.from_site], reckonings[move.part][move.to_site], settings
            ),
        }
        for move in moves
    ]
    curve = curve_of_value(reckonings, tables["parts"], settings.review_days)
    return make_table(rows, STOCK_ADVICE), make_table(told, TRANSFERS), curve


class _Shop:
    """Everything known that stock depends on, looked up by part and site."""

    def __init__(
        self,
        kits: pd.DataFrame,
        kit_lines: pd.DataFrame,
        changeouts: pd.DataFrame,
        forecaster: Chances,
        tables: dict[str, pd.DataFrame],
        settings: Settings,
        levels: pd.DataFrame,
        as_of: date,
        rng: np.random.Generator,
    ):
        self.settings, self.as_of = settings, pd.Timestamp(as_of)
        self.parts = tables["parts"].set_index("part")
        self.unit = list_units(tables["parts"])
        self.stand_ins = find_stand_ins(tables).to_dict()
        self.level = levels.set_index(["part", "site"])["service_level"].to_dict()
        machines = tables["machines"]
        self.downtime_cost = machines.groupby("site")["downtime_cost_per_hour"].mean().dropna().to_dict()
        bill = sum_bill(list_bill(tables), settings)
        self.used_at = places_of_use(tables, bill)
        waiting = find_waiting(tables, changeouts)
        self.uses = list_uses(forecaster.installed, waiting, tables, bill)
        # Nothing is ordered for what must not be built: another design takes other parts.
        asked = kit_lines[~is_held(kit_lines, kits, tables) & kit_lines["not_to_build"].isna()]
        self.kits = list_kit_takings(kits, asked, settings, as_of)
        self.stock = _by_place(find_usable(tables, as_of))
        self.held = tables["stock"].groupby(["part", "site"])["on_hand"].sum().to_dict()
        self.pieces = _by_place(find_pieces(tables, as_of))
        orders = find_due_orders(tables, as_of)
        self.orders = _by_place(orders.assign(days=(orders["due_on"] - self.as_of).dt.days))
        self.planned_day = days_to_changeout(forecaster.installed, changeouts, as_of)
        self._time_leads(rng)
        self.awaited = self._list_awaited(asked.merge(kits, on="kit"), tables, as_of)
        asked = [times + review for times in self.lead_times.values() for review in self._reviews]
        self.chances = LeadChances(forecaster, np.concatenate([*asked, [YEAR]]), SCENARIOS)
        year = np.full(SCENARIOS, YEAR)
        everyone = np.arange(len(forecaster.installed))
        self.year_chance = np.concatenate(
            [self.chances.within(rows, year).mean(axis=0) for rows in np.array_split(everyone, 64)]
        )
        self.year_chance[self.planned_day <= YEAR] = 0.0

    @property
    def _reviews(self) -> tuple[float, float]:
        return self.settings.review_days, self.settings.review_days / 2

    def _time_leads(self, rng: np.random.Generator) -> None:
        """Lead times of each part in every scenario; their order does not follow that of the draws."""
        order = rng.permutation(SCENARIOS)
        known = self.parts["lead_time_days"]
        self.lead_time = known.fillna(DEFAULT_LEAD_TIME_DAYS)
        spread = self.parts["lead_time_sd_days"].fillna(0.0).where(known.notna(), 0.0)
        self.lead_key = dict(zip(self.parts.index, zip(self.lead_time, spread, strict=True), strict=True))
        self.lead_times = {
            (mean, sd): spread_lead_times(mean, sd, SCENARIOS)[order] for mean, sd in self.lead_key.values()
        }

    def _list_awaited(
        self, lines: pd.DataFrame, tables: dict[str, pd.DataFrame], as_of: date
    ) -> dict[Place, float]:
        """What kits that a next order would be too late for lack, and only an order of today brings."""
        lines = in_order_of_need(lines)
        to_order = find_arrivals(lines, tables, self.settings, as_of)["to_order"]
        window = self.lead_time.reindex(lines["part"]).to_numpy() + self.settings.review_days
        pressing = (lines["needed_by"] - self.as_of).dt.days.to_numpy() <= window
        return to_order[pressing].groupby([lines["part"], lines["site"]]).sum().to_dict()

    def list_places(self) -> list[Place]:
        """Every part and site to advise on; obsolete parts first, as their demand may pass to successors."""
        places = set(self.held) | set(self.orders) | set(self.kits) | set(self.uses) | self.used_at
        for part, site in list(places):
            if part in self.stand_ins and not self._may_buy(part):
                places.add((self.stand_ins[part], site))
        return sorted(places, key=lambda place: (self._may_buy(place[0]), place))

    def _may_buy(self, part: str) -> bool:
        obsolete = self.parts.at[part, "obsolete"]
        return bool(pd.isna(obsolete) or not obsolete)

    def reckon(self, part: str, site: str) -> Reckoning:
        """The reckoning of one part at one site.

        Where an obsolete part runs out, its successor stands in for it from now on.
        """
        facts = self.parts.loc[part]
        uses, kits = self.uses.get((part, site), NO_USES), self.kits.get((part, site), NO_KITS)
        lead_times = self.lead_times[self.lead_key[part]]
        review, half_review = self._reviews
        chances = self._chances(uses, lead_times + review, lead_times + review)
        planned = kits.within(lead_times + review)
        if len(uses.takes) or planned.any():
            demand = mix_demand(chances, uses.takes, planned)
            sooner = self._chances(uses, lead_times + half_review, lead_times + review)
            demand_at_half_review = mix_demand(sooner, uses.takes, planned)
        else:
            demand = demand_at_half_review = NO_DEMAND
        window = float(self.lead_time[part]) + review
        from_failures = self.year_chance[uses.assemblies]
        yearly = float(from_failures @ uses.takes + kits.within(YEAR))
        lots = self._lots(part, site)
        usable, too_short = self._usable(part, site, uses, kits, lots)
        orders = self.orders.get((part, site), NOTHING)
        one = reckon(
            self._terms(part, site, facts, yearly),
            demand,
            demand_at_half_review,
            planned=float(kits.within(window)),
            unplanned_mean=float((chances @ uses.takes).mean()),
            yearly_demand=yearly,
            taking=mean_taking(uses, from_failures, kits),
            usable=usable,
            left_out=float(self.held.get((part, site), 0.0) - lots.quantities.sum()) + too_short,
            due=float(orders.loc[orders["days"] <= window, "quantity"].sum()) if len(orders) else 0.0,
            lots=lots,
            kits=kits,
            window_days=window,
            horizon_days=self.settings.horizon_days,
            awaited=self.awaited.get((part, site), 0.0),
        )
        successor = self.stand_ins.get(part)
        if not one.terms.may_buy and successor and one.position < one.reorder_point:
            there = (successor, site)
            self.uses[there] = self.uses.get(there, NO_USES) + uses
        return one

    def _chances(self, uses: Uses, days: np.ndarray, planned_within: np.ndarray) -> np.ndarray:
        """Chances within `days` of those whose changeout is not planned inside `planned_within`."""
        chances = self.chances.within(uses.assemblies, days)
        return np.where(self.planned_day[uses.assemblies] <= planned_within[:, None], 0.0, chances)

    def _terms(self, part: str, site: str, facts: pd.Series, yearly: float) -> Terms:
        pack = facts["pack_quantity"]
        cost = np.nan_to_num(facts["unit_cost"])
        economic = economic_quantity(
            self.settings.order_cost, yearly, self.settings.holding_rate_per_year * cost
        )
        if facts["shelf_life_days"] > 0:
            economic = min(economic, yearly * facts["shelf_life_days"] / YEAR)
        return Terms(
            unit=self.unit[part],
            pack=float(pack) if pack > 0 else 1.0,
            economic_quantity=economic,
            service_level=self.level.get((part, site), DEFAULT_SERVICE_LEVEL),
            may_buy=self._may_buy(part),
        )

    def _lots(self, part: str, site: str) -> Lots:
        stock = self.stock.get((part, site))
        if stock is None:
            return Lots(np.zeros(0), np.zeros(0))
        days = ((stock["expires_on"] - self.as_of) / pd.Timedelta(days=1)).fillna(NEVER)
        return Lots(stock["on_hand"].to_numpy(float), days.to_numpy(float))

    def _usable(self, part: str, site: str, uses: Uses, kits: KitTakings, lots: Lots) -> tuple[float, float]:
        """What is on hand, and what of it is in pieces too short for any cut.

        Of hose, what the cuts wanted can make of each piece, weighed by how much of the demand they are.
        """
        pieces = self.pieces.get((part, site))
        if pieces is None:
            return float(lots.quantities.sum()), 0.0
        cuts = np.concatenate([uses.takes, kits.takes])
        weights = np.concatenate([self.year_chance[uses.assemblies] * uses.takes, kits.takes])
        metres = pieces["length_mm"].to_numpy(float) / 1000
        if not weights.sum() > 0:
            short = metres * 1000 < self.settings.keep_length_mm
            return float(metres[~short].sum()), float(metres[short].sum())
        cuts, which = np.unique(cuts, return_inverse=True)
        shares = np.bincount(which, weights=weights) / weights.sum()
        made = np.floor((metres[:, None] + self.settings.kerf_mm / 1000) / cuts + 1e-9) * cuts @ shares
        return float(made.sum()), float(metres[made == 0].sum())

    def plan_moves(
        self, part: str, at_sites: dict[str, Reckoning]
    ) -> tuple[list[Move], dict[str, Reckoning]]:
        if len(at_sites) < 2:
            return [], at_sites
        return plan_moves(
            part,
            at_sites,
            float(np.nan_to_num(self.parts.at[part, "unit_cost"])),
            float(self.lead_time[part]),
            self.downtime_cost,
            self.settings,
        )

    def tell(self, part: str, site: str, one: Reckoning, moved: Reckoning, moves: list[Move]) -> dict:
        """The row of STOCK_ADVICE; what comes from other sites is taken off the order.

        `moved` is the same reckoning after the moves between sites.
        """
        held = float(self.held.get((part, site), 0.0))
        orders = self.orders.get((part, site), NOTHING)
        row = {
            "on_hand": min(one.usable, held),
            "on_order": float(orders["quantity"].sum()) if len(orders) else 0.0,
            "planned_demand": one.planned,
            "unplanned_demand_mean": one.unplanned_mean,
            "reorder_point": one.reorder_point,
            "order_up_to": one.order_up_to,
            "order_now": moved.order_now,
            "expected_fill_rate": one.expected_fill_rate,
            "surplus": one.surplus,
            "expires_unused": one.expires_unused,
            "demand_low": one.demand.least_level(INTERVAL[0]),
            "demand_high": one.demand.least_level(INTERVAL[1]),
        }
        known = self.parts.at[part, "lead_time_days"]
        return {name: round(value, 6) for name, value in row.items()} | {
            "part": part,
            "site": site,
            "unit": one.terms.unit,
            "lead_time_days": known,
            "service_level": one.terms.service_level,
            "runs_out_on": self._runs_out_on(one, orders, self.kits.get((part, site), NO_KITS)),
            "why": tell_stock(
                one,
                moved.order_now,
                awaited=moved.awaited,
                unpromised=float(orders.loc[~orders["promised"], "quantity"].sum()) if len(orders) else 0.0,
                due_later_on=self._due_later_on(part, orders),
                lead_days=float(self.lead_time[part]),
                review_days=self.settings.review_days,
                assumed_lead_time=DEFAULT_LEAD_TIME_DAYS if np.isnan(known) else None,
                moved_in={move.from_site: move.quantity for move in moves if move.to_site == site},
                successor=self.stand_ins.get(part),
            ),
        }

    def _due_later_on(self, part: str, orders: pd.DataFrame) -> pd.Timestamp | None:
        """The day of the first open order that an order of today would overtake, or None."""
        later = orders[orders["days"] > np.ceil(self.lead_time[part])] if len(orders) else orders
        return later["due_on"].iloc[0] if len(later) else None

    def _runs_out_on(self, one: Reckoning, orders: pd.DataFrame, kits: KitTakings) -> pd.Timestamp | None:
        failures_a_day = (one.yearly_demand - float(kits.within(YEAR))) / YEAR
        days = days_until_empty(one.lasting, orders, kits, failures_a_day)
        return self.as_of + pd.Timedelta(days=days) if np.isfinite(days) else None


def _by_place(frame: pd.DataFrame) -> dict[Place, pd.DataFrame]:
    return dict(iter(frame.groupby(["part", "site"])))
