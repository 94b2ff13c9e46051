"""When a hose was made, as its layline codes it: by quarter, week, month, day or year.

How makers write it is common practice, no source. Weeks are those of ISO 8601, Monday to Sunday. A code is a
span of days, never a day picked from it; a code that can be read in two ways is given in both.
"""

import calendar
import datetime
import re
from collections.abc import Callable
from dataclasses import dataclass

from forecasting.wording import gettext as _

from .printed_line import APART, PrintedLine

_MONTHS = {calendar.month_abbr[month].upper(): month for month in range(1, 13)}
_NAMES = [name for month in range(1, 13) for name in (calendar.month_name[month], calendar.month_abbr[month])]
_MONTH = "(" + "|".join(["SEPT", *_NAMES]).upper() + r")\.?"
_YEAR = r"((?:19|20)\d\d|\d\d)"
_FULL_YEAR = r"((?:19|20)\d\d)"
_BY = r"[ /.'-]{0,2}"
_LABEL = r"(?:(?<![A-Z])(?:DATE(?: CODE)?|DOM|MFG|MFD|MADE)(?![A-Z]) ?[:=]? ?)"
_END = r"(?![A-Z0-9/.\"°]|,\d)"

_QUARTER_FIRST = re.compile(f"{_LABEL}?{APART}(?:([1-4]) ?Q|Q ?([1-4])){_BY}{_YEAR}{_END}")
_YEAR_FIRST = re.compile(f"{_LABEL}?{APART}{_YEAR}{_BY}(?:Q ?([1-4])|([1-4]) ?Q){_END}")
_WEEK_FIRST = re.compile(f"{_LABEL}?{APART}(?:WEEK|WK|KW|W) ?(\\d{{1,2}}){_BY}{_YEAR}{_END}")
_WEEK_LAST = re.compile(f"{_LABEL}?{APART}{_YEAR}{_BY}(?:WEEK|WK|KW|W) ?(\\d{{1,2}}){_END}")
_W_BETWEEN = re.compile(f"{_LABEL}?{APART}(\\d{{1,2}}) ?W{_BY}{_YEAR}{_END}")
_DAY_MONTH = re.compile(f"{_LABEL}?{APART}(\\d{{1,2}})([/.-]?){_MONTH}\\2{_YEAR}{_END}")
_MONTH_YEAR = re.compile(f"{_LABEL}?{APART}{_MONTH}{_BY}{_YEAR}{_END}")
_ISO_DAY = re.compile(f"{_LABEL}?{APART}{_FULL_YEAR}([-./])(\\d\\d)\\2(\\d\\d){_END}")
_DAY = re.compile(f"{_LABEL}?{APART}(\\d{{1,2}})([-./])(\\d{{1,2}})\\2{_FULL_YEAR}{_END}")
_OF_YEAR = re.compile(
    f"{_LABEL}?{APART}(?:(\\d{{1,2}})[/.-]{_FULL_YEAR}|{_FULL_YEAR}[/.-](\\d{{1,2}})){_END}"
)
_SHORT = re.compile(f"{_LABEL}?{APART}(\\d\\d)/(\\d\\d){_END}")
_LABELLED = re.compile(f"{_LABEL}(\\d\\d)(\\d\\d){_END}")


@dataclass(frozen=True, slots=True)
class DateSpan:
    """When a hose was made: some day from `first_day` to `last_day`, and what `says` so in words."""

    first_day: datetime.date
    last_day: datetime.date
    says: str


@dataclass(frozen=True, slots=True)
class DateCode:
    """A date code as printed, and every way in which it can be read."""

    printed: str
    readings: tuple[DateSpan, ...]


def take_date_codes(line: PrintedLine, today: datetime.date | None) -> list[DateCode]:
    """The date codes on the line, taken from it; readings after `today`, where it is given, are dropped."""
    codes = []
    for pattern, readings in _FORMS:
        for match, printed in line.take(pattern):
            spans = [span for span in readings(match) if span and (not today or span.first_day <= today)]
            codes.append(DateCode(printed, tuple(dict.fromkeys(spans))))
    return codes


