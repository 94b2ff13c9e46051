"""What a line printed along a hose says: construction, size, working pressure, and when it was made.

Nothing is guessed: what can be read in two ways is read in neither, and a sentence says what both are. What
stands in `not_understood` was not read at all; makers' names and part numbers do.
"""

import datetime
import re
from dataclasses import dataclass
from functools import cache

import pandas as pd

from forecasting.designs.constructions import tabulated_construction
from forecasting.units import tell_number
from forecasting.wording import gettext as _

from .date_codes import DateSpan, choose_date, take_date_codes
from .designations import Standard, take_designations
from .hose_sizes import bore_of, choose_dash, take_fractions, take_outsides, take_sizes
from .printed_line import PrintedLine
from .printed_pressures import SAME_WITHIN, PrintedPressure, read_pressures
from .ratings import load_ratings

# What has numbers but is neither bore nor pressure nor date.
_DEGREES = r"(?:°|DEG)"
_ASIDE = (
    re.compile(
        rf"(?<![A-Z0-9.,/-])(?:[+-]\d{{1,3}} ?{_DEGREES}? ?[CF]?|\d{{1,3}} ?{_DEGREES} ?[CF]?)"
        rf"(?: ?(?:/|TO|\.\.\.?) ?\+?| ?-? ?\+) ?\d{{1,3}} ?{_DEGREES}? ?[CF](?![A-Z0-9])"
    ),
    re.compile(rf"(?<![A-Z0-9.,/-])[+-]?\d{{1,3}} ?{_DEGREES} ?[CF]?(?![A-Z0-9])"),
    # A lot, an order or a part number, and what is counted in grades: none of these is a date or a size.
    re.compile(r"(?<![A-Z])(?:LOT|BATCH|ORDER|REF|SERIAL|S/N|P/N|PART)(?: ?NO)?[.:# ]{1,3}\S+"),
    re.compile(r"(?<![A-Z])(?:GRADE|CLASS|LAYERS?|NO\.?) ?\d{1,2}(?![A-Z0-9/.,])"),
)


@dataclass(frozen=True, slots=True)
class TabulatedRating:
    """What the tables give a hose of this construction and size in one edition of its standard."""

    edition: str
    pressure_bar: float
    mark: str
    source: str


@dataclass(frozen=True, slots=True)
class Layline:
    """What a line says. None, or an empty tuple, where it does not say so plainly.

    constructions   as `normal_construction` writes them, in the order of the line: one hose may meet several
    standards       the standards it names, with the edition where that is printed
    dash, bore_mm   the size, and the nominal bore of it
    pressure        the working pressure as printed; what tables give never stands here
    made            the span of days, as `DateSpan`, on one of which the hose was made
    may_be_made     every span that the date code may mean, where it can be read in several ways
    tabulated       what the tables give, for comparison; a value from memory passes no hose
    not_understood  the pieces that were not read, as printed
    doubts          sentences on what contradicts itself or can be read in two ways
    """

    printed: str
    constructions: tuple[str, ...]
    standards: tuple[Standard, ...]
    dash: int | None
    bore_mm: float | None
    pressure: PrintedPressure | None
    made: DateSpan | None
    may_be_made: tuple[DateSpan, ...]
    tabulated: tuple[TabulatedRating, ...]
    not_understood: tuple[str, ...]
    doubts: tuple[str, ...]

    @property
    def construction(self) -> str | None:
        """The first of the constructions, under which the tables are asked."""
        return self.constructions[0] if self.constructions else None

    @property
    def missing(self) -> tuple[str, ...]:
        """What the line does not say plainly, of construction, size, working pressure and date of making."""
        read = {
            "construction": self.construction,
            "size": self.dash,
            "working pressure": self.pressure,
            "date of making": self.made,
        }
        return tuple(name for name, value in read.items() if value is None)


def read_layline(text: str, *, today: datetime.date | None = None) -> Layline:
    """What the line says, in whatever order, spelling, case and spacing it is typed.

    `today`, where it is given, rules out that a hose was made later.
    """
    line = PrintedLine(text)
    aside = [printed for pattern in _ASIDE for _match, printed in line.take(pattern)]
    aside += take_outsides(line)
    named = take_designations(line)
    construction = named.constructions[0] if named.constructions else None
    pressures = read_pressures(line)
    fractions = take_fractions(line, construction)
    codes = take_date_codes(line, today)
    made, may_be_made, strange_dates, date_doubts = choose_date(codes)
    sae_only = all(one.startswith("100R") for one in named.constructions) and all(
        standard.name == "SAE J517" for standard in named.standards
    )
    sizes = take_sizes(line, construction, type_ends=named.type_ends, sae_only=sae_only)
    dash, strange, size_doubts = choose_dash([*fractions, *sizes])
    if dash is not None and construction is None:
        size_doubts.append(
            _("The size is taken for that of the bore; 100R5 and 100R14 count the tube instead.")
        )
    tabulated = tabulated_ratings(construction, dash)
    return Layline(
        printed=line.printed,
        constructions=named.constructions,
        standards=named.standards,
        dash=dash,
        bore_mm=bore_of(construction, dash) if dash is not None else None,
        pressure=pressures.working,
        made=made,
        may_be_made=may_be_made,
        tabulated=tabulated,
        not_understood=(
            *aside,
            *pressures.others,
            *named.not_understood,
            *strange,
            *strange_dates,
            *line.rest(),
        ),
        doubts=(
            *named.doubts,
            *size_doubts,
            *pressures.doubts,
            *date_doubts,
            *_rating_doubts(pressures.working, tabulated),
        ),
    )


@cache
def _ratings() -> pd.DataFrame:
    return load_ratings()


def tabulated_ratings(construction: str | None, dash: int | None) -> tuple[TabulatedRating, ...]:
    """What the tables give a construction and size, the current edition first; empty where they have none."""
    if construction is None or dash is None:
        return ()
    ratings = _ratings()
    asked = tabulated_construction(pd.Series([construction])).item()
    rows = ratings[(ratings["construction"] == asked) & (ratings["dash"] == dash)]
    rows = rows[rows["rated_pressure_bar"].notna()]
    rows = rows.sort_values("edition", key=lambda edition: edition != "current", kind="stable")
    columns = ["edition", "rated_pressure_bar", "mark", "source"]
    return tuple(TabulatedRating(*row) for row in rows[columns].itertuples(index=False, name=None))


def _rating_doubts(pressure: PrintedPressure | None, tabulated: tuple[TabulatedRating, ...]) -> list[str]:
    if pressure is None or not tabulated:
        return []
    printed = _("The printed %(printed)s (%(pressure_bar)s bar)") % {
        "printed": pressure.printed,
        "pressure_bar": tell_number(pressure.pressure_bar),
    }
    agreeing = [
        rating.edition
        for rating in tabulated
        if abs(pressure.pressure_bar / rating.pressure_bar - 1) <= SAME_WITHIN
    ]
    if "current" in agreeing:
        return []
    if agreeing:
        return [
            _("%(printed)s is the rating of an older edition of the standard: %(agreeing)s.")
            % {"printed": printed, "agreeing": agreeing[0]}
        ]
    given = ", ".join(
        _("%(pressure_bar)s bar (%(edition)s, %(mark)s)")
        % {"pressure_bar": tell_number(rating.pressure_bar), "edition": rating.edition, "mark": rating.mark}
        for rating in tabulated
    )
    return [
        _("%(printed)s differs from the table, which gives %(given)s.") % {"printed": printed, "given": given}
    ]
