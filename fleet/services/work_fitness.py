"""Whether what goes on is rated for its place: judged before it is stored (`fitness`).

Where a rating or a pressure is not known that is told, and a person answers for it; on a critical position by
name.
"""

from collections.abc import Sequence

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from fleet.models import Organization

from .fitness import InPlace, judge_in_place
from .work_errors import FitFinding, FitnessNotKnown, UnfitForPlace
from .work_rows import PutOn

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
    if any(one.refused for one in findings):
        raise UnfitForPlace(findings)
    if findings:
        raise FitnessNotKnown(findings)
    return told


def _ask(one: PutOn) -> str:
    """What is to be done where it is not known whether something is rated for its place."""
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
