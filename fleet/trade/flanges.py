"""Which four-bolt split flange a port has, from the distances of its bolts and the head of the hose end.

`flanges.csv` says row by row where each value is from. Codes 61 and 62 of one size differ by a few mm only.
"""

from dataclasses import dataclass
from functools import cache
from pathlib import Path

import pandas as pd

FLANGES_FILE = Path(__file__).with_name("flanges.csv")
WITHIN_MM = 0.6  # what a tape from bolt to bolt, or a caliper on a head, errs: common practice, no source
MEASURES = ("bolts_long_mm", "bolts_short_mm", "head_mm", "head_thickness_mm")


@dataclass(frozen=True, slots=True)
class Flange:
    """A flange of a code and dash size: bolt distances centre to centre, and the head of the end in it."""

    code: str
    dash: int
    bolts_long_mm: float
    bolts_short_mm: float
    head_mm: float
    head_thickness_mm: float
    standard: str
    mark: str
    source: str

    def __str__(self) -> str:
        return f"code {self.code} -{self.dash}"


@dataclass(frozen=True, slots=True)
class FlangeCandidate:
    """A flange that a port may have; `verdict` as with threads, certain by both distances of the bolts."""

    flange: Flange
    verdict: str
    agrees: tuple[str, ...]
    disagrees: tuple[str, ...]


@cache
def load_flanges() -> tuple[Flange, ...]:
    """Every flange of the table in its order."""
    rows = pd.read_csv(FLANGES_FILE, dtype={"code": "str"})
    return tuple(Flange(**row) for row in rows.to_dict("records"))


def find_flanges(
    *,
    bolts_long_mm: float | None = None,
    bolts_short_mm: float | None = None,
    head_mm: float | None = None,
    head_thickness_mm: float | None = None,
) -> list[FlangeCandidate]:
    """Every flange that something measured agrees with, the likeliest first; empty where nothing does."""
    measured = dict(zip(MEASURES, (bolts_long_mm, bolts_short_mm, head_mm, head_thickness_mm), strict=True))
    told = []
    for flange in load_flanges():
        checks = {
            name: abs(value - getattr(flange, name)) <= WITHIN_MM
            for name, value in measured.items()
            if value is not None
        }
        agrees = tuple(name for name, check in checks.items() if check)
        disagrees = tuple(name for name, check in checks.items() if not check)
        # Heads are near each other in thickness, so that thickness alone names nothing.
        if set(agrees) - {"head_thickness_mm"}:
            told.append((flange, agrees, disagrees))
    whole = [
        flange for flange, agrees, disagrees in told if not disagrees and set(MEASURES[:2]) <= set(agrees)
    ]
    candidates = [
        FlangeCandidate(
            flange,
            "looks_alike" if disagrees else "certain" if whole == [flange] else "could_be",
            agrees,
            disagrees,
        )
        for flange, agrees, disagrees in told
    ]
    return sorted(candidates, key=lambda one: (len(one.disagrees), -len(one.agrees)))
