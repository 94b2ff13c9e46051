"""Having what may stand in belong in a position from now on: a design, chosen by a person, with a reason."""

from dataclasses import dataclass

from django.db import transaction
from django.utils.translation import gettext_lazy

from fleet.models import Assembly, Build, Design, DesignPart, Organization, Part, PartKind, Position, User
from forecasting.policies import Settings

from ..errors import ServiceError
from ..signing import hold_organization, save_signed, sign
from .stand_ins import CandidateShown, design_of, find_stand_ins_for


class NotAStandIn(ServiceError):
    """A hose and ends that were not, or are no longer, found to pass all that the position asks."""

    code = "not_a_stand_in"
    message = gettext_lazy(
        "%(parts)s is not known to pass all that %(position)s asks. Choose one of those that may stand in."
    )


class DesignTaken(ServiceError):
    """A drawing number under which something else is drawn."""

    code = "design_taken"
    message = gettext_lazy(
        "%(design)s is drawn already, with other parts, length or angle. Give the new one its own number."
    )


class NothingDrawn(ServiceError):
    """A position of which nobody knows what belongs there, so not how long it is either."""

    code = "nothing_drawn"
    message = gettext_lazy(
        "Nobody entered what belongs in %(position)s, so its length is not known. Enter its design first."
    )


class InstalledNotDrawn(ServiceError):
    """A hose of which nobody knows what it was built to: it would be taken for the new design."""

    code = "installed_not_drawn"
    message = gettext_lazy(
        "What %(assembly)s was built to is not known, so it would be taken for the new design. Enter its "
        "design first, or that of %(position)s."
    )


class WhyMissing(ServiceError):
    """A design changed without a word of why."""

    code = "why_missing"
    message = gettext_lazy("Say why: your name and the reason stand beside the change.")


class NotCompetent(ServiceError):
    """A critical position decided about by who did not say to be competent."""

    code = "not_competent"
    message = gettext_lazy(
        "%(position)s is critical: only a competent person decides, and says so by the tick."
    )


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
    """The candidate of that make among those that may stand in, judged now.

    None where it does not pass, or is what belongs there already.
    """
    found = find_stand_ins_for(organization=organization, position=position, units=units)
    others = (one for one in found.fitting if one.end_a and one.end_b and one.kinship != "own")
    return next((one for one in others if make_of(one) == make), None)


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
    *,
    organization: Organization,
    user: User | None,
    position: Position,
    make: Make,
    key: str,
    reason: str,
    competent: bool = False,
) -> Design:
    """The design that belongs in the position from now on: of that make, as long and turned as the old one.

    Adapters and sleeves stay, ferrules are those of the crimp. A design of that key that is drawn so already
    is taken. What is installed stays what it is, and is told to be of the old design where that was only told
    of the position; the next plan judges its successor by the new one. On a critical position `competent`
    must be said.

    Raises WhyMissing, NotCompetent, NothingDrawn, InstalledNotDrawn, NotAStandIn, DesignTaken; then nothing
    is stored.
    """
    organization = hold_organization(organization)
    # As it stands now: pressures may have been corrected since the page was opened.
    position = Position.objects.select_related("machine__site", "design").get(pk=position.pk)
    key, reason = key.strip(), reason.strip()
    if not reason:
        raise WhyMissing
    if position.critical and not competent:
        raise NotCompetent(position=position)
    drawn = design_of(position)
    if drawn is None:
        raise NothingDrawn(position=position)
    candidate = find_candidate(organization, position, make)
    if candidate is None:
        raise NotAStandIn(parts=make, position=position)
    parts = _parts_beside(drawn, candidate)
    design = Design.objects.of(organization).filter(key=key).first()
    if design is None:
        design = _draw(organization, user, drawn, make, parts, key, reason)
    elif _drawing(design) != (drawn.overall_length_mm, drawn.orientation_deg, make, set(parts)):
        raise DesignTaken(design=key)
    for assembly in Assembly.objects.filter(position=position, design=None).select_related("build__design"):
        build: Build | None = getattr(assembly, "build", None)
        assembly.design = (build and build.design) or position.design
        if assembly.design is None:
            raise InstalledNotDrawn(assembly=assembly, position=position)
        save_signed(assembly, user, reason)
    position.design = design
    sign(position, user, reason)
    position.save(update_fields=["design"])
    return design


def _parts_beside(drawn: Design, candidate: CandidateShown) -> list[tuple[str, str, float]]:
    """What the design takes besides hose and ends: place, part and quantity of each."""
    ferrules = (("a", candidate.ferrule_a), ("b", candidate.ferrule_b))
    return [
        *drawn.parts.exclude(part__kind=PartKind.FERRULE).values_list("place", "part__key", "quantity"),
        *((place, ferrule.part, 1.0) for place, ferrule in ferrules if ferrule),
    ]


def _drawing(design: Design) -> tuple[float, float | None, Make, set[tuple[str, str, float]]]:
    make = Make(design.hose_part.key, design.end_a_part.key, design.end_b_part.key)
    parts = set(design.parts.values_list("place", "part__key", "quantity"))
    return design.overall_length_mm, design.orientation_deg, make, parts


def _draw(
    organization: Organization,
    user: User | None,
    drawn: Design,
    make: Make,
    beside: list[tuple[str, str, float]],
    key: str,
    reason: str,
) -> Design:
    """The new design, stored with its parts."""
    named = {make.hose, make.end_a, make.end_b, *(part for _, part, _ in beside)}
    parts = {one.key: one for one in Part.objects.of(organization).filter(key__in=named)}
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
    save_signed(design, user, reason)
    for place, part, quantity in beside:
        row = DesignPart(
            organization=organization, design=design, place=place, part=parts[part], quantity=quantity
        )
        save_signed(row, user, reason)
    return design
