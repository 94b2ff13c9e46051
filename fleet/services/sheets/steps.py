"""The steps of a build sheet, each with its figures and their source, or with what it lacks.

A step whose data is not on record says so and is never filled with a guess. Where no standard is named:
common practice, no source.
"""

from dataclasses import dataclass

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from fleet.exchange.rules.crimps import WIDEST_BAND_MM
from fleet.models import CrimpSpec, Design, KitPart, Part, PartKind
from fleet.trade.bends import is_bent
from fleet.trade.tolerances import (
    ANGLE_CONVENTION,
    AngleTolerance,
    LengthTolerance,
    angle_tolerance,
    assembly_tolerance,
    cut_tolerance,
)
from forecasting.units import dash_to_mm

from ..shop.build_rules import LEAST_PROOF_SECONDS, PROOF_TIMES_RATING, crimps_of, weakest_rating

MOST_PROOF_SECONDS = 60.0  # SAE J343 and J517: held for 30 to 60 s
PROOF_SOURCE = gettext_lazy(
    "SAE J343 and J517: twice what the weakest part carries, held 30 to 60 s, air bled, no leak"
)
HOW_TO_MEASURE = gettext_lazy(
    "Measure midway between the ridges that the dies leave, halfway along the "
    "crimp, off the stampings, at three places round; note each."
)
HOW_TO_CLEAN = gettext_lazy(
    "Shoot a projectile of the right size through from each end before any end "
    "is crimped, and once more after; then cap both ends. Common practice, no "
    "source."
)


@dataclass(frozen=True, slots=True)
class SheetCut:
    """Cut length = overall − cut-off a − cut-off b. cut_length_mm is None where `lacks` says why."""

    cut_length_mm: float | None
    overall_length_mm: float
    cutoff_a_mm: float | None
    cutoff_b_mm: float | None
    cut_tolerance: LengthTolerance | None
    overall_tolerance: LengthTolerance | None
    lacks: str
    question: str


@dataclass(frozen=True, slots=True)
class SheetAngle:
    """The angle between the ends; None where `lacks` says why. `convention` is empty where none is set."""

    angle_deg: float | None
    tolerance: AngleTolerance
    convention: str
    lacks: str


@dataclass(frozen=True, slots=True)
class SheetCrimp:
    """What a chart asks of one end; the band is None where the chart's is not on record."""

    ferrule: str
    target_mm: float
    smallest_mm: float | None
    largest_mm: float | None
    die: str
    chart: str


@dataclass(frozen=True, slots=True)
class SheetEnd:
    """One end: how far the hose goes in, and how far it is crimped. `lacks` are steps without their data."""

    place: str
    hose: str
    part: str
    insertion_depth_mm: float | None
    crimps: tuple[SheetCrimp, ...]
    lacks: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class SheetProof:
    """Twice what the weakest part carries; None where `lacks` says why."""

    pressure_bar: float | None
    rated_pressure_bar: float | None
    weakest_part: str
    least_seconds: float
    most_seconds: float
    source: str
    lacks: str


def cut_length(overall_mm: float, cutoff_a_mm: float | None, cutoff_b_mm: float | None) -> float | None:
    """How long the hose is cut: the overall length less what each end adds; None where one is not known."""
    if cutoff_a_mm is None or cutoff_b_mm is None:
        return None
    left = overall_mm - cutoff_a_mm - cutoff_b_mm
    return left if left > 0 else None


def _at(parts: list[KitPart], place: str, kind: str) -> Part | None:
    return next((one.part for one in parts if one.place == place and one.part.kind == kind), None)


def plan_cut(design: Design, parts: list[KitPart]) -> SheetCut:
    """How long to cut the hose for the ends that are taken, and how far off that and the whole may be."""
    hose = next((one for one in parts if one.part.kind == PartKind.BULK_HOSE), None)
    end_a, end_b = (_at(parts, place, PartKind.HOSE_END) for place in ("a", "b"))
    cutoffs = [end.cutoff_mm if end else None for end in (end_a, end_b)]
    drawn = cut_length(design.overall_length_mm, *cutoffs)
    kept = hose.cut_length_mm if hose else None
    lacks = question = ""
    if drawn is None and None in cutoffs:
        bare = [
            end.key if end else _("its end") for end in (end_a, end_b) if not end or end.cutoff_mm is None
        ]
        lacks = _("not known: the cut-off of %(ends)s is not on record. Do not cut before it is.") % {
            "ends": _(" and ").join(dict.fromkeys(bare))
        }
    elif drawn is None:
        lacks = _("not known: the two ends take up all of the overall length. Check the drawing.")
    elif kept is not None and abs(kept - drawn) >= 0.5:
        question = _(
            "The kit has %(kept)s mm for it and the drawing now gives %(drawn)s mm: "
            "settle which before you cut."
        ) % {"kept": f"{kept:.0f}", "drawn": f"{drawn:.0f}"}
    bore = None
    if hose is not None:
        bore = hose.part.bore_mm or (dash_to_mm(hose.part.dash) if hose.part.dash else None)
    return SheetCut(
        cut_length_mm=drawn,
        overall_length_mm=design.overall_length_mm,
        cutoff_a_mm=cutoffs[0],
        cutoff_b_mm=cutoffs[1],
        cut_tolerance=cut_tolerance(drawn) if drawn else None,
        overall_tolerance=assembly_tolerance(design.overall_length_mm, bore),
        lacks=lacks,
        question=question,
    )


