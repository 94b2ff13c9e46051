"""Fleet folders sent in as an upload: received, then read whole or not at all.

One that is looked at first waits, with what it would change, until somebody has it stored or leaves it. How
far a reading is stands in the cache: one transaction stores a folder, and what is written in it nobody else
sees before it ends.
"""

import dataclasses
import datetime
import logging
import zipfile
from collections.abc import Sequence
from functools import partial
from pathlib import Path, PurePosixPath
from typing import Any

from django.core.cache import cache
from django.core.files import File
from django.core.files.base import ContentFile
from django.db import transaction
from django.db.models import Q
from django.db.models.fields.files import FieldFile
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from fleet.exchange.findings import Finding, Severity
from fleet.models import FolderReading, Organization, ReadingState, User

from ..errors import FolderRefused, NotLookedAt, RegisterMoved, UploadNotReadable
from ..runs import lost, rows_of, signs_of_life, take_up
from .importing import Look, changes_nothing, import_fleet, look_at_fleet
from .sheet_findings import tell_by_sheet

log = logging.getLogger(__name__)

FAULT = gettext_lazy(
    "A fault in the service, not in your files; it stands in the server's log as folder %(reading)s."
)

STEP_KEPT_SECONDS = 3600
WAITING = (ReadingState.TO_MATCH, ReadingState.LOOKED_AT)
# A sheet of which nothing was stored is kept, so that its columns can be matched anew.
MATCHED_ANEW = (ReadingState.REFUSED, ReadingState.FAILED)
WAITS_DAYS = 14  # long enough for a holiday; what it would change is another by then


@transaction.atomic(durable=True)
def receive_folder(
    *, organization: Organization, user: User | None, files: Sequence[File], looks_first: bool = False
) -> FolderReading:
    """The requested reading; an adapter hands its number to `read_folder`.

    `files` is one .zip or .xlsx, or any number of .csv; with `looks_first` nothing of it is stored before
    somebody has seen what it changes. Raises UploadNotReadable for anything else.
    """
    names = [PurePosixPath(file.name or "").name for file in files]
    suffixes = {PurePosixPath(name).suffix.lower() for name in names}
    reading = FolderReading(
        organization=organization, requested_by=user, looks_first=looks_first, sent_names=names
    )
    if len(files) == 1 and suffixes <= {".zip", ".xlsx"}:
        reading.upload.save(names[0], files[0], save=False)
    elif files and suffixes == {".csv"}:
        reading.upload.save("folder.zip", _packed(names, files), save=False)
    else:
        raise UploadNotReadable(fault=_("You sent %(names)s") % {"names": ", ".join(names) or _("nothing")})
    reading.full_clean()
    reading.save()
    leave_forgotten(organization)
    return reading


def leave_forgotten(organization: Organization) -> None:
    """Leaves what has waited for somebody's word, or for a process that died or never began, for longer than
    WAITS_DAYS, and gives up files of that age.

    A step of the services that take something in: it opens no transaction.
    """
    since = timezone.now() - datetime.timedelta(days=WAITS_DAYS)
    old = FolderReading.objects.select_for_update().of(organization).filter(requested_at__lt=since)
    for one in old.filter(state__in=MATCHED_ANEW).exclude(sheet=""):
        sheet = one.sheet
        _update(one, sheet="")
        give_up(sheet)
    for one in old.filter(Q(state__in=WAITING) | lost()):
        told = _("Nobody had it stored within %(days)s days, so it was left. Send it again.")
        _finish(one, ReadingState.LEFT, failure=told % {"days": WAITS_DAYS})


def read_folder(reading_id: int) -> FolderReading:
    """The reading of that number: stored whole, looked at, refused with findings, or failed with a reason.

    One that was read before, or is being read, is left as it is. One whose worker died is read again when it
    is delivered again: reading a folder twice changes nothing the second time.
    """
    free = take_up(FolderReading.objects.filter(pk=reading_id))
    reading = FolderReading.objects.select_related("organization", "requested_by").get(pk=reading_id)
    if free:
        with signs_of_life(reading, f"folder {reading.pk}"):
            _read(reading)
    return reading


def _read(reading: FolderReading) -> None:
    try:
        if reading.looks_first and not reading.agreed:
            _show(reading, look_at_fleet(**_of(reading)))
        else:
            outcome = import_fleet(**_of(reading), user=reading.requested_by, agreed=reading.agreed)
            came = _found(reading, outcome.findings, outcome.beside)
            _finish(reading, ReadingState.DONE, outcome=outcome.counts, **came)
    except RegisterMoved as moved:
        _show(reading, moved.look, told=str(moved))
    except FolderRefused as refusal:
        came = _found(reading, refusal.findings, refusal.beside)
        told_twice = _errors(refusal.findings) - sum(one["severity"] == "error" for one in came["findings"])
        told = FolderRefused(errors=refusal.data["errors"] - told_twice, findings=[])
        _finish(reading, ReadingState.REFUSED, failure=str(told), **came)
    except Exception:
        log.exception("Reading folder %s of %s failed", reading.pk, reading.organization)
        _finish(reading, ReadingState.FAILED, failure=FAULT % {"reading": reading.pk})
        raise


