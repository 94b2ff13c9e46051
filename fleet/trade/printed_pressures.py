"""The working pressure as a hose has it printed: psi, bar, MPa or kPa, often twice on one line."""

import re
from dataclasses import dataclass

from forecasting.units import BAR_PER_PSI, tell_number
from forecasting.wording import gettext as _

from .printed_line import PrintedLine

BAR_PER = {"PSI": BAR_PER_PSI, "BAR": 1.0, "BARS": 1.0, "MPA": 10.0, "KPA": 0.01}
SAME_WITHIN = (
    0.02  # catalogues round psi, so the two ratings on a line differ so far: common practice, no source
)
MOST_BAR = 1000.0  # no hose of these standards carries more

_DIGITS = r"(?P<number>\d{1,6}(?:[.,]\d{1,3})?)"
_NUMBER = r"(?<![\d.,A-Z])(?<!\d/)(?<![ \d]-)(?<!^-)" + _DIGITS
_UNIT = r"(?P<unit>PSI|BARS?|MPA|KPA)(?![A-Z0-9])"
_LABEL = r"(?:(?:MAX\.? ?)?(?<![A-Z])(?:W[./]?P\.?|MAWP|(?:MAX\.? )?WORKING PRESSURE) ?[:=]? ?)?"
_OTHER = r"(?:BURST|PROOF|TEST|B\.?P\.?)(?: PRESSURE)?"
# Words of other pressures that stand before their number alone: common practice, no source.
_OTHER_BEFORE = (
    rf"(?:{_OTHER}|(?:BURST|PROOF)(?: TEST(?:ED)?| PRESS\.?)|TESTED(?: TO| AT)?|MBP|T\.?P\.?|P[BT]"
    r"|(?:BERST|PRUEF|PRÜF)DRUCK|(?:PEAK|SURGE|IMPULSE|VACUUM)(?: PRESSURE)?)"
)
_PRESSURE = re.compile(_LABEL + _NUMBER + r" ?" + _UNIT)
_UNIT_FIRST = re.compile(
    _LABEL + r"(?<![A-Z0-9])(?P<unit>PSI|BARS?|MPA|KPA)(?: ?[:=] ?| )" + _DIGITS + r"(?![\d/A-Z])"
)
_OTHER_FIRST = re.compile(rf"(?<![A-Z.])(?:MIN\.? ?)?{_OTHER_BEFORE} ?[:=]? ?{_NUMBER} ?{_UNIT}")
_OTHER_LAST = re.compile(rf"{_NUMBER} ?{_UNIT} ?{_OTHER}(?![A-Z])")
_UNIT_ALONE = re.compile(r"(?<![A-Z0-9])" + _UNIT)
_SPACED = re.compile(r"(?<![\d.,/A-Z#-])(\d{1,2}) (\d{3}) ?(PSI|KPA)(?![A-Z0-9])")
_GROUPED = re.compile(r"\d{1,3}[.,]\d{3}")


@dataclass(frozen=True, slots=True)
class PrintedPressure:
    """A pressure in bar, and the words that say it."""

    pressure_bar: float
    printed: str


@dataclass(frozen=True, slots=True)
class PressuresRead:
    """`working` is the pressure that all pressures on the line agree on, or None; `others` are the words of
    burst, proof and test pressures; `doubts` are sentences on why there is none."""

    working: PrintedPressure | None
    others: tuple[str, ...]
    doubts: tuple[str, ...]


def read_pressures(line: PrintedLine) -> PressuresRead:
    """The pressures on a line, taken from it.

    Of two that agree within the rounding of catalogues the first stands, with the words of both. One that is
    as high as the burst pressure is the burst pressure said again in another unit.
    """
    others, other_bars = [], []
    for pattern in (_OTHER_FIRST, _OTHER_LAST):
        for match, printed in line.take(pattern):
            others.append(printed)
            other_bars.append(_bar(match["number"], match["unit"]) or 0)
    doubts = []
    for match, printed in line.take(_SPACED):
        whole = float(match[1] + match[2]) * BAR_PER[match[3]]
        doubts.append(
            _("%(printed)s may be %(last)s %(unit)s or %(all)s %(unit)s (%(last_bar)s or %(all_bar)s bar).")
            % {
                "printed": printed,
                "last": match[2],
                "unit": match[3],
                "all": match[1] + match[2],
                "last_bar": tell_number(float(match[2]) * BAR_PER[match[3]]),
                "all_bar": tell_number(whole),
            }
        )
    found, unsure = _take_pressures(line, _PRESSURE)
    doubts += unsure
    if not found and not doubts:
        found, doubts = _take_pressures(line, _UNIT_FIRST)
    others += [one.printed for one in found if _agrees(one, other_bars)]
    found = [one for one in found if not _agrees(one, other_bars)]
    doubts += [
        _("%(printed)s would be %(pressure_bar)s bar, which no such hose carries.")
        % {"printed": one.printed, "pressure_bar": tell_number(one.pressure_bar)}
        for one in found
        if not 1 <= one.pressure_bar <= MOST_BAR
    ]
    doubts += [
        _("It is not plain which number belongs to %(printed)s.") % {"printed": printed}
        for _match, printed in line.take(_UNIT_ALONE)
    ]
    if not doubts and any(not _agrees(one, [found[0].pressure_bar]) for one in found):
        told = ", ".join(
            _("%(printed)s (%(pressure_bar)s bar)")
            % {"printed": one.printed, "pressure_bar": tell_number(one.pressure_bar)}
            for one in found
        )
        doubts.append(_("The line has pressures that contradict each other: %(told)s.") % {"told": told})
    if doubts or not found:
        return PressuresRead(None, tuple(others), tuple(doubts))
    working = PrintedPressure(found[0].pressure_bar, " / ".join(one.printed for one in found))
    return PressuresRead(working, tuple(others), ())


def _agrees(pressure: PrintedPressure, bars: list[float]) -> bool:
    return any(bar and abs(pressure.pressure_bar / bar - 1) <= SAME_WITHIN for bar in bars)


def _bar(digits: str, unit: str) -> float | None:
    """The pressure in bar; None where a mark in the digits may part thousands or decimals."""
    if _GROUPED.fullmatch(digits):
        if unit not in ("PSI", "KPA"):  # nobody prints thousandths of these two
            return None
        digits = re.sub("[.,]", "", digits)
    return float(digits.replace(",", ".")) * BAR_PER[unit]


def _take_pressures(line: PrintedLine, pattern: re.Pattern[str]) -> tuple[list[PrintedPressure], list[str]]:
    found, doubts = [], []
    for match, printed in line.take(pattern):
        bar = _bar(match["number"], match["unit"])
        if bar is None:
            doubts.append(
                _("%(printed)s: the mark in %(number)s may part thousands or decimals.")
                % {"printed": printed, "number": match["number"]}
            )
        else:
            label = min(match.start("number"), match.start("unit")) - match.start()
            found.append(PrintedPressure(bar, printed[label:].strip()))
    return found, doubts
