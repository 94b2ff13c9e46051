"""Numbers as a person reads them: in the organization's units, rounded as far as they are known.

Filters that convert take the organization's settings: {{ bar|pressure:units }}. What is not known says so.
"""

import datetime
import math
import re
from collections.abc import Callable

import numpy as np
from django.template import Library
from django.utils.dateformat import format as format_date
from django.utils.formats import number_format
from django.utils.html import conditional_escape, format_html
from django.utils.safestring import mark_safe
from django.utils.translation import gettext, ngettext

from forecasting.units import MEASURES, TOLD_DECIMALS, reel_unit

register = Library()

NARROW = "\N{NO-BREAK SPACE}"  # a number and its unit stay on one line
RANGE = "\N{EN DASH}"

# A figure in a sentence that was told elsewhere, and the unit or the currency after it ("in" is a word too).
FIGURE_AND_UNIT = re.compile(
    r"(?<=\d) (?=(?:%|°[CF]|bar|psi|MPa|mm|m|ft|h|s|min|[A-Z]{3}"
    r"|in(?! (?:a|all|an|any|each|its|place|service|stock|the|this)\b))(?!\w))"
)

# A key in a sentence: capitals and figures joined by hyphens, at least one figure among them.
KEY_IN_SENTENCE = re.compile(r"\b(?=[A-Z\d-]*\d)[A-Z\d]*[A-Z][A-Z\d]*(?:-[A-Z\d]+)+\b")

TAPE_DECIMALS = {"mm": 0, "in": 2}
CALIPER_DECIMALS = {"mm": 2, "in": 3}


def not_known() -> str:
    return gettext("not known")


def grouped(value: float, decimals: int = 0) -> str:
    """The number with its thousands grouped as the reader's language does."""
    text = number_format(round(value, decimals) + 0.0, decimals, force_grouping=True)  # no -0
    return text.replace("-", "\N{MINUS SIGN}", 1) if value < 0 else text


def trimmed(value: float, decimals: int = 1) -> str:
    """The number with no more decimals than it needs."""
    least = next(
        n for n in range(decimals + 1) if abs(value - round(value, n)) < 0.5 * 10**-decimals or n == decimals
    )
    return grouped(value, least)


def in_unit(
    value: float | None,
    measure: str,
    suffix: str,
    decimals: dict[str, int] = TOLD_DECIMALS,
    told: Callable[[float, int], str] = trimmed,
) -> str:
    """The measure in that unit, no finer than `decimals` say: as reasons tell it, unless told otherwise."""
    if value is None:
        return not_known()
    unit = MEASURES[measure][suffix]
    return f"{told(unit.from_stored(value), decimals[suffix])}{NARROW}{unit.symbol}"


@register.filter
def pressure(bar: float | None, units) -> str:
    """The pressure in the organization's unit: 210 bar, 3,046 psi."""
    return in_unit(bar, "pressure", units.pressure_unit)


@register.filter
def tape(mm: float | None, units) -> str:
    """The length in the organization's unit, as a tape tells it: 902 mm, 35.51 in."""
    return in_unit(mm, "length", units.length_unit, TAPE_DECIMALS)


@register.filter
def caliper(mm: float | None, units) -> str:
    """The length in the organization's unit, as a caliper tells it: 21.18 mm, 0.834 in."""
    return in_unit(mm, "length", units.length_unit, CALIPER_DECIMALS, grouped)


@register.filter
def ruler(mm: float | None, units) -> str:
    """The length to the millimetre, or to the sixteenth of an inch as a ruler has it: 920 mm, 36 1/4 in."""
    if mm is None or units.length_unit != "in":
        return tape(mm, units)
    return f"{_fraction(MEASURES['length']['in'].from_stored(mm))}{NARROW}in"


@register.filter
def play(mm: float | None, units) -> str:
    """How far a length may be off: 6.35 mm, 3/16 in; in hundredths of an inch where no sixteenth tells it.

    Rounded as `tell_measure` rounds, so that a sheet and what the bench is told agree.
    """
    if mm is None:
        return not_known()
    if units.length_unit != "in":
        return f"{trimmed(float(np.round(mm, 2)), 2)}{NARROW}mm"
    inches = MEASURES["length"]["in"].from_stored(mm)
    told = _fraction(inches) if abs(inches * 16 - round(inches * 16)) < 0.01 else trimmed(inches, 2)
    return f"{told}{NARROW}in"


