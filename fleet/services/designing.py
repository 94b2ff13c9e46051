"""Having what may stand in belong in a position from now on: a design, chosen by a person, with a reason."""

from dataclasses import dataclass

from django.db import transaction
from django.utils.translation import gettext_lazy

from fleet.models import Design, DesignPart, Organization, Part, PartKind, Position, User
from forecasting.policies import Settings

from .errors import ServiceError
from .shelves import REASON_LENGTH
from .stand_ins import CandidateShown, design_of, find_stand_ins_for


class NotAStandIn(ServiceError):
    """A hose and ends that were not, or are no longer, found to pass all that the position asks."""

    code = "not_a_stand_in"
    message = gettext_lazy(
        "%(parts)s is not known to pass all that %(position)s asks. Choose one of those that may stand in."
    )


class DesignTaken(ServiceError):
    """A drawing number that another make has."""

    code = "design_taken"
    message = gettext_lazy(
        "%(design)s is another assembly already: %(parts)s. Give the new one its own number."
    )


class NothingDrawn(ServiceError):
    """A position of which nobody knows what belongs there, so not how long it is either."""

    code = "nothing_drawn"
    message = gettext_lazy(
        "Nobody entered what belongs in %(position)s, so its length is not known. Enter its design first."
    )


class WhyMissing(ServiceError):
    """A design changed without a word of why."""

    code = "why_missing"
    message = gettext_lazy("Say why: your name and the reason stand beside the change.")


@dataclass(frozen=True, slots=True)
class Make:
    """What an assembly is made of, by part number."""

    hose: str
    end_a: str
    end_b: str

    def __str__(self) -> str:
        return f"{self.hose}, {self.end_a}, {self.end_b}"


def find_candidate(
    organization: Organization, position: Position, make: Make, units: Settings | None = None
) -> CandidateShown | None:
    """The candidate of that make among those that may stand in, judged now; None where it does not pass."""
    found = find_stand_ins_for(organization=organization, position=position, units=units)
    return next((one for one in found.fitting if one.end_a and one.end_b and make_of(one) == make), None)


def make_of(one: CandidateShown) -> Make:
    return Make(one.hose.part, one.end_a.part if one.end_a else "", one.end_b.part if one.end_b else "")


def free_design_key(organization: Organization, drawn: Design) -> str:
    """The key of a design with a number behind it that none has yet."""
    taken = set(
        Design.objects.of(organization).filter(key__startswith=drawn.key).values_list("key", flat=True)
    )
    number = 2
    while f"{drawn.key}-{number}" in taken:
        number += 1
    return f"{drawn.key}-{number}"


@transaction.atomic(durable=True)
def choose_design(
    *, organization: Organization, user: User | None, position: Position, make: Make, key: str, reason: str
) -> Design:
    """The design that belongs in the position from now on: of that make, as long and turned as the old one.

    Adapters and sleeves stay, ferrules are those of the crimp. A design of that key and make is taken as it
    is. What is installed stays what it is; the next plan judges its successor by the new design. Raises
    WhyMissing, NothingDrawn, NotAStandIn, DesignTaken; then nothing is stored.
    """
    organization = Organization.objects.select_for_update().get(pk=organization.pk)
    key, reason = key.strip(), reason.strip()
    if not reason:
        raise WhyMissing
    drawn = design_of(position)
    if drawn is None:
        raise NothingDrawn(position=position)
    candidate = find_candidate(organization, position, make)
    if candidate is None:
        raise NotAStandIn(parts=make, position=position)
    design = Design.objects.of(organization).filter(key=key).first()
    if design is None:
        design = _draw(organization, user, drawn, candidate, key, reason)
    elif _length_and_make(design) != (drawn.overall_length_mm, drawn.orientation_deg, make):
        raise DesignTaken(design=key, parts=_length_and_make(design)[-1])
    position.design = design
    position._history_user, position._change_reason = user, reason[:REASON_LENGTH]
    position.save(update_fields=["design"])
    return design


def _length_and_make(design: Design) -> tuple[float, float | None, Make]:
    make = Make(design.hose_part.key, design.end_a_part.key, design.end_b_part.key)
    return design.overall_length_mm, design.orientation_deg, make


def _draw(
    organization: Organization,
    user: User | None,
    drawn: Design,
    candidate: CandidateShown,
    key: str,
    reason: str,
) -> Design:
    """The new design, stored with its parts."""
    make = make_of(candidate)
    parts = {one.key: one for one in Part.objects.of(organization).filter(key__in=_keys(candidate))}
    design = Design(
        organization=organization,
        key=key,
        hose_part=parts[make.hose],
        end_a_part=parts[make.end_a],
        end_b_part=parts[make.end_b],
        overall_length_mm=drawn.overall_length_mm,
        orientation_deg=drawn.orientation_deg,
        entered=drawn.entered,
    )
    design.full_clean()
    taken = [
        DesignPart(
            organization=organization, design=design, place=one.place, part=one.part, quantity=one.quantity
        )
        for one in drawn.parts.exclude(part__kind=PartKind.FERRULE).select_related("part")
    ]
    for place, ferrule in (("a", candidate.ferrule_a), ("b", candidate.ferrule_b)):
        if ferrule:
            taken.append(
                DesignPart(
                    organization=organization,
                    design=design,
                    place=place,
                    part=parts[ferrule.part],
                    quantity=1,
                )
            )
    for row in (design, *taken):
        row._history_user, row._change_reason = user, reason[:REASON_LENGTH]
        row.save()
    return design


def _keys(candidate: CandidateShown) -> list[str]:
    shown = (candidate.hose, candidate.end_a, candidate.end_b, *candidate.ferrules)
    return [one.part for one in shown if one]
