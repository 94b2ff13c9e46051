"""What speaks against a recorded build: what refuses its acceptance, and what somebody must answer for.

The crimp is held to the chart of that very hose, end and ferrule and to no other; proof is twice what the
weakest part carries (SAE J343, J517). Where no standard is named: common practice, no source.
"""

import datetime
import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from django.db.models import QuerySet
from django.utils.translation import gettext as _

from fleet.exchange.rules.crimps import WIDEST_BAND_MM
from fleet.models import CrimpSpec, KitAssembly, KitPart, Part, PartKind
from fleet.trade.tolerances import cut_tolerance
from forecasting.units import ReaderUnits, tell_measures

from .errors import BuildFinding

READINGS_WANTED = 3  # around each end; common practice, no source
PROOF_TIMES_RATING = 2.0  # SAE J343 and J517
BURST_TIMES_RATING = 4.0  # common practice, no source: what a new hose must stand once, and is spent by
LEAST_PROOF_SECONDS = 30.0  # SAE J343 and J517: held for 30 to 60 s
CLEANINGS_BEFORE, CLEANINGS_AFTER = 2, 1  # from each end, and once more; common practice, no source
ENDS = ("a", "b")


@dataclass(frozen=True, slots=True)
class BuildRecord:
    """What was seen and measured at the bench; None where nobody said.

    `readings` are the crimp diameters around each end; `inserted_before` and `inserted_after` whether the
    mark was at the shell of each end before and after crimping. `entered` and `readings_unit` keep the units
    that they were typed in (see `Measured`).
    """

    built_on: datetime.date
    built_by: str = ""
    accepted_by: str = ""
    cut_length_mm: float | None = None
    inserted_before: dict[str, bool] = field(default_factory=dict)
    inserted_after: dict[str, bool] = field(default_factory=dict)
    cleanings_before: int | None = None
    cleanings_after: int | None = None
    readings: dict[str, tuple[float, ...]] = field(default_factory=dict)
    readings_unit: str = ""
    gauge: str = ""
    die: str = ""
    proof_pressure_bar: float | None = None
    proof_seconds: float | None = None
    proof_medium: str = ""
    remarks: str = ""
    entered: dict = field(default_factory=dict)

    def seen(self, end: str) -> bool:
        """Whether the mark was seen at the shell of the end both times."""
        return bool(self.inserted_before.get(end) and self.inserted_after.get(end))


@dataclass(frozen=True, slots=True)
class Crimp:
    """One end of an assembly: the parts that meet there, and the charts for just these."""

    end: str
    hose: Part
    end_part: Part
    charts: tuple[CrimpSpec, ...]

    @property
    def chart(self) -> CrimpSpec | None:
        """The chart, where there is just one."""
        return self.charts[0] if len(self.charts) == 1 else None


def crimps_of(parts: list[KitPart], charts: list[CrimpSpec] | None = None) -> list[Crimp]:
    """The crimps that the parts of an assembly call for, end a first; none where it was bought made.

    `charts` are those on record for its parts, asked for here where the caller has none at hand.
    """
    hose = next((one.part for one in parts if one.part.kind == PartKind.BULK_HOSE), None)
    if hose is None:
        return []
    crimps = []
    for end in ENDS:
        at_end = [one.part for one in parts if one.place == end]
        end_part = next((one for one in at_end if one.kind == PartKind.HOSE_END), None)
        if end_part is None:
            continue
        ferrules = {one.pk for one in at_end if one.kind == PartKind.FERRULE}
        if charts is None:
            charts = list(charts_for([one.part for one in parts]))
        known = [one for one in charts if (one.hose_part_id, one.end_part_id) == (hose.pk, end_part.pk)]
        fitting = [one for one in known if one.ferrule_part_id in ferrules]
        bare = [one for one in known if one.ferrule_part_id is None]
        crimps.append(Crimp(end, hose, end_part, tuple(fitting or bare)))
    return crimps


def charts_for(parts: list[Part]) -> QuerySet[CrimpSpec]:
    """The charts on record for any two of the parts."""
    keys = {part.pk for part in parts}
    charts = CrimpSpec.objects.filter(hose_part__in=keys, end_part__in=keys)
    return charts.select_related("ferrule_part").order_by("pk")