def _fraction(inches: float) -> str:
    """The inches to the nearest sixteenth: 36, 3/16, 36 1/4."""
    sixteenths = round(inches * 16)
    whole, rest = divmod(sixteenths, 16)
    if not rest:
        return grouped(whole)
    shared = math.gcd(rest, 16)
    part = f"{rest // shared}/{16 // shared}"
    return f"{grouped(whole)}{NARROW}{part}" if whole else part


@register.filter
def temperature(celsius: float | None, units) -> str:
    """The temperature in the organization's unit: 80 °C, 176 °F."""
    return in_unit(celsius, "temperature", units.temperature_unit)


@register.simple_tag
def temperature_between(coldest: float | None, hottest: float | None, units) -> str:
    """The temperatures that a part bears: −40 °C to 100 °C; of one that is not known nothing is said."""
    told = {"coldest": temperature(coldest, units), "hottest": temperature(hottest, units)}
    if coldest is None and hottest is None:
        return not_known()
    if coldest is None:
        return gettext("up to %(hottest)s") % told
    if hottest is None:
        return gettext("from %(coldest)s") % told
    return gettext("%(coldest)s to %(hottest)s") % told


@register.simple_tag
def either_way(over: str, under: str) -> str:
    """How far a measure may be off, both ways told already: ±0.13 mm, or +12 mm −4 mm where they differ."""
    return f"±{over}" if over == under else f"+{over} \N{MINUS SIGN}{under}"


def _counted(quantity: float, unit: str, units) -> tuple[str, str]:
    """The figure of an amount, and its unit with the space before it."""
    if unit != "metre":
        return trimmed(quantity), ""
    reel = reel_unit(units)
    shown = reel.from_stored(quantity)
    return trimmed(shown, 2 if shown < 10 else 1), f"{NARROW}{reel.symbol}"


@register.simple_tag
def amount(quantity: float | None, unit: str, units) -> str:
    """So much of a part: 4, or for hose by the metre 12.5 m, 41 ft where lengths are in inches."""
    return not_known() if quantity is None else "".join(_counted(quantity, unit, units))


@register.simple_tag
def amount_between(low: float | None, high: float | None, unit: str, units) -> str:
    """The range that an amount lies in: 2–5, or for hose 3.5–12 m; one figure where both ends are alike."""
    if low is None or high is None:
        return not_known()
    (least, symbol), (most, _) = _counted(low, unit, units), _counted(high, unit, units)
    return f"{least}{symbol}" if least == most else f"{least}{RANGE}{most}{symbol}"


@register.filter
def money(value, units) -> str:
    """The sum in the organization's currency, to the whole unit from a hundred up: 1,240 EUR, 3.75 EUR."""
    if value is None:
        return not_known()
    return f"{grouped(float(value), 0 if value == 0 or abs(value) >= 100 else 2)}{NARROW}{units.currency}"


@register.simple_tag
def money_between(low: float | None, high: float | None, units) -> str:
    """The range that a sum lies in: 74,000–86,500 EUR, −300 to 9,000 EUR; one sum where they are alike."""
    if low is None or high is None:
        return not_known()
    decimals = 0 if max(abs(low), abs(high)) >= 100 else 2
    least, most = grouped(float(low), decimals), grouped(float(high), decimals)
    if least == most:
        return f"{most}{NARROW}{units.currency}"
    if low < 0:
        return gettext("%(low)s to %(high)s") % {"low": least, "high": f"{most}{NARROW}{units.currency}"}
    return f"{least}{RANGE}{most}{NARROW}{units.currency}"


@register.filter
def whole_money(value, units) -> str:
    """The sum to the whole unit, as a column of sums has it; cents only below one: 87 EUR, 0.40 EUR."""
    if value is None or 0 < abs(value) < 1:
        return money(value, units)
    return f"{grouped(float(value))}{NARROW}{units.currency}"


