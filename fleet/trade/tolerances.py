"""How far off its drawing an assembly may be: its length, its cut and the angle between its ends.

`length_tolerances.csv` and `angle_tolerances.csv` say of each value where it is from. None takes the place of
what a drawing or a customer asks for.
"""

import math
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import pandas as pd

from forecasting.wording import gettext_noop

LENGTHS_FILE = Path(__file__).with_name("length_tolerances.csv")
ANGLES_FILE = Path(__file__).with_name("angle_tolerances.csv")
SAME_BORE = 1.02  # bores of one nominal size differ by tenths of a millimetre: common practice, no source
ANGLE_CONVENTION = gettext_noop(
    "Look along the hose from the near end, end a, its elbow hanging down at 6 o'clock. The angle counts "
    "counter-clockwise from there to the elbow of the far end, end b. Others set the far end at 12 o'clock: "
    "compare the drawing."
)
ANGLE_SOURCE = "US MIL-DTL-83796/5, which cites SAE J517"


@dataclass(frozen=True, slots=True)
class LengthTolerance:
    """What a standard lets a length be off: `over_mm` too long, `under_mm` too short.

    mark  found (read somewhere) or memory
    """

    standard: str
    edition: str
    over_mm: float
    under_mm: float
    mark: str
    source: str


@dataclass(frozen=True, slots=True)
class AngleTolerance:
    """What a standard lets the angle be off either way, in degrees."""

    standard: str
    either_way_deg: float
    mark: str
    source: str


def assembly_tolerance(overall_length_mm: float, bore_mm: float | None) -> LengthTolerance | None:
    """What DIN 20066 lets an assembly of that length and bore be off; None where the bore is not known."""
    return None if bore_mm is None else _length("DIN 20066", overall_length_mm, bore_mm)


def cut_tolerance(cut_length_mm: float) -> LengthTolerance:
    """What IP-2 lets a cut of hose be off."""
    return _length("IP-2", cut_length_mm, 0.0)


def angle_tolerance(overall_length_mm: float) -> AngleTolerance:
    """What SAE J517 lets the angle between two elbows be off."""
    row = next(row for row in _rows(ANGLES_FILE) if overall_length_mm <= row["length_to_mm"])
    return AngleTolerance(row["standard"], row["over_deg"], row["mark"], row["source"])


def _length(standard: str, length_mm: float, bore_mm: float) -> LengthTolerance:
    row = next(
        row
        for row in _rows(LENGTHS_FILE)
        if row["standard"] == standard
        and bore_mm <= row["bore_to_mm"] * SAME_BORE
        and length_mm <= row["length_to_mm"]
    )
    over, under = (
        length_mm * row[f"{side}_percent"] / 100 if math.isnan(row[f"{side}_mm"]) else row[f"{side}_mm"]
        for side in ("over", "under")
    )
    return LengthTolerance(standard, str(row["edition"]), over, under, row["mark"], row["source"])


@cache
def _rows(file: Path) -> list[dict]:
    """The rows in their order, smallest first; an empty upper limit is none."""
    rows = pd.read_csv(file, dtype={"edition": "str"})
    limits = [name for name in rows if str(name).endswith("_to_mm")]
    return rows.assign(**{name: rows[name].fillna(math.inf) for name in limits}).to_dict("records")
