"""Which model keeps the rows of which file, and how a row names another."""

from dataclasses import dataclass, field

from fleet.exchange.assemblies import ASSEMBLIES
from fleet.exchange.columns import File
from fleet.exchange.schema import FILES
from fleet.models import (
    Assembly,
    Build,
    CrimpReading,
    CrimpSpec,
    Design,
    DesignPart,
    Inspection,
    Machine,
    MeterReading,
    OpenOrder,
    Part,
    Policy,
    Position,
    ServiceWindow,
    Setting,
    Site,
    SiteLabour,
    StockPiece,
)
from fleet.models.organizations import Measured, Owned


@dataclass(frozen=True, slots=True)
class Link:
    """A foreign key: the columns of a row hold the key of the row in `table` that `attname` points to."""

    attname: str
    columns: tuple[str, ...]
    table: str

    @property
    def path(self) -> str:
        """By which a join finds the key, where one column holds all of it."""
        return f"{self.attname.removesuffix('_id')}__key"


@dataclass(frozen=True, slots=True)
class Noun:
    """A table of the register: its columns, the model of its rows, and which columns are links.

    `renamed` maps columns to fields where the names differ; a column that is part of a link has no field.
    """

    file: File
    model: type[Owned]
    links: tuple[Link, ...] = ()
    renamed: dict[str, str] = field(default_factory=dict)

    @property
    def table(self) -> str:
        return self.file.name

    @property
    def fields(self) -> dict[str, str]:
        """The model's field for each column that is no part of a link."""
        linked = {column for link in self.links for column in link.columns}
        names = [name for name in self.file.by_stored_name if name not in linked]
        return {name: self.renamed.get(name, name) for name in names}

    @property
    def is_measured(self) -> bool:
        return issubclass(self.model, Measured)


def _link(column: str, table: str) -> Link:
    return Link(f"{column}_id", (column,), table)


_MODELS: dict[str, tuple[type[Owned], tuple[Link, ...], dict[str, str]]] = {
    "settings": (Setting, (), {}),
    "sites": (Site, (), {"site": "key"}),
    "machines": (Machine, (_link("site", "sites"),), {"machine": "key"}),
    "meter_readings": (MeterReading, (_link("machine", "machines"),), {}),
    "parts": (Part, (_link("superseded_by", "parts"),), {"part": "key"}),
    "crimp_specs": (
        CrimpSpec,
        tuple(_link(column, "parts") for column in ("hose_part", "end_part", "ferrule_part")),
        {},
    ),
    "designs": (
        Design,
        tuple(_link(column, "parts") for column in ("hose_part", "end_a_part", "end_b_part")),
        {"design": "key"},
    ),
    "design_parts": (DesignPart, (_link("design", "designs"), _link("part", "parts")), {}),
    "positions": (
        Position,
        (_link("machine", "machines"), _link("design", "designs")),
        {"position": "key"},
    ),
    "assemblies": (
        Assembly,
        (Link("position_id", ("machine", "position"), "positions"), _link("design", "designs")),
        {"assembly": "key"},
    ),
    "builds": (Build, (_link("assembly", "assemblies"), _link("design", "designs")), {}),
    "crimp_readings": (CrimpReading, (Link("build_id", ("assembly",), "builds"),), {}),
    "inspections": (Inspection, (_link("assembly", "assemblies"),), {}),
    "stock": (StockPiece, (_link("part", "parts"), _link("site", "sites")), {}),
    "open_orders": (OpenOrder, (_link("part", "parts"), _link("site", "sites")), {}),
    "service_windows": (ServiceWindow, (_link("machine", "machines"),), {}),
    "site_labour": (SiteLabour, (_link("site", "sites"),), {}),
    "policies": (Policy, (), {}),
}

# In the order of the files, in which what a row names comes before the row. Assemblies stand where their
# installations do: see `fleet.exchange.assemblies`.
NOUNS: tuple[Noun, ...] = tuple(
    Noun(file, *_MODELS[file.name])
    for file in (ASSEMBLIES if one.name == "installations" else one for one in FILES)
)
NOUNS_BY_TABLE: dict[str, Noun] = {noun.table: noun for noun in NOUNS}
