"""Which kits of the plan wait for what a burst takes, and which go short once it is taken."""

from collections.abc import Collection

import pandas as pd
from django.db.models import Q

from fleet.frames.planned_kits import as_asked, waiting_lines
from fleet.frames.register import SHELVES
from fleet.models import Plan
from forecasting.supply.displaced import find_displaced

from ..stock.shelves import told_in, unit_of
from .burst_shelves import Asked
from .replacements import Shortage


def waiting_for(asked: Asked, plan: Plan, which: Q, sites: Collection[str] | None = None) -> pd.DataFrame:
    """The `waiting_lines` of the plan's kits, with `freed` where they are for the burst position itself."""
    waiting = waiting_lines(asked.organization, plan, which, sites)
    own = (waiting["machine"] == asked.position.machine.key) & (waiting["position"] == asked.position.key)
    return waiting.assign(freed=own.to_numpy(bool))


def find_shortages(asked: Asked, plan: Plan | None, sites: Collection[str]) -> dict[str, list[Shortage]]:
    """The kits of the plan that lack more once the shelf of a site has given the assembly its parts, by site.

    The kits are given stock once as it is and once without what was taken.
    """
    if plan is None:
        return {}
    same_shelf = Q(part__in=asked.parts) | Q(substitute_for__in=asked.parts)
    lines = as_asked(waiting_for(asked, plan, same_shelf, sites))
    first = asked.first[asked.first["site"].isin(sites)]
    first = first.assign(kit="burst at " + first["site"], freed=False)
    there = {name: asked.stock_tables[name] for name in SHELVES}
    tables = asked.stock_tables | {name: rows[rows["site"].isin(sites)] for name, rows in there.items()}
    found = find_displaced(lines, first, tables, asked.settings, asked.today)
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
