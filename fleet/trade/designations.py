"""What standards call their hoses, and which of these names stand on a line.

`designations.csv` lists the types of each standard with their reinforcement, row by row with its source; how
a type is spelled as a construction is told by `normal_construction` alone.
"""

import re
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import pandas as pd

from forecasting.designs.constructions import normal_construction, tabulated_construction
from forecasting.wording import gettext as _

from .printed_line import APART, PrintedLine
from .ratings import load_ratings

DESIGNATIONS_FILE = Path(__file__).with_name("designations.csv")

_EDITION = r"(?: ?: ?((?:19|20)\d\d)(?:-\d\d)?)?"
_MONTHS = "JAN|FEB|MAR|APR|MAY|JUN|JUL|AUG|SEP|OCT|NOV|DEC"
_SAE_EDITION = rf"(?: ?[:_(]? ?((?:{_MONTHS})[A-Z]* ?(?:19|20)\d\d)\)?| ?: ?((?:19|20)\d\d))?"
_NO_WORD = r"(?![A-Z0-9])"
_ISO_CLASS = re.compile(
    r"(?<![A-Z0-9])ISO ?18752" + _EDITION + r"(?: ?[-/] ?| )?(?:(?:CLASS|TYPE) ?)?"
    r"(?:([A-D][SC])(?: ?[-/] ?| ))?(?:CLASS ?)?(\d{2,3})(?:(?: ?[-/] ?| )?(?:TYPE ?)?([A-D][SC]))?"
    + _NO_WORD
    + r"(?! ?(?:BAR|PSI|MPA|KPA)|-[A-Z])"
)
_SAE = re.compile(r"(?<![A-Z0-9])(?:SAE ?)?J ?517" + _SAE_EDITION + _NO_WORD)
_STANDARD = re.compile(
    r"(?<![A-Z0-9])(?:(?:DIN|BS|NF|UNE|UNI) ?)?(?:(EN) ?(85[3-7])|(ISO) ?(\d{4,5})(?:-[12](?!\d))?)"
    + _EDITION
    + _NO_WORD
)
# "100" or "SAE" before the number says whose type it is; the letters behind tell the cover.
_R_TYPE = re.compile(
    APART
    + r"(SAE[ -]?)?(?:TYPE ?)?(?:(100) ?-? ?R ?|R)(\d{1,2})(?: ?-?(?:ATS?|AT|A|B|S))?(?: TYPE ?(?:AT|A|B|S))?"
    + _NO_WORD
)
_EN_TYPE = re.compile(APART + r"(?:TYPE ?)?([12] ?S[NTC]|4 ?S[PH]|[123] ?TE)" + _NO_WORD)
_LONE_SAE = re.compile(r"(?<![A-Z0-9])SAE" + _NO_WORD + r"(?! ?-?J ?\d)")


@dataclass(frozen=True, slots=True)
class Standard:
    """A standard that a line names, with its edition where that is printed."""

    name: str
    edition: str | None


@dataclass(frozen=True, slots=True)
class Designations:
    """What a line calls its hose.

    constructions   as `normal_construction` writes them, in the order of the line; empty where none is plain
    standards       those named, in the order of the line; a type without its standard names none
    not_understood  names that look like a type but are none of their standard
    type_ends       the places on the line where types end, behind which a size often stands
    """

    constructions: tuple[str, ...]
    standards: tuple[Standard, ...]
    not_understood: tuple[str, ...]
    doubts: tuple[str, ...]
    type_ends: frozenset[int]


@cache
def load_designations() -> pd.DataFrame:
    """The types of each standard: standard, type, reinforcement, mark, source."""
    return pd.read_csv(DESIGNATIONS_FILE, dtype="str")


@cache
def _reinforcements() -> dict[tuple[str, str], frozenset[str]]:
    table = load_designations()
    keys = zip(table["standard"], table["type"], strict=True)
    return {
        key: frozenset(told.split(" or ")) for key, told in zip(keys, table["reinforcement"], strict=True)
    }


@cache
def _iso_classes() -> frozenset[str]:
    constructions = load_ratings()["construction"]
    return frozenset(constructions[constructions.str.startswith("ISO 18752")])


def one_construction(text: str) -> str:
    """The designation as `normal_construction` writes it."""
    return normal_construction(pd.Series([text])).item()


