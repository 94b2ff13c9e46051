"""Designs of the invented models: one for each position of a model, with the parts it takes."""

import numpy as np
import pandas as pd

from .catalogue import end_part, ferrule_part, hose_part, series_of, sleeve_part
from .models import MODELS


def make_designs(places: pd.DataFrame) -> pd.DataFrame:
    """One row per place of `models.make_places`, in its order."""
    number = places.groupby("model").cumcount() + 1
    prefix = places["model"].map(lambda model: MODELS[model].prefix)
    series = places["hose"].map(series_of)
    return pd.DataFrame(
        {
            "design": "D-" + prefix + "-" + number.astype(str).str.zfill(2),
            "hose_part": list(map(hose_part, places["hose"], places["dash"])),
            "end_a_part": list(map(end_part, series, places["end_a"], places["dash"])),
            "end_b_part": list(map(end_part, series, places["end_b"], places["dash"])),
            "overall_length_mm": places["overall_length_mm"].astype(float),
            "orientation_deg": np.nan,  # an angle is between two elbows, and end a is straight everywhere
        }
    )


def make_design_parts(places: pd.DataFrame, designs: pd.DataFrame) -> pd.DataFrame:
    """One row per design, place and part: ferrules of two-piece ends, a sleeve where the hose is rubbed."""
    rows = []
    for place, design in zip(places.itertuples(), designs["design"], strict=True):
        series = series_of(place.hose)
        if series != "braid":
            rows += [(design, end, ferrule_part(series, place.dash), 1) for end in ("a", "b")]
        if "abrasive" in place.exposure:
            rows.append((design, "hose", sleeve_part(place.dash), 1))
    return pd.DataFrame(rows, columns=["design", "place", "part", "quantity"])


def make_bill(designs: pd.DataFrame, design_parts: pd.DataFrame, parts: pd.DataFrame) -> pd.DataFrame:
    """One row per design and part with the quantity it takes; hose in metres as cut."""
    cutoffs = parts.set_index("part")["cutoff_mm"]
    cut_mm = designs["overall_length_mm"] - sum(
        designs[end].map(cutoffs).to_numpy() for end in ("end_a_part", "end_b_part")
    )
    hoses = pd.DataFrame(
        {"design": designs["design"], "part": designs["hose_part"], "quantity": cut_mm / 1000}
    )
    ends = [
        pd.DataFrame({"design": designs["design"], "part": designs[end], "quantity": 1.0})
        for end in ("end_a_part", "end_b_part")
    ]
    rest = design_parts[["design", "part", "quantity"]]
    return pd.concat([hoses, *ends, rest]).groupby(["design", "part"], as_index=False)["quantity"].sum()


def used_parts(parts: pd.DataFrame, bill: pd.DataFrame) -> pd.DataFrame:
    """The parts that some design takes, and every hose of a dash in use: it may stand in for another."""
    dashes = parts.loc[parts["part"].isin(bill["part"]), "dash"].unique()
    hoses = (parts["kind"] == "bulk_hose") & parts["dash"].isin(dashes)
    return parts[hoses | parts["part"].isin(bill["part"])].reset_index(drop=True)
