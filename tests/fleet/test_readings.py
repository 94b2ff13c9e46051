"""A fleet folder that was sent in is stored whole, or refused with all that is wrong in it."""

import datetime
import io
import zipfile

import openpyxl
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import DatabaseError, transaction
from django.utils import timezone

from fleet.exchange.mapping import Match, Target
from fleet.models import FolderReading, Machine, Organization, ReadingState, Site
from fleet.services.errors import NotLookedAt, UploadNotReadable
from fleet.services.folders.matching import match_sheet, receive_sheet
from fleet.services.folders.readings import (
    agree_to_folder,
    leave_folder,
    leave_forgotten,
    read_folder,
    receive_folder,
)
from fleet.services.runs import GIVEN_UP, tell_loss

SITES = "site,name\nyard,The yard\n"
MACHINES = "machine,site\nEX-1,yard\n"


@pytest.fixture
def gravel(db, settings, tmp_path) -> Organization:
    settings.MEDIA_ROOT = tmp_path
    return Organization.objects.create(name="Gravel Works", slug="gravel-works")


def sent(name: str, content: str | bytes) -> SimpleUploadedFile:
    return SimpleUploadedFile(name, content.encode() if isinstance(content, str) else content)


def zipped(**files: str) -> bytes:
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w") as archive:
        for name, content in files.items():
            archive.writestr(f"fleet/{name}.csv", content)
    return packed.getvalue()


def workbook(**sheets: str) -> bytes:
    book = openpyxl.Workbook()
    book.remove(book.active)
    for name, content in sheets.items():
        sheet = book.create_sheet(name)
        for line in content.splitlines():
            sheet.append(line.split(","))
    written = io.BytesIO()
    book.save(written)
    return written.getvalue()


@pytest.mark.parametrize(
    "files",
    [
        [sent("sites.csv", SITES), sent("machines.csv", MACHINES)],
        [sent("fleet.zip", zipped(sites=SITES, machines=MACHINES))],
        [sent("fleet.xlsx", workbook(sites=SITES, machines=MACHINES))],
    ],
    ids=["several files", "zip", "workbook"],
)
def test_a_folder_is_taken_as_files_as_zip_or_as_workbook(files, gravel):
    for file in files:
        file.seek(0)
    received = receive_folder(organization=gravel, user=None, files=files)

    reading = read_folder(received.pk)

    assert (reading.state, reading.findings) == (ReadingState.DONE, [])
    assert reading.outcome["machines"]["created"] == 1
    assert Machine.objects.of(gravel).get().site.name == "The yard"


def test_a_folder_with_errors_is_refused_with_its_findings_and_stores_nothing(gravel):
    files = [sent("sites.csv", SITES), sent("machines.csv", "machine,site\nEX-1,yrad\n")]

    reading = read_folder(receive_folder(organization=gravel, user=None, files=files).pk)

    assert reading.state == ReadingState.REFUSED
    assert [(one["file"], one["line"], one["severity"]) for one in reading.findings] == [
        ("machines.csv", 2, "error")
    ]
    assert not Site.objects.exists()


def test_a_second_delivery_leaves_a_reading_as_it_is(gravel):
    first = read_folder(receive_folder(organization=gravel, user=None, files=[sent("sites.csv", SITES)]).pk)

    second = read_folder(first.pk)

    assert second.finished_at == first.finished_at


def taken_by_another(organization: Organization, ago: datetime.timedelta) -> FolderReading:
    """A reading that another process is at, which showed a sign of life so long ago."""
    received = receive_folder(organization=organization, user=None, files=[sent("sites.csv", SITES)])
    then = timezone.now() - ago
    FolderReading.objects.update(state=ReadingState.RUNNING, started_at=then, seen_at=then)
    return received


def test_a_reading_that_another_process_is_at_is_left_to_it(gravel):
    taken = taken_by_another(gravel, ago=datetime.timedelta(seconds=10))

    left = read_folder(taken.pk)

    assert (left.state, tell_loss(left)) == (ReadingState.RUNNING, "")
    assert not Site.objects.exists()


def test_a_reading_whose_process_died_is_taken_up_again(gravel):
    dead = taken_by_another(gravel, ago=datetime.timedelta(minutes=2))
    dead.refresh_from_db()
    assert tell_loss(dead) == GIVEN_UP

    assert read_folder(dead.pk).state == ReadingState.DONE
    assert Site.objects.get().name == "The yard"


def test_a_process_that_was_taken_for_dead_overwrites_nothing_when_it_wakes(gravel, monkeypatch):
    received = receive_folder(organization=gravel, user=None, files=[sent("sites.csv", SITES)])

    def sleep(**_how):
        """Longer than anybody waits: another process has read it by then, and its file is gone."""
        silent = timezone.now() - datetime.timedelta(minutes=2)
        FolderReading.objects.update(seen_at=silent, started_at=silent)
        monkeypatch.undo()
        read_folder(received.pk)
        raise FileNotFoundError

    monkeypatch.setattr("fleet.services.folders.readings.import_fleet", sleep)
    with pytest.raises(FileNotFoundError):
        read_folder(received.pk)

    received.refresh_from_db()
    assert (received.state, received.failure) == (ReadingState.DONE, "")