def straight_ends(end_a: Part | None, end_b: Part | None) -> list[str]:
    """The ends whose style is on record and names no bend, each with what it says, end a first."""
    named = ((_("end a"), end_a), (_("end b"), end_b))
    return [
        _("%(end)s (%(part)s: %(style)s)") % {"end": end, "part": part, "style": part.end_style}
        for end, part in named
        if part and is_bent(part.end_style, part.description) is False
    ]


def ask_about_angle(stated_deg: float | None, straight: list[str]) -> str:
    """What to ask where an angle is drawn for ends of which one looks straight; empty for any other."""
    if stated_deg is None or not straight:
        return ""
    return _(
        "The drawing states %(angle)s° between the ends, though no bend is on record of %(ends)s: ask before "
        "it goes on."
    ) % {"angle": f"{stated_deg:g}", "ends": _(" and ").join(straight)}


def plan_angle(design: Design, parts: list[KitPart]) -> SheetAngle:
    """The angle between the ends, with the convention by which it counts; none where an end is straight."""
    tolerance = angle_tolerance(design.overall_length_mm)
    straight = straight_ends(*(_at(parts, place, PartKind.HOSE_END) for place in ("a", "b")))
    if straight:
        told = {"ends": _(" and ").join(straight)}
        if design.orientation_deg is None:
            lacks = _(
                "none to set: no bend is on record of %(ends)s. Where both ends are bent all the same, do "
                "not crimp the second before the design names the angle."
            )
            return SheetAngle(None, tolerance, "", lacks % told)
        lacks = _(
            "none to set: the drawing states %(angle)s°, and an angle means something only where both ends "
            "are bent, but no bend is on record of %(ends)s. Ask who drew it before you crimp the second end."
        ) % (told | {"angle": f"{design.orientation_deg:g}"})
        return SheetAngle(None, tolerance, "", lacks)
    lacks = ""
    if design.orientation_deg is None:
        lacks = _(
            "not known: the design names none. Where both ends are bent, do not crimp "
            "the second before it does."
        )
    return SheetAngle(design.orientation_deg, tolerance, _(ANGLE_CONVENTION), lacks)


def plan_ends(parts: list[KitPart], charts: list[CrimpSpec]) -> tuple[SheetEnd, ...]:
    """Each end, a first: insertion and crimp by the chart of that very hose, end and ferrule."""
    ends = []
    for crimp in crimps_of(parts, charts):
        hose, end, lacks = crimp.hose.key, crimp.end_part.key, []
        if crimp.end_part.insertion_depth_mm is None:
            lacks.append(
                _(
                    "insertion depth not known: that of %(end)s is not on record. Do not push "
                    "it on before it is."
                )
                % {"end": end}
            )
        if not crimp.charts:
            lacks.append(
                _(
                    "crimp not known: no chart for %(hose)s with %(end)s: do not crimp before "
                    "one is on record."
                )
                % {"hose": hose, "end": end}
            )
        elif crimp.chart is None:
            lacks.append(
                _(
                    "%(count)s charts fit %(hose)s with %(end)s: do not crimp before only the "
                    "right one is on record."
                )
                % {"count": len(crimp.charts), "hose": hose, "end": end}
            )
        for chart in crimp.charts:
            if chart.crimp_over_mm is None or chart.crimp_under_mm is None:
                lacks.append(
                    _(
                        "band not known: the chart for %(hose)s with %(end)s names none on record. "
                        "Do not crimp before it does."
                    )
                    % {"hose": hose, "end": end}
                )
            elif max(chart.crimp_over_mm, chart.crimp_under_mm) > WIDEST_BAND_MM:
                lacks.append(
                    _(
                        "a band wider than ±%(widest_band_mm)s mm is most often a slipped decimal "
                        "point: look it up in the chart."
                    )
                    % {"widest_band_mm": f"{WIDEST_BAND_MM:g}"}
                )
        ends.append(
            SheetEnd(
                place=crimp.end,
                hose=hose,
                part=end,
                insertion_depth_mm=crimp.end_part.insertion_depth_mm,
                crimps=tuple(_crimp(chart) for chart in crimp.charts),
                lacks=tuple(lacks),
            )
        )
    return tuple(ends)


def _crimp(chart: CrimpSpec) -> SheetCrimp:
    target, over, under = chart.crimp_diameter_mm, chart.crimp_over_mm, chart.crimp_under_mm
    return SheetCrimp(
        ferrule=chart.ferrule_part.key if chart.ferrule_part else "",
        target_mm=target,
        smallest_mm=None if under is None else target - under,
        largest_mm=None if over is None else target + over,
        die=chart.die,
        chart=chart.chart,
    )


def plan_proof(parts: list[KitPart]) -> SheetProof:
    """The proof that the parts taken call for."""
    rating, weakest = weakest_rating(parts)
    lacks = ""
    if rating is None:
        lacks = _(
            "not known: the rating of %(part)s is not on record. A rating from memory gives no proof "
            "pressure: do not prove it before the maker's is entered."
        ) % {"part": weakest or _("its parts")}
    return SheetProof(
        pressure_bar=None if rating is None else PROOF_TIMES_RATING * rating,
        rated_pressure_bar=rating,
        weakest_part=weakest,
        least_seconds=LEAST_PROOF_SECONDS,
        most_seconds=MOST_PROOF_SECONDS,
        source=str(PROOF_SOURCE),
        lacks=lacks,
    )