def take_designations(line: PrintedLine) -> Designations:
    """The constructions and standards that a line names, taken from it."""
    # Where on the line each stands orders them, for they are looked for kind by kind.
    standards: dict[int, Standard] = {}
    types: dict[int, tuple[str, bool, str]] = {}  # the type, whether SAE is said, and the words
    type_ends: set[int] = set()
    constructions: dict[int, tuple[str, frozenset[str]]] = {}
    not_understood, doubts = [], []
    for match, printed in line.take(_ISO_CLASS):
        standards[match.start()] = Standard("ISO 18752", match[1])
        written = " ".join(["ISO 18752", match[3], *filter(None, (match[2] or match[4],))])
        construction = one_construction(written)
        if tabulated_construction(pd.Series([construction])).item() in _iso_classes():
            constructions[match.start()] = (construction, frozenset())
        else:
            not_understood.append(printed)
            doubts.append(_("ISO 18752 has no class %(match)s that the table knows.") % {"match": match[3]})
    for match, _printed in line.take(_SAE):
        standards[match.start()] = Standard("SAE J517", match[1] or match[2])
    known = {standard for standard, _type in _reinforcements()} | {"ISO 18752"}
    for match, printed in line.take(_STANDARD):
        name = " ".join(filter(None, match.groups()[:4]))
        if name in known:
            standards[match.start()] = Standard(name, match[5])
        else:
            not_understood.append(printed)
            doubts.append(
                _("%(printed)s is no standard of hose that the table knows.") % {"printed": printed}
            )
    for match, printed in line.take(_R_TYPE):
        types[match.start()] = (f"R{int(match[3])}", bool(match[1] or match[2]), printed)
        type_ends.add(match.end())
    for match, printed in line.take(_EN_TYPE):
        types[match.start()] = (match[1].replace(" ", ""), False, printed)
        type_ends.add(match.end())
    lone_sae = [match.start() for match, _printed in line.take(_LONE_SAE)]

    if lone_sae and not any(standard.name == "SAE J517" for standard in standards.values()):
        standards[lone_sae[0]] = Standard("SAE J517", None)
    named = {standard.name for standard in standards.values()}
    for place, (kind, sae_said, printed) in types.items():
        holding = {standard for standard, of_type in _reinforcements() if of_type == kind}
        holders = {"SAE J517"} & holding if sae_said else named & holding if named else holding
        if not holders:
            whose = "SAE J517" if sae_said else " and ".join(sorted(named)) or "no standard"
            not_understood.append(printed)
            doubts.append(
                _("%(printed)s: the table knows no type %(kind)s of %(whose)s.")
                % {"printed": printed, "kind": kind, "whose": whose}
            )
            continue
        before = [standards[one].name for one in sorted(standards) if one < place]
        if not sae_said and before and before[-1] in holders:
            holders = {before[-1]}
        european = next((one for one in holders if one.startswith("EN")), "")
        # A type that both SAE and EN have is the one whose standard the line names.
        written = f"{european} {kind}" if european and "SAE J517" not in holders else kind
        if european and "SAE J517" in holders and not named:
            doubts.append(
                _("%(printed)s is a type of SAE J517 and of %(european)s: it was taken for SAE's.")
                % {"printed": printed, "european": european}
            )
        constructions[place] = (
            one_construction(written), frozenset().union(*(_reinforcements()[one, kind] for one in holders))
        )  # fmt: skip
    implied = [place for place, (_kind, sae_said, _printed) in types.items() if sae_said]
    if implied and "SAE J517" not in named:
        standards[min(implied)] = Standard("SAE J517", None)
    ordered = [constructions[place] for place in sorted(constructions)]
    chosen = tuple(dict.fromkeys(construction for construction, _wires in ordered))
    wires = [built for _construction, built in ordered if built]
    if wires and not frozenset.intersection(*wires):
        told = ", ".join(f"{name} ({' or '.join(sorted(built))})" for name, built in ordered if built)
        doubts.append(_("The line has constructions that contradict each other: %(told)s.") % {"told": told})
        chosen = ()
    return Designations(
        chosen,
        tuple(dict.fromkeys(standards[place] for place in sorted(standards))),
        tuple(not_understood),
        tuple(doubts),
        frozenset(type_ends),
    )
