"""Taking rows pasted from a spreadsheet into the register, by the rules of a fleet folder."""

import datetime
import uuid

from django.db import transaction
from django.utils import timezone

from fleet.exchange.cells import read_cells
from fleet.exchange.findings import Findings
from fleet.exchange.merging import merge_folder
from fleet.exchange.pasting import read_pasted
from fleet.exchange.rules import check_fleet
from fleet.frames.register import work_tables
from fleet.models import Organization, User
from fleet.trade.ratings import load_ratings

from ..errors import FolderRefused
from ..sent_entries import take_form, told_before
from ..signing import hold_organization
from .importing import Outcome, count_rows, store_fleet


@transaction.atomic(durable=True)
def import_pasted(
    *,
    organization: Organization,
    user: User | None,
    text: str,
    token: uuid.UUID | None = None,
    today: datetime.date | None = None,
    of_a_form: bool = False,
) -> Outcome:
    """What came of taking pasted rows of installations, inspections or meter readings into the register.

    They are judged against all of the machines and assemblies that they name. A form sent twice, by its
    token, counts once; `of_a_form`, nobody pasted anything, and findings are told without headers. Raises
    FolderRefused with every finding where one is an error; then nothing is stored.
    """
    organization = hold_organization(organization)
    if told_before(organization, token) is not None:
        return Outcome(organization, {}, [])
    findings = Findings(of_a_form=of_a_form)
    read = read_pasted(text, findings)
    incoming = {name: read_cells(sheet, findings) for name, sheet in read.sheets.items()}
    named: dict[str, set[str]] = {
        column: {key for frame in incoming.values() if column in frame for key in frame[column].dropna()}
        for column in ("machine", "assembly")
    }
    standing = work_tables(organization, machines=named["machine"], assemblies=named["assembly"])
    fleet = merge_folder(standing, incoming, read)
    check_fleet(fleet, load_ratings(), today or timezone.localdate(), findings)
    if findings.errors:
        raise FolderRefused(errors=findings.errors, findings=findings.listed())
    store_fleet(fleet, standing, organization=organization, user=user, reason="pasted rows")
    take_form(organization, token, user, "pasted rows")
    return Outcome(organization, count_rows(fleet), findings.listed())
