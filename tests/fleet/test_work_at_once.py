"""Of two who record work at one machine at once, one is told."""

import datetime
import uuid
from functools import partial

import pytest

from fleet.models import Assembly
from fleet.services.folders.importing import import_fleet
from fleet.services.work.recording import install_assembly
from fleet.services.work.rows import Fitted
from tests.fleet.at_once import at_once
from tests.fleet.builders import fleet_files, write_fleet_folder

pytestmark = pytest.mark.django_db(transaction=True)

DAY = datetime.date(2024, 1, 20)


def test_of_two_who_fill_one_position_at_once_one_succeeds_and_one_is_told(tmp_path):
    folder = write_fleet_folder(tmp_path, fleet_files())
    quarry = import_fleet(folder=folder, organization_name="Quarry", today=DAY).organization

    def install(assembly: str, token: uuid.UUID) -> bool:
        return install_assembly(
            organization=quarry, user=None, machine="WL-02", position="lift", token=token,
            fitted=Fitted(assembly, design="D-200"), installed_on=DAY, today=DAY,
        ).again  # fmt: skip

    def both(*sent: tuple[str, uuid.UUID]) -> list:
        return at_once(*(partial(install, *one) for one in sent))

    token = uuid.uuid4()
    assert sorted(both(("B-1", token), ("B-1", token))) == [False, True]
    assert both(("B-2", uuid.uuid4()), ("B-3", uuid.uuid4())) == ["position_taken"] * 2
    Assembly.objects.filter(key="B-1").delete()
    came = both(("B-2", uuid.uuid4()), ("B-3", uuid.uuid4()))
    assert sorted(came, key=str) == [False, "position_taken"]
