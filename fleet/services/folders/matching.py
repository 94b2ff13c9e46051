"""A spreadsheet of somebody's own shape: received, matched by its columns, read as the folder that it makes.

How its columns were matched is remembered by its headers and offered when such a sheet comes again.
"""

import csv
import io
import zipfile
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path, PurePosixPath

from django.core.files import File
from django.core.files.base import ContentFile
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from fleet.exchange.foreign import Table, read_table
from fleet.exchange.mapping import Made, Match, doubtful_days, doubtful_sizes, lacking, map_table, target_of
from fleet.exchange.sources import Unreadable
from fleet.models import ColumnMapping, FolderReading, Organization, Position, ReadingState, User

from ..errors import NotLookedAt, SheetNotMatched, UploadNotReadable
from .readings import MATCHED_ANEW, give_up, leave_forgotten
from .sheet_findings import made_of

NAME_LENGTH = 120  # of a column mapping


@dataclass(frozen=True, slots=True)
class OnRecord:
    """A row that does not tell all of its design, and the design that its place has in the register."""

    line: int
    machine: str
    position: str
    design: str


@transaction.atomic(durable=True)
def receive_sheet(*, organization: Organization, user: User | None, file: File) -> FolderReading:
    """The reading whose columns are to be matched. Raises UploadNotReadable for what is no table."""
    name = PurePosixPath(file.name or "").name
    if PurePosixPath(name).suffix.lower() not in (".csv", ".xlsx"):
        raise UploadNotReadable(
            fault=_("You sent %(name)s, which is no .csv and no .xlsx") % {"name": name or _("nothing")}
        )
    reading = FolderReading(
        organization=organization,
        requested_by=user,
        state=ReadingState.TO_MATCH,
        looks_first=True,
        sent_names=[name],
    )
    reading.upload.save(name, file, save=False)
    try:
        read_table(Path(reading.upload.path))
    except Unreadable as refusal:
        reading.upload.delete(save=False)
        raise UploadNotReadable(
            fault=f"{refusal.wrong.rstrip('.')}: {refusal.right.rstrip('.')}"
        ) from refusal
    reading.full_clean()
    reading.save()
    leave_forgotten(organization)
    return reading


def sheet_to_match(reading: FolderReading, title: str = "") -> Table:
    """The table that was sent, the sheet of that title. Raises NotLookedAt where none waits to be matched."""
    if reading.state != ReadingState.TO_MATCH:
        raise NotLookedAt
    return read_table(Path(reading.upload.path), title)


def remembered_match(organization: Organization, header: Sequence[str]) -> Match | None:
    """How a sheet with exactly these headers was matched before; None where none was."""
    for kept in ColumnMapping.objects.of(organization).order_by("-pk"):
        if set(kept.columns) == set(header):
            targets = {
                name: target
                for name, place in kept.columns.items()
                if place and (target := target_of(".".join(place)))
            }
            return Match(targets, kept.constants, kept.day_order)
    return None


@transaction.atomic(durable=True)
def match_sheet(*, reading: FolderReading, user: User | None, title: str, match: Match) -> FolderReading:
    """The reading, requested as the fleet folder that the sheet makes; an adapter hands it to `read_folder`.

    The match is remembered. Raises SheetNotMatched where it lacks something or rows speak against each other
    or the register, and NotLookedAt where the reading waits no longer.
    """
    held = FolderReading.objects.select_for_update().get(pk=reading.pk)
    table = sheet_to_match(held, title)
    made = map_table(table, match)
    on_record = [] if lacking(match) else _on_record(held.organization, made)
    if (
        not match.columns
        or lacking(match)
        or (doubtful_days(table, match) and not match.day_order)
        or doubtful_sizes(table, match)
        or made.clashes
        or on_record
    ):
        raise SheetNotMatched(clashes=made.clashes, on_record=on_record)
    _remember(held.organization, user, PurePosixPath(held.upload.name or "").stem, table, match)
    held.sheet = held.upload.name
    held.upload.save("folder.zip", _folder(made.files), save=False)
    held.made_of = made_of(table, match, made)
    held.state, held.requested_by, held.seen_at = ReadingState.REQUESTED, user, timezone.now()
    held.save()
    return held


@transaction.atomic(durable=True)
def match_again(*, reading: FolderReading) -> FolderReading:
    """The reading, its sheet to be matched anew. Raises NotLookedAt where none is kept."""
    held = FolderReading.objects.select_for_update().get(pk=reading.pk)
    if not held.sheet or held.state not in (ReadingState.LOOKED_AT, *MATCHED_ANEW):
        raise NotLookedAt
    folder = held.upload
    held.upload, held.sheet, held.state = held.sheet.name, "", ReadingState.TO_MATCH
    held.seen = held.agreed = held.failure = ""
    held.findings, held.differences, held.beside, held.outcome = [], [], {}, {}
    held.save()
    give_up(folder)
    return held


def _on_record(organization: Organization, made: Made) -> list[OnRecord]:
    """The rows without a design whose place has one in the register, and keeps it: the sheet tells no places.

    Their hose would have the design of its place, as every hose without one of its own has.
    """
    if "positions" in made.files or "installations" not in made.files:
        return []
    machines = {machine for machine, _position in made.without_design.values()}
    designs = {
        (machine, position): design
        for machine, position, design in Position.objects.of(organization)
        .filter(machine__key__in=machines, design__isnull=False)
        .values_list("machine__key", "key", "design__key")
        .order_by()
    }
    return [
        OnRecord(line, *place, designs[place])
        for line, place in made.without_design.items()
        if place in designs
    ]


def _remember(organization: Organization, user: User | None, name: str, table: Table, match: Match) -> None:
    columns = {
        header: [match.columns[header].file, match.columns[header].header]
        if header in match.columns
        else None
        for header in table.header
    }
    before = ColumnMapping.objects.of(organization)
    alike = (one for one in before if set(one.columns) == set(table.header))
    known = next(alike, None) or before.filter(name=name[:NAME_LENGTH]).first()
    kept = known or ColumnMapping(organization=organization, name=name[:NAME_LENGTH])
    kept.columns, kept.constants, kept.day_order = columns, dict(match.constants), match.day_order
    vars(kept)["_history_user"] = user  # the history's own place for who did it
    kept.full_clean()
    kept.save()


def _folder(files: Mapping[str, list[list[str]]]) -> ContentFile:
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, rows in files.items():
            written = io.StringIO(newline="")
            csv.writer(written, lineterminator="\n").writerows(rows)
            archive.writestr(f"{name}.csv", written.getvalue())
    return ContentFile(packed.getvalue())
