"""What the record of a build says against it: crimped outside its specification, unseen, uncleaned."""

import pandas as pd

ENDS = {"a": "end_a_part", "b": "end_b_part"}
USUAL_BAND_MM = 0.25  # where the specification names no band. Common practice, no source


def build_faults(tables: dict[str, pd.DataFrame]) -> pd.DataFrame:
    """One row per assembly of `builds`: assembly, crimp_off, insertion_unseen, cleaning_skipped.

    1 where the record says so of either end, 0 where it says not, NaN where it does not tell.
    """
    builds = tables["builds"]
    seen = builds[["insertion_a_seen", "insertion_b_seen"]].astype("float64")
    cleaned = builds[["cleanings_before", "cleanings_after"]].sum(axis=1, min_count=1)
    return pd.DataFrame(
        {
            "assembly": builds["assembly"],
            "crimp_off": builds["assembly"].map(_crimps_off(tables)).astype("float64"),
            "insertion_unseen": 1 - seen.min(axis=1),
            "cleaning_skipped": (cleaned == 0).astype("float64").where(cleaned.notna()),
        }
    )


def _crimps_off(tables: dict[str, pd.DataFrame]) -> pd.Series:
    """By assembly, 1 where the mean diameter of an end lies outside every band that may hold for it."""
    readings = tables["crimp_readings"].groupby(["assembly", "end"], as_index=False)["diameter_mm"].mean()
    designs = tables["designs"][["design", "hose_part", *ENDS.values()]]
    built = tables["builds"][["assembly", "design"]].merge(designs, on="design")
    told = []
    for end, end_part in ENDS.items():
        of_end = readings[readings["end"] == end].merge(built, on="assembly")
        specs = tables["crimp_specs"].rename(columns={"end_part": end_part})
        cases = of_end.merge(specs, on=["hose_part", end_part])
        used = tables["design_parts"].loc[tables["design_parts"]["place"] == end, ["design", "part"]]
        used = pd.MultiIndex.from_frame(used)
        fits = cases["ferrule_part"].isna() | pd.MultiIndex.from_frame(
            cases[["design", "ferrule_part"]]
        ).isin(used)
        cases = cases[fits]
        off = cases["diameter_mm"] - cases["crimp_diameter_mm"]
        over = off > cases["crimp_over_mm"].fillna(USUAL_BAND_MM)
        under = -off > cases["crimp_under_mm"].fillna(USUAL_BAND_MM)
        told.append((over | under).groupby(cases["assembly"]).min())
    return pd.concat(told).astype("float64").groupby(level=0).max()