def test_what_nobody_took_up_for_two_weeks_is_left_with_its_file(
    gravel, tmp_path, django_capture_on_commit_callbacks
):
    taken_by_another(gravel, ago=datetime.timedelta(days=15))
    receive_folder(organization=gravel, user=None, files=[sent("sites.csv", SITES)])  # and never began
    FolderReading.objects.update(requested_at=timezone.now() - datetime.timedelta(days=15))

    with django_capture_on_commit_callbacks(execute=True):
        leave_forgotten(gravel)

    assert {one.state for one in FolderReading.objects.all()} == {ReadingState.LEFT}
    assert [path for path in tmp_path.rglob("*") if path.is_file()] == []


def test_the_upload_is_gone_once_it_was_read(gravel, tmp_path, django_capture_on_commit_callbacks):
    sent_in = receive_folder(organization=gravel, user=None, files=[sent("sites.csv", SITES)])
    with django_capture_on_commit_callbacks(execute=True):
        reading = read_folder(sent_in.pk)

    assert not reading.upload
    assert [path for path in tmp_path.rglob("*") if path.is_file()] == []


def test_a_zip_that_is_none_is_refused_with_a_reason(gravel):
    received = receive_folder(organization=gravel, user=None, files=[sent("fleet.zip", b"no archive")])

    reading = read_folder(received.pk)

    assert reading.state == ReadingState.REFUSED
    assert reading.findings


@pytest.mark.parametrize(
    ("files", "fault"),
    [
        ([], "You sent nothing."),
        ([sent("fleet.pdf", "x")], "You sent fleet.pdf."),
        ([sent("a.zip", "x"), sent("sites.csv", SITES)], "You sent a.zip, sites.csv."),
        ([sent("sites.csv", SITES), sent("sites.csv", SITES)], "Two of the files have the same name."),
    ],
)
def test_anything_else_is_refused_with_what_would_be_right(files, fault, gravel):
    with pytest.raises(UploadNotReadable) as refusal:
        receive_folder(organization=gravel, user=None, files=files)

    assert (
        str(refusal.value)
        == f"{fault} Send one .zip or .xlsx, or several .csv files named as a fleet folder's."
    )


def looked_at(organization: Organization, *files: SimpleUploadedFile):
    received = receive_folder(organization=organization, user=None, files=files, looks_first=True)
    return read_folder(received.pk)


def test_a_folder_that_is_looked_at_first_tells_what_it_would_change_and_stores_nothing(gravel):
    yard = Site.objects.create(organization=gravel, key="yard", name="Yard")

    reading = looked_at(
        gravel, sent("sites.csv", SITES + "pit,\n"), sent("machines.csv", MACHINES + "EX-2,pit\n")
    )

    sites, machines = reading.differences
    assert (reading.state, reading.outcome["sites"]) == (
        ReadingState.LOOKED_AT,
        {"created": 1, "changed": 1, "unchanged": 0},
    )
    assert sites["first_changes"] == [{"key": "yard", "column": "name", "before": "Yard", "now": "The yard"}]
    assert machines["first_created"] == ["EX-1", "EX-2"]
    yard.refresh_from_db()
    assert yard.name == "Yard" and not Machine.objects.exists()


def test_what_was_seen_is_stored_when_somebody_says_so(gravel):
    reading = looked_at(gravel, sent("sites.csv", SITES), sent("machines.csv", MACHINES))

    agree_to_folder(reading=reading, user=None, seen=reading.seen)
    stored = read_folder(reading.pk)

    assert stored.state == ReadingState.DONE and not stored.upload
    assert Machine.objects.of(gravel).get().site.name == "The yard"


def test_a_register_that_moved_since_is_told_anew_and_nothing_is_stored(gravel):
    yard = Site.objects.create(organization=gravel, key="yard", name="Yard")
    reading = looked_at(gravel, sent("sites.csv", SITES))
    Site.objects.filter(pk=yard.pk).update(name="Old yard")

    agree_to_folder(reading=reading, user=None, seen=reading.seen)
    again = read_folder(reading.pk)

    assert again.state == ReadingState.LOOKED_AT and again.seen != reading.seen
    assert again.failure.startswith("The register has changed since you looked")
    assert again.differences[0]["first_changes"][0]["before"] == "Old yard"
    yard.refresh_from_db()
    assert yard.name == "Old yard"


def test_a_reading_that_is_agreed_to_long_after_it_was_sent_is_waited_for_anew(gravel):
    reading = looked_at(gravel, sent("sites.csv", SITES))
    then = timezone.now() - datetime.timedelta(hours=3)
    FolderReading.objects.update(requested_at=then, seen_at=then)

    agree_to_folder(reading=reading, user=None, seen=reading.seen)

    reading.refresh_from_db()
    assert (reading.state, tell_loss(reading)) == (ReadingState.REQUESTED, "")


def test_nobody_agrees_to_what_they_did_not_see(gravel):
    reading = looked_at(gravel, sent("sites.csv", SITES))

    with pytest.raises(NotLookedAt):
        agree_to_folder(reading=reading, user=None, seen="of another look")