def step_of(reading: FolderReading) -> str:
    """What is being done for a reading that runs, in a few words; empty where that is not known."""
    return cache.get(_step_key(reading.pk), "") or reading.progress


@transaction.atomic(durable=True)
def agree_to_folder(*, reading: FolderReading, user: User | None, seen: str) -> FolderReading:
    """The reading, requested anew to be stored as it was `seen`; an adapter hands it to `read_folder`.

    Raises NotLookedAt where it does not wait for that, or shows something else by now.
    """
    waiting = _waiting(reading)
    if waiting.seen != seen:
        raise NotLookedAt
    anew = {"state": ReadingState.REQUESTED, "requested_by": user, "seen_at": timezone.now()}
    _update(waiting, agreed=seen, failure="", **anew)
    return waiting


def ask_anew(*, reading: FolderReading) -> bool:
    """Whether the reading was lost: an adapter then hands it to `read_folder`, and it is waited for anew."""
    was_lost = FolderReading.objects.filter(lost(), pk=reading.pk).exists()
    if was_lost:
        # One that is taken for dead is begun by that sign, and keeps it.
        FolderReading.objects.filter(pk=reading.pk, state=ReadingState.REQUESTED).update(
            seen_at=timezone.now()
        )
    return was_lost


@transaction.atomic(durable=True)
def leave_folder(*, reading: FolderReading) -> FolderReading:
    """The reading, left: nothing of it is stored. Raises NotLookedAt where it does not wait for that."""
    waiting = _waiting(reading)
    _finish(waiting, ReadingState.LEFT, failure="")
    return waiting


def _waiting(reading: FolderReading) -> FolderReading:
    held = FolderReading.objects.select_for_update().get(pk=reading.pk)
    if held.state != ReadingState.LOOKED_AT:
        raise NotLookedAt
    return held


def _of(reading: FolderReading) -> dict[str, Any]:
    """What both ways of reading take from the reading."""

    def say(step: str) -> None:
        cache.set(_step_key(reading.pk), step, STEP_KEPT_SECONDS)

    return {"organization": reading.organization, "folder": Path(reading.upload.path), "progress": say}


def _step_key(pk: int) -> str:
    return f"folder-step-{pk}"


def _show(reading: FolderReading, look: Look, told: str = "") -> None:
    """Has the reading wait for somebody's word; one that would change nothing is done at once."""
    came = {
        "outcome": look.counts,
        "differences": look.differences,
        **_found(reading, look.findings, look.beside),
    }
    if changes_nothing(look.counts):
        _finish(reading, ReadingState.DONE, **came)
    else:
        _update(reading, state=ReadingState.LOOKED_AT, seen=look.digest, agreed="", failure=told, **came)


def _packed(names: Sequence[str], files: Sequence[File]) -> ContentFile:
    """The files in one .zip. Raises UploadNotReadable where two have one name."""
    if len(set(names)) < len(names):
        raise UploadNotReadable(fault=_("Two of the files have the same name"))
    packed = ContentFile(b"")
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, file in zip(names, files, strict=True):
            with archive.open(name, "w", force_zip64=True) as member:
                for chunk in file.chunks():
                    member.write(chunk)
    return packed


def _errors(findings: Sequence[Finding]) -> int:
    return sum(one.severity == Severity.ERROR for one in findings)


def _found(reading: FolderReading, findings: Sequence[Finding], beside: dict[str, dict]) -> dict[str, Any]:
    told, rows = tell_by_sheet(reading, findings, beside)
    return {"findings": [dataclasses.asdict(finding) for finding in told], "beside": rows}


def _update(reading: FolderReading, **values) -> bool:
    """Whether the row has the values now. One that another process took up meanwhile is its own affair."""
    if not rows_of(reading).update(**values):
        reading.refresh_from_db()
        return False
    for name, value in values.items():
        setattr(reading, name, value)
    return True


def _finish(reading: FolderReading, state: ReadingState, **values) -> None:
    """Stores what came of it; the upload itself is no longer needed, nor a sheet that is stored or left."""
    no_longer = {"upload": reading.upload}
    if state not in MATCHED_ANEW:
        no_longer["sheet"] = reading.sheet
    if _update(reading, state=state, finished_at=timezone.now(), **dict.fromkeys(no_longer, ""), **values):
        for file in no_longer.values():
            give_up(file)


def give_up(upload: FieldFile) -> None:
    """Deletes the file once it is surely stored that nothing names it: a rollback brings no file back."""
    if upload.name:
        transaction.on_commit(partial(upload.storage.delete, upload.name), robust=True)