def choose_date(
    codes: list[DateCode],
) -> tuple[DateSpan | None, tuple[DateSpan, ...], list[str], list[str]]:
    """The one span that the codes tell, every span they may tell, the codes that tell none, and doubts."""
    strange = [code.printed for code in codes if not code.readings]
    readings = tuple(dict.fromkeys(span for code in codes for span in code.readings))
    doubts = [
        _("%(printed)s may be %(readings)s.")
        % {"printed": code.printed, "readings": _(" or ").join(span.says for span in code.readings)}
        for code in codes
        if len(code.readings) > 1
    ]
    if doubts or not readings:
        return None, readings, strange, doubts
    narrowest = min(readings, key=lambda span: (span.last_day - span.first_day, span.first_day))
    if any(span.first_day > narrowest.first_day or span.last_day < narrowest.last_day for span in readings):
        told = ", ".join(f"{code.printed} ({code.readings[0].says})" for code in codes if code.readings)
        return (
            None,
            readings,
            strange,
            [_("The line has dates that contradict each other: %(told)s.") % {"told": told}],
        )
    return narrowest, readings, strange, []


def _full_year(digits: str) -> int:
    """The year of two digits or four: hose with a code was made since 1970 (common practice, no source)."""
    year = int(digits)
    return year if len(digits) == 4 else year + (1900 if year >= 70 else 2000)


def _quarter(year: str, quarter: str) -> DateSpan:
    last_month = 3 * int(quarter)
    whole_year = _full_year(year)
    return DateSpan(
        datetime.date(whole_year, last_month - 2, 1),
        datetime.date(whole_year, last_month, calendar.monthrange(whole_year, last_month)[1]),
        f"quarter {quarter} of {whole_year}",
    )


def _week(year: str, week: str) -> DateSpan | None:
    whole_year = _full_year(year)
    try:
        monday = datetime.date.fromisocalendar(whole_year, int(week), 1)
    except ValueError:  # no such week in that year
        return None
    return DateSpan(monday, monday + datetime.timedelta(days=6), f"week {int(week)} of {whole_year}")


def _month(year: str, month: str) -> DateSpan | None:
    number, whole_year = int(month), _full_year(year)
    if not 1 <= number <= 12:
        return None
    last = datetime.date(whole_year, number, calendar.monthrange(whole_year, number)[1])
    return DateSpan(last.replace(day=1), last, f"{calendar.month_name[number]} {whole_year}")


def _day(year: str, month: str, day: str) -> DateSpan | None:
    try:
        one = datetime.date(_full_year(year), int(month), int(day))
    except ValueError:  # no such day in that month
        return None
    return DateSpan(one, one, f"{one.day} {calendar.month_name[one.month]} {one.year}")


def _year(year: str) -> DateSpan:
    return DateSpan(datetime.date(int(year), 1, 1), datetime.date(int(year), 12, 31), f"the year {year}")


def _number_of(month: str) -> str:
    return str(_MONTHS[month[:3]])


def _part_of_year(year: str, part: str) -> list[DateSpan | None]:
    return [_week(year, part), _month(year, part)]


def _two_numbers(first: str, second: str) -> list[DateSpan | None]:
    """Week and year, month and year, or year and week: whichever there can be."""
    return [*_part_of_year(second, first), _week(first, second)]


def _labelled(match: re.Match[str]) -> list[DateSpan | None]:
    """The same where a label says that four digits are a date; they may be a year as well."""
    whole_year = _year(match[1] + match[2]) if match[1] in ("19", "20") else None
    return [whole_year, *_two_numbers(match[1], match[2])]


# The longest forms first, so that none is taken for a piece of another.
_FORMS: tuple[tuple[re.Pattern[str], Callable[[re.Match[str]], list[DateSpan | None]]], ...] = (
    (_ISO_DAY, lambda one: [_day(one[1], one[3], one[4])]),
    (_DAY, lambda one: [_day(one[4], one[3], one[1]), _day(one[4], one[1], one[3])]),
    (_DAY_MONTH, lambda one: [_day(one[4], _number_of(one[3]), one[1])]),
    (_MONTH_YEAR, lambda one: [_month(one[2], _number_of(one[1]))]),
    (_QUARTER_FIRST, lambda one: [_quarter(one[3], one[1] or one[2])]),
    (_YEAR_FIRST, lambda one: [_quarter(one[1], one[2] or one[3])]),
    (_WEEK_FIRST, lambda one: [_week(one[2], one[1])]),
    (_W_BETWEEN, lambda one: [_week(one[2], one[1]), _week(one[1], one[2]) if len(one[2]) == 2 else None]),
    (_WEEK_LAST, lambda one: [_week(one[1], one[2])]),
    (_OF_YEAR, lambda one: _part_of_year(one[2] or one[3], one[1] or one[4])),
    (_LABELLED, _labelled),
    (_SHORT, lambda one: _two_numbers(one[1], one[2])),
)
