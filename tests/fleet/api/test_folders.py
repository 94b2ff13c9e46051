"""A fleet folder sent by a program: taken in, followed, and kept from those it does not concern."""

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from fleet.models import FolderReading, Role, Site
from fleet.services.folders.readings import read_folder


@pytest.fixture(autouse=True)
def uploads(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path


def csv_file(name: str, text: str) -> SimpleUploadedFile:
    return SimpleUploadedFile(f"{name}.csv", text.encode(), "text/csv")


def send(client, *files: SimpleUploadedFile):
    return client.post("/api/v1/folders/", {"files": list(files)}, format="multipart")


def test_a_folder_that_was_sent_can_be_followed_to_its_end(planner, gravel):
    answer = send(planner, csv_file("sites", "site,name\npit,The pit\n"))

    assert answer.status_code == 202
    assert planner.get(answer["Location"]).json()["state"] == "requested"
    read_folder(answer.json()["folder"])
    followed = planner.get(answer["Location"]).json()
    assert (followed["state"], followed["findings"]) == ("done", [])
    assert followed["outcome"]["sites"] == {"created": 1, "changed": 0, "unchanged": 0}
    assert Site.objects.of(gravel).filter(key="pit").exists()


def test_what_is_wrong_in_a_folder_is_told_with_file_and_line(planner):
    answer = send(planner, csv_file("machines", "machine,site\nEX-9,nowhere\n"))
    read_folder(answer.json()["folder"])

    followed = planner.get(answer["Location"]).json()

    assert followed["state"] == "refused"
    finding = followed["findings"][0]
    assert (finding["severity"], finding["file"], finding["line"], finding["column"], finding["value"]) == (
        "error",
        "machines.csv",
        2,
        "site",
        "nowhere",
    )


def test_a_file_that_is_no_fleet_folder_is_refused_at_once(planner):
    answer = send(planner, SimpleUploadedFile("fleet.pdf", b"%PDF"))

    assert answer.status_code == 400
    assert answer.json()["code"] == "upload_not_readable"
    assert not FolderReading.objects.exists()


def test_nothing_sent_is_told_as_a_missing_field(planner):
    answer = planner.post("/api/v1/folders/", {}, format="multipart")

    assert answer.status_code == 400
    assert [wrong["field"] for wrong in answer.json()["fields_wrong"]] == ["files"]


def test_the_shop_sends_no_fleet_folder(gravel, member, client_of):
    answer = send(client_of(member(gravel, Role.SHOP)), csv_file("sites", "site\npit\n"))

    assert answer.status_code == 403
    assert not FolderReading.objects.exists()