def test_a_folder_that_was_left_stores_nothing_and_keeps_no_file(
    gravel, tmp_path, django_capture_on_commit_callbacks
):
    reading = looked_at(gravel, sent("sites.csv", SITES))

    with django_capture_on_commit_callbacks(execute=True):
        left = leave_folder(reading=reading)

    assert left.state == ReadingState.LEFT and not Site.objects.exists()
    assert [path for path in tmp_path.rglob("*") if path.is_file()] == []
    with pytest.raises(NotLookedAt):
        agree_to_folder(reading=reading, user=None, seen=reading.seen)


def test_what_waited_for_two_weeks_is_left_with_its_file_when_another_comes(
    gravel, tmp_path, django_capture_on_commit_callbacks
):
    quarry = Organization.objects.create(name="Slate Quarry", slug="slate-quarry")
    forgotten, of_another, young = (
        looked_at(organization, sent("sites.csv", SITES)) for organization in (gravel, quarry, gravel)
    )
    sheet = receive_sheet(
        organization=gravel, user=None, file=sent("own.csv", "Machine,Fitted\nEX-1,2023-04-03\n")
    )
    old = timezone.now() - datetime.timedelta(days=15)
    FolderReading.objects.exclude(pk=young.pk).update(requested_at=old)

    with django_capture_on_commit_callbacks(execute=True):
        receive_folder(organization=gravel, user=None, files=[sent("sites.csv", SITES)])

    for one in (forgotten, of_another, young, sheet):
        one.refresh_from_db()
    assert (forgotten.state, sheet.state) == (ReadingState.LEFT, ReadingState.LEFT)
    assert forgotten.failure.startswith("Nobody had it stored within 14 days")
    assert not forgotten.upload and not sheet.upload
    assert (young.state, of_another.state) == (ReadingState.LOOKED_AT, ReadingState.LOOKED_AT)
    assert len([path for path in tmp_path.rglob("*") if path.is_file()]) == 3


def test_what_was_left_in_vain_keeps_its_file(gravel, django_capture_on_commit_callbacks):
    reading = looked_at(gravel, sent("sites.csv", SITES))
    FolderReading.objects.update(requested_at=timezone.now() - datetime.timedelta(days=15))

    committed = django_capture_on_commit_callbacks(execute=True)
    with committed, pytest.raises(DatabaseError), transaction.atomic():
        leave_forgotten(gravel)
        assert FolderReading.objects.get().state == ReadingState.LEFT
        raise DatabaseError

    reading.refresh_from_db()
    assert reading.state == ReadingState.LOOKED_AT
    with reading.upload.open() as upload:
        assert zipfile.ZipFile(upload).namelist() == ["sites.csv"]


def test_a_folder_that_would_change_nothing_is_done_without_a_word(gravel):
    Site.objects.create(organization=gravel, key="yard", name="The yard")

    assert looked_at(gravel, sent("sites.csv", SITES)).state == ReadingState.DONE


def test_a_finding_has_its_row_beside_it(gravel):
    reading = looked_at(gravel, sent("sites.csv", SITES), sent("machines.csv", "machine,site\nEX-1,yrad\n"))

    assert reading.beside == {
        "machines.csv": {"header": ["machine", "site"], "rows": {"2": ["EX-1", "yrad"]}}
    }


def test_a_sheet_of_which_nothing_was_stored_is_kept_for_two_weeks(
    gravel, tmp_path, django_capture_on_commit_callbacks
):
    sheet = receive_sheet(
        organization=gravel, user=None, file=sent("own.csv", "Machine,Site,Taken in use\nEX-1,yard,once\n")
    )
    columns = {
        "Machine": Target("machines", "machine"),
        "Site": Target("machines", "site"),
        "Taken in use": Target("machines", "commissioned_on"),
    }
    with django_capture_on_commit_callbacks(execute=True):
        match_sheet(reading=sheet, user=None, title="", match=Match(columns))
        refused = read_folder(sheet.pk)
    assert refused.state == ReadingState.REFUSED and len(list(tmp_path.rglob("*.*"))) == 1

    FolderReading.objects.update(requested_at=timezone.now() - datetime.timedelta(days=15))
    with django_capture_on_commit_callbacks(execute=True):
        leave_forgotten(gravel)

    refused.refresh_from_db()
    assert (refused.state, refused.sheet.name) == (ReadingState.REFUSED, "")
    assert list(tmp_path.rglob("*.*")) == []


def test_a_sheet_that_is_matched_long_after_it_was_sent_is_waited_for_anew(gravel):
    sheet = receive_sheet(organization=gravel, user=None, file=sent("own.csv", "Machine,Site\nEX-1,yard\n"))
    FolderReading.objects.update(requested_at=timezone.now() - datetime.timedelta(hours=3))
    columns = {"Machine": Target("machines", "machine"), "Site": Target("machines", "site")}

    match_sheet(reading=sheet, user=None, title="", match=Match(columns))

    sheet.refresh_from_db()
    assert (sheet.state, tell_loss(sheet)) == (ReadingState.REQUESTED, "")
