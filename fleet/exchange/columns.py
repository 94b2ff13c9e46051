"""What a column and a file of a fleet folder are: the vocabulary in which `schema` declares them."""

from dataclasses import dataclass, field
from enum import StrEnum

from forecasting.units import MEASURES, Unit, stored_unit


class Kind(StrEnum):
    """How a cell is read."""

    TEXT = "text"
    CHOICE = "choice"
    CHOICES = "choices"  # several joined with +
    YES_NO = "yes_no"
    DATE = "date"
    NUMBER = "number"
    WHOLE = "whole"
    MONEY = "money"
    MEASURE = "measure"


@dataclass(frozen=True, slots=True)
class Column:
    """One column of a file.

    `least` and `most` bound a number, for a measure in the stored unit; `positive` says that zero is no value
    of it. `longest` is how many characters a text may have.
    """

    name: str
    kind: Kind = Kind.TEXT
    help: str = ""
    key: bool = False
    required: bool = False
    choices: tuple[str, ...] = ()
    measure: str = ""
    least: float | None = None
    most: float | None = None
    positive: bool = False
    longest: int | None = None

    @property
    def units(self) -> dict[str, Unit]:
        """The units a measured column may carry, by the suffix that names them."""
        return MEASURES[self.measure] if self.measure else {}

    @property
    def stored_name(self) -> str:
        """The name in the register and at the border of the core: with the stored unit at its end."""
        if not self.measure:
            return self.name
        suffix = stored_unit(self.measure).suffix
        return f"{self.name}_{suffix}" if suffix else self.name

    @property
    def entered_names(self) -> tuple[str, str]:
        """In the register's tables: the columns of the value as entered and of its unit's suffix.

        Both are empty where the value was entered in the stored unit.
        """
        return f"{self.name}_entered", f"{self.name}_entered_unit"

    @property
    def file_names(self) -> tuple[str, ...]:
        """Every header under which this column may stand in a file."""
        if not self.measure:
            return (self.name,)
        return tuple(f"{self.name}_{suffix}" if suffix else self.name for suffix in self.units)

    @property
    def must_be_filled(self) -> bool:
        return self.key or self.required


@dataclass(frozen=True, slots=True)
class Reference:
    """The named columns of a row hold the key of a row in another file (or an empty cell)."""

    columns: tuple[str, ...]
    file: str


@dataclass(frozen=True, slots=True)
class File:
    """One file of a fleet folder: `may_be_empty` names key columns whose cell may stay empty."""

    name: str
    columns: tuple[Column, ...]
    references: tuple[Reference, ...] = ()
    may_be_empty: tuple[str, ...] = ()
    by_header: dict[str, Column] = field(init=False, repr=False, compare=False)
    by_stored_name: dict[str, Column] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "by_header", {h: c for c in self.columns for h in c.file_names})
        object.__setattr__(self, "by_stored_name", {c.stored_name: c for c in self.columns})

    @property
    def key(self) -> tuple[str, ...]:
        """The stored names of the key columns."""
        return tuple(column.stored_name for column in self.columns if column.key)

    @property
    def naming(self) -> tuple[str, ...]:
        """The columns of text that hold keys, its own or those of rows in other files."""
        named = {name for reference in self.references for name in reference.columns}
        return tuple(
            one.name for one in self.columns if one.kind is Kind.TEXT and (one.key or one.name in named)
        )

    @property
    def measures(self) -> tuple[Column, ...]:
        return tuple(column for column in self.columns if column.measure)


# The register keeps a key in 80 characters; other texts say their own length.
KEY_LENGTH = 80


def text(name: str, help: str = "", *, longest: int = KEY_LENGTH, **more) -> Column:
    return Column(name, Kind.TEXT, help, longest=longest, **more)


def key(name: str, help: str = "", kind: Kind = Kind.TEXT, **more) -> Column:
    if kind is Kind.TEXT:
        more.setdefault("longest", KEY_LENGTH)
    return Column(name, kind, help, key=True, **more)


def choice(name: str, choices: tuple[str, ...], help: str = "", **more) -> Column:
    return Column(name, Kind.CHOICE, help, choices=choices, **more)


def yes_no(name: str, help: str = "", **more) -> Column:
    return Column(name, Kind.YES_NO, help, **more)


def date(name: str, help: str = "", **more) -> Column:
    return Column(name, Kind.DATE, help, **more)


def number(
    name: str, help: str = "", *, least: float | None = 0, most: float | None = None, **more
) -> Column:
    return Column(name, Kind.NUMBER, help, least=least, most=most, **more)


def whole(name: str, help: str = "", *, least: float | None = 0, most: float | None = None, **more) -> Column:
    return Column(name, Kind.WHOLE, help, least=least, most=most, **more)


def money(name: str, help: str = "", **more) -> Column:
    # Below ten thousand million, a float holds four decimals exactly enough to write them back.
    return Column(name, Kind.MONEY, help, least=0, most=10_000_000_000, **more)


def pressure(name: str, help: str = "", **more) -> Column:
    # No hose of the trade is rated above 1,000 bar: a larger figure is a psi value in a bar column.
    return Column(name, Kind.MEASURE, help, measure="pressure", least=0, most=1000, **more)


def length(name: str, help: str = "", *, hose: bool = False, most: float = 100_000, **more) -> Column:
    measure = "hose_length" if hose else "length"
    return Column(name, Kind.MEASURE, help, measure=measure, least=0, most=most, **more)


def temperature(name: str, help: str = "", **more) -> Column:
    return Column(name, Kind.MEASURE, help, measure="temperature", least=-100, most=400, **more)
