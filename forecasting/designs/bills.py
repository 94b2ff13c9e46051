"""Bills of materials: what one assembly of a design is made of, and what those parts cost."""

import pandas as pd

HOSE, END_A, END_B = "hose", "a", "b"


def list_parts(tables: dict[str, pd.DataFrame]) -> pd.DataFrame:
    """What one assembly of each design takes: the hose first, then both ends, then what goes with them.

    One row per design, place and part: design, place (hose, a, b), part, kind, unit, quantity (bulk hose in
    metres), cut_length_mm (of the hose alone), unit_cost. Two ends of one part are two rows. Where a cut-off
    is not known, neither is the cut length nor how much hose it takes. A design whose hose is a part of kind
    `assembly` is bought ready made: one of it, no cut, and its ends come with it.
    """
    designs, parts = tables["designs"], tables["parts"].set_index("part")
    bought = designs["hose_part"].map(parts["kind"]) == "assembly"
    cutoffs = designs["end_a_part"].map(parts["cutoff_mm"]) + designs["end_b_part"].map(parts["cutoff_mm"])
    cut_length = designs["overall_length_mm"] - cutoffs
    cut_length = cut_length.where((cut_length > 0) & ~bought).round(6)
    hose = pd.DataFrame(
        {
            "design": designs["design"],
            "place": HOSE,
            "part": designs["hose_part"],
            "quantity": (cut_length / 1000).mask(bought, 1.0),
            "cut_length_mm": cut_length,
        }
    )
    ends = [
        pd.DataFrame({"design": designs["design"], "place": place, "part": designs[column], "quantity": 1.0})
        for place, column in ((END_A, "end_a_part"), (END_B, "end_b_part"))
    ]
    ends = [end[~bought] for end in ends]
    known = tables["design_parts"]["design"].isin(designs["design"])
    more = tables["design_parts"].loc[known, ["design", "place", "part", "quantity"]]
    lines = pd.concat([hose, *ends, more], ignore_index=True)
    lines["unit"] = lines["part"].map(list_units(tables["parts"]))
    for column in ("kind", "unit_cost"):
        lines[column] = lines["part"].map(parts[column])
    order = lines["design"].map(pd.Series(designs.index, index=designs["design"]))
    return lines.iloc[order.argsort(kind="stable")].reset_index(drop=True)


def list_units(parts: pd.DataFrame) -> pd.Series:
    """What each part is counted in, by part: as the register says, else bulk hose by metre, the rest each."""
    usual = parts["kind"].map({"bulk_hose": "metre"}).fillna("each")
    return parts["unit"].fillna(usual).set_axis(parts["part"])


def price_designs(tables: dict[str, pd.DataFrame], lines: pd.DataFrame | None = None) -> pd.Series:
    """What the parts of one assembly cost, by design; NaN where the cost of one of them is not known.

    Hose whose cut-offs are not known is priced by its overall length, which is at most a few per cent dear.
    `lines` are those of `list_parts`, where the caller has them already.
    """
    lines = list_parts(tables) if lines is None else lines
    overall = lines["design"].map(tables["designs"].set_index("design")["overall_length_mm"]) / 1000
    quantity = lines["quantity"].where(lines["quantity"].notna(), overall)
    cost = (quantity * lines["unit_cost"]).groupby(lines["design"]).sum(min_count=1)
    unpriced = lines.loc[lines["unit_cost"].isna(), "design"].unique()
    return cost.where(~cost.index.isin(unpriced))
