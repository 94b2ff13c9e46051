"""Conversions between the units of the trade and the SI units that everything is stored in.

Pressure is kept in bar, temperature in °C, length in mm (hose on a reel in m).
Source: NIST SP 811 (2008), appendix B.8: 1 in = 25.4 mm exactly, 1 psi = 6.894757e3 Pa.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Any, Protocol

import numpy as np

BAR_PER_PSI = 0.06894757293168361
MM_PER_INCH = 25.4
MM_PER_FOOT = 304.8  # twelve times an inch falls short of it: 100 ft would be 30.479999999999997 m
DASH_MM = MM_PER_INCH / 16  # a dash size counts sixteenths of an inch of bore


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit of one measure: `symbol` as the reader sees it, and the way to and from the stored unit, for a
    number or an array of them."""

    suffix: str
    symbol: str
    to_stored: Callable[[Any], Any]
    from_stored: Callable[[Any], Any]


def _scaled(suffix: str, symbol: str, factor: float) -> Unit:
    return Unit(suffix, symbol, lambda value: value * factor, lambda value: value / factor)


# The first unit of each measure is the one that is stored.
MEASURES: dict[str, dict[str, Unit]] = {
    "pressure": {
        "bar": _scaled("bar", "bar", 1.0),
        "psi": _scaled("psi", "psi", BAR_PER_PSI),
        "mpa": _scaled("mpa", "MPa", 10.0),
    },
    "length": {"mm": _scaled("mm", "mm", 1.0), "in": _scaled("in", "in", MM_PER_INCH)},
    "hose_length": {
        "mm": _scaled("mm", "mm", 1.0),
        "in": _scaled("in", "in", MM_PER_INCH),
        "m": _scaled("m", "m", 1000.0),
        "ft": _scaled("ft", "ft", MM_PER_FOOT),
    },
    "reel_length": {"": _scaled("", "m", 1.0), "ft": _scaled("ft", "ft", MM_PER_FOOT / 1000)},
    "temperature": {
        "c": _scaled("c", "°C", 1.0),
        "f": Unit("f", "°F", lambda value: (value - 32) / 1.8, lambda value: value * 1.8 + 32),
    },
}


def stored_unit(measure: str) -> Unit:
    """The unit in which `measure` is stored."""
    return next(iter(MEASURES[measure].values()))


class ReaderUnits(Protocol):
    """The units in which an organization reads, by suffix: those of its settings."""

    @property
    def pressure_unit(self) -> str: ...
    @property
    def length_unit(self) -> str: ...
    @property
    def temperature_unit(self) -> str: ...


@dataclass(frozen=True, slots=True)
class StoredUnits:
    """The units in which files and plans are told, whoever reads them."""

    pressure_unit: str = "bar"
    length_unit: str = "mm"
    temperature_unit: str = "c"


STORED_UNITS = StoredUnits()
# How many decimals a reason tells: a tenth of a bar over its rating is over it.
TOLD_DECIMALS = {"bar": 1, "psi": 0, "mpa": 2, "mm": 1, "in": 2, "c": 1, "f": 1}
FINEST_DECIMALS = 6  # where measures that differ would read alike with fewer
_STORED_AS = {"_bar": "pressure", "_mm": "length", "_c": "temperature"}


def reader_unit(column: str, units: ReaderUnits) -> Unit | None:
    """The unit in which a reader is told what stands in that column; None where its name says no measure."""
    measure = _STORED_AS.get(column[column.rfind("_") :])
    return MEASURES[measure][getattr(units, f"{measure}_unit")] if measure else None


def reel_unit(units: ReaderUnits) -> Unit:
    """The unit in which who reads lengths in `units` counts hose on a reel."""
    return MEASURES["reel_length"]["ft" if units.length_unit == "in" else ""]


def tell_numbers(values: np.ndarray, decimals: int | np.ndarray = 1) -> np.ndarray:
    """The numbers in words: 1,240.5 or −40, without closing noughts; `decimals` of all or of each."""
    if not isinstance(decimals, int):
        told = np.full(len(values), "", dtype=object)
        for places in np.unique(decimals):
            told[decimals == places] = tell_numbers(values[decimals == places], int(places))
        return told
    numbers, at = np.unique(values.round(decimals), return_inverse=True)
    return np.array([tell_number(number, decimals) for number in numbers], dtype=object)[at]


def tell_number(value: float, decimals: int = 1) -> str:
    """One number in words, as `tell_numbers` tells each."""
    told = f"{np.round(value, decimals) + 0.0:,.{decimals}f}".replace("-", "\N{MINUS SIGN}")
    return told.rstrip("0").rstrip(".") if decimals else told


def decimals_apart(measures: Sequence[np.ndarray], decimals: int) -> np.ndarray:
    """The fewest decimals, `decimals` or more, with which the `measures` of each row that differ read so.

    A sentence that calls one measure above another must not round both to the same. Each of `measures` is
    (n,), as is the result; what is alike to FINEST_DECIMALS differs by its conversion alone.
    """
    told = np.full(len(measures[0]), decimals)
    for one, other in combinations(measures, 2):
        differ = np.abs(one - other) > 10.0**-FINEST_DECIMALS
        for places in range(decimals, FINEST_DECIMALS):
            alike = differ & (one.round(places) == other.round(places))
            told[alike] = np.maximum(told[alike], places + 1)
    return told


def tell_measure(stored: float, column: str, units: ReaderUnits, decimals: int | None = None) -> str:
    """A measure as a reason tells it: 250 bar, 3,626 psi. `column` says by its suffix what is stored."""
    (told,) = tell_measures([stored], column, units, decimals)
    return told


def tell_measures(
    stored: Sequence[float], column: str, units: ReaderUnits, decimals: int | None = None
) -> list[str]:
    """Measures that one sentence compares, as `tell_measure` tells each; those that differ read so."""
    unit = reader_unit(column, units)
    assert unit is not None, f"{column} names no measure"
    places = TOLD_DECIMALS[unit.suffix] if decimals is None else decimals
    measures = [np.array([unit.from_stored(one)]) for one in stored]
    finest = decimals_apart(measures, places)
    return [f"{told} {unit.symbol}" for (told,) in (tell_numbers(one, finest) for one in measures)]


def dash_to_mm(dash: float) -> float:
    """Nominal bore in mm of a dash size; 100R5 and 100R14 count the tube's outside instead (SAE J517)."""
    return dash * DASH_MM
