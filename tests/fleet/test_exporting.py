"""The register written back: export, read into a new organization, export again gives the same bytes."""

import datetime
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from fleet.models import Build, Organization, Position
from fleet.services.errors import FolderTaken
from fleet.services.folders.exporting import export_fleet
from fleet.services.folders.importing import import_fleet
from tests.fleet.builders import fleet_files, write_fleet_folder

pytestmark = pytest.mark.django_db

TODAY = datetime.date(2024, 2, 1)


def take(folder: Path, name: str) -> Organization:
    return import_fleet(folder=folder, organization_name=name, today=TODAY).organization


@pytest.fixture(scope="module")
def quarry(kept_for_module, tmp_path_factory) -> Organization:
    """A register with the small fleet."""
    return take(write_fleet_folder(tmp_path_factory.mktemp("fleet"), fleet_files()), "Quarry")


def written(organization: Organization, folder: Path) -> dict[str, bytes]:
    """Every file of an export, by name."""
    names = export_fleet(organization=organization, folder=folder)
    assert sorted(one.name for one in folder.iterdir()) == sorted(names)
    return {name: (folder / name).read_bytes() for name in names}


def test_an_export_read_into_a_new_organization_exports_the_same_bytes(quarry, tmp_path):
    first = written(quarry, tmp_path / "first")
    assert set(first) == {f"{name}.csv" for name in fleet_files()}
    assert written(take(tmp_path / "first", "Second"), tmp_path / "second") == first
    assert import_fleet(folder=tmp_path / "first", organization=quarry, today=TODAY).changed_nothing


def test_columns_of_builds_that_came_later_may_be_absent_and_come_back_at_the_end(tmp_path):
    later = {
        "accepted_by": "C. Fitter",
        "chart": "2SN rev. 4",
        "proof_medium": "water",
        "remarks": "answered for: cut off its length",
    }
    files = fleet_files()
    assert not any(set(later) & set(row) for row in files["builds"])
    before = written(take(write_fleet_folder(tmp_path / "in", files), "First"), tmp_path / "first")

    files["builds"][0] |= later
    made = take(write_fleet_folder(tmp_path / "later", files), "Second")
    assert {name: getattr(Build.objects.of(made).get(assembly__key="A-2"), name) for name in later} == later
    after = written(made, tmp_path / "second")
    assert {name for name in after if after[name] != before[name]} == {"builds.csv"}
    assert after["builds.csv"].splitlines()[0].decode().split(",")[-4:] == list(later)
    assert written(take(tmp_path / "second", "Third"), tmp_path / "third") == after
    # An absent column leaves what stood.
    take(tmp_path / "in", "Second")
    assert written(made, tmp_path / "fourth")["builds.csv"] == after["builds.csv"]


def test_rows_stand_by_key_columns_by_schema_and_numbers_are_short(tmp_path):
    files = {
        "sites": [{"name": "b", "site": "South"}, {"site": "North", "name": "a, b"}],
        "machines": [
            {"hours_per_day": "9.50", "machine": "M-2", "site": "South", "model": "digger"},
            {"hours_per_day": "1E+01", "machine": "M-10", "site": "North", "model": ""},
        ],
    }
    organization = take(write_fleet_folder(tmp_path / "in", files), "First")
    assert written(organization, tmp_path / "out") == {
        "sites.csv": b'site,name,register_began_on\nNorth,"a, b",\nSouth,b,\n',
        "machines.csv": (
            b"machine,site,model,commissioned_on,retired_on,hours_per_day,downtime_cost_per_hour\n"
            b"M-10,North,,,,10,\n"
            b"M-2,South,digger,,,9.5,\n"
        ),
    }


def test_measures_stand_in_the_unit_in_which_they_were_entered(quarry, tmp_path):
    positions = written(quarry, tmp_path / "out")["positions.csv"].decode().splitlines()
    header, boom = positions[0].split(","), positions[1].split(",")
    cells = dict(zip(header, boom, strict=True))
    assert (cells["working_pressure_psi"], cells["fluid_temperature_f"]) == ("3500", "160")
    stock = written(quarry, tmp_path / "again")["stock.csv"].decode().splitlines()
    assert stock[0].split(",")[4] == "on_hand_ft"
    assert [line.split(",")[4] for line in stock[1:]] == ["25", "164"]
    # Nobody entered a bend radius: the column stands in the stored unit.
    assert cells["bend_radius_mm"] == ""


