"""Entering one thing that the register did not know: a fleet folder of one cell, judged as folders are."""

import datetime
from dataclasses import dataclass

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from fleet.exchange.cells import read_cells
from fleet.exchange.columns import Column
from fleet.exchange.findings import Findings
from fleet.exchange.merging import merge_folder
from fleet.exchange.reading import read_rows
from fleet.exchange.rules import check_fleet
from fleet.exchange.schema import FILES_BY_NAME, INSTALLATIONS, PARTS, POSITIONS
from fleet.frames.register import work_tables
from fleet.models import Assembly, Organization, Part, Position, User
from fleet.trade.ratings import load_ratings

from ..errors import FolderRefused, ServiceError
from ..folders.importing import Outcome, count_rows, store_fleet
from ..signing import REASON_LENGTH, hold_organization
from ..stock.errors import NotInRegister
from ..work.rows import cell_text, stay_row
from .places import named_positions

ENTERED_ALONE = frozenset({INSTALLATIONS.name, PARTS.name, POSITIONS.name})


class KnownByNow(ServiceError):
    """Somebody entered it since the page was opened."""

    code = "known_by_now"
    message = gettext_lazy(
        "Somebody has entered it since. Look whether what stands there now is right, and enter yours if not."
    )


@dataclass(frozen=True, slots=True)
class Missing:
    """Where a value is to be entered: `row` has the cells that name the row, `stands` is what the register
    has there now, as a cell; empty where it has nothing."""

    column: Column
    row: dict[str, str]
    stands: str


def find_missing(*, organization: Organization, file: str, name: str, column: str) -> Missing | None:
    """The place that a plan's gap names by its file, row and column; None where nobody can enter it alone, or
    the register has no such row."""
    own = FILES_BY_NAME[file].by_stored_name if file in ENTERED_ALONE else {}
    found = _row_named(organization, file, name) if column in own and not own[column].key else None
    if found is None:
        return None
    one, row = found
    return Missing(own[column], row, cell_text(getattr(one, column)))


@transaction.atomic(durable=True)
def enter_missing(
    *,
    organization: Organization,
    user: User | None,
    file: str,
    name: str,
    column: str,
    text: str,
    unit: str = "",
    seen: str = "",
    reason: str = "entered as missing",
    today: datetime.date | None = None,
) -> Outcome:
    """What came of writing `text` under `column` of the row `name`, as a plan's gaps name them.

    A measure is in `unit`, its suffix, or in the stored one; `seen` is what stood there when it was asked
    for; `reason` stands in the history. Raises NotInRegister, KnownByNow, and FolderRefused with every
    finding; then nothing is stored.
    """
    organization = hold_organization(organization)
    place = find_missing(organization=organization, file=file, name=name, column=column)
    if place is None:
        raise NotInRegister(noun=file, key=name, hint=_("It may have left it: make a new plan."))
    if place.stands != seen:
        raise KnownByNow
    findings = Findings()
    row = place.row
    told = row | {f"{place.column.name}_{unit}" if place.column.measure and unit else column: text}
    folder = read_rows({file: [list(told), list(told.values())]}, "{}", findings)
    incoming = {name: read_cells(sheet, findings) for name, sheet in folder.sheets.items()}
    standing = work_tables(
        organization,
        machines={row["machine"]} if "machine" in row else set(),
        assemblies={row["assembly"]} if "assembly" in row else set(),
    )
    fleet = merge_folder(standing, incoming, folder)
    check_fleet(fleet, load_ratings(), today or timezone.localdate(), findings)
    if findings.errors:
        raise FolderRefused(errors=findings.errors, findings=findings.listed())
    store_fleet(fleet, standing, organization=organization, user=user, reason=reason[:REASON_LENGTH])
    return Outcome(organization, count_rows(fleet), findings.listed())


def _row_named(
    organization: Organization, file: str, name: str
) -> tuple[Position | Part | Assembly, dict[str, str]] | None:
    """The row of that name, and the cells of its key and of what else must be filled."""
    if file == POSITIONS.name:
        places = Position.objects.of(organization).select_related("machine", "design")
        found = list(places.filter(named_positions([name]))[:2])
        if len(found) != 1:  # keys may hold a stroke, so that two places have one name
            return None
        return found[0], {"machine": found[0].machine.key, "position": found[0].key}
    if file == PARTS.name:
        part = Part.objects.of(organization).filter(key=name).first()
        return (part, {"part": part.key, "kind": part.kind}) if part else None
    stays = Assembly.objects.of(organization).select_related("position__machine", "design")
    assembly = stays.filter(key=name, position__isnull=False).first()
    if assembly is None:
        return None
    own = INSTALLATIONS.by_stored_name
    stay = stay_row(assembly)
    return assembly, {one: cell for one, cell in stay.items() if own[one].key or own[one].required}
