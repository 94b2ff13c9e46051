"""What may stand in: every hose of the catalogue with every pair of ends, judged in one place.

A candidate is judged as `margins` judges an assembly, and besides against what belongs there: bore,
material, conductivity, what the ends join, and whether a crimp is on record for that very hose and end.
`fits` passes all of it, `unfit` fails some of it, `not_judged` lacks what it would take to say. Over the
rating asked for is allowed, under it never; a table's value from memory passes nothing. Common practice, no
source.
"""

from dataclasses import dataclass
from datetime import date

import numpy as np
import pandas as pd

from ..designs.bills import END_A, END_B, HOSE, list_parts, price_designs
from ..designs.findings import weigh_findings
from ..designs.margins import ROUNDING, USUAL_VELOCITY_M_S, flow_velocity_m_s, judge_margins
from ..designs.ratings import complete_parts, rate_designs
from ..designs.stand_ins import find_stand_ins
from ..inputs import DESIGN_PARTS, DESIGNS
from ..shelves import find_usable
from ..tables import make_table, number, table, text
from ..units import STORED_UNITS, ReaderUnits
from ..wording import gettext as _
from .ends import ENDS_JUDGED, IN_ORDER, VERDICTS, judge_ends
from .findings import candidate_findings
from .needs import ROLES, Need

FERRULES = ("ferrule_a_part", "ferrule_b_part")
KINSHIPS = ("own", "successor", "other")

CANDIDATES = table(
    "candidates",
    "one row per hose and pair of ends that it could be crimped to, and one per hose without such a pair",
    ("candidate",),
    text("candidate", may_be_empty=False),
    text("hose_part", may_be_empty=False),
    text("end_a_part"),
    text("end_b_part"),
    text("ferrule_a_part"),
    text("ferrule_b_part"),
    text("kinship", "own, successor, other"),
    text("verdict", "fits, not_judged, unfit", may_be_empty=False),
    text("reason"),
    number("rated_pressure_bar", unit="bar"),
    number("demanded_pressure_bar", unit="bar"),
    number("velocity_m_s", unit="m/s"),
    number("cut_length_mm", unit="mm"),
    number("cost", unit="money"),
)


@dataclass(frozen=True, slots=True)
class Judged:
    """What was judged: `candidates`, the `ends` (ENDS_JUDGED) that join there or not, and the `bill` of the
    candidates that have ends: design (its candidate), part, kind, quantity and the rest of `list_parts`."""

    candidates: pd.DataFrame
    ends: pd.DataFrame
    bill: pd.DataFrame

    @property
    def parts(self) -> set[str]:
        """The parts of what is not unfit: whatever else lies on a shelf makes nothing that may stand in."""
        out = self.candidates.loc[self.candidates["verdict"] == "unfit", "candidate"]
        taken = self.bill.loc[~self.bill["design"].isin(out), "part"]
        return {*taken, *self.candidates.loc[~self.candidates["candidate"].isin(out), "hose_part"]}


@dataclass(frozen=True, slots=True)
class StandIns:
    """The `candidates` in the order to be thought of, the `ends` that join there or not, what of the stock is
    `usable` (as `find_usable` tells it), and `ready`: candidate, site, for each site that can make one of it
    now."""

    candidates: pd.DataFrame
    ends: pd.DataFrame
    usable: pd.DataFrame
    ready: pd.DataFrame


def judge_stand_ins(need: Need, tables: dict[str, pd.DataFrame], units: ReaderUnits = STORED_UNITS) -> Judged:
    """Every bulk hose of the catalogue judged for the need, with each pair of ends that joins there.

    What is on hand bears on none of it. Reasons are told in `units`.
    """
    completed = tables | {"parts": complete_parts(tables)}
    ends = judge_ends(need.own, tables) if len(need.own) > 1 else make_table(None, ENDS_JUDGED)
    hoses = tables["parts"].loc[tables["parts"]["kind"] == "bulk_hose", "part"]
    # A hose alone stands for its ends too.
    alone = pd.DataFrame(dict.fromkeys(ROLES, hoses)).assign(joined=False)
    made = pd.concat([alone, _pairs(need, tables, ends).assign(joined=True)], ignore_index=True)
    made["candidate"] = (made.index + 1).astype("str")
    judged, bill = _judge(need, completed, made, units)
    alone, pairs = judged[~made["joined"]], judged[made["joined"]]
    usable = [*alone.loc[alone["verdict"] != "unfit", "hose_part"], need.own.get("hose_part")]
    pairs = pairs[pairs["hose_part"].isin(usable)]
    alone = alone.assign(end_a_part=None, end_b_part=None)
    if len(need.own) > 1:
        alone = _without_pair(alone[~alone["hose_part"].isin(pairs["hose_part"])], ends, tables)
    candidates = pd.concat([pairs, alone], ignore_index=True)
    candidates["kinship"] = _kinship(candidates, need, tables)
    return Judged(candidates, ends, bill[bill["design"].isin(pairs["candidate"])].reset_index(drop=True))


