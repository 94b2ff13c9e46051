"""What may stand in for a hose: in a position, or for a worn hose of which no position is known.

Reading only. What is said here is advice: a plan and its kits take no stand-in but a named successor, and
nothing at all on a critical position.
"""

import datetime
from dataclasses import dataclass

import pandas as pd
from django.db.models import Q
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from fleet.frames.places import place_tables
from fleet.frames.register import core_settings, shelf_tables
from fleet.models import Assembly, Design, Organization, Part, PartKind, Position
from forecasting.inputs import PARTS
from forecasting.policies import Settings
from forecasting.suitability.candidates import StandIns, judge_stand_ins, rank_stand_ins
from forecasting.suitability.needs import Need, need_of_hose, need_of_position
from forecasting.tables import make_table
from forecasting.units import MEASURES

from ..stock.errors import NotInRegister

CRITICAL = gettext_lazy(
    "The position is critical: this is advice, and a named competent person "
    "must decide. Nothing is put in place of its own parts by itself."
)


@dataclass(frozen=True, slots=True)
class Shelf:
    """What of a part may be used at a site; of bulk hose, by the metre, `longest_m` lies in one piece."""

    site: str
    on_hand: float
    unit: str
    longest_m: float | None


@dataclass(frozen=True, slots=True)
class PartShown:
    """A part that a candidate takes, and the sites that have any of it: the machine's own, then most first.

    Of a part of what is unfit no site is named."""

    part: str
    description: str
    shelves: tuple[Shelf, ...]


@dataclass(frozen=True, slots=True)
class CandidateShown:
    """One hose, with the ends it would be crimped to; without ends where no pair is known to do.

    kinship  own (what belongs there), successor (of it), other
    verdict  fits, not_judged, unfit
    reason   why it does not pass, or what to see to where it does; may be empty
    ready_at the sites whose stock makes one now, the machine's own first
    """

    hose: PartShown
    end_a: PartShown | None
    end_b: PartShown | None
    ferrule_a: PartShown | None
    ferrule_b: PartShown | None
    kinship: str
    verdict: str
    reason: str
    rated_pressure_bar: float | None
    velocity_m_s: float | None
    cut_length_mm: float | None
    cost: float | None
    ready_at: tuple[str, ...]

    @property
    def ferrules(self) -> list[PartShown]:
        """Each ferrule that it takes, once."""
        return list(dict.fromkeys(one for one in (self.ferrule_a, self.ferrule_b) if one))


@dataclass(frozen=True, slots=True)
class EndJudged:
    """An end of the catalogue against the one that belongs at `place`, a or b."""

    place: str
    part: str
    verdict: str
    reason: str


@dataclass(frozen=True, slots=True)
class StandInsFound:
    """What was judged for a position, or for a worn hose (`position` is None), in the order to be thought of.

    demanded_pressure_bar is what is asked, surges included; None where nothing is known. `notes` say what
    was taken for a demand and what a person must settle.
    """

    position: Position | None
    design: Design | None
    demanded_pressure_bar: float | None
    notes: tuple[str, ...]
    candidates: tuple[CandidateShown, ...]
    ends: tuple[EndJudged, ...]

    def of(self, verdict: str) -> list[CandidateShown]:
        return [one for one in self.candidates if one.verdict == verdict]

    @property
    def fitting(self) -> list[CandidateShown]:
        return self.of("fits")

    @property
    def not_judged(self) -> list[CandidateShown]:
        return self.of("not_judged")

    @property
    def unfit(self) -> list[CandidateShown]:
        return self.of("unfit")

    @property
    def ends_refused(self) -> list[EndJudged]:
        return [one for one in self.ends if one.verdict != "fits"]


def find_stand_ins_for(
    *,
    organization: Organization,
    position: Position,
    units: Settings | None = None,
    today: datetime.date | None = None,
) -> StandInsFound:
    """Every hose of the catalogue, with each pair of ends that joins there, judged for the position.

    `units`, the organization's settings, are read where the caller has not done so already.
    """
    units = units or core_settings(organization)
    design = design_of(position)
    tables = place_tables(organization, [position], [design] if design else [])
    return judge_position(organization, position, design, tables, units, today)


def judge_position(
    organization: Organization,
    position: Position,
    design: Design | None,
    tables: dict[str, pd.DataFrame],
    units: Settings,
    today: datetime.date | None = None,
) -> StandInsFound:
    """As `find_stand_ins_for` says, from the `place_tables` of the position and what belongs there."""
    belongs = design.key if design else None
    need = need_of_position(tables, position.machine.key, position.key, belongs, units)
    return _found(organization, need, tables, units, position.machine.site.key, today, position, design)


def design_of(position: Position) -> Design | None:
    """What belongs in the position, else what was in it last."""
    if position.design:
        return position.design
    last = (
        Assembly.objects.filter(position=position, design__isnull=False)
        .select_related("design")
        .order_by("-installed_on", "-pk")
        .first()
    )
    return last.design if last else None