def chance_figure(chance: float) -> str:
    """The percentage without its sign, to what a forecast can tell: 0.4, 7, 12; `under 0.1`, `over 99`."""
    percent = chance * 100
    if percent < 0.1:
        return gettext("under 0.1")
    if percent > 99:
        return gettext("over 99")
    return grouped(percent, 1 if round(percent, 1) < 2 else 0)


@register.filter
def chance(value: float | None) -> str:
    """The chance as a rounded percentage: 12 %, 0.4 %, under 0.1 %."""
    return not_known() if value is None else f"{chance_figure(value)}{NARROW}%"


@register.simple_tag
def chance_range(low: float | None, high: float | None) -> str:
    """The interval a chance lies in: 7–19 %."""
    if low is None or high is None:
        return not_known()
    return f"{chance_figure(low)}{RANGE}{chance_figure(high)}{NARROW}%"


@register.simple_tag
def chance_between(value: float | None, low: float | None, high: float | None) -> str:
    """The chance with the interval it lies in: about 12 % (7–19 %)."""
    if value is None or low is None or high is None:
        return not_known()
    interval = chance_range(low, high)
    return gettext("about %(chance)s (%(interval)s)") % {"chance": chance(value), "interval": interval}


@register.filter
def percent(value: float | None) -> str:
    """A percentage that is one already: 23 %."""
    return not_known() if value is None else f"{grouped(value)}{NARROW}%"


@register.filter
def ratio(value: float | None) -> str:
    """How many times as much: 2.4 ×."""
    return not_known() if value is None else f"{grouped(value, 1 if value < 10 else 0)}{NARROW}×"


@register.filter
def figure(value: float | None, decimals: int = 1) -> str:
    """A number with no more decimals than it needs."""
    return not_known() if value is None else trimmed(value, decimals)


@register.filter
def aligned(value: float | None, decimals: int = 1) -> str:
    """A number of a column, each with as many decimals, so that units stand under units: 6.0 below 4.2."""
    return not_known() if value is None else grouped(value, decimals)


@register.filter
def hours(value: float | None, decimals: int = 0) -> str:
    """Machine hours, whole unless more is asked for: 4,210 h."""
    return not_known() if value is None else f"{trimmed(value, decimals)}{NARROW}h"


@register.filter
def minutes(value: float | None) -> str:
    """Working time: 45 min, 2 h 30 min."""
    if value is None:
        return not_known()
    whole_hours, rest = divmod(round(value), 60)
    if not whole_hours:
        return f"{rest}{NARROW}min"
    return f"{whole_hours}{NARROW}h" + (f" {rest}{NARROW}min" if rest else "")


@register.filter
def day(value: datetime.date | None) -> str:
    """The day with its month in letters, so that no reader takes it for another: 4 May 2026."""
    if value is None:
        return not_known()
    return format_html('<time datetime="{}">{}</time>', value.isoformat(), format_date(value, "j M Y"))


@register.filter
def span(days: float | None) -> str:
    """A span of time in the largest unit that still tells it: 12 days, 7 months, 2.4 years."""
    if days is None:
        return not_known()
    if days < 60:
        return ngettext("%(n)d day", "%(n)d days", round(days)) % {"n": round(days)}
    if days < 730:
        months = round(days / 30.4375)
        return ngettext("%(n)d month", "%(n)d months", months) % {"n": months}
    return gettext("%(n)s years") % {"n": trimmed(days / 365.25)}


@register.filter
def known(value) -> str:
    """The text, or `not known` where it is empty."""
    return not_known() if value is None or value == "" else value


@register.filter
def unbroken(sentence: str | None) -> str:
    """What was told elsewhere, no line of it ending between a figure and its unit or within a key."""
    told = conditional_escape(FIGURE_AND_UNIT.sub(NARROW, str(sentence or "")))
    return mark_safe(KEY_IN_SENTENCE.sub(r'<span class="nowrap">\g<0></span>', told))  # noqa: S308 (escaped above)


@register.filter
def dash(value: float | None) -> str:
    """A dash size: -8."""
    return not_known() if value is None else f"-{value:g}"


@register.filter
def times(count: int | None) -> str:
    """How often: 2 times."""
    return not_known() if count is None else ngettext("%(n)d time", "%(n)d times", count) % {"n": count}


@register.filter
def yes_no(value: bool | None) -> str:
    return not_known() if value is None else gettext("yes") if value else gettext("no")