def test_a_column_entered_in_two_units_stands_in_the_stored_one(quarry, tmp_path):
    in_bar = {"machine": "WL-02", "position": "lift", "working_pressure_bar": "210"}
    take(write_fleet_folder(tmp_path / "more", {"positions": [in_bar]}), "Quarry")
    first = written(quarry, tmp_path / "first")
    assert b"working_pressure_bar" in first["positions.csv"]
    assert b",210," in first["positions.csv"]
    second = written(take(tmp_path / "first", "Second"), tmp_path / "second")
    assert first == second
    stored = Position.objects.filter(key="boom left").values_list("working_pressure_bar", flat=True)
    assert len(set(stored)) == 1


def test_a_design_is_written_only_where_it_differs_from_its_positions(quarry, tmp_path):
    rows = written(quarry, tmp_path / "out")["installations.csv"].decode().splitlines()[1:]
    assert [row.split(",")[3] for row in rows] == ["", "", "D-200"]


def test_an_earlier_export_is_replaced_and_its_other_files_go(quarry, tmp_path):
    export_fleet(organization=quarry, folder=tmp_path / "out")
    small = take(write_fleet_folder(tmp_path / "small", {"sites": fleet_files()["sites"]}), "Small")
    assert set(written(small, tmp_path / "out")) == {"sites.csv"}


def test_a_folder_with_anything_else_in_it_is_left_alone(quarry, tmp_path):
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "letters.txt").write_text("dear")
    with pytest.raises(FolderTaken) as refused:
        export_fleet(organization=quarry, folder=tmp_path / "out")
    assert str(refused.value) == (
        f"{tmp_path / 'out'} holds letters.txt, which is no file of a fleet folder. "
        "Name a new or empty folder."
    )
    assert [one.name for one in (tmp_path / "out").iterdir()] == ["letters.txt"]


def test_a_fault_in_the_midst_of_writing_leaves_the_earlier_export(quarry, tmp_path, monkeypatch):
    before = written(quarry, tmp_path / "out")

    def failing(*_):
        raise KeyboardInterrupt

    monkeypatch.setattr("fleet.services.folders.exporting.write_folder", failing)
    for folder in (tmp_path / "out", tmp_path / "new"):
        with pytest.raises(KeyboardInterrupt):
            export_fleet(organization=quarry, folder=folder)
    assert {one.name: one.read_bytes() for one in (tmp_path / "out").iterdir()} == before
    assert not (tmp_path / "new").exists()


CONTROLS = "".join(map(chr, (*range(9), 11, 12, *range(14, 32), 127)))  # reading refuses them
SIGNS = st.characters(codec="utf-8", exclude_characters=CONTROLS, exclude_categories=("Cs",))
SHARES = st.floats(0, 1, allow_subnormal=False)


@settings(max_examples=6, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    rows=st.lists(
        st.fixed_dictionaries(
            {
                "fluid": st.text(SIGNS, max_size=30),
                "pressure": SHARES,
                "fluid_temperature_f": st.floats(-140, 700).map(repr),
                "planned_cost": st.decimals(0, 10**9, places=4).map(str),
            }
        ),
        min_size=5,
        max_size=30,
    ),
    unit=st.sampled_from(["bar", "psi", "mpa"]),
)
def test_any_values_come_back_as_the_same_bytes(tmp_path_factory, rows, unit):
    most = {"bar": 1_000, "psi": 14_000, "mpa": 100}[unit]
    positions = [
        {
            "machine": "M",
            "position": f"p{number}",
            f"working_pressure_{unit}": repr(row.pop("pressure") * most),
        }
        | row
        for number, row in enumerate(rows)
    ]
    files = {"sites": [{"site": "S"}], "machines": [{"machine": "M", "site": "S"}], "positions": positions}
    folder = tmp_path_factory.mktemp("fleet")
    first = written(take(write_fleet_folder(folder / "in", files), f"{folder} 1"), folder / "first")
    assert first == written(take(folder / "first", f"{folder} 2"), folder / "second")
