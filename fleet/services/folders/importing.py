"""Taking a fleet folder into the register: whole or not at all."""

import datetime
import itertools
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

import pandas as pd
from django.db import transaction
from django.utils import timezone
from django.utils.text import slugify
from django.utils.translation import gettext as _

from fleet.exchange.cells import read_cells
from fleet.exchange.differences import digest_of, told_differences
from fleet.exchange.findings import Finding, Findings
from fleet.exchange.merging import Fleet, State, merge_folder
from fleet.exchange.reading import Folder, read_folder
from fleet.exchange.rules import check_fleet
from fleet.exchange.schema import FILES
from fleet.exchange.tables import same
from fleet.frames.nouns import NOUNS, Noun
from fleet.frames.register import standing_tables
from fleet.frames.rows import change_rows, create_rows, linked_ids
from fleet.frames.snapshots import one_snapshot
from fleet.models import Assembly, Organization, StockPiece, User
from fleet.models.organizations import LONGEST_NAME, RESERVED_SLUGS
from fleet.trade.ratings import load_ratings
from forecasting.units import MEASURES

from ..errors import FolderRefused, NameNotTaken, RegisterMoved
from ..signing import hold_organization
from ..stock.shelves import AT_LEAST, DUST, held_of, is_hose, told_in

CHANGE_REASON = "fleet folder"
# What a stay is: while these change, other stays may be in the way for a moment.
STAY = ["machine", "position", "installed_on", "removed_on"]
IDS_AT_ONCE = 500
MOST_ROWS_BESIDE = 500

Progress = Callable[[str], None]


@dataclass(frozen=True, slots=True)
class Outcome:
    """What a reading did: rows created, changed and unchanged by file, and the warnings it gave."""

    organization: Organization
    counts: dict[str, dict[str, int]]
    findings: list[Finding]
    beside: dict[str, dict] = field(default_factory=dict)

    @property
    def changed_nothing(self) -> bool:
        return changes_nothing(self.counts)


@dataclass(frozen=True, slots=True)
class Look:
    """What a reading would do, before anything is stored: `digest` is of exactly these changes.

    `differences` has the first changes of each file in plain values; `beside` the rows that findings are
    about, by the file's label: its `header`, and the cells of its `rows` by their line.
    """

    counts: dict[str, dict[str, int]]
    differences: list[dict]
    digest: str
    findings: list[Finding]
    beside: dict[str, dict]


def changes_nothing(counts: dict[str, dict[str, int]]) -> bool:
    return not any(rows[State.CREATED] + rows[State.CHANGED] for rows in counts.values())


@dataclass(frozen=True, slots=True)
class _Read:
    """A folder as it was read, before it is laid over a register."""

    folder: Folder
    incoming: dict[str, pd.DataFrame]
    findings: Findings


def import_fleet(
    *,
    folder: Path,
    organization: Organization | None = None,
    organization_name: str = "",
    user: User | None = None,
    today: datetime.date | None = None,
    progress: Progress = lambda step: None,
    agreed: str = "",
) -> Outcome:
    """What came of taking the fleet folder, zip or workbook into the organization's register.

    An organization that is given by name is made where it is new. The folder is judged as the register would
    stand with it. `agreed` is the digest of a Look that somebody agreed to. Raises FolderRefused with every
    finding where one is an error, NameNotTaken, and RegisterMoved where the folder would now change something
    else than was agreed to; then nothing is stored.
    """
    read = _read(folder, progress)
    with transaction.atomic(durable=True):
        organization = _hold(organization, organization_name)
        progress(_("Reading the register"))
        standing = standing_tables(organization)
        fleet = _judge(read, standing, organization, today, progress)
        if agreed and digest_of(fleet) != agreed:
            raise RegisterMoved(look=_look(fleet, read.findings))
        store_fleet(fleet, standing, organization=organization, user=user, progress=progress)
    listed = read.findings.listed()
    return Outcome(organization, count_rows(fleet), listed, rows_beside(fleet.folder, listed))


