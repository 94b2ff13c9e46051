"""What is done at a machine: a hose is taken off, put on, changed, or looked at.

Each of these is a fleet folder of a few rows: they are read, judged and stored as a folder's are, against the
rows of their machine. A form bears a token; sent twice it counts once, and the second time says what the
first one did. Who notes what the hour meter showed leaves a meter reading, where the day has none yet.
"""

import datetime
import uuid
from collections.abc import Sequence
from dataclasses import dataclass, field

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from fleet.exchange.cells import read_cells
from fleet.exchange.findings import Finding, Findings, Severity
from fleet.exchange.merging import merge_folder
from fleet.exchange.reading import read_rows
from fleet.exchange.rules import check_fleet
from fleet.frames.register import work_tables
from fleet.models import Organization, User
from fleet.trade.ratings import load_ratings

from ..decisions.inspection_requests import requests_about
from ..folders.importing import store_fleet
from ..sent_entries import take_form, told_before
from ..signing import REASON_LENGTH, hold_organization
from .errors import WorkRefused
from .fitness import judge_fitness
from .rows import Entry, Fitted, PositionWork, assembly_named, gather_work


@dataclass(frozen=True, slots=True)
class Recorded:
    """What a form did, in a sentence, and the warnings of the rules; `again` where it had been taken before
    and nothing was done this time."""

    told: str
    warnings: list[Finding] = field(default_factory=list)
    again: bool = False


@transaction.atomic(durable=True)
def install_assembly(
    *,
    organization: Organization,
    user: User | None,
    machine: str,
    position: str,
    fitted: Fitted,
    installed_on: datetime.date,
    installed_hours: float | None = None,
    removal_cause: str = "",
    failure_mode: str = "",
    comes_off: str = "",
    answered_by: str = "",
    meter_replaced: bool = False,
    token: uuid.UUID | None = None,
    today: datetime.date | None = None,
) -> Recorded:
    """What came of putting `fitted` on a position on that day; with `removal_cause` what is there (as the
    person saw it: `comes_off`) comes off in the same act.

    What is not rated for the place is refused (UnfitForPlace). Where that is not known (FitnessNotKnown) it
    takes `answered_by`, who answers for it. Raises ServiceError; then nothing is stored.
    """
    _hold(organization)
    if before := _taken(organization, token):
        return before
    work = PositionWork(position, removal_cause, failure_mode, fitted, comes_off, answered_by)
    entry = gather_work(organization, machine, [work], installed_on, installed_hours, meter_replaced)
    return _record(entry, organization, user, token, today)


@transaction.atomic(durable=True)
def remove_assembly(
    *,
    organization: Organization,
    user: User | None,
    assembly: str,
    removed_on: datetime.date,
    removal_cause: str,
    removed_hours: float | None = None,
    failure_mode: str = "",
    meter_replaced: bool = False,
    token: uuid.UUID | None = None,
    today: datetime.date | None = None,
) -> Recorded:
    """What came of taking the assembly off where it is. Raises ServiceError; then nothing is stored."""
    _hold(organization)
    if before := _taken(organization, token):
        return before
    entry = Entry()
    there = assembly_named(organization, assembly)
    entry.take_off(there, removed_on, removed_hours, removal_cause, failure_mode)
    entry.read_meter(there.position, removed_on, removed_hours, meter_replaced)
    return _record(entry, organization, user, token, today)


@transaction.atomic(durable=True)
def inspect_assembly(
    *,
    organization: Organization,
    user: User | None,
    assembly: str,
    inspected_on: datetime.date,
    grade: str,
    finding: str = "",
    hours: float | None = None,
    meter_replaced: bool = False,
    token: uuid.UUID | None = None,
    today: datetime.date | None = None,
) -> Recorded:
    """What came of looking at the assembly; it answers what anybody asked to have looked at until that day.

    A second look on one day replaces the first. Raises ServiceError; then nothing is stored.
    """
    _hold(organization)
    if before := _taken(organization, token):
        return before
    entry = Entry()
    seen = assembly_named(organization, assembly)
    entry.look_at(seen, inspected_on, hours, finding, grade)
    answered = requests_about(seen).filter(asked_on__lte=inspected_on).count()
    if answered:
        entry.told.append(
            _("That answers what was asked.")
            if answered == 1
            else _("That answers %(answered)s.") % {"answered": answered}
        )
    entry.read_meter(seen.position, inspected_on, hours, meter_replaced)
    return _record(entry, organization, user, token, today)


@transaction.atomic(durable=True)
def record_day(
    *,
    organization: Organization,
    user: User | None,
    machine: str,
    day: datetime.date,
    work: Sequence[PositionWork],
    hours: float | None = None,
    meter_replaced: bool = False,
    token: uuid.UUID | None = None,
    today: datetime.date | None = None,
) -> Recorded:
    """What came of a day's work on one machine, all of it or nothing. Raises ServiceError."""
    _hold(organization)
    if before := _taken(organization, token):
        return before
    entry = gather_work(organization, machine, work, day, hours, meter_replaced)
    return _record(entry, organization, user, token, today)


def _hold(organization: Organization) -> None:
    """One after the other with whatever else changes the register or the stock of this organization."""
    hold_organization(organization)


def _taken(organization: Organization, token: uuid.UUID | None) -> Recorded | None:
    """What the form of that token did when it was first sent; None where it was not."""
    told = told_before(organization, token)
    return None if told is None else Recorded(told, again=True)


def _record(
    entry: Entry,
    organization: Organization,
    user: User | None,
    token: uuid.UUID | None,
    today: datetime.date | None,
) -> Recorded:
    """Judges the rows as a fleet folder's are judged, and stores them, or raises WorkRefused."""
    findings = Findings(of_a_form=True)
    folder = read_rows(entry.tables(), "{}", findings)
    incoming = {name: read_cells(sheet, findings) for name, sheet in folder.sheets.items()}
    standing = work_tables(organization, machines=entry.named("machine"), assemblies=entry.named("assembly"))
    fleet = merge_folder(standing, incoming, folder)
    check_fleet(fleet, load_ratings(), today or timezone.localdate(), findings)
    listed = [one for one in findings.listed() if entry.bears_on(one)]
    errors = [one for one in listed if one.severity is Severity.ERROR]
    if errors:
        raise WorkRefused(errors, [entry.place_of(one) for one in errors])
    entry.told += judge_fitness(organization, entry.put)
    told = " ".join(entry.told)
    answering = dict.fromkeys(one.answered_by for one in entry.put if one.answered_by)
    reason = "; ".join(["recorded at the machine", *(f"{name} answers for it" for name in answering)])
    store_fleet(fleet, standing, organization=organization, user=user, reason=reason[:REASON_LENGTH])
    take_form(organization, token, user, told)
    return Recorded(told, listed)
