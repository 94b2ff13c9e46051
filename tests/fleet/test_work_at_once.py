"""Of two who record work at one machine at once, one is told."""

import datetime
import threading
import uuid

import pytest
from django.db import connections

from fleet.models import Assembly
from fleet.services.errors import ServiceError
from fleet.services.importing import import_fleet
from fleet.services.work import install_assembly
from fleet.services.work_errors import PositionTaken
from fleet.services.work_rows import Fitted
from tests.fleet.builders import fleet_files, write_fleet_folder

pytestmark = pytest.mark.django_db(transaction=True)

DAY = datetime.date(2024, 1, 20)


def test_of_two_who_fill_one_position_at_once_one_succeeds_and_one_is_told(tmp_path):
    folder = write_fleet_folder(tmp_path, fleet_files())
    quarry = import_fleet(folder=folder, organization_name="Quarry", today=DAY).organization
    came, starts = [], threading.Barrier(2)

    def put_on(assembly: str, token: uuid.UUID):
        return install_assembly(
            organization=quarry, user=None, machine="WL-02", position="lift", token=token,
            fitted=Fitted(assembly, design="D-200"), installed_on=DAY, today=DAY,
        )  # fmt: skip

    def work(assembly: str, token: uuid.UUID) -> None:
        starts.wait()
        try:
            came.append(put_on(assembly, token).again)
        except ServiceError as refusal:
            came.append(type(refusal))
        finally:
            connections.close_all()

    def both(*sent: tuple[str, uuid.UUID]) -> list:
        came.clear()
        threads = [threading.Thread(target=work, args=one) for one in sent]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        return came

    token = uuid.uuid4()
    assert sorted(both(("B-1", token), ("B-1", token))) == [False, True]
    assert both(("B-2", uuid.uuid4()), ("B-3", uuid.uuid4())) == [PositionTaken, PositionTaken]
    Assembly.objects.filter(key="B-1").delete()
    assert sorted(map(str, both(("B-2", uuid.uuid4()), ("B-3", uuid.uuid4())))) == [
        str(PositionTaken), "False",
    ]  # fmt: skip
