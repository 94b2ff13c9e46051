"""Rows of changeouts and stock with trade defaults, and the whole of kits, cuts and advice in one call."""

from dataclasses import dataclass
from datetime import date

import numpy as np
import pandas as pd

from forecasting.outputs import CHANGEOUTS
from forecasting.policies import Settings, service_levels
from forecasting.supply.cutting import cut_hoses
from forecasting.supply.kits import build_kits
from forecasting.supply.stocking import advise_stock
from forecasting.tables import make_table
from tests.forecasting.builders import AS_OF, KnownLaw


def a_changeout(assembly: str = "M-1/P-1", planned_on: str = "2027-02-01", **more) -> dict:
    """A planned changeout of an assembly named MACHINE/POSITION, in a stop of its own."""
    machine, position = assembly.split("/")
    usual = {
        "changeout": f"C-{machine}-{planned_on}",
        "machine": machine,
        "position": position,
        "design": "D-1",
        "special_stop": False,
        "due_reason": "economy",
        "reason": "Cheapest in this window.",
    }
    return {"assembly": assembly, "planned_on": planned_on, **usual, **more}


def changeouts_of(*rows: dict) -> pd.DataFrame:
    return make_table(list(rows), CHANGEOUTS)


def on_shelf(part: str = "E-6", on_hand: float = 10.0, site: str = "North", **more) -> dict:
    return {"part": part, "site": site, "on_hand": on_hand, **more}


def an_order(
    part: str = "E-6", quantity: float = 10.0, expected_on: str | None = "2027-01-20", **more
) -> dict:
    return {
        "order": "PO-1",
        "part": part,
        "site": "North",
        "quantity": quantity,
        "expected_on": expected_on,
    } | more


@dataclass(frozen=True)
class Supply:
    kits: pd.DataFrame
    lines: pd.DataFrame
    cuts: pd.DataFrame
    advice: pd.DataFrame
    transfers: pd.DataFrame
    curve: list[dict]

    def advice_on(self, part: str, site: str = "North") -> pd.Series:
        rows = self.advice[(self.advice["part"] == part) & (self.advice["site"] == site)]
        assert len(rows) == 1
        return rows.iloc[0]


def supply(
    tables: dict[str, pd.DataFrame],
    *changeouts: dict,
    forecaster: KnownLaw | None = None,
    as_of: date = AS_OF,
    **settings,
) -> Supply:
    """Kits, cut list and stock advice for these changeouts."""
    forecaster = forecaster or KnownLaw(tables)
    decided, planned = Settings(**settings), changeouts_of(*changeouts)
    kits, lines = build_kits(planned, tables, decided, as_of, forecaster)
    cuts = cut_hoses(lines, kits, tables, decided, as_of)
    advice, transfers, curve = advise_stock(
        kits,
        lines,
        planned,
        forecaster,
        tables,
        decided,
        service_levels(tables),
        as_of,
        np.random.default_rng(7),
    )
    return Supply(kits, lines, cuts, advice, transfers, curve)