def weakest_rating(parts: list[KitPart]) -> tuple[float | None, str]:
    """What the assembly may carry (bar) and the part that says so: its lowest-rated component (SAE J517).

    None and the part where a rating is not on record. Ferrules and sleeves are rated with the end they hold.
    """
    rated = [one.part for one in parts if one.part.kind not in (PartKind.FERRULE, PartKind.SLEEVE)]
    unknown = next((one for one in rated if one.rated_pressure_bar is None), None)
    if unknown is not None or not rated:
        return None, unknown.key if unknown else ""
    least = min(rated, key=lambda part: part.rated_pressure_bar or 0.0)
    return least.rated_pressure_bar, least.key


def judge_build(
    one: KitAssembly,
    parts: list[KitPart],
    record: BuildRecord,
    today: datetime.date,
    shelf_days: Mapping[str, float],
    units: ReaderUnits,
) -> list[BuildFinding]:
    """Everything that speaks against accepting the record, what refuses it first, told in `units`.

    `shelf_days` are the shelf lives of the parts that have one, by key (`fleet.frames.register.shelf_lives`).
    """
    critical = bool(one.position and one.position.critical)
    found = [
        *_who_and_when(record, critical, today),
        *_made_in_time(parts, record, shelf_days),
        *_cut(parts, record, units),
        *(finding for crimp in crimps_of(parts) for finding in _crimp(crimp, record, critical, units)),
        *_cleaning(parts, record),
        *_proof(parts, record, critical, units),
    ]
    return sorted(found, key=lambda finding: not finding.refused)


def tell_gauge(lengths_mm: Sequence[float], units: ReaderUnits) -> list[str]:
    """Lengths that are held against each other as a gauge tells them: 21.07 mm, 0.8295 in."""
    return tell_measures(lengths_mm, "length_mm", units, 4 if units.length_unit == "in" else 3)


def tell_play(lengths_mm: Sequence[float], units: ReaderUnits) -> list[str]:
    """How far lengths are or may be off, no coarser than the build sheet has it: 6.35 mm, 0.1875 in."""
    return tell_measures(lengths_mm, "length_mm", units, 4 if units.length_unit == "in" else 2)


def _refuse(code: str, where: str, text: str) -> BuildFinding:
    return BuildFinding(code, where, True, text)


def _ask(code: str, where: str, text: str) -> BuildFinding:
    return BuildFinding(code, where, False, text)


def is_same_person(one: str, other: str) -> bool:
    """Whether two names as they were typed are one: case and spaces do not tell people apart."""
    return one.casefold().split() == other.casefold().split()


def _who_and_when(record: BuildRecord, critical: bool, today: datetime.date) -> Iterator[BuildFinding]:
    if not record.built_by.strip():
        yield _refuse(
            "nobody_built", "built_by", _("Say who crimped it: lots and benches are traced by that.")
        )
    if critical and not record.accepted_by.strip():
        text = _("The position is critical: name who accepts it. Nobody in particular cannot.")
        yield _refuse("nobody_accepts", "accepted_by", text)
    elif critical and is_same_person(record.built_by, record.accepted_by):
        text = _(
            "The position is critical, and %(who)s both crimped the assembly and accepts it: a second person "
            "should look at it (common practice, no source). Tick this where there is nobody else."
        ) % {"who": record.accepted_by.strip()}
        yield _ask("accepted_by_who_crimped_it", "accepted_by", text)
    if record.built_on > today:
        text = _("%(built_on)s is yet to come. Enter the day on which it was built.") % {
            "built_on": record.built_on
        }
        yield _refuse("built_ahead", "built_on", text)


def _made_in_time(
    parts: list[KitPart], record: BuildRecord, shelf_days: Mapping[str, float]
) -> Iterator[BuildFinding]:
    for one in parts:
        if one.made_on is None:
            continue
        if one.made_on > record.built_on:
            text = _("%(part)s was made on %(made_on)s, after %(built_on)s. Check both days.") % {
                "part": one.part,
                "made_on": one.made_on,
                "built_on": record.built_on,
            }
            yield _refuse("made_later", "built_on", text)
        elif (age := (record.built_on - one.made_on).days) >= shelf_days.get(one.part.key, math.inf):
            text = _(
                "%(part)s was %(age)s days old, past its shelf life of %(shelf_days)s. "
                "Scrap the assembly and the piece."
            ) % {"part": one.part, "age": age, "shelf_days": f"{shelf_days[one.part.key]:g}"}
            yield _refuse("past_shelf_life", "built_on", text)


