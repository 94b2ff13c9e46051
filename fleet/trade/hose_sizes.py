"""The size of a hose as it is printed: dash, inches, DN or mm of bore, each with the dash sizes it may mean.

A dash counts sixteenths of an inch of bore; with SAE 100R5 and 100R14 of the tube that the hose replaces.
`hose_sizes.csv` holds the nominal bores (DN) row by row with their source.
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from pathlib import Path

import pandas as pd

from forecasting.designs.constructions import bore_mm
from forecasting.units import MM_PER_INCH
from forecasting.wording import gettext as _

from .printed_line import APART, PrintedLine

HOSE_SIZES_FILE = Path(__file__).with_name("hose_sizes.csv")
BORE_WITHIN_MM = 0.1  # 19.0 or 19.1 is printed where the bore is 19.05

_INSIDE = r"(?:(?<![A-Z])I\.?D\.? ?[:=]? ?)?"
_BEHIND = r"(?: ?I\.?D\.?(?![A-Z]))?"
_IN = r"(?: ?(?:\"|INCH(?:ES)?|IN\.?)(?![A-Z0-9]))"
_END = r"(?![A-Z0-9/]|[.,]\d)"
_SIZE_WORD = r"(?:(?<![A-Z])(?:DASH|SIZE|SZ)\.? ?[:=]? ?)?"
_FRACTION = re.compile(
    rf"{_INSIDE}(?<![A-Z0-9.])(?<!\d,)(?<![A-Z0-9]/)(?<!\d-)-?(?:([1-4])[-. ])?"
    rf"([1-9]\d?)/(2|4|8|16|32)(?![0-9/]){_IN}?{_BEHIND}(?![A-Z0-9/])"
)
_INCHES = re.compile(rf"{_INSIDE}{APART}(\d{{1,2}}|\d?[.,]\d{{1,4}}|\d[.,]\d{{1,4}}){_IN}{_BEHIND}")
_DN = re.compile(r"(?<![A-Z0-9])DN ?(\d{1,3}(?:[.,]\d)?)(?![\dA-Z])")
_MM = re.compile(rf"{_INSIDE}{APART}(\d{{1,3}}(?:[.,]\d{{1,2}})?) ?MM(?![A-Z0-9]){_BEHIND}")
_DASH = re.compile(
    rf"{_SIZE_WORD}(?<![A-Z0-9.,-])(?<![A-Z0-9]/)(?:-|#|DASH )0?(\d{{1,2}})"
    r"(?![\d°A-Z/]|[.,-]\d| ?(?:/|\.\.|TO ?) ?[+-])"
)
_BARE = re.compile(rf"((?<![A-Z])(?:SIZE|SZ)\.? ?[:=]? ?)?{APART}(0?\d{{1,2}}){_END}(?! ?[°+])")


# What has a length but is no bore: the outside of the hose and how far it may be bent.
_LENGTH = r"(?<![\d.,])(\d[\d.,]*(?:[ -]\d+)?(?:/\d+)?) ?(MM|INCH|IN|\")?(?![A-Z0-9/])"
_OUTSIDE = r"(?:O\.?D\.?|(?:MIN\.? ?)?(?:MBR|BEND(?: RAD(?:IUS)?)?))"
_OUTSIDE_FIRST = re.compile(rf"(?<![A-Z]){_OUTSIDE} ?[:=]? ?{_LENGTH}")
_OUTSIDE_LAST = re.compile(rf"{_LENGTH} ?{_OUTSIDE}(?![A-Z])")
_SAID_AGAIN = re.compile(rf" ?[/(] ?{_LENGTH}\)?")
SAME_LENGTH_WITHIN = 0.05  # 180 mm is printed beside 7 in


@dataclass(frozen=True, slots=True)
class PrintedSize:
    """A size as printed, and the dash sizes that it may mean; none where there is no such hose."""

    printed: str
    dashes: frozenset[int]


@cache
def load_hose_sizes() -> pd.DataFrame:
    """Nominal bores: counts (bore or tube), dash, dn, mark, source; one row per dash and DN."""
    return pd.read_csv(HOSE_SIZES_FILE)


@cache
def _bores(counts: str) -> dict[int, float]:
    """The bore in mm of each dash size by what the dash counts."""
    sizes = load_hose_sizes()
    dashes = sizes.loc[sizes["counts"] == counts, "dash"].drop_duplicates()
    construction = "100R5" if counts == "tube" else "100R2"
    rows = {"construction": construction, "dash": dashes.astype(float), "bore_mm": float("nan")}
    return dict(zip(dashes.tolist(), bore_mm(pd.DataFrame(rows)).tolist(), strict=True))


def bore_of(construction: str | None, dash: int) -> float | None:
    """The nominal bore in mm of a dash size of a construction; None where it is not tabulated."""
    if construction == "100R14":
        return None
    return _bores("tube" if construction == "100R5" else "bore").get(dash)


def take_outsides(line: PrintedLine) -> list[str]:
    """The words of outside diameters and bend radii, taken from the line with their other unit behind."""
    pieces = []
    for match, printed in line.take(_OUTSIDE_FIRST):
        again = _SAID_AGAIN.match(line.left, match.end())
        if again and abs(_mm(again) / (_mm(match) or 1) - 1) <= SAME_LENGTH_WITHIN:
            line.take_span(*again.span())
            printed = line.printed[match.start() : again.end()]
        pieces.append(printed)
    return pieces + [printed for _match, printed in line.take(_OUTSIDE_LAST)]


def _mm(match: re.Match[str]) -> float:
    """The length of a match of `_LENGTH`; 0 where its digits are no number."""
    try:
        number = sum(Fraction(part.replace(",", ".")) for part in re.split("[ -]", match[1]))
    except (ValueError, ZeroDivisionError):
        return 0.0
    return float(number) * (1 if match[2] == "MM" else MM_PER_INCH)


def take_fractions(line: PrintedLine, construction: str | None) -> list[PrintedSize]:
    """The sizes in fractions of an inch, taken from the line before a date code can be seen in them."""
    sizes = []
    for match, printed in line.take(_FRACTION):
        part = Fraction(int(match[2]), int(match[3]))
        plain = part < 1 and part.denominator == int(match[3])
        inches = part + int(match[1] or 0)
        sizes.append(PrintedSize(printed, _of_inches(inches, construction) if plain else frozenset()))
    return sizes


def take_sizes(
    line: PrintedLine, construction: str | None, *, type_ends: frozenset[int], sae_only: bool
) -> list[PrintedSize]:
    """All other sizes, taken from the line; a number alone only right behind a type, or named a size.

    `sae_only`: the line names no other standard than SAE's, which counts in dash and never in DN.
    """
    sizes = []
    for match, printed in line.take(_INCHES):
        inches = Fraction("0" + match[1].replace(",", "."))
        sizes.append(PrintedSize(printed, _of_inches(inches, construction)))
    for match, printed in line.take(_DN):
        sizes.append(PrintedSize(printed, _of_dn(float(match[1].replace(",", ".")), construction)))
    for match, printed in line.take(_MM):
        sizes.append(PrintedSize(printed, _of_mm(match[1].replace(",", "."), construction)))
    known = _dashes(construction)
    for match, printed in line.take(_DASH):
        sizes.append(PrintedSize(printed, frozenset({int(match[1])} & known)))
    for match in _BARE.finditer(line.left):
        if not match[1] and not {match.start(), match.start() - 1} & type_ends:
            continue
        number = int(match[2])
        as_dash = frozenset({number} & known)
        counted_in_dash = sae_only and match[2].startswith("0")
        as_dn = frozenset() if counted_in_dash else _of_dn(number, construction)
        if as_dash | as_dn:
            sizes.append(PrintedSize(line.take_span(*match.span()), as_dash | as_dn))
    return sizes


def choose_dash(sizes: Iterable[PrintedSize]) -> tuple[int | None, list[str], list[str]]:
    """The one dash size that all sizes agree on, what of them was not understood, and sentences of doubt."""
    understood = [size for size in sizes if size.dashes]
    strange = [size.printed for size in sizes if not size.dashes]
    doubts = [
        _("%(printed)s is no size that the tables know for such a hose.") % {"printed": printed}
        for printed in strange
    ]
    if not understood:
        return None, strange, doubts
    common = frozenset.intersection(*(size.dashes for size in understood))
    if not common:
        told = ", ".join(f"{size.printed} ({told_dashes(size.dashes)})" for size in understood)
        return (
            None,
            strange,
            [*doubts, _("The line has sizes that contradict each other: %(told)s.") % {"told": told}],
        )
    if len(common) > 1:
        told = ", ".join(size.printed for size in understood)
        return (
            None,
            strange,
            [*doubts, _("%(told)s may be %(common)s.") % {"told": told, "common": told_dashes(common)}],
        )
    return next(iter(common)), strange, doubts


def told_dashes(dashes: Iterable[int]) -> str:
    return " or ".join(f"dash {dash}" for dash in sorted(dashes))


def _dashes(construction: str | None) -> set[int]:
    return set(_bores("tube" if construction == "100R5" else "bore"))


def _of_inches(inches: Fraction, construction: str | None) -> frozenset[int]:
    """By 100R5 the inches of the bore or those of the tube; of 100R14 no bore is tabulated."""
    if construction == "100R14":
        return frozenset()
    sixteenths = inches * 16
    outright = {int(sixteenths)} & _dashes(construction) if sixteenths.denominator == 1 else set()
    if construction == "100R5":
        return frozenset(outright | _of_bore(float(inches) * MM_PER_INCH, "tube"))
    return frozenset(outright or _of_bore(float(inches) * MM_PER_INCH, "bore"))


def _of_bore(mm: float, counts: str) -> set[int]:
    return {dash for dash, bore in _bores(counts).items() if abs(bore - mm) <= BORE_WITHIN_MM}


def _of_dn(number: float, construction: str | None) -> frozenset[int]:
    if construction == "100R14":
        return frozenset()
    sizes = load_hose_sizes()
    counts = "tube" if construction == "100R5" else "bore"
    return frozenset(sizes.loc[(sizes["counts"] == counts) & (sizes["dn"] == number), "dash"].tolist())


def _of_mm(digits: str, construction: str | None) -> frozenset[int]:
    if construction == "100R14":
        return frozenset()
    counts = "tube" if construction == "100R5" else "bore"
    found = _of_bore(float(digits), counts) | _of_dn(float(digits), construction)
    if "." not in digits:
        found |= {dash for dash, bore in _bores(counts).items() if round(bore) == int(digits)}
    return frozenset(found)
