"""A fleet folder sent in through the browser, and what came of it."""

import datetime
import zipfile
from io import BytesIO

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from django.utils import timezone
from openpyxl import load_workbook

from fleet.exchange.schema import FILES
from fleet.models import FolderReading, ReadingState, Role
from fleet.services.folders.importing import import_fleet
from tests.fleet.pages.small_fleet import set_setting

FINDING = {
    "severity": "error",
    "file": "machines",
    "line": 3,
    "column": "site",
    "value": "nroth",
    "wrong": "There is no site nroth.",
    "right": "Did you mean north?",
}


@pytest.fixture
def enqueued(monkeypatch):
    """The numbers of the readings that the page handed on, in place of the thread that would read them."""
    numbers: list[int] = []
    monkeypatch.setattr("fleet.pages.folders.sending.enqueue_reading", numbers.append)
    return numbers


@pytest.fixture
def uploads(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path


def csv(name: str) -> SimpleUploadedFile:
    return SimpleUploadedFile(name, b"site\nnorth\n", "text/csv")


def send(client, organization, *files):
    return client.post(reverse("send_folder", args=[organization.slug]), {"folder": files})


@pytest.mark.django_db(transaction=True)
def test_several_files_become_one_folder_that_is_read(gravel, member_of, enqueued, uploads):
    answer = send(member_of(gravel), gravel, csv("sites.csv"), csv("machines.csv"))
    reading = FolderReading.objects.get()
    assert answer.url == reverse("folder", args=[gravel.slug, reading.pk])
    assert enqueued == [reading.pk]
    assert reading.sent_names == ["sites.csv", "machines.csv"]
    assert "sites.csv, machines.csv" in member_of(gravel, Role.VIEWER).get(answer.url).content.decode()
    with reading.upload.open("rb") as sent, zipfile.ZipFile(sent) as archive:
        assert sorted(archive.namelist()) == ["machines.csv", "sites.csv"]


@pytest.mark.django_db(transaction=True)
def test_a_file_of_another_kind_is_refused_with_what_would_be_right(gravel, member_of, enqueued, uploads):
    answer = send(member_of(gravel), gravel, SimpleUploadedFile("fleet.pdf", b"%PDF"))
    assert answer.status_code == 422
    assert "You sent fleet.pdf. Send one .zip or .xlsx" in answer.content.decode()
    assert enqueued == [] and not FolderReading.objects.exists()


def test_sending_nothing_asks_for_the_files(gravel, member_of):
    answer = send(member_of(gravel), gravel)
    assert "Choose the files of your fleet folder first." in answer.content.decode()


def test_the_shop_may_not_send_a_folder(gravel, member_of):
    client = member_of(gravel, Role.SHOP)
    assert send(client, gravel, csv("sites.csv")).status_code == 403
    page = client.get(reverse("folders", args=[gravel.slug])).content.decode()
    assert 'type="file"' not in page


def test_the_page_tells_every_file_and_column_that_is_taken(gravel, member_of):
    text = member_of(gravel).get(reverse("folders", args=[gravel.slug])).content.decode()
    assert "positions.csv" in text and "working_pressure_psi" in text


def reading(organization, **columns):
    return FolderReading.objects.create(organization=organization, **columns)


def see(client, one, **headers):
    return client.get(reverse("folder", args=[one.organization.slug, one.pk]), headers=headers)


def test_a_running_reading_shows_how_far_it_is(gravel, member_of):
    one = reading(
        gravel, state=ReadingState.RUNNING, seen_at=timezone.now(), progress="Checking positions.csv"
    )
    text = see(member_of(gravel), one).content.decode()
    assert "Checking positions.csv" in text and 'http-equiv="refresh"' in text


def again(client, one):
    return client.post(reverse("read_again", args=[one.organization.slug, one.pk]))


def test_a_reading_whose_process_died_can_be_taken_up_again(gravel, member_of, enqueued):
    one = reading(gravel, state=ReadingState.RUNNING, seen_at=timezone.now() - datetime.timedelta(minutes=2))
    client = member_of(gravel)
    text = see(client, one).content.decode()
    assert "It was stopped" in text and "Read it again" in text and 'http-equiv="refresh"' not in text
    assert again(client, one).url == reverse("folder", args=[gravel.slug, one.pk])
    assert enqueued == [one.pk]


def test_a_reading_that_a_stopped_server_lost_before_it_began_can_be_taken_up(gravel, member_of, enqueued):
    one, client = reading(gravel), member_of(gravel)
    assert "Have it read" not in see(client, one).content.decode()
    again(client, one)
    assert enqueued == []
    FolderReading.objects.update(requested_at=timezone.now() - datetime.timedelta(minutes=2))
    text = see(client, one).content.decode()
    assert "It has not begun" in text and "Have it read" in text and 'http-equiv="refresh"' in text
    again(client, one)
    assert enqueued == [one.pk]
    assert "Have it read" not in see(client, one).content.decode()
    again(client, one)
    assert enqueued == [one.pk]


def test_a_reading_that_goes_on_is_not_begun_a_second_time(gravel, member_of, enqueued):
    one = reading(gravel, state=ReadingState.RUNNING, seen_at=timezone.now())
    again(member_of(gravel), one)
    assert enqueued == []
    assert again(member_of(gravel, Role.SHOP), one).status_code == 403


def test_a_reading_that_is_done_tells_what_it_did_file_by_file(gravel, member_of):
    counts = {
        "machines": {"created": 2, "changed": 0, "unchanged": 1},
        "sites": {"created": 1, "changed": 0, "unchanged": 0},
    }
    page = see(member_of(gravel), reading(gravel, state=ReadingState.DONE, outcome=counts))
    assert [file for file, _rows in page.context["counts"]] == ["sites", "machines"]
    assert "All of it is in the register." in page.content.decode()


def test_a_folder_that_was_read_before_says_that_it_changed_nothing(gravel, member_of):
    counts = {"sites": {"created": 0, "changed": 0, "unchanged": 3}}
    one = reading(gravel, state=ReadingState.DONE, outcome=counts)
    assert "It changed nothing" in see(member_of(gravel), one).content.decode()


def test_a_refused_reading_lists_its_findings_with_file_and_line(gravel, member_of):
    one = reading(gravel, state=ReadingState.REFUSED, failure="1 errors", findings=[FINDING])
    text = see(member_of(gravel), one).content.decode()
    for told in ("<code>machines</code>", "row 3", "nroth", "There is no site nroth.", "Did you mean north?"):
        assert told in text


def test_a_finding_shows_its_row_as_it_was_sent_and_names_the_cell(gravel, member_of):
    beside = {"machines": {"header": ["machine", "site", "model"], "rows": {"3": ["M-09", "nroth", ""]}}}
    one = reading(gravel, state=ReadingState.REFUSED, findings=[FINDING], beside=beside)
    page = see(member_of(gravel), one)
    (of_file,) = page.context["said"]
    assert of_file["rows"][0]["cells"] == [
        {"column": "machine", "text": "M-09", "wrong": False},
        {"column": "site", "text": "nroth", "wrong": True},
    ]
    assert '<div class="wrong"><dt>site <span class="heavy">here</span></dt><dd>nroth</dd>' in (
        page.content.decode()
    )


def look(organization):
    """A folder that waits for somebody's word: it would change one cell."""
    change = {"key": "north", "column": "name", "before": "", "now": "North pit"}
    counts = {"created": 0, "changed": 1, "unchanged": 2}
    differences = [{"file": "sites", **counts, "first_created": [], "first_changes": [change], "changes": 1}]
    return reading(
        organization,
        state=ReadingState.LOOKED_AT,
        looks_first=True,
        outcome={"sites": counts},
        differences=differences,
        seen="digest",
    )


def test_what_a_folder_would_change_is_shown_before_it_is_stored(gravel, member_of):
    text = see(member_of(gravel), look(gravel)).content.decode()
    for told in (
        "Nothing is stored yet.",
        "1 cell changes",
        "North pit",
        "not known",
        "Store it",
        "Leave it",
    ):
        assert told in text


def test_a_reader_who_may_not_send_is_not_asked_to_store(gravel, member_of):
    client, one = member_of(gravel, Role.SHOP), look(gravel)
    assert "Store it" not in see(client, one).content.decode()
    for name in ("store_folder", "leave_folder"):
        assert client.post(reverse(name, args=[gravel.slug, one.pk])).status_code == 403


@pytest.mark.django_db(transaction=True)
def test_what_was_seen_is_handed_on_to_be_stored(gravel, member_of, enqueued):
    one = look(gravel)
    client = member_of(gravel)
    store = reverse("store_folder", args=[gravel.slug, one.pk])
    told = client.post(store, {"seen": "another"}, follow=True).content.decode()
    assert "Look again." in told and enqueued == []
    client.post(store, {"seen": "digest"})
    one.refresh_from_db()
    assert enqueued == [one.pk] and (one.state, one.agreed) == (ReadingState.REQUESTED, "digest")


@pytest.mark.django_db(transaction=True)
def test_a_folder_can_be_left(gravel, member_of):
    one = look(gravel)
    client = member_of(gravel)
    told = client.post(reverse("leave_folder", args=[gravel.slug, one.pk]), follow=True).content.decode()
    one.refresh_from_db()
    assert one.state == ReadingState.LEFT and "Nothing of it was stored." in told


def test_findings_are_paged(gravel, member_of):
    one = reading(gravel, state=ReadingState.REFUSED, findings=[FINDING] * 120)
    text = see(member_of(gravel), one).content.decode()
    assert "120 findings, 120 of them errors" in text and "Page 1 of 3" in text


def test_findings_can_be_saved_as_csv(gravel, member_of):
    one = reading(gravel, state=ReadingState.REFUSED, findings=[FINDING])
    answer = member_of(gravel).get(reverse("folder_findings", args=[gravel.slug, one.pk]))
    assert answer["Content-Type"].startswith("text/csv")
    assert answer.content.decode().splitlines() == [
        "severity,file,line,column,value,wrong,right",
        "error,machines,3,site,nroth,There is no site nroth.,Did you mean north?",
    ]


def test_another_organizations_folder_does_not_exist(gravel, quarry, member_of):
    one = reading(quarry, state=ReadingState.DONE)
    answer = member_of(gravel).get(reverse("folder", args=[gravel.slug, one.pk]))
    assert answer.status_code == 404


def test_an_empty_fleet_folder_has_every_file_and_is_read_without_an_error(gravel, member_of, tmp_path):
    set_setting(gravel, "pressure_unit", "psi")
    answer = member_of(gravel).get(reverse("empty_folder", args=[gravel.slug]))
    with zipfile.ZipFile(BytesIO(answer.content)) as folder:
        assert folder.namelist() == [f"{file.name}.csv" for file in FILES]
        assert "working_pressure_psi" in folder.read("positions.csv").decode()
        folder.extractall(tmp_path)
    outcome = import_fleet(organization=gravel, folder=tmp_path)
    assert not outcome.findings


def test_the_empty_workbook_is_read_without_an_error_and_explains_each_header(gravel, member_of, tmp_path):
    set_setting(gravel, "pressure_unit", "psi")
    answer = member_of(gravel).get(reverse("empty_workbook", args=[gravel.slug]))
    path = tmp_path / "fleet.xlsx"
    path.write_bytes(b"".join(answer.streaming_content))
    pressure = next(cell for cell in load_workbook(path)["positions"][1] if "working" in cell.value)
    assert pressure.value == "working_pressure_psi"
    assert "working_pressure_bar or working_pressure_psi" in pressure.comment.text
    outcome = import_fleet(organization=gravel, folder=path)
    assert not outcome.findings and set(outcome.counts) == {file.name for file in FILES}


def test_an_organization_without_a_fleet_is_told_its_first_steps(gravel, member_of):
    text = member_of(gravel).get(reverse("due", args=[gravel.slug])).content.decode()
    assert reverse("empty_workbook", args=[gravel.slug]) in text and "Send what is filled in" in text