def _cut(parts: list[KitPart], record: BuildRecord, units: ReaderUnits) -> Iterator[BuildFinding]:
    hose = next((one for one in parts if one.part.kind == PartKind.BULK_HOSE), None)
    if hose is None:
        return
    if record.cut_length_mm is None or record.cut_length_mm <= 0:
        yield _refuse("no_cut", "cut_length", _("Enter the length that was cut."))
        return
    if hose.cut_length_mm is None:
        return
    off = round(record.cut_length_mm - hose.cut_length_mm, 3)
    allowed = cut_tolerance(hose.cut_length_mm)
    if off > allowed.over_mm + 1e-6 or -off > allowed.under_mm + 1e-6:
        asked, cut = tell_measures([hose.cut_length_mm, record.cut_length_mm], "length_mm", units)
        far, allowed_far = tell_play([abs(off), allowed.over_mm if off > 0 else allowed.under_mm], units)
        text = (
            _(
                "The cut of %(cut)s is %(off)s too long: %(asked)s was asked for, and %(standard)s lets it "
                "be off %(allowed)s. Measure it over all before it goes."
            )
            if off > 0
            else _(
                "The cut of %(cut)s is %(off)s too short: %(asked)s was asked for, and %(standard)s lets it "
                "be off %(allowed)s. Measure it over all before it goes."
            )
        ) % {
            "cut": cut,
            "off": far,
            "asked": asked,
            "standard": allowed.standard,
            "allowed": allowed_far,
        }
        yield _ask("cut_off_length", "cut_length", text)


def _crimp(crimp: Crimp, record: BuildRecord, critical: bool, units: ReaderUnits) -> Iterator[BuildFinding]:
    end, where = crimp.end, f"readings_{crimp.end}"
    if not record.seen(end):
        text = _(
            "End %(end)s: the insertion mark was not seen at the shell both before and "
            "after crimping. Not seen before: push it home and look. Moved after: "
            "scrap the assembly, it may blow off."
        ) % {"end": end}
        yield _refuse("insertion_not_seen", f"inserted_after_{end}", text)
    pair = _("%(hose)s with %(end_part)s") % {"hose": crimp.hose, "end_part": crimp.end_part}
    if not crimp.charts:
        text = _(
            "End %(end)s: there is no crimp chart for %(pair)s. Enter its diameter and "
            "band in crimp_specs.csv."
        ) % {"end": end, "pair": pair}
        yield _refuse("no_chart", where, text)
        return
    chart = crimp.chart
    if chart is None:
        text = _(
            "End %(end)s: %(count)s charts fit %(pair)s. Leave only the right one in crimp_specs.csv."
        ) % {"end": end, "count": len(crimp.charts), "pair": pair}
        yield _refuse("several_charts", where, text)
        return
    if chart.crimp_over_mm is None or chart.crimp_under_mm is None:
        text = _("End %(end)s: the chart for %(pair)s names no band. Enter it in crimp_specs.csv.") % {
            "end": end,
            "pair": pair,
        }
        yield _refuse("no_band", where, text)
        return
    widest = max(chart.crimp_over_mm, chart.crimp_under_mm)
    if widest > WIDEST_BAND_MM:
        wide, usual = tell_gauge([widest, WIDEST_BAND_MM], units)
        text = _(
            "End %(end)s: a band of %(widest)s for %(pair)s is wider than "
            "±%(widest_band_mm)s: most often a slipped decimal point. Look it up in "
            "the chart."
        ) % {"end": end, "widest": wide, "pair": pair, "widest_band_mm": usual}
        yield _ask("wide_band", where, text)
    readings = record.readings.get(end, ())
    if not readings:
        yield _refuse(
            "no_readings",
            where,
            _("End %(end)s: enter what the gauge showed, around the crimp.") % {"end": end},
        )
        return
    if len(readings) < READINGS_WANTED:
        text = _(
            "End %(end)s: %(count)s of %(readings_wanted)s readings around the crimp. Take the others."
        ) % {"end": end, "count": len(readings), "readings_wanted": READINGS_WANTED}
        yield BuildFinding("few_readings", where, critical, text)
    largest = chart.crimp_diameter_mm + chart.crimp_over_mm
    smallest = chart.crimp_diameter_mm - chart.crimp_under_mm
    over = [one for one in readings if one > largest + 1e-6]
    under = [one for one in readings if one < smallest - 1e-6]
    if over:
        read, band = _held_to_band(max(over), smallest, largest, units)
        text = _(
            "End %(end)s: %(over)s is over the band, %(band)s. Crimp again if the "
            "chart allows it, then measure again all around; else scrap the assembly."
        ) % {"end": end, "over": read, "band": band}
        yield _refuse("over_band", where, text)
    if under:
        read, band = _held_to_band(min(under), smallest, largest, units)
        text = _(
            "End %(end)s: %(under)s is under the band, %(band)s. Scrap the assembly: "
            "what is crimped too far is not opened again, and never goes out."
        ) % {"end": end, "under": read, "band": band}
        yield _refuse("under_band", where, text)


