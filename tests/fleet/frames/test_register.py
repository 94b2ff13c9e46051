"""The register as the tables of the main job, and as those of a fleet folder."""

import datetime

import pandas as pd
import pytest

from fleet.exchange.schema import FILES
from fleet.frames.register import core_settings, core_tables, register_tables
from fleet.models import Organization, Setting
from fleet.services.folders.importing import import_fleet
from forecasting.inputs import INPUTS
from forecasting.policies import Settings
from forecasting.tables import check_table
from tests.fleet.builders import fleet_files, write_fleet_folder

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def quarry(kept_for_module, tmp_path_factory) -> Organization:
    folder = write_fleet_folder(tmp_path_factory.mktemp("fleet"), fleet_files())
    return import_fleet(
        folder=folder, organization_name="Quarry", today=datetime.date(2024, 2, 1)
    ).organization


def test_the_main_job_gets_every_table_it_takes_in_stored_units(quarry):
    tables = core_tables(quarry)
    assert list(tables) == list(INPUTS)
    for name, table in INPUTS.items():
        check_table(tables[name], table)
    assert {name: len(tables[name]) for name in fleet_files() if name != "settings"} == {
        name: len(rows) for name, rows in fleet_files().items() if name != "settings"
    }
    boom = tables["positions"].iloc[0]
    assert (boom["machine"], boom["position"], boom["exposure"]) == ("EX-01", "boom left", "abrasive+flexing")
    assert boom["working_pressure_bar"] == pytest.approx(241.3165, rel=1e-6)
    assert boom["failure_cost"] == 1900.25
    readings = tables["meter_readings"]
    assert readings["meter_replaced"].isna().tolist() == [True, True, False, True, False]
    assert (tables["ratings"]["rated_pressure_bar"] > 0).all()


def test_an_installation_comes_with_its_positions_design_and_its_builds_day(quarry, tmp_path):
    stay = {"machine": "WL-02", "position": "lift", "design": "D-200", "installed_on": "2024-01-09"}
    folder = write_fleet_folder(tmp_path / "more", {"installations": [{"assembly": "A-4", **stay}]})
    import_fleet(folder=folder, organization=quarry, today=datetime.date(2024, 2, 1))
    stays = core_tables(quarry)["installations"].set_index("assembly")
    assert stays["design"].to_dict() == {"A-1": "D-100", "A-2": "D-100", "A-3": "D-200", "A-4": "D-200"}
    assert stays.loc["A-4", "built_on"] == pd.Timestamp("2024-01-08")
    assert stays.loc["A-4", "crimped_by"] == "bench 1"


def test_a_part_without_a_unit_is_counted_hose_by_the_metre_all_else_by_number(quarry, tmp_path):
    parts = [{"part": "H-2", "kind": "bulk_hose"}, {"part": "F-2", "kind": "ferrule"}]
    folder = write_fleet_folder(tmp_path / "more", {"parts": parts})
    import_fleet(folder=folder, organization=quarry, today=datetime.date(2024, 2, 1))
    units = core_tables(quarry)["parts"].set_index("part")["unit"]
    assert (units["H-2"], units["F-2"], units["E-JIC-06"]) == ("metre", "each", "each")


def test_settings_that_were_not_set_have_their_defaults(quarry):
    Setting.objects.create(organization=quarry, name="kerf_mm", value="2.5")
    assert core_settings(quarry) == Settings(currency="EUR", pressure_unit="psi", kerf_mm=2.5)


def test_an_organization_without_rows_has_empty_tables_and_sees_no_other(quarry):
    empty = Organization.objects.create(name="Harbour", slug="harbour")
    assert all(frame.empty for name, frame in core_tables(empty).items() if name != "ratings")
    assert all(frame.empty for frame in register_tables(empty).values())
    assert core_settings(empty) == Settings()


def test_a_register_is_read_by_one_query_a_table(quarry, django_assert_num_queries):
    with django_assert_num_queries(len(FILES)):
        register_tables(quarry)