def look_at_fleet(
    *,
    folder: Path,
    organization: Organization,
    today: datetime.date | None = None,
    progress: Progress = lambda step: None,
) -> Look:
    """What taking the fleet folder into the register would change; nothing is stored, and nobody waits.

    Raises FolderRefused with every finding where one is an error.
    """
    read = _read(folder, progress)
    progress(_("Reading the register"))
    with one_snapshot():
        standing = standing_tables(organization)
    fleet = _judge(read, standing, organization, today, progress)
    progress(_("Telling what would change"))
    return _look(fleet, read.findings)


def _read(folder: Path, progress: Progress) -> _Read:
    findings = Findings()
    progress(_("Reading the files"))
    found = read_folder(folder, findings)
    incoming = {name: read_cells(sheet, findings) for name, sheet in found.sheets.items()}
    return _Read(found, incoming, findings)


def _judge(
    read: _Read,
    standing: dict[str, pd.DataFrame],
    organization: Organization,
    today: datetime.date | None,
    progress: Progress,
) -> Fleet:
    """The register as it would stand. Raises FolderRefused."""
    fleet = merge_folder(standing, read.incoming, read.folder)
    progress(_("Checking every row"))
    check_fleet(fleet, load_ratings(), today or timezone.localdate(), read.findings)
    _check_held(fleet, organization, read.findings)
    if read.findings.errors:
        listed = read.findings.listed()
        beside = rows_beside(read.folder, listed)
        raise FolderRefused(errors=read.findings.errors, findings=listed, beside=beside)
    return fleet


def _look(fleet: Fleet, findings: Findings) -> Look:
    listed = findings.listed()
    beside = rows_beside(fleet.folder, listed)
    return Look(count_rows(fleet), told_differences(fleet), digest_of(fleet), listed, beside)


def rows_beside(folder: Folder, findings: list[Finding]) -> dict[str, dict]:
    """The rows that the findings are about as they were sent, by file label; at most MOST_ROWS_BESIDE."""
    sheets = {sheet.label: sheet for sheet in folder.sheets.values()}
    beside: dict[str, dict] = {}
    places = dict.fromkeys((one.file, one.line) for one in findings if one.line and one.file in sheets)
    for label, line in itertools.islice(places, MOST_ROWS_BESIDE):
        sheet = sheets[label]
        cells = sheet.row(line)
        if cells is not None:
            header = [column.header for column in sheet.cells.values()]
            kept = beside.setdefault(label, {"header": header, "rows": {}})
            kept["rows"][str(line)] = cells
    return beside


def _check_held(fleet: Fleet, organization: Organization, findings: Findings) -> None:
    """Errors for rows of stock.csv that leave less on a piece than kits that are being built hold of it."""
    rows = fleet["stock"]
    changed = rows[(rows["state"] == State.CHANGED) & (rows["file_line"] > 0)]
    if changed.empty:
        return
    sheet = fleet.folder.sheets["stock"]
    header = sheet.header("on_hand")
    unit = MEASURES["reel_length"]["ft" if header.endswith("_ft") else ""]
    held_pieces = StockPiece.objects.of(organization).filter(kit_parts__state="reserved")
    pieces = {one.pk: one for one in held_pieces.select_related("part")}
    for row in changed[changed["id"].isin(pieces)].itertuples():
        piece = pieces[row.id]
        held = held_of(piece)
        if row.on_hand < held.least - DUST:
            kits = ", ".join(held.kits)
            least = told_in(unit if is_hose(piece.part) else None, held.least, AT_LEAST)
            findings.error(
                "less than kits hold",
                sheet.label,
                row.file_line,
                header,
                sheet.text(row.file_line, "on_hand"),
                _("Of %(part)s at %(site)s %(least)s is set aside for kits in work: %(kits)s.")
                % {"part": row.part, "site": row.site, "least": least, "kits": kits},
                _("Enter %(least)s or more, or take the kit apart first.") % {"least": least},
            )


