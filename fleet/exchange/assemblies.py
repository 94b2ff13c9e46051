"""Assemblies out of two files: `installations.csv` says where one went, `builds.csv` how it was made.

The register keeps one row an assembly. What both files can say (`SHARED`) it takes from the installation,
else from the build; an installation without a design has its position's.
"""

from dataclasses import replace

import pandas as pd

from .columns import File
from .schema import INSTALLATIONS

# What both files can say, by its name in installations.csv and in builds.csv.
SHARED = {"design": "design", "built_on": "built_on", "hose_lot": "hose_lot", "crimped_by": "built_by"}

# Only an installed assembly has a position: one that was built and lies on the shelf has none yet.
ASSEMBLIES = File("assemblies", tuple(replace(column, required=False) for column in INSTALLATIONS.columns))


def assemblies_of(installations: pd.DataFrame, builds: pd.DataFrame) -> pd.DataFrame:
    """One row per assembly of either file.

    `installation_line` and `build_line` are its lines in the folder, 0 where it is not there; `file_line` is
    the greater.
    """
    build = builds[["assembly", *SHARED.values(), "file_line"]].add_suffix("_of_build")
    both = installations.merge(build, how="outer", left_on="assembly", right_on="assembly_of_build")
    both["assembly"] = both["assembly"].fillna(both["assembly_of_build"])
    for name, twin in SHARED.items():
        both[name] = both[name].fillna(both[f"{twin}_of_build"])
    lines = both[["file_line", "file_line_of_build"]].fillna(0).astype("int64")
    return both[list(ASSEMBLIES.by_stored_name)].assign(
        file_line=lines.max(axis=1),
        installation_line=lines["file_line"],
        build_line=lines["file_line_of_build"],
    )


def position_designs(installations: pd.DataFrame, positions: pd.DataFrame) -> pd.Series:
    """For each installation the design that its position asks for."""
    asked = positions[["machine", "position", "design"]]
    found = installations[["machine", "position"]].merge(asked, how="left", on=["machine", "position"])
    return found["design"].set_axis(installations.index)


def without_repeats(
    installations: pd.DataFrame, builds: pd.DataFrame, positions: pd.DataFrame
) -> pd.DataFrame:
    """The installations without what only repeats their build, so that a build can be mended alone.

    A design is a repeat only where the position asks for none: otherwise the installation says it itself.
    """
    build = builds[["assembly", *SHARED.values()]].add_suffix("_of_build")
    both = installations[["assembly"]].merge(
        build, how="left", left_on="assembly", right_on="assembly_of_build"
    )
    both.index = installations.index
    repeats = {
        name: installations[name].notna() & (installations[name] == both[f"{twin}_of_build"]).fillna(False)
        for name, twin in SHARED.items()
    }
    repeats["design"] &= position_designs(installations, positions).isna()
    return installations.assign(**{name: installations[name].mask(repeats[name]) for name in SHARED})
