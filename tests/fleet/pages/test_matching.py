"""A spreadsheet of somebody's own shape goes through its matched columns to the look at what would change."""

from io import BytesIO

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from openpyxl import Workbook

from fleet.models import Assembly, ColumnMapping, FolderReading, ReadingState, Role
from fleet.services.readings import agree_to_folder, read_folder

SHEET = (
    "Our hoses\n"
    "Machine no.,Hose position,Fitted,Size,Pressure (psi)\n"
    'EX-1,boom left,03/04/2023,-8,"3,500"\n'
    "EX-1,boom right,05/06/2024,-8,3500\n"
)
SITE = {"all_machines.site": "yard", "day_order": "day"}

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture(autouse=True)
def enqueued(monkeypatch, settings, tmp_path):
    """The numbers of the readings that the page handed on; uploads go to a folder of the test's own."""
    settings.MEDIA_ROOT = tmp_path
    numbers: list[int] = []
    monkeypatch.setattr("fleet.pages.matching.enqueue_reading", numbers.append)
    return numbers


def send(client, organization, text: str = SHEET, name: str = "hoses.csv"):
    file = SimpleUploadedFile(name, text.encode(), "text/csv")
    return client.post(reverse("send_sheet", args=[organization.slug]), {"sheet": file})


def chosen(page) -> dict[str, str]:
    """What the selects of the page stand at."""
    return {one["field"].name: one["field"].value() for one in page.context["columns"]}


def test_a_hand_kept_sheet_is_matched_looked_at_and_stored(gravel, member_of, enqueued):
    client = member_of(gravel)
    address = send(client, gravel).url
    page = client.get(address)
    text = page.content.decode()
    for told in ("Machine no.", "boom left; boom right", "machines.site", "Days such as 03/04/2023"):
        assert told in text
    guessed = chosen(page)
    assert guessed["column_4"] == "positions.working_pressure_psi" and guessed["column_3"] == ""

    assert client.post(address, guessed).status_code == 422 and enqueued == []
    client.post(address, guessed | SITE)
    reading = FolderReading.objects.get()
    assert enqueued == [reading.pk]
    looked = read_folder(reading.pk)
    assert looked.state == ReadingState.LOOKED_AT, looked.findings
    agree_to_folder(reading=looked, user=None, seen=looked.seen)
    assert read_folder(reading.pk).state == ReadingState.DONE
    left = Assembly.objects.get(key="EX-1 boom left 2023-04-03")
    assert round(left.position.working_pressure_bar) == 241


def test_a_match_is_remembered_for_the_next_sheet_with_these_headers(gravel, member_of):
    client = member_of(gravel)
    address = send(client, gravel).url
    mine = chosen(client.get(address)) | {"column_1": "", "column_2": "", "column_4": ""}
    client.post(address, mine | SITE)
    page = client.get(send(client, gravel).url)
    assert chosen(page) == mine and "matched it then" in page.content.decode()
    assert page.context["asked"][0]["given"] == "yard"
    client.post(page.request["PATH_INFO"], mine | SITE)
    assert ColumnMapping.objects.of(gravel).get().name == "hoses"


def test_two_columns_cannot_mean_one(gravel, member_of, enqueued):
    client = member_of(gravel)
    address = send(client, gravel).url
    twice = chosen(client.get(address)) | {"column_3": "positions.working_pressure_bar"}
    told = client.post(address, twice | SITE).content.decode()
    assert "Size and Pressure (psi) are matched to the same column." in told and enqueued == []


def test_rows_that_speak_against_each_other_are_told(gravel, member_of, enqueued):
    client = member_of(gravel)
    address = send(client, gravel, "Machine,Site\nEX-1,yard\nEX-1,pit\n").url
    told = client.post(address, chosen(client.get(address))).content.decode()
    assert "Row 3: site of machines EX-1 is pit, and yard in a row above." in told and enqueued == []


def test_what_is_no_table_is_refused_with_what_would_be_right(gravel, member_of):
    client = member_of(gravel)
    for text, name, told in (
        ("x", "hoses.pdf", "no .csv and no .xlsx"),
        ("one\ntwo\n", "hoses.csv", "Put a name over each column"),
    ):
        answer = send(client, gravel, text, name)
        assert answer.status_code == 422 and told in answer.content.decode()
    assert not FolderReading.objects.exists()


def test_a_sheet_of_the_workbook_that_is_no_table_leads_back_to_the_first(gravel, member_of):
    book, written = Workbook(), BytesIO()
    book.active.append(["Machine", "Site"])
    book.create_sheet("Notes").append(["only a remark"])
    book.save(written)
    client = member_of(gravel)
    file = SimpleUploadedFile("fleet.xlsx", written.getvalue())
    address = client.post(reverse("send_sheet", args=[gravel.slug]), {"sheet": file}).url
    page = client.get(address, {"sheet": "Notes"}, follow=True)
    assert page.context["table"].title == "Sheet" and "Put a name over each column" in page.content.decode()


def test_the_shop_may_not_send_a_sheet(gravel, member_of):
    assert send(member_of(gravel, Role.SHOP), gravel).status_code == 403


def test_a_folder_whose_columns_are_matched_leads_on_to_what_came_of_it(gravel, member_of):
    one = FolderReading.objects.create(organization=gravel, state=ReadingState.DONE)
    answer = member_of(gravel).get(reverse("match_columns", args=[gravel.slug, one.pk]))
    assert answer.url == reverse("folder", args=[gravel.slug, one.pk])
