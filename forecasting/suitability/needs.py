"""What a place asks of whatever stands in it: its own demands, else what its present hose is known to stand.

A hose rated higher than the old one may stand in for it, never one rated lower (common practice, no source).
So wherever the pressure, the heat, the cold or the bend of a place is not on record, what belongs there is
taken for the demand, and a note says so. A worn hose of which no place is known is such a place altogether.
"""

from dataclasses import dataclass

import pandas as pd

from ..designs.constructions import stands_suction
from ..designs.ratings import complete_parts, rate_designs
from ..inputs import POSITIONS
from ..policies import position_limits
from ..tables import make_table
from ..units import STORED_UNITS, ReaderUnits, tell_measure
from ..wording import gettext as _
from ..wording import gettext_noop

ROLES = ("hose_part", "end_a_part", "end_b_part")
HOSE_ALONE = gettext_noop(
    "The hose alone is judged: find out the fluid, whether it may conduct, and what each end joins by "
    "diameter, pitch and seat."
)
HOSE_AND_ENDS = gettext_noop(
    "The hose is judged, and the ends by what was found to be on it: find out the fluid, and whether it may "
    "conduct."
)
WORN, PLACE = "worn hose", "its place"
# Column of positions, column of a rated design, what is told where neither tells, and where the hose does.
_STOOD = (
    (
        "fluid_temperature_c",
        "maximum_temperature_c",
        gettext_noop(
            "The fluid's temperature is not on record here, nor what %(hose)s stands: it is not judged."
        ),
        gettext_noop(
            "The fluid's temperature is not on record here. What %(hose)s stands, %(stood)s, is asked of "
            "whatever stands in."
        ),
    ),
    (
        "ambient_temperature_c",
        "minimum_temperature_c",
        gettext_noop(
            "The temperature around it is not on record here, nor what %(hose)s stands: it is not judged."
        ),
        gettext_noop(
            "The temperature around it is not on record here. What %(hose)s stands, %(stood)s, is asked of "
            "whatever stands in."
        ),
    ),
    (
        "bend_radius_mm",
        "minimum_bend_radius_mm",
        gettext_noop("The bend is not on record here, nor what %(hose)s stands: it is not judged."),
        gettext_noop(
            "The bend is not on record here. What %(hose)s stands, %(stood)s, is asked of whatever stands in."
        ),
    ),
)


@dataclass(frozen=True, slots=True)
class Need:
    """What is asked: `positions` and `limits` hold one row each, as `judge_margins` takes them.

    `own` names the parts that belong there by role (hose_part, end_a_part, end_b_part), as far as known;
    `worn` is the old hose as a row of `parts`, empty where no hose is known. overall_length_mm is None where
    it is not known. `notes` say what was taken for a demand, and what a person must settle.
    """

    positions: pd.DataFrame
    limits: pd.DataFrame
    worn: pd.DataFrame
    own: dict[str, str]
    design: str | None
    overall_length_mm: float | None
    critical: bool
    notes: tuple[str, ...]


def need_of_position(
    tables: dict[str, pd.DataFrame],
    machine: str,
    position: str,
    design: str | None = None,
    units: ReaderUnits = STORED_UNITS,
) -> Need:
    """What the position asks. `design` is what belongs there where the position itself names none.

    Notes are told in `units`.
    """
    place = tables["positions"]
    place = place[(place["machine"] == machine) & (place["position"] == position)].reset_index(drop=True)
    named = place["design"].iloc[0]
    design = design if pd.isna(named) else str(named)
    drawn = tables["designs"][tables["designs"]["design"] == design]
    own = {role: str(drawn[role].iloc[0]) for role in ROLES} if len(drawn) else {}
    parts = complete_parts(tables)
    tables = tables | {"parts": parts}
    worn = parts[parts["part"] == own.get("hose_part", "")].reset_index(drop=True)
    rated = rate_designs(tables | {"designs": drawn})
    filled, notes = _filled(place, rated, design or "", units)
    limits = position_limits(tables | {"positions": filled})
    if not own:
        notes.append(" ".join([_("What belongs here is not on record."), _(HOSE_ALONE)]))
    critical = bool(place["critical"].fillna(False).iloc[0])
    length = float(drawn["overall_length_mm"].iloc[0]) if len(drawn) else None
    return Need(filled, limits, worn, own, design, length, critical, tuple(notes))


def need_of_hose(
    tables: dict[str, pd.DataFrame],
    worn: pd.DataFrame,
    units: ReaderUnits = STORED_UNITS,
    ends: tuple[str, str] | None = None,
) -> Need:
    """What a worn hose asks of its successor: `worn` is one row of `parts`, as its layline reads.

    `ends` are the ends of the catalogue that are on it, at a and at b; without them ends are not asked for.
    Where it served is not known: what it is known to stand is the demand.
    """
    parts = complete_parts(tables | {"parts": worn})
    tables = tables | {"parts": parts}
    name = str(worn["part"].iloc[0])
    design = pd.DataFrame({"design": [name]} | {role: [name] for role in ROLES})
    rated = rate_designs(tables | {"designs": design, "design_parts": tables["design_parts"].iloc[:0]})
    line = "suction" if stands_suction(worn["construction"]).iloc[0] == "meant" else "pressure"
    place = make_table([{"machine": WORN, "position": PLACE, "line": line}], POSITIONS)
    filled, notes = _filled(place, rated, name, units)
    limits = filled[["machine", "position"]].assign(surge_allowance_percent=0.0, thin_margin_percent=0.0)
    served = _("Where %(name)s served is not known.") % {"name": name}
    notes.append(" ".join([served, _(HOSE_AND_ENDS if ends else HOSE_ALONE)]))
    own = dict(zip(ROLES, (name, *(ends or ())), strict=False))
    return Need(filled, limits, parts, own, None, None, False, tuple(notes))


def _filled(
    place: pd.DataFrame, rated: pd.DataFrame, name: str, units: ReaderUnits
) -> tuple[pd.DataFrame, list[str]]:
    """The place with its gaps filled by what belongs there is known to stand, and a note of each."""
    notes = []
    told = rated.iloc[0] if len(rated) else pd.Series(dtype=object)
    unpressed = place[["working_pressure_bar", "peak_pressure_bar"]].isna().all(axis=None)
    if unpressed:
        if pd.notna(told.get("rated_pressure_bar")) and pd.isna(told.get("unrated")):
            place = place.assign(peak_pressure_bar=told["rated_pressure_bar"])
            rated_for = tell_measure(told["rated_pressure_bar"], "rated_pressure_bar", units)
            notes.append(
                _(
                    "The pressure here is not on record. What %(name)s is rated for, %(rated_for)s, is asked "
                    "of whatever stands in."
                )
                % {"name": name, "rated_for": rated_for}
            )
        else:
            notes.append(_("The pressure here is not on record, nor the rating of what belongs here."))
    for asked, stood, unknown, taken in _STOOD:
        if place[asked].notna().iloc[0]:
            continue
        if pd.isna(told.get(stood)):
            notes.append(_(unknown) % {"hose": name or _("its hose")})
        else:
            place = place.assign(**{asked: told[stood]})
            notes.append(_(taken) % {"hose": name, "stood": tell_measure(told[stood], stood, units)})
    return place, notes