def _hold(organization: Organization | None, name: str) -> Organization:
    """The organization, held so that two readings wait for each other."""
    if organization is None:
        name = name.strip()
        if not 1 <= len(name) <= LONGEST_NAME:
            raise NameNotTaken(name=name, most=LONGEST_NAME)
        organization, _created = Organization.objects.get_or_create(
            name=name, defaults={"slug": free_slug(name)}
        )
    return hold_organization(organization)


def free_slug(name: str) -> str:
    """The piece of the pages' addresses that an organization of that name gets: one that no other has."""
    slug = slugify(name)[:70] or "fleet"
    taken = {*Organization.objects.filter(slug__startswith=slug).values_list("slug", flat=True)}
    taken |= RESERVED_SLUGS & {slug}
    return next(
        one
        for one in (slug, *(f"{slug}-{number}" for number in range(2, len(taken) + 3)))
        if one not in taken
    )


def count_rows(fleet: Fleet) -> dict[str, dict[str, int]]:
    """How many rows of each file of the folder are created, changed and unchanged."""
    counts = {}
    for file in FILES:
        if file.name not in fleet.folder.sheets:
            continue
        states = fleet[file.name]["state"].value_counts()
        counts[file.name] = {str(state): int(states.get(state, 0)) for state in State}
    return counts


def store_fleet(
    fleet: Fleet,
    standing: dict[str, pd.DataFrame],
    *,
    organization: Organization,
    user: User | None,
    reason: str = CHANGE_REASON,
    progress: Progress = lambda step: None,
) -> None:
    """Writes every created and changed row with its history, each table after those that its rows name.

    A step of a service that holds the organization: it opens no transaction.
    """
    ids: dict[str, pd.DataFrame] = {}
    for noun in NOUNS:
        rows = fleet[noun.table]
        ids[noun.table] = standing[noun.table][["id", *noun.file.key]]
        created = rows[rows["state"] == State.CREATED]
        changed = rows[rows["state"] == State.CHANGED]
        if created.empty and changed.empty:
            continue
        progress(
            _("Storing %(table)s: %(count)s rows")
            % {"table": noun.table.replace("_", " "), "count": f"{len(created) + len(changed):,}"}
        )
        if noun.model is Assembly:
            _clear_the_way(changed, standing[noun.table])
        if not created.empty:
            _create(noun, created, organization, ids, user, reason)
        if not changed.empty:
            change_rows(noun, changed, organization, ids, user=user, reason=reason)


def _clear_the_way(changed: pd.DataFrame, standing: pd.DataFrame) -> None:
    """Takes assemblies whose stay changes out of their positions for the moment.

    The database holds at every step that one assembly is in a position at a time: two that change places
    would otherwise meet.
    """
    before = standing.set_index("id").loc[changed["id"]].reset_index(drop=True)
    moved = changed["id"][~same(before, changed.reset_index(drop=True), STAY).to_numpy()].tolist()
    for start in range(0, len(moved), IDS_AT_ONCE):
        Assembly.objects.filter(pk__in=moved[start : start + IDS_AT_ONCE]).update(
            position=None, installed_on=None, removed_on=None
        )


def _create(
    noun: Noun,
    rows: pd.DataFrame,
    organization: Organization,
    ids: dict[str, pd.DataFrame],
    user: User | None,
    reason: str,
) -> None:
    """Creates the rows; of rows that name each other, the named ones first. `ids` learns the new ids."""
    own = next((link for link in noun.links if link.table == noun.table), None)
    while not rows.empty:
        ready = rows
        if own is not None:
            named = rows[own.columns[0]]
            ready = rows[named.isna() | (linked_ids(rows, own, ids[noun.table]) > 0)]
            if ready.empty:
                raise ValueError(f"Rows of {noun.table} name each other in a circle; the rules let it pass.")
        made = create_rows(noun, ready, organization, ids, user=user, reason=reason)
        new = ready[list(noun.file.key)].assign(id=made)
        ids[noun.table] = pd.concat([ids[noun.table], new], ignore_index=True)
        rows = rows.drop(index=ready.index)
