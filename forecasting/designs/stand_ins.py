"""Which part may stand in for a superseded one: its successor, where nothing known speaks against it."""

import pandas as pd

from .constructions import stands_suction
from .ratings import complete_parts

CHAIN = 8  # a successor of a successor, and so on; a longer chain runs in a circle
SAME = ("kind", "dash", "connection_dash", "thread", "cutoff_mm", "material", "conductive")
NOT_LOWER = ("rated_pressure_bar", "maximum_temperature_c")
NOT_HIGHER = ("minimum_temperature_c", "minimum_bend_radius_mm")
CRIMP_ROLES = ("hose_part", "end_part", "ferrule_part")


def find_stand_ins(tables: dict[str, pd.DataFrame]) -> pd.Series:
    """The current successor of each superseded part that it may stand in for, by part.

    It must be of the same kind, size, thread, cut-off, material and conductivity, stand at least the
    pressure, temperatures, bend and vacuum that the old part is known to stand, be still made, and have a
    crimp wherever the old part has one. A hose rated 4,800 psi may stand in for one of 3,000 psi, never the
    other way round (common practice, no source). Where the old hose states nothing, what is known to stand
    less than a table gives the old one from memory stands in no more: it may fail a hose, and pass none.
    """
    parts = tables["parts"].set_index("part")
    next_part = parts["superseded_by"].dropna()
    if next_part.empty:  # as often where few parts are asked about; completing them takes longest
        return next_part
    last = next_part
    for _ in range(CHAIN):
        last = last.map(next_part).fillna(last)
    concerned = tables["parts"][tables["parts"]["part"].isin([*last.index, *last])]
    parts = complete_parts(tables | {"parts": concerned}).set_index("part")
    old = parts.loc[last.index]
    new = parts.reindex(last.to_numpy()).set_axis(last.index)
    fits = new["kind"].notna() & ~new["obsolete"].fillna(False).astype(bool) & ~last.isin(next_part.index)
    for column in SAME:
        fits &= old[column].isna() | (old[column] == new[column]).fillna(False).astype(bool)
    for column in NOT_LOWER:
        fits &= old[column].isna() | (new[column] >= old[column])
        fits &= ~(new[column] < old[f"tabulated_{column}"])
    for column in NOT_HIGHER:
        fits &= old[column].isna() | (new[column] <= old[column])
        fits &= ~(new[column] > old[f"tabulated_{column}"])
    vacuum = stands_suction(old["construction"]) == "meant"
    fits &= ~vacuum | (stands_suction(new["construction"]) == "meant")
    fits &= ~last.index.isin(_without_crimp(tables["crimp_specs"], last))
    return last[fits]


def _without_crimp(crimp_specs: pd.DataFrame, successors: pd.Series) -> set[str]:
    """Superseded parts with a crimp specification that their successor lacks."""
    known = set(zip(*(crimp_specs[role].fillna("") for role in CRIMP_ROLES), strict=True))
    lacking: set[str] = set()
    for role in CRIMP_ROLES:
        old = crimp_specs[crimp_specs[role].isin(successors.index)]
        new = old.assign(**{role: old[role].map(successors)})
        keys = zip(*(new[each].fillna("") for each in CRIMP_ROLES), strict=True)
        lacking |= {part for part, key in zip(old[role], keys, strict=True) if key not in known}
    return lacking
