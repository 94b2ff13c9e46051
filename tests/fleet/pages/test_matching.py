"""A spreadsheet of somebody's own shape goes through its matched columns to the look at what would change."""

from datetime import date
from io import BytesIO

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from openpyxl import Workbook

from fleet.models import LINES, Assembly, ColumnMapping, FolderReading, Part, ReadingState, Role
from fleet.services.folders.readings import agree_to_folder, read_folder
from fleet.services.plans.replanning import request_plan, run_plan
from tests.fleet.pages.reading import read

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
    monkeypatch.setattr("fleet.pages.folders.matching.enqueue_reading", numbers.append)
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
    assert "Row 3: site of machines EX-1 is pit, and yard in a row above." in read(told) and enqueued == []


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


WITH_DESIGNS = (
    "Our hoses\n"
    "Machine no.,Hose position,Fitted,Size,Type,Length mm,End A,End B,Remarks\n"
    "EX-1,boom left,2023-05-31,1/2,2SN,900,E-1,E-1,\n"
    "EX-1,boom right,2023-05-31,big,2SN,900,E-1,E-1,leaks\n"
)


def read_matched(client, address: str, **more) -> FolderReading:
    """What came of the sheet as the page guesses it."""
    client.post(address, chosen(client.get(address)) | SITE | more)
    return read_folder(FolderReading.objects.latest("pk").pk)


def test_what_is_still_asked_for_is_marked_with_the_way_out(gravel, member_of):
    client = member_of(gravel)
    sheet = "Machine,Position,Length mm\nEX-1,boom,900\n"
    address = send(client, gravel, sheet).url
    page = client.get(address)
    assert not any(one["fault"] for one in page.context["asked"]), "nothing was asked in vain yet"
    assert "have Length mm left out" in page.content.decode()
    typed = {"all_machines.site": "yard", "all_designs.end_a_part": "not known"}
    page = client.post(address, chosen(page) | typed)
    faults = {one["name"]: one["fault"] for one in page.context["asked"] if one["fault"]}
    assert faults == {
        "all_designs.hose_part": "This is still asked for.",
        "all_designs.end_a_part": "“not known” would become the name of a part. "
        "Have the columns above left out instead.",
        "all_designs.end_b_part": "This is still asked for.",
    }
    assert 'aria-describedby="fault-all_designs.end_a_part"' in page.content.decode()


def test_findings_name_the_rows_and_columns_of_the_sheet(gravel, member_of):
    client = member_of(gravel)
    reading = read_matched(client, send(client, gravel, WITH_DESIGNS).url)
    (finding,) = reading.findings
    assert (finding["file"], finding["line"], finding["column"]) == ("hoses.csv", 4, "Size")
    assert finding["wrong"] == "big is not a plain number."
    text = client.get(reverse("folder", args=[gravel.slug, reading.pk])).content.decode()
    assert "row 4" in text and "boom right" in text and "parts.csv" not in text
    assert '<dt>Size <span class="heavy">here</span></dt>' in text


def test_what_two_files_make_of_one_cell_is_said_once(gravel, member_of):
    client = member_of(gravel, Role.PLANNER)
    page = client.get(send(client, gravel).url)
    columns = {field: means.replace("machines.", "positions.") for field, means in chosen(page).items()}
    answer = client.post(page.request["PATH_INFO"], columns | {"day_order": "day"})
    read_folder(FolderReading.objects.get().pk)
    reading = FolderReading.objects.get()
    assert [(one["line"], one["wrong"]) for one in reading.findings] == [
        (3, "EX-1 is not in machines."),
        (4, "EX-1 is not in machines."),
    ], answer.content.decode()
    assert reading.failure.startswith("2 errors in the fleet folder")


def test_a_sheet_that_came_before_names_were_kept_is_read_under_that_of_its_file(gravel, member_of):
    client = member_of(gravel)
    address = send(client, gravel, WITH_DESIGNS, "hoses before.csv").url
    FolderReading.objects.update(sent_names=[])
    reading = read_matched(client, address)
    assert reading.state == ReadingState.REFUSED
    assert [finding["file"] for finding in reading.findings] == ["hoses_before.csv"]


def test_findings_of_a_workbook_name_its_sheet(gravel, member_of):
    book, written = Workbook(), BytesIO()
    book.active.append(["Machine", "Site"])
    sheet = book.create_sheet("Hoses")
    for row in WITH_DESIGNS.splitlines()[1:]:
        sheet.append(row.split(","))
    book.save(written)
    client = member_of(gravel)
    file = SimpleUploadedFile("fleet.xlsx", written.getvalue())
    address = client.post(reverse("send_sheet", args=[gravel.slug]), {"sheet": file}).url + "?sheet=Hoses"
    (finding,) = read_matched(client, address).findings
    assert (finding["file"], finding["line"]) == ("fleet.xlsx sheet Hoses", 3)


def test_from_what_is_wrong_a_way_leads_back_to_the_matching(gravel, member_of):
    client = member_of(gravel)
    reading = read_matched(client, send(client, gravel, WITH_DESIGNS).url)
    anew = reverse("match_anew", args=[gravel.slug, reading.pk])
    assert anew in client.get(reverse("folder", args=[gravel.slug, reading.pk])).content.decode()
    page = client.post(anew, follow=True)
    again = chosen(page)
    assert again["column_3"] == "parts.dash" and "big" in page.content.decode()
    client.post(page.request["PATH_INFO"], again | SITE | {"column_3": ""})
    looked = read_folder(reading.pk)
    assert (looked.state, looked.findings) == (ReadingState.LOOKED_AT, [])
    text = client.get(reverse("folder", args=[gravel.slug, reading.pk])).content.decode()
    assert anew in text and "Left out, as nothing was matched to it: <strong>Size, Remarks</strong>." in text
    agree_to_folder(reading=looked, user=None, seen=looked.seen)
    assert read_folder(reading.pk).state == ReadingState.DONE
    assert "waits no longer" in client.post(anew, follow=True).content.decode()