def rank_stand_ins(judged: Judged, tables: dict[str, pd.DataFrame], site: str, as_of: date) -> StandIns:
    """What was judged in the order to be thought of, by the `stock` of the tables.

    What fits comes first, then what cannot be judged, then what does not fit. Within each: what belongs
    there, then its successors, then what `site` can build now, then what any site can, then by cost.
    """
    usable = find_usable(tables, as_of)
    ready = _find_ready(judged.bill, usable)
    candidates = judged.candidates
    here = candidates["candidate"].isin(ready.loc[ready["site"] == site, "design"])
    anywhere = candidates["candidate"].isin(ready["design"])
    order = np.lexsort(
        (
            candidates["hose_part"].to_numpy(str),
            candidates["cost"].to_numpy(float),
            ~anywhere,
            ~here,
            candidates["kinship"].map(KINSHIPS.index),
            candidates["verdict"].map(IN_ORDER.index),
        )
    )
    candidates = make_table(candidates.iloc[order], CANDIDATES)
    return StandIns(candidates, judged.ends, usable, ready.rename(columns={"design": "candidate"}))


def _judge(
    need: Need, tables: dict[str, pd.DataFrame], made: pd.DataFrame, units: ReaderUnits
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """CANDIDATES but for kinship, of each row of `made` in its order, and the bill of what is `joined`."""
    mine = _tables_of(made, need, tables)
    rated = rate_designs(mine)
    margins = judge_margins(
        made[["candidate"]].assign(
            assembly=made["candidate"],
            design=made["candidate"],
            machine=need.positions["machine"].iloc[0],
            position=need.positions["position"].iloc[0],
            built_on=pd.NaT,
            hose_made_on=pd.NaT,
        ),
        mine,
        need.limits,
        units,
        rated,
    )
    beside = rated.rename(columns={"design": "candidate"}).drop(columns=["rated_pressure_bar", "hose_part"])
    cases = made.merge(beside, on="candidate", how="left")
    for name in ("rated_pressure_bar", "demanded_pressure_bar"):
        cases[name] = margins[name]
    cases["of_margin"], cases["margin_reason"] = margins["verdict"], margins["reason"]
    for name in ("flow_lpm", "fluid_temperature_c", "ambient_temperature_c", "bend_radius_mm"):
        cases[name] = need.positions[name].iloc[0]
    line = need.positions["line"].fillna("pressure").iloc[0]
    cases["usual_velocity_m_s"] = USUAL_VELOCITY_M_S[line]
    cases["velocity_m_s"] = flow_velocity_m_s(cases["flow_lpm"], cases["bore_mm"])
    bill = list_parts(mine | {"designs": mine["designs"][made["joined"]]})
    cut = bill[bill["place"] == HOSE].drop_duplicates("design").set_index("design")["cut_length_mm"]
    cases["cut_length_mm"] = cases["candidate"].map(cut)
    cases["cost"] = cases["candidate"].map(price_designs(mine, bill))
    cases = _beside_own(cases, need, tables)
    cases["verdict"], cases["reason"] = weigh_findings(
        cases, candidate_findings(cases), VERDICTS, "fits", units
    )
    return cases.reindex(columns=[name for name in CANDIDATES.names if name != "kinship"]), bill


def _tables_of(made: pd.DataFrame, need: Need, tables: dict[str, pd.DataFrame]) -> dict[str, pd.DataFrame]:
    """The tables with the candidates as their designs, in the one place, with what else belongs there."""
    length = np.nan if need.overall_length_mm is None else need.overall_length_mm
    designs = made.rename(columns={"candidate": "design"}).assign(overall_length_mm=length)
    designs = designs.reindex(columns=DESIGNS.names).astype(
        {column.name: column.dtype for column in DESIGNS.columns}
    )
    kept = tables["design_parts"]
    kept = kept[kept["design"] == (need.design or "")]
    kept = kept[kept["part"].map(tables["parts"].set_index("part")["kind"]) != "ferrule"]
    more = [designs[["design"]].merge(kept.drop(columns="design"), how="cross")]
    for place, column in zip((END_A, END_B), FERRULES, strict=True):
        held = made.dropna(subset=column)
        more.append(
            pd.DataFrame({"design": held["candidate"], "place": place, "part": held[column], "quantity": 1.0})
        )
    return tables | {
        "designs": designs,
        "design_parts": make_table(pd.concat(more, ignore_index=True), DESIGN_PARTS),
        "positions": need.positions,
        "builds": tables["builds"].iloc[:0],
    }


def _beside_own(cases: pd.DataFrame, need: Need, tables: dict[str, pd.DataFrame]) -> pd.DataFrame:
    """The cases with their hose's material, conductivity, outside and state, and beside it the old hose's."""
    columns = ["material", "conductive", "outside_diameter_mm"]
    parts = tables["parts"].set_index("part")
    cases = cases.assign(
        **{name: cases["hose_part"].map(parts[name]) for name in (*columns, "superseded_by")},
        other_hose=cases["hose_part"] != need.own.get("hose_part", ""),
        other=_unlike(cases, need.own),
        ends_known=len(need.own) > 1,
        placed=need.design is not None,
        drawn=need.overall_length_mm is not None,
    )
    obsolete = parts.index[parts["obsolete"].fillna(False).astype(bool)]
    cases["obsolete_part"] = pd.Series(None, index=cases.index, dtype="str")
    for name in reversed((*ROLES, *FERRULES)):
        cases["obsolete_part"] = cases[name].where(cases[name].isin(obsolete), cases["obsolete_part"])
    for name in ("part", "bore_mm", *columns):
        value = need.worn[name].iloc[0] if len(need.worn) else None
        cases[f"own_{name}"] = pd.Series(value, index=cases.index, dtype=need.worn[name].dtype)
    return cases


def _unlike(cases: pd.DataFrame, own: dict[str, str]) -> pd.Series:
    """Whether a candidate is of other parts than those that belong there; of a hose alone, whether it is."""
    unlike = pd.Series(False, index=cases.index)
    for role, part in own.items():
        unlike |= (cases[role] != part) & (cases["joined"] | (role == "hose_part"))
    return unlike


def _pairs(need: Need, tables: dict[str, pd.DataFrame], ends: pd.DataFrame) -> pd.DataFrame:
    """hose_part, end_a_part, end_b_part and the ferrules of each: every pair whose crimps are on record, and
    what belongs there though a crimp be lacking, with `uncrimped`, the end that has none."""
    columns = [*ROLES, *FERRULES, "uncrimped"]
    empty = pd.DataFrame({name: pd.Series(dtype="str") for name in columns})
    if not len(ends):
        return empty
    obsolete = tables["parts"].loc[tables["parts"]["obsolete"].fillna(False).astype(bool), "part"]
    own = tables["design_parts"].loc[tables["design_parts"]["design"] == (need.design or ""), "part"]
    hoses = tables["parts"].loc[tables["parts"]["kind"] == "bulk_hose", "part"]
    specs = tables["crimp_specs"][tables["crimp_specs"]["hose_part"].isin([*hoses, need.own["hose_part"]])]
    bare = specs["ferrule_part"].isna()
    specs = specs.assign(
        foreign=np.select([specs["ferrule_part"].isin(own), bare], [0, 1], 2),
        gone=specs["ferrule_part"].isin(obsolete),
    ).sort_values(["foreign", "gone", "ferrule_part"])
    specs = specs.drop_duplicates(["hose_part", "end_part"])[["hose_part", "end_part", "ferrule_part"]]
    sides = []
    for place, end, ferrule in zip((END_A, END_B), ROLES[1:], FERRULES, strict=True):
        joins = ends.loc[(ends["place"] == place) & (ends["verdict"] == "fits"), "part"]
        side = specs[specs["end_part"].isin(joins)]
        sides.append(side.rename(columns={"end_part": end, "ferrule_part": ferrule}))
    pairs = pd.concat([empty, sides[0].merge(sides[1], on="hose_part")], ignore_index=True)
    # A worn hose that is none of the catalogue is not to be had again.
    alike = np.logical_and.reduce([pairs[role] == part for role, part in need.own.items()])
    if need.own["hose_part"] in set(tables["parts"]["part"]) and not alike.any():
        crimped = specs.loc[specs["hose_part"] == need.own["hose_part"], "end_part"].tolist()
        lacking = next((need.own[role] for role in ROLES[1:] if need.own[role] not in crimped), None)
        own_row = pd.DataFrame([{**need.own, "uncrimped": lacking}]).reindex(columns=columns).astype("str")
        pairs = pd.concat([pairs, own_row], ignore_index=True)
    return pairs


def _without_pair(alone: pd.DataFrame, ends: pd.DataFrame, tables: dict[str, pd.DataFrame]) -> pd.DataFrame:
    """Hoses that no crimp on record joins to a pair of ends that goes there, with that among the reasons."""
    parts = tables["parts"].set_index("part")
    join = ends.loc[ends["verdict"] == "fits"].drop_duplicates("part")
    dashes = join["part"].map(parts["dash"])
    sizes = ", ".join(f"-{dash:g}" for dash in sorted(dashes.dropna().unique()))
    cases = alone.assign(
        dash=alone["hose_part"].map(parts["dash"]),
        sizes=sizes,
        ends=", ".join(sorted(join["part"])) or _("none"),
    )
    other_size = cases["dash"].notna() & (len(sizes) > 0) & dashes.notna().all() & ~cases["dash"].isin(dashes)
    unfit = (cases["verdict"] == "unfit") | other_size
    findings = [
        ("unfit", cases["verdict"] == "unfit", "%(reason)s"),
        ("not_judged", cases["verdict"] == "not_judged", "%(reason)s"),
        ("remark", (cases["verdict"] == "fits") & (cases["reason"] != ""), "%(reason)s"),
        (
            "unfit",
            other_size,
            _("dash -%(dash)s does not go on the ends that join here, which are %(sizes)s"),
        ),
        (
            "not_judged",
            ~unfit,
            _(
                "no crimp is on record for it with a pair of ends that joins here (%(ends)s): do not crimp "
                "before there is one"
            ),
        ),
    ]
    cases["verdict"], cases["reason"] = weigh_findings(cases, findings, VERDICTS, "fits")
    return cases[alone.columns]


def _kinship(candidates: pd.DataFrame, need: Need, tables: dict[str, pd.DataFrame]) -> pd.Series:
    successors = find_stand_ins(tables)
    own = pd.Series(True, index=candidates.index)
    kin = own.copy()
    for role, part in need.own.items():
        own &= candidates[role] == part
        kin &= candidates[role].isin([part, successors.get(part, part)])
    return pd.Series(np.select([own, kin], KINSHIPS[:2], KINSHIPS[2]), index=candidates.index, dtype="str")


def _find_ready(bill: pd.DataFrame, usable: pd.DataFrame) -> pd.DataFrame:
    """design, site: where usable stock makes one of that design now. Hose must come off one piece."""
    by_place = usable.groupby(["part", "site"])["on_hand"]
    there = pd.DataFrame({"most": by_place.max(), "all": by_place.sum()}).reset_index()
    wanted = bill.groupby(["design", "part", "kind"], as_index=False)["quantity"].agg(
        ["sum", "count", "size"]
    )
    held = wanted.merge(there, on="part")
    enough = held["most"].where(held["kind"] == "bulk_hose", held["all"]) >= held["sum"] - ROUNDING
    held = held[enough & (held["count"] == held["size"])]
    covered = held.groupby(["design", "site"], as_index=False).size()
    complete = covered["size"] == covered["design"].map(wanted.groupby("design").size())
    return covered.loc[complete, ["design", "site"]].reset_index(drop=True)
