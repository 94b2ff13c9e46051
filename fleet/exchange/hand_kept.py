"""Cells of a sheet that people keep by hand, as a fleet folder writes them: days, sizes, numbers, choices.

A text that cannot be told stays as it is, for the reader of the folder to refuse.
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

from forecasting.wording import gettext as _

from .columns import Column, Kind
from .numerals import meant_number, shortest
from .tables import NUMERIC

SIZES = ("dash", "connection_dash")
# Suction hose goes to 4 in, from memory. A bare 1 beside 1/2 and 3/4 is an inch; a bare 4 may be a dash too.
MOST_INCHES = 4
MOST_DASH = MOST_INCHES * 16
# What people write where they do not know; in a fleet folder such a cell is empty.
NOT_KNOWN = re.compile(r"not known|unknown|n/a|n\.a\.?|none|[-–—?]+", re.IGNORECASE)

_SMALL = {"½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8"}
_INCH_SIGN = re.compile(r"\s*(?:\"|”|″|''|in\.?|inch(?:es)?)$", re.IGNORECASE)
# No other digits are figures, but any blank is one, be it that no line ends at it.
_FRACTION = re.compile(r"(?:([0-9]{1,2})[\s-]\s*)?([0-9]{1,2})/(2|4|8|16|32)")
_DECIMAL = re.compile(r"[0-9]{0,2}[.,][0-9]+|[0-9]{1,2}")
_SLASHED = re.compile(r"([0-9]{1,2})[/-]([0-9]{1,2})[/-]([0-9]{4}|[0-9]{2})")
_DOTTED = re.compile(r"([0-9]{1,2})\.\s?([0-9]{1,2})\.\s?([0-9]{4}|[0-9]{2})")


@dataclass(frozen=True, slots=True)
class Manner:
    """How the cells of a column are written: `day_order` is "day" or "month" first, `in_inches` of sizes."""

    day_order: str = ""
    in_inches: bool = False


def says_nothing(text: str) -> bool:
    """Whether the text says only that something is not known."""
    return bool(NOT_KNOWN.fullmatch(text.strip()))


def as_written(text: str, column: Column, manner: Manner) -> str:
    """The text as a fleet folder writes it; '' where it says that it is not known."""
    if column.choices:
        bare = re.sub(r"[\s-]+", "_", text.casefold())
        if bare in column.choices:
            return bare
    if says_nothing(text):
        return ""
    if column.kind is Kind.DATE:
        return _day(text, manner.day_order)
    if column.name in SIZES:
        dash = dash_of_inches(text, bare=True) if manner.in_inches else None
        # The trade writes -08 for a dash size of 8.
        return dash or text.removeprefix("-").lstrip("0") or text
    if column.kind in NUMERIC:
        # A letter may be a unit that is not the column's: that is for the reader to refuse.
        strange = re.search(r"[^0-9\s.,'’+-]", text)
        return text if strange else meant_number(text) or text
    if column.kind is Kind.YES_NO:
        return {"y": "yes", "x": "yes", "n": "no"}.get(text.casefold(), text.casefold())
    return text


def written_in_inches(texts: Iterable[str]) -> str:
    """The first of the sizes that can only be inches, '' where none is: 1/2, 1 1/4", 0.75."""
    return next((text for text in texts if dash_of_inches(text) is not None), "")


def dash_of_inches(text: str, *, bare: bool = False) -> str | None:
    """The dash of a size in inches, which counts their sixteenths: 8 of 1/2, 20 of 1 1/4".

    None where the text is no size in inches; one without sign or fraction is one if `bare` says so.
    """
    size, only_inches = _figure_of(text) or (0, False)
    inches = size <= MOST_INCHES if only_inches else bare and size < MOST_INCHES
    return shortest(float(size * 16)) if size and inches else None


def told_doubt(text: str, header: str, manner: Manner) -> str:
    """Why the size under the header cannot be taken, with what to write; '' where nothing is in doubt."""
    size, only_inches = _figure_of(text.removeprefix("-")) or (0, False)
    if size > (MOST_INCHES if only_inches else MOST_DASH):
        told = _(
            "%(text)s under %(header)s is no size of a hose: they end at 4 in, which is dash 64. A bore in "
            "mm is matched to parts.bore_mm."
        )
    elif manner.in_inches and size >= MOST_INCHES and text.isdecimal():
        told = _(
            "%(text)s under %(header)s stands beside sizes in inches and may be a dash. Write inches as 1/4 "
            "or 4 in and a dash as -4, or give dash a column of its own."
        )
    else:
        return ""
    return told % {"text": text, "header": header}


def _figure_of(text: str) -> tuple[Fraction, bool] | None:
    """The figure of a size, and whether inches alone are written so: with a sign, as a fraction, in decimals.

    None where it is no figure.
    """
    plain = re.sub("[½¼¾⅛⅜⅝⅞]", lambda small: f" {_SMALL[small[0]]}", text).strip()
    inches = _INCH_SIGN.sub("", plain)
    if fraction := _FRACTION.fullmatch(inches):
        return int(fraction[1] or 0) + Fraction(int(fraction[2]), int(fraction[3])), True
    if not _DECIMAL.fullmatch(inches):
        return None
    size = Fraction("0" + inches.replace(",", "."))
    return size, inches != plain or size.denominator > 1


def slashed(text: str) -> tuple[int, int, int] | None:
    """The three figures of a day such as 03/04/2026 or 3-4-26."""
    found = _SLASHED.fullmatch(text)
    return (int(found[1]), int(found[2]), int(found[3])) if found else None


def order_of(first: int, second: int) -> str:
    """Which of the figures must be the day, "day" for the first or "month"; '' where it may be either."""
    if first > 12 >= second:
        return "day"
    return "month" if second > 12 >= first else ""


def _day(text: str, order: str) -> str:
    if dotted := _DOTTED.fullmatch(text):
        day, month, year = (int(one) for one in dotted.groups())
    elif parts := slashed(text):
        first, second, year = parts
        day, month = (first, second) if order == "day" else (second, first)
    else:
        return re.sub(r"^(\d{4}-\d{2}-\d{2})[ T]\d{2}:\d{2}.*$", r"\1", text)
    return f"{year + 2000 if year < 100 else year}-{month:02}-{day:02}"
