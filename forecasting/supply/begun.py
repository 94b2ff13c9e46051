"""Kits that the shop has begun: what they hold is theirs, and fills the plan's kits before the stock does.

A begun kit stays with its position whatever the plan makes of the day: a changeout there has its parts, moved
or not. One for no position stands by. What it holds is in `stock` no more, so it must not be asked of it.
An assembly whose parts were spoilt or never there waits, and asks the stock for them as a planned one does.
"""

import pandas as pd

from ..designs.bills import list_units

PLACE = ["machine", "position", "design"]


def find_held(tables: dict[str, pd.DataFrame]) -> pd.DataFrame:
    """The parts that begun kits hold for a position: one assembly for each, the made one before others.

    One row per part: machine, position, design and the columns of a bill (`kits.list_bill`), with
    substitute_for.
    """
    begun = _with_kinds(tables).dropna(subset=["machine", "position"])
    begun = begun.assign(made=begun["made"].fillna(False).astype(bool))
    begun = begun.sort_values(["made", "kit", "number", "line"], ascending=[False, True, True, True])
    first = begun.drop_duplicates(PLACE)[[*PLACE, "kit", "number"]]
    held = begun.merge(first, on=[*PLACE, "kit", "number"])
    return held.drop(columns=["kit", "number", "made", "site"])


def find_standing_by(tables: dict[str, pd.DataFrame]) -> pd.DataFrame:
    """The parts that begun kits for no position hold: kit, site, design and the columns of a bill."""
    begun = _with_kinds(tables)
    begun = begun[begun["position"].isna()].drop(columns=["machine", "position", "made"])
    begun = begun.sort_values(["kit", "number", "line"], ignore_index=True)
    begun["line"] = begun.groupby("kit").cumcount() + 1
    return begun.drop(columns="number")


def find_waiting(tables: dict[str, pd.DataFrame], changeouts: pd.DataFrame) -> pd.DataFrame:
    """The assemblies that wait at the bench for parts and that none of the CHANGEOUTS asks parts for.

    Rows of `waiting_builds`. What a changeout is planned for gets its parts with the plan's kit: once.
    """
    waiting = tables["waiting_builds"]
    planned = pd.MultiIndex.from_frame(changeouts[PLACE])
    return waiting[~pd.MultiIndex.from_frame(waiting[PLACE]).isin(planned)].reset_index(drop=True)


def is_held(kit_lines: pd.DataFrame, kits: pd.DataFrame, tables: dict[str, pd.DataFrame]) -> pd.Series:
    """Whether a begun kit holds the part of each of KIT_LINES: then it is taken from no stock."""
    machine = kit_lines["kit"].map(kits.set_index("kit")["machine"])
    places = pd.MultiIndex.from_frame(tables["begun_kits"][PLACE].dropna().drop_duplicates())
    asked = pd.MultiIndex.from_frame(kit_lines[["position", "design"]].assign(machine=machine)[PLACE])
    for_a_place = pd.Series(asked.isin(places), index=kit_lines.index)
    standing_by = tables["begun_kits"].loc[tables["begun_kits"]["position"].isna(), "kit"]
    return for_a_place | kit_lines["kit"].isin(standing_by)


def _with_kinds(tables: dict[str, pd.DataFrame]) -> pd.DataFrame:
    begun, parts = tables["begun_kits"], tables["parts"].set_index("part")
    return begun.assign(
        kind=begun["part"].map(parts["kind"]),
        unit=begun["part"].map(list_units(tables["parts"])),
        unit_cost=begun["part"].map(parts["unit_cost"]),
    )