def _held_to_band(reading: float, smallest: float, largest: float, units: ReaderUnits) -> tuple[str, str]:
    """The reading and the band that it misses, told so far that it is seen to."""
    read, least, most = tell_gauge([reading, smallest, largest], units)
    return read, _("%(smallest)s to %(largest)s") % {"smallest": least, "largest": most}


def _cleaning(parts: list[KitPart], record: BuildRecord) -> Iterator[BuildFinding]:
    if not crimps_of(parts):
        return
    before, after = record.cleanings_before or 0, record.cleanings_after or 0
    if before < CLEANINGS_BEFORE:
        text = _("A projectile is shot through from each end before crimping (common practice, no source).")
        yield _ask("cleaned_too_little", "cleanings_before", text)
    if after < CLEANINGS_AFTER:
        text = _("One more projectile is shot through after crimping (common practice, no source).")
        yield _ask("not_cleaned_after", "cleanings_after", text)


def _proof(
    parts: list[KitPart], record: BuildRecord, critical: bool, units: ReaderUnits
) -> Iterator[BuildFinding]:
    rating, part = weakest_rating(parts)
    if record.proof_pressure_bar is None:
        if critical:
            text = _("The position is critical: it is not accepted without a proof test.")
            yield _refuse("no_proof", "proof_pressure", text)
        elif not (record.accepted_by.strip() and record.remarks.strip()):
            text = _("No proof test is recorded. Prove it; or name who accepts it without, and say why.")
            yield _refuse("no_proof", "remarks" if record.accepted_by.strip() else "accepted_by", text)
        else:
            text = _("No proof test is recorded: %(accepted_by)s answers for it.") % {
                "accepted_by": record.accepted_by
            }
            yield _ask("no_proof", "proof_pressure", text)
        return
    if record.proof_seconds is None or record.proof_seconds < LEAST_PROOF_SECONDS:
        text = _(
            "Proof is held for %(least_proof_seconds)s to 60 s, air bled (SAE J343, J517). Hold it so long."
        ) % {"least_proof_seconds": f"{LEAST_PROOF_SECONDS:g}"}
        yield _refuse("proof_too_short", "proof_seconds", text)
    if rating is None:
        text = _("The rating of %(part)s is not on record, so nobody can say what proves it.") % {
            "part": part or _("its parts")
        }
        yield BuildFinding("rating_unknown", "proof_pressure", critical, text)
        return
    least = PROOF_TIMES_RATING * rating
    proof_told, least_told, rating_told = tell_measures(
        [record.proof_pressure_bar, least, rating], "pressure_bar", units
    )
    if record.proof_pressure_bar < least - 1e-6:
        text = _(
            "%(proof_pressure_bar)s is below %(least)s, twice the %(rating)s of "
            "%(part)s (SAE J343, J517). Prove it again."
        ) % {
            "proof_pressure_bar": proof_told,
            "least": least_told,
            "rating": rating_told,
            "part": part,
        }
        yield _refuse("proof_too_low", "proof_pressure", text)
    if record.proof_pressure_bar >= BURST_TIMES_RATING * rating:
        text = _(
            "%(proof_pressure_bar)s is %(burst_times_rating)s times the %(rating)s of "
            "%(part)s or more: what was truly held so high is spent. Check the unit; "
            "else scrap it."
        ) % {
            "proof_pressure_bar": proof_told,
            "burst_times_rating": f"{BURST_TIMES_RATING:g}",
            "rating": rating_told,
            "part": part,
        }
        yield _refuse("proof_too_high", "proof_pressure", text)
