"""Of two workers that get one folder that was sent in, one reads it."""

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from fleet.models import Organization, ReadingState
from fleet.services.folders import readings

from .at_once import at_once

pytestmark = pytest.mark.django_db(transaction=True)


def test_of_two_at_once_one_reads_the_folder(settings, tmp_path, monkeypatch):
    settings.MEDIA_ROOT = tmp_path
    gravel = Organization.objects.create(name="Gravel Works", slug="gravel-works")
    file = SimpleUploadedFile("sites.csv", b"site,name\nyard,The yard\n")
    received = readings.receive_folder(organization=gravel, user=None, files=[file])
    read, begun = readings.import_fleet, []
    monkeypatch.setattr(readings, "import_fleet", lambda **how: begun.append(1) or read(**how))

    at_once(*[lambda: readings.read_folder(received.pk)] * 2)

    received.refresh_from_db()
    assert (received.state, begun) == (ReadingState.DONE, [1])
