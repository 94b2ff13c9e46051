"""The register as it would stand once a fleet folder is taken in."""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
import pandas as pd

from forecasting.designs.bills import list_units

from .assemblies import ASSEMBLIES, assemblies_of, position_designs, without_repeats
from .columns import File
from .reading import Folder, as_seen
from .schema import FILES, FILES_BY_NAME, INSTALLATIONS, PARTS, POLICIES
from .tables import dtypes_of, fit_table, same


class State(StrEnum):
    """What a folder makes of a row."""

    CREATED = "created"
    CHANGED = "changed"
    UNCHANGED = "unchanged"


@dataclass(frozen=True, slots=True)
class Fleet:
    """The register as it would stand, and the folder that it came from.

    One table per file, and `assemblies` as the register keeps them. Besides the file's own columns a table
    has `id` (0 where the row is new), `file_line` (0 where the row is not in the folder) and `state` (empty
    there). `before` holds each file's rows as they stand, against which the states were judged.
    """

    tables: dict[str, pd.DataFrame]
    folder: Folder
    before: dict[str, pd.DataFrame]

    def __getitem__(self, name: str) -> pd.DataFrame:
        return self.tables[name]


def merge_folder(
    standing: dict[str, pd.DataFrame], incoming: dict[str, pd.DataFrame], folder: Folder
) -> Fleet:
    """The standing tables with the incoming rows laid over them, key by key.

    `standing` has one table per file but `assemblies` in the place of `installations`, each with `id`. An
    empty cell clears what stood, a column that is absent leaves it, and so does a row that is absent.
    """
    incoming = _count_pieces(standing, _spell_as_standing(standing, incoming))
    assemblies = standing["assemblies"]
    stays = assemblies.dropna(subset=["machine"])
    before = standing | {"installations": without_repeats(stays, standing["builds"], standing["positions"])}
    # What is known of an assembly on the shelf stands when it is installed, as far as the row does not say.
    said = incoming.get("installations", pd.DataFrame(columns=["assembly", "design"]))
    named = said["assembly"]
    known = assemblies[assemblies["machine"].notna() | assemblies["assembly"].isin(named)]
    laid = standing | {"installations": without_repeats(known, standing["builds"], standing["positions"])}
    tables = {file.name: _merge(laid[file.name], incoming.get(file.name), file) for file in FILES}
    merged, builds, positions = (tables[name] for name in ("installations", "builds", "positions"))
    as_position = merged["design"].isna() & (merged["file_line"] > 0)
    if "design" not in said:  # what is installed keeps what stood, be it that nobody knows its design
        as_position &= ~merged["assembly"].isin(stays["assembly"])
    merged["design"] = merged["design"].mask(as_position, position_designs(merged, positions))
    made = assemblies_of(merged, builds)
    tables["assemblies"] = _judge(made, standing["assemblies"], ASSEMBLIES)
    tables["installations"] = _judge(
        without_repeats(merged, builds, positions), before["installations"], INSTALLATIONS
    )
    return Fleet(tables, folder, before)


def _spell_as_standing(
    standing: dict[str, pd.DataFrame], incoming: dict[str, pd.DataFrame]
) -> dict[str, pd.DataFrame]:
    """The incoming tables, each key that stands in another spelling of what is seen written as it stands.

    What was read is spelt as it is seen; what a form or an earlier release stored need not be.
    """
    stands = dict.fromkeys(
        text
        for file in (*FILES, ASSEMBLIES)
        for name in file.naming
        if file.name in standing
        for text in standing[file.name][name].dropna().unique()
    )
    spelt = {seen: text for text in stands if (seen := as_seen(text)) not in stands}
    if not spelt:
        return incoming
    incoming = {
        name: table.assign(
            **{one: table[one].replace(spelt) for one in FILES_BY_NAME[name].naming if one in table}
        )
        for name, table in incoming.items()
    }
    if POLICIES.name in incoming:
        policies = incoming[POLICIES.name]
        scopes = [_scope_as_standing(scope, spelt) for scope in policies["scope"]]
        incoming[POLICIES.name] = policies.assign(scope=pd.Series(scopes, policies.index, dtype="str"))
    return incoming


def _scope_as_standing(scope: str, spelt: dict[str, str]) -> str:
    """The scope with the key that it names, or those of machine and position, as they stand."""
    kind, colon, name = scope.partition(":")
    told = spelt.get(name) or "/".join(spelt.get(key, key) for key in name.split("/"))
    return f"{kind}{colon}{told}"


def _count_pieces(
    standing: dict[str, pd.DataFrame], incoming: dict[str, pd.DataFrame]
) -> dict[str, pd.DataFrame]:
    """The incoming tables with what is counted by the piece taken as it was written.

    Hose and ends share the column: under on_hand_ft hose is in feet, but four ends are four. They keep the
    unit of the header they stood under, so that an export writes the column as it was entered.
    """
    stock = incoming.get("stock")
    if stock is None or "on_hand_entered" not in stock:
        return incoming
    units = list_units(_merge(standing["parts"], incoming.get("parts"), PARTS))
    by_piece = stock["part"].map(units).eq("each") & stock["on_hand_entered"].notna()
    on_hand = stock["on_hand"].mask(by_piece, stock["on_hand_entered"])
    return incoming | {"stock": stock.assign(on_hand=on_hand)}


def _merge(standing: pd.DataFrame, incoming: pd.DataFrame | None, file: File) -> pd.DataFrame:
    rest = standing.assign(file_line=0, state=pd.Series("", index=standing.index, dtype="str"))
    if incoming is None:
        return rest
    at = _match(incoming, standing, file)
    known = at >= 0
    new = fit_table(incoming[~known], file).assign(id=0)
    parts = [new.assign(state=pd.Series(State.CREATED, index=new.index, dtype="str"))]
    if known.any():
        before = standing.iloc[at[known]].reset_index(drop=True)
        said = incoming[known].reset_index(drop=True)
        laid_over = before.assign(**{name: said[name] for name in said})
        parts.append(laid_over.assign(state=_compare(before, laid_over, file)))
    if len(rest) > known.sum():
        parts.append(rest.drop(index=rest.index[at[known]]))
    return pd.concat(parts, ignore_index=True)


def _match(rows: pd.DataFrame, standing: pd.DataFrame, file: File) -> np.ndarray:
    """For each row the place in `standing` of the row with its key, -1 where there is none."""
    key = list(file.key)
    places = standing[key].assign(_at=np.arange(len(standing)))
    return rows[key].merge(places, how="left", on=key)["_at"].fillna(-1).to_numpy(dtype=np.int64)


def _compare(before: pd.DataFrame, after: pd.DataFrame, file: File) -> pd.Series:
    """The state of rows that stood before, each beside what it is now."""
    alike = same(before, after, list(dtypes_of(file)))
    return pd.Series(np.where(alike, State.UNCHANGED, State.CHANGED), index=after.index, dtype="str")


def _judge(rows: pd.DataFrame, standing: pd.DataFrame, file: File) -> pd.DataFrame:
    """`rows` with `id` and `state`, each against the standing row of its key."""
    at = _match(rows, standing, file)
    known = at >= 0
    state = pd.Series(State.CREATED, index=rows.index, dtype="str")
    ids = np.zeros(len(rows), dtype=np.int64)
    if known.any():
        before = standing.iloc[at[known]]
        ids[known] = before["id"]
        after = rows[known]
        state[known] = _compare(before.set_axis(after.index), after, file)
    return rows.assign(id=ids, state=state.mask(rows["file_line"] == 0, ""))