def find_stand_ins_for_worn(
    *,
    organization: Organization,
    construction: str,
    dash: float | None,
    edition: str = "",
    rated_pressure: float | None = None,
    pressure_unit: str = "bar",
    end_a: str = "",
    end_b: str = "",
    site: str = "",
    units: Settings | None = None,
    today: datetime.date | None = None,
) -> StandInsFound:
    """Every hose of the catalogue judged against a worn one, as its layline reads.

    `end_a` and `end_b` are the ends of the catalogue that are on it; where one is given the other is taken to
    be alike, and without them ends are not looked at. Raises NotInRegister.
    """
    known = Part.objects.of(organization).filter(kind=PartKind.HOSE_END)
    for end in filter(None, (end_a, end_b)):
        if not known.filter(key=end).exists():
            raise NotInRegister(noun=_("end"), key=end, hint=_("Look up its key on the page of parts."))
    worn = {
        "part": _("the worn %(construction)s") % {"construction": construction}
        if construction
        else _("the worn hose"),
        "kind": "bulk_hose",
        "construction": construction,
        "edition": edition,
        "dash": dash,
        "rated_pressure_bar": None
        if rated_pressure is None
        else MEASURES["pressure"][pressure_unit].to_stored(rated_pressure),
    }
    tables = place_tables(organization)
    units = units or core_settings(organization)
    ends = (end_a or end_b, end_b or end_a)
    need = need_of_hose(tables, make_table([worn], PARTS), units, ends if all(ends) else None)
    return _found(organization, need, tables, units, site, today, None, None)


def _found(
    organization: Organization,
    need: Need,
    tables: dict[str, pd.DataFrame],
    units: Settings,
    site: str,
    today: datetime.date | None,
    position: Position | None,
    design: Design | None,
) -> StandInsFound:
    today = today or timezone.localdate()
    judged = judge_stand_ins(need, tables, units)
    tables = tables | shelf_tables(organization, Q(part__key__in=judged.parts), orders=False)
    ranked = rank_stand_ins(judged, tables, site, today)
    demanded = ranked.candidates["demanded_pressure_bar"].dropna()
    return StandInsFound(
        position=position,
        design=design,
        demanded_pressure_bar=float(demanded.iloc[0]) if len(demanded) else None,
        notes=((str(CRITICAL),) if need.critical else ()) + need.notes,
        candidates=_candidates(ranked, tables["parts"], site),
        ends=tuple(
            EndJudged(row.place, row.part, row.verdict, _text(row.reason))
            for row in ranked.ends.itertuples(index=False)
        ),
    )


def _candidates(ranked: StandIns, catalogue: pd.DataFrame, home: str) -> tuple[CandidateShown, ...]:
    parts = _parts_shown(catalogue, ranked.usable, home)
    sites: dict[str, list[str]] = {}
    for row in ranked.ready.sort_values("site").itertuples(index=False):
        sites.setdefault(row.candidate, []).append(row.site)
    return tuple(
        CandidateShown(
            hose=parts[row.hose_part],
            end_a=parts.get(row.end_a_part),
            end_b=parts.get(row.end_b_part),
            ferrule_a=parts.get(row.ferrule_a_part),
            ferrule_b=parts.get(row.ferrule_b_part),
            kinship=row.kinship,
            verdict=row.verdict,
            reason=_text(row.reason),
            rated_pressure_bar=_number(row.rated_pressure_bar),
            velocity_m_s=_number(row.velocity_m_s),
            cut_length_mm=_number(row.cut_length_mm),
            cost=_number(row.cost),
            ready_at=tuple(sorted(sites.get(row.candidate, ()), key=lambda site: site != home)),
        )
        for row in ranked.candidates.itertuples(index=False)
    )


def _parts_shown(catalogue: pd.DataFrame, usable: pd.DataFrame, home: str) -> dict[str, PartShown]:
    """Every part of the catalogue by key, with what of it may be used where."""
    by_place = usable.groupby(["part", "site"])["on_hand"].agg(["sum", "max"]).reset_index()
    by_place["away"] = by_place["site"] != home
    by_place = by_place.sort_values(["away", "sum", "site"], ascending=[True, False, True])
    hoses = set(catalogue.loc[catalogue["kind"] == "bulk_hose", "part"])
    shelves: dict[str, list[Shelf]] = {}
    for part, site, on_hand, longest_m in zip(
        *(by_place[name].tolist() for name in ("part", "site", "sum", "max")), strict=True
    ):
        is_hose = part in hoses
        shelf = Shelf(site, on_hand, "metre" if is_hose else "each", longest_m if is_hose else None)
        shelves.setdefault(part, []).append(shelf)
    return {
        row.part: PartShown(row.part, _text(row.description), tuple(shelves.get(row.part, ())))
        for row in _described(catalogue).itertuples(index=False)
    }


def _described(parts: pd.DataFrame) -> pd.DataFrame:
    size = ("-" + parts["dash"].map("{:g}".format)).where(parts["dash"].notna(), "")
    words = parts["construction"].fillna(parts["end_style"]).fillna("")
    return parts[["part"]].assign(description=(words + " " + size).str.strip())


def _text(value) -> str:
    return "" if pd.isna(value) else str(value)


def _number(value: float) -> float | None:
    return None if pd.isna(value) else float(value)
