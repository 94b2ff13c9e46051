"""What the columns of a spreadsheet of somebody's own shape most likely mean, told by their headers."""

import re
from collections.abc import Iterable, Mapping

from .columns import Column
from .mapping import MATCHED, Target
from .schema import FILES_BY_NAME

# Words of the trade in a header, all of which must be there, and what it then means; the first that fits
# counts, so that what is told by two words comes before what is told by one of them. From common practice.
TOLD_BY: tuple[tuple[str, str], ...] = (
    ("machine model", "machines.model"),
    ("machine type", "machines.model"),
    ("hours per day", "machines.hours_per_day"),
    ("hours day", "machines.hours_per_day"),
    ("hose position", "positions.position"),
    ("peak pressure", "positions.peak_pressure"),
    ("rated pressure", "parts.rated_pressure"),
    ("fluid temp", "positions.fluid_temperature"),
    ("removed hours", "installations.removed_hours"),
    ("fitted hours", "installations.installed_hours"),
    ("installed hours", "installations.installed_hours"),
    ("bend radius", "positions.bend_radius"),
    ("hose lot", "installations.hose_lot"),
    ("crimped by", "installations.crimped_by"),
    ("end a", "designs.end_a_part"),
    ("end b", "designs.end_b_part"),
    ("hose part", "designs.hose_part"),
    ("part no", "designs.hose_part"),
    ("pressure", "positions.working_pressure"),
    ("position", "positions.position"),
    ("location", "positions.position"),
    ("place", "positions.position"),
    ("circuit", "positions.circuit"),
    ("fitted", "installations.installed_on"),
    ("installed", "installations.installed_on"),
    ("changed", "installations.installed_on"),
    ("removed", "installations.removed_on"),
    ("cause", "installations.removal_cause"),
    ("tag", "installations.assembly"),
    ("assembly", "installations.assembly"),
    ("size", "parts.dash"),
    ("dash", "parts.dash"),
    ("construction", "parts.construction"),
    ("hose type", "parts.construction"),
    ("type of hose", "parts.construction"),
    ("type", "parts.construction"),
    ("length", "designs.overall_length"),
    ("fluid", "positions.fluid"),
    ("model", "machines.model"),
    ("site", "machines.site"),
    ("yard", "machines.site"),
    ("machine", "machines.machine"),
    ("fleet no", "machines.machine"),
    ("unit no", "machines.machine"),
    ("vehicle", "machines.machine"),
    ("hose", "designs.hose_part"),
)
UNIT_WORDS = {
    "psi": "psi",
    "bar": "bar",
    "mpa": "mpa",
    "mm": "mm",
    "inch": "in",
    "inches": "in",
    "in": "in",
    "m": "m",
    "ft": "ft",
    "c": "c",
    "f": "f",
}


def guess_targets(headers: Iterable[str], units: Mapping[str, str]) -> dict[str, Target]:
    """The likely target of each header that tells one; none is given twice.

    `units` has the suffix of each measure for a header that names no unit of its own.
    """
    guessed: dict[str, Target] = {}
    for header in headers:
        target = _by_own_name(header) or _by_words(header, units)
        if target and all(one.column is not target.column for one in guessed.values()):
            guessed[header] = target
    if all(target.file != "designs" for target in guessed.values()):
        # What is said of a hose needs a design to stand in: without one it leads nowhere.
        guessed = {header: target for header, target in guessed.items() if target.file != "parts"}
    return guessed


def _by_own_name(header: str) -> Target | None:
    """The target of a header that is a fleet folder's own."""
    bare = re.sub(r"[\s-]+", "_", header.strip().casefold())
    return next((Target(file, bare) for file in MATCHED if bare in FILES_BY_NAME[file].by_header), None)


def _by_words(header: str, units: Mapping[str, str]) -> Target | None:
    words = re.findall(r"[a-z]+", header.casefold())
    for told_by, code in TOLD_BY:
        if all(any(word.startswith(one) for word in words) for one in told_by.split()):
            file, _, name = code.partition(".")
            column = next(one for one in FILES_BY_NAME[file].columns if one.name == name)
            return Target(file, _header(column, words, units))
    return None


def _header(column: Column, words: list[str], units: Mapping[str, str]) -> str:
    """The column's header in the unit that the words name, else in the one that is usual there."""
    if not column.measure:
        return column.name
    named = (UNIT_WORDS[word] for word in reversed(words) if word in UNIT_WORDS)
    usual = units.get(column.measure) or units.get("length", "")
    suffix = next((one for one in named if one in column.units), usual)
    header = f"{column.name}_{suffix}"
    return header if header in column.file_names else column.file_names[0]