def test_nobody_but_who_may_import_matches_anew(gravel, member_of):
    client = member_of(gravel)
    reading = read_matched(client, send(client, gravel, WITH_DESIGNS).url)
    client = member_of(gravel, Role.SHOP)
    anew = reverse("match_anew", args=[gravel.slug, reading.pk])
    assert client.post(anew).status_code == 403
    assert anew not in client.get(reverse("folder", args=[gravel.slug, reading.pk])).content.decode()


def test_how_days_and_sizes_are_read_is_told_before_anything_is_stored(gravel, member_of):
    client = member_of(gravel)
    sheet = WITH_DESIGNS.replace("2023-05-31", "05/06/2023", 1).replace("2023-05-31", "12/31/2023")
    address = send(client, gravel, sheet.replace("big", "3/4")).url
    days = "Days are read month first: 12/31/2023 under Fitted can be read no other way."
    assert days in client.get(address).content.decode()
    reading = read_matched(client, address)
    text = client.get(reverse("folder", args=[gravel.slug, reading.pk])).content.decode()
    assert days in text and "Read in inches: 1/2 is dash 8." in text


def test_a_row_without_its_ends_is_told_before_anything_is_stored(gravel, member_of):
    client = member_of(gravel)
    sheet = WITH_DESIGNS.replace("big,2SN,900,E-1", "1/2,2SN,900,?")
    reading = read_matched(client, send(client, gravel, sheet).url)
    text = client.get(reverse("folder", args=[gravel.slug, reading.pk])).content.decode()
    assert reading.state == ReadingState.LOOKED_AT, reading.findings
    assert (
        "1 row does not tell all of its design" in text
        and "goes in without one and its place asks for none: row 4." in text
    )


def test_a_sheet_with_sizes_in_doubt_is_not_read(gravel, member_of, enqueued):
    client = member_of(gravel)
    address = send(client, gravel, WITH_DESIGNS.replace("big", "4")).url
    page = client.get(address)
    assert "4 under Size stands beside sizes in inches" in page.content.decode()
    assert client.post(address, chosen(page) | SITE).status_code == 422 and enqueued == []
    client.post(address, chosen(page) | SITE | {"column_3": ""})
    assert len(enqueued) == 1


OF_ONE_PLACE = (
    "Machine no.,Hose position,Tag,Fitted,Removed,Cause,Type,Size,Length mm,End A,End B,Rated pressure bar,"
    "Pressure bar\n"
    "EX-1,boom,A1,2020-01-01,2023-01-01,planned,4SP,8,900,E8,E8,415,300\n"
    "EX-1,boom,A2,2023-01-01,,,2SN,8,900,,,275,300\n"
)


def test_a_hose_is_not_judged_by_the_design_of_the_one_before_it(gravel, member_of):
    client = member_of(gravel)
    reading = read_matched(client, send(client, gravel, OF_ONE_PLACE).url)
    assert reading.state == ReadingState.LOOKED_AT, reading.findings
    agree_to_folder(reading=reading, user=None, seen=reading.seen)
    assert read_folder(reading.pk).state == ReadingState.DONE
    before, now = Assembly.objects.order_by("key")
    assert before.design.key == "4SP 8 E8 E8 900" and now.design is now.position.design is None
    Part.objects.of(gravel).filter(kind="hose_end").update(rated_pressure_bar=420)
    plan = run_plan(request_plan(organization=gravel, as_of=date(2024, 1, 1), user=None).pk)
    judged = LINES["margins"].objects.get(plan=plan, assembly="A2")
    assert (judged.rated_pressure_bar, judged.verdict) == (None, "unknown")


HOSES_ALONE = {
    "M": "installations.machine",
    "P": "installations.position",
    "Tag": "installations.assembly",
    "Fitted": "installations.installed_on",
    "Type": "parts.construction",
    "Size": "parts.dash",
    "Length": "designs.overall_length_mm",
    "A": "designs.end_a_part",
    "B": "designs.end_b_part",
}


def test_a_hose_told_in_part_does_not_get_the_design_that_its_place_has_on_record(
    gravel, member_of, enqueued
):
    client = member_of(gravel)
    first, _second = OF_ONE_PLACE.split("EX-1,boom,A2")
    reading = read_matched(client, send(client, gravel, first).url)
    agree_to_folder(reading=reading, user=None, seen=reading.seen)
    read_folder(reading.pk)
    enqueued.clear()
    sheet = ",".join(HOSES_ALONE) + "\nEX-1,boom,A2,2023-01-01,2SN,8,900,,\n"
    columns = {f"column_{place}": code for place, code in enumerate(HOSES_ALONE.values())}
    told = client.post(send(client, gravel, sheet).url, columns).content.decode()
    assert "Row 2 does not tell all of its design" in told and enqueued == []
    assert "On record EX-1 boom asks for 4SP 8 E8 E8 900: the hose would get that, and its rating." in read(
        told
    )
    whole = sheet.replace("900,,", "900,E8,E8")
    client.post(send(client, gravel, whole).url, columns)
    assert len(enqueued) == 1


def test_the_page_names_the_sheet_that_was_sent(gravel, member_of):
    client = member_of(gravel)
    reading = read_matched(client, send(client, gravel, WITH_DESIGNS).url)
    for page in (reverse("folder", args=[gravel.slug, reading.pk]), reverse("folders", args=[gravel.slug])):
        assert "hoses.csv" in client.get(page).content.decode()
