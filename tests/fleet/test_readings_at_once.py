"""Of two workers that get one folder that was sent in, one reads it; meanwhile another is taken in."""

import threading

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection, transaction

from fleet.models import FolderReading, Organization, ReadingState
from fleet.services.folders import readings
from fleet.services.signing import hold_organization

from .at_once import at_once

pytestmark = pytest.mark.django_db(transaction=True)

SECONDS = 10.0  # more than a folder of one row takes


@pytest.fixture
def gravel(settings, tmp_path) -> Organization:
    settings.MEDIA_ROOT = tmp_path
    return Organization.objects.create(name="Gravel Works", slug="gravel-works")


def received_by(organization: Organization) -> FolderReading:
    file = SimpleUploadedFile("sites.csv", b"site,name\nyard,The yard\n")
    return readings.receive_folder(organization=organization, user=None, files=[file])


def test_of_two_at_once_one_reads_the_folder(gravel, monkeypatch):
    received = received_by(gravel)
    read, begun = readings.import_fleet, []
    monkeypatch.setattr(readings, "import_fleet", lambda **how: begun.append(1) or read(**how))

    at_once(*[lambda: readings.read_folder(received.pk)] * 2)

    received.refresh_from_db()
    assert (received.state, begun) == (ReadingState.DONE, [1])


def test_while_a_folder_is_stored_another_is_sent_in_without_waiting(gravel):
    if connection.vendor == "sqlite":
        pytest.skip("SQLite has one writer at a time")
    sender = threading.Thread(target=at_once, args=[lambda: received_by(gravel)], daemon=True)
    with transaction.atomic():
        hold_organization(gravel)
        sender.start()
        sender.join(SECONDS)
        assert FolderReading.objects.filter(organization=gravel).exists()
    sender.join(SECONDS)
