"""Whether what goes on is rated for its place: judged before it is stored (`replacing.in_place`).

Where a rating or a pressure is not known that is told, and a person answers for it; on a critical position by
name. So it is where an assembly was cut further off its drawing than the bench may: whether it reaches, or
hangs where it chafes, is seen at the machine alone.
"""

from collections.abc import Sequence

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from fleet.frames.register import core_settings
from fleet.frames.tags import with_lengths_made
from fleet.models import Assembly, Design, Organization
from fleet.trade.tolerances import cut_tolerance
from forecasting.units import tell_measure

from ..replacing.in_place import InPlace, judge_in_place
from ..shop.build_rules import tell_play
from .errors import FitFinding, FitnessNotKnown, UnfitForPlace
from .rows import PutOn

MEND = gettext_lazy(
    "Put on one that is rated for it. Where the register is wrong, correct the pressures and temperatures of "
    "the position or the rating of the part first."
)


def judge_fitness(organization: Organization, put: Sequence[PutOn]) -> list[str]:
    """What is to be told of assemblies that may go where they are to go, in sentences.

    Raises UnfitForPlace, and FitnessNotKnown where nobody answers for what is not known.
    """
    if not put:
        return []
    told: list[str] = []
    findings: list[FitFinding] = []
    lengths_off = _lengths_off(organization, put)
    for one, verdict, reason in zip(put, *_judged(organization, put), strict=True):
        if verdict == "short":
            what = _("%(assembly)s on %(position)s") % {
                "assembly": one.fitted.assembly,
                "position": one.position,
            }
            text = _("%(what)s would have to bear more than it is rated for: %(reason)s. %(mend)s") % {
                "what": what,
                "reason": reason,
                "mend": MEND,
            }
            findings.append(_finding(one, True, text))
        elif verdict == "unknown" and not one.answered_by:
            what = _("%(assembly)s is rated for %(position)s") % {
                "assembly": one.fitted.assembly,
                "position": one.position,
            }
            text = _("Whether %(what)s is not known: %(reason)s. %(asked)s") % {
                "what": what,
                "reason": reason,
                "asked": _ask(one),
            }
            findings.append(_finding(one, False, text))
        elif verdict == "unknown":
            told.append(
                _("Not known: %(reason)s. %(answered_by)s answers for it.")
                % {"reason": reason, "answered_by": one.answered_by}
            )
        elif verdict == "thin":
            told.append(_("It has little to spare: %(reason)s.") % {"reason": reason})
        if (off := lengths_off.get(one.fitted.assembly)) and one.answered_by:
            told.append(
                _("%(length_off)s %(answered_by)s answers for it.")
                % {"length_off": off, "answered_by": one.answered_by}
            )
        elif off:
            findings.append(_finding(one, False, f"{off} {_ask(one)}"))
    if any(one.refused for one in findings):
        raise UnfitForPlace(findings)
    if findings:
        raise FitnessNotKnown(findings)
    return told


def _lengths_off(organization: Organization, put: Sequence[PutOn]) -> dict[str, str]:
    """Of the assemblies whose recorded cut is further off their design than the bench may: that, by key."""
    rows = Assembly.objects.filter(pk__in=[one.known.pk for one in put if one.known])
    measures = ("pk", "length_made_mm", "build__cut_length_mm")  # the second annotated, which no type says
    lengths = with_lengths_made(rows).values_list(*measures)
    made = {pk: (length, cut) for pk, length, cut in lengths if length is not None}
    if not made:
        return {}
    drawn = Design.objects.of(organization).filter(key__in={one.design for one in put})
    asked_mm = dict(drawn.values_list("key", "overall_length_mm"))
    units, lengths_off = core_settings(organization), {}
    for one in put:
        if one.known is None or one.known.pk not in made or one.design not in asked_mm:
            continue
        length_mm, cut_mm = made[one.known.pk]
        asked = asked_mm[one.design]
        off = round(length_mm - asked, 3)
        allowed = cut_tolerance(cut_mm - off)
        most = allowed.over_mm if off > 0 else allowed.under_mm
        if abs(off) <= most + 1e-6:
            continue
        text = (
            _(
                "Whether %(assembly)s suits %(position)s is not known: by its cut it is %(made)s over all, "
                "%(off)s too long for %(design)s, and %(standard)s lets it be off %(allowed)s."
            )
            if off > 0
            else _(
                "Whether %(assembly)s suits %(position)s is not known: by its cut it is %(made)s over all, "
                "%(off)s too short for %(design)s, and %(standard)s lets it be off %(allowed)s."
            )
        )
        far, allowed_far = tell_play([abs(off), most], units)
        lengths_off[one.fitted.assembly] = text % {
            "assembly": one.known,
            "position": one.position,
            "made": tell_measure(length_mm, "length_mm", units),
            "off": far,
            "design": one.design,
            "standard": allowed.standard,
            "allowed": allowed_far,
        }
    return lengths_off


def _ask(one: PutOn) -> str:
    """What is to be done where it is not known whether something suits its place."""
    if one.position.critical:
        return _("The position is critical: find it out, or name the competent person who answers for it.")
    return _("Find it out, or answer for it.")


def _finding(one: PutOn, refused: bool, text: str) -> FitFinding:
    return FitFinding(one.position.key, refused, one.position.critical or False, text)


def _judged(organization: Organization, put: Sequence[PutOn]) -> tuple[list[str], list[str]]:
    """The verdict on each, and its reasons."""
    cases = [
        InPlace(
            one.fitted.assembly,
            one.position,
            one.design,
            one.day,
            known=one.known,
            built_on=one.fitted.built_on or (one.known.built_on if one.known else None),
            hose_made_on=one.fitted.hose_made_on or (one.known.hose_made_on if one.known else None),
        )
        for one in put
    ]
    return judge_in_place(organization, cases)
