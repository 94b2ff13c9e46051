"""Taking a fleet folder into a register that stands: whole or not at all, and nothing twice."""

import datetime

import pytest

from fleet.exchange.merging import State
from fleet.frames.register import standing_tables
from fleet.frames.rows import change_rows
from fleet.models import (
    Assembly,
    Build,
    Machine,
    MeterReading,
    Organization,
    Part,
    Policy,
    Position,
    Setting,
    Site,
)
from fleet.services.errors import FolderRefused
from fleet.services.folders.exporting import export_fleet
from fleet.services.folders.importing import import_fleet
from tests.fleet.builders import fleet_files, take_small_fleet, write_fleet_folder

pytestmark = pytest.mark.django_db

TODAY = datetime.date(2024, 2, 1)


@pytest.fixture(scope="module")
def quarry(kept_for_module, tmp_path_factory) -> Organization:
    """The quarry with the small fleet."""
    return take_small_fleet(tmp_path_factory.mktemp("fleet"), "Quarry", TODAY)


@pytest.fixture
def take(quarry, tmp_path):
    """Takes the files into the register of the quarry, as a folder of their own."""
    folders = (tmp_path / str(number) for number in range(100))

    def taken(files):
        folder = write_fleet_folder(next(folders), files)
        return import_fleet(folder=folder, organization_name="Quarry", today=TODAY)

    return taken


def created(outcome):
    return {name: rows[State.CREATED] for name, rows in outcome.counts.items() if rows[State.CREATED]}


def changed(outcome):
    return {name: rows[State.CHANGED] for name, rows in outcome.counts.items() if rows[State.CHANGED]}


def test_reading_the_same_folder_twice_changes_nothing_and_says_so(take):
    before = {noun: noun.history.count() for noun in (Assembly, Build, Machine, Part, Position)}
    outcome = take(fleet_files())
    assert outcome.changed_nothing
    assert outcome.counts["machines"] == {"created": 0, "changed": 0, "unchanged": 2}
    assert {noun: noun.history.count() for noun in before} == before


def test_an_export_changes_nothing_where_a_key_stands_with_an_accent_put_together_otherwise(take, tmp_path):
    seen, stands = "Br\u00fccke", "Bru\u0308cke"
    quarry = Organization.objects.get(name="Quarry")
    for noun in (Site, Part, Machine, Position):
        noun.objects.filter(pk=noun.objects.latest("pk").pk).update(key=stands)
    kept = {noun: noun.objects.count() for noun in (Site, Part, Machine, Position, Assembly)}
    export_fleet(organization=quarry, folder=tmp_path / "out")
    outcome = import_fleet(folder=tmp_path / "out", organization=quarry, today=TODAY)
    assert outcome.changed_nothing
    assert {noun: noun.objects.count() for noun in kept} == kept
    take(
        {"machines": [{"machine": "EX-09", "site": seen}, {"machine": seen, "site": seen, "model": "other"}]}
    )
    assert {one.model for one in Machine.objects.filter(key=stands)} == {"other"}
    assert Machine.objects.get(key="EX-09").site.key == stands
    take({"sites": [{"site": stands}, {"site": "Mu\u0308hle"}]})
    assert not Site.objects.filter(key=seen).exists() and Site.objects.filter(key="M\u00fchle").exists()


def test_a_new_policy_is_of_the_key_that_stands_with_an_accent_put_together_otherwise(take):
    seen, stands = "Br\u00fccke", "Bru\u0308cke"
    Machine.objects.filter(key="EX-01").update(key=stands)
    Position.objects.filter(machine__key=stands, key="boom left").update(key=f"{stands}, left")
    take({"policies": [{"scope": f"machine:{seen}"}, {"scope": f"position:{seen}/{seen}, left"}]})
    asked = {f"machine:{stands}", f"position:{stands}/{stands}, left"}
    assert asked <= set(Policy.objects.values_list("scope", flat=True))


def test_an_empty_cell_clears_and_an_absent_column_or_row_leaves_what_stood(take):
    outcome = take({"machines": [{"machine": "EX-01", "site": "North pit", "model": ""}]})
    assert outcome.counts == {"machines": {"created": 0, "changed": 1, "unchanged": 0}}
    machine = Machine.objects.get(key="EX-01")
    assert machine.model == ""
    assert machine.hours_per_day == 9.5
    assert Machine.objects.get(key="WL-02").model == "wheel loader"


def test_a_folder_is_judged_by_what_stands_already(take):
    stay = {"machine": "EX-01", "position": "boom left", "installed_on": "2024-01-20"}
    with pytest.raises(FolderRefused) as refused:
        take({"installations": [{"assembly": "A-9", **stay}]})
    assert [str(finding) for finding in refused.value.findings] == [
        "installations.csv, row 2, installed_on: A-9 went onto EX-01 boom left on 2024-01-20 while A-2, "
        "installed on 2023-05-04, was there. Enter when A-2 came off, or mend the position or a day."
    ]
    assert str(refused.value) == (
        "1 error in the fleet folder: nothing was stored. Mend the rows named in the findings."
    )
    assert not Assembly.objects.filter(key="A-9").exists()


def test_what_a_folder_breaks_elsewhere_is_told_at_its_own_row(take):
    with pytest.raises(FolderRefused) as refused:
        take({"parts": [{"part": "E-JIC-06", "kind": "hose_end", "dash": "8"}]})
    assert {(finding.file, finding.line, finding.column) for finding in refused.value.findings} == {
        ("parts.csv", 2, "dash")
    }


def test_the_next_assembly_may_enter_on_the_day_the_last_one_leaves(take):
    stay = {"machine": "EX-01", "position": "boom left"}
    take(
        {
            "installations": [
                {"assembly": "A-9", **stay, "installed_on": "2024-01-20", "removed_on": ""},
                {"assembly": "A-2", **stay, "installed_on": "2023-05-04", "removed_on": "2024-01-20"},
            ]
        }
    )
    assert (
        Assembly.objects.installed_on(datetime.date(2024, 1, 20)).filter(position__key="boom left").get().key
        == "A-9"
    )


def test_two_assemblies_may_change_places_in_one_folder(take):
    places = {"A-2": "boom right", "A-3": "boom left"}
    days = {"A-2": "2023-05-04", "A-3": "2023-05-05"}
    rows = [
        {"assembly": name, "machine": "EX-01", "position": place, "installed_on": days[name]}
        for name, place in places.items()
    ]
    outcome = take({"installations": rows})
    assert changed(outcome) == {"installations": 2}
    assert {one.key: one.position.key for one in Assembly.objects.filter(key__in=places)} == places
    assert Assembly.objects.get(key="A-2").history.count() == 2


def test_what_is_installed_and_of_no_known_design_stays_so_where_no_row_speaks_of_designs(take):
    stay = {"assembly": "A-1", "machine": "EX-01", "position": "boom left", "installed_on": "2022-03-01"}
    Assembly.objects.filter(key="A-1").update(design=None)
    take({"installations": [stay | {"crimped_by": "bench 7"}]})
    assembly = Assembly.objects.get(key="A-1")
    assert (assembly.design, assembly.crimped_by) == (None, "bench 7")
    take({"installations": [stay | {"design": ""}]})
    assembly.refresh_from_db()
    assert assembly.design.key == "D-100"


def test_an_installation_without_a_design_keeps_that_of_its_position_when_the_position_changes(take):
    take({"positions": [{"machine": "EX-01", "position": "boom left", "design": "D-200"}]})
    assert Assembly.objects.get(key="A-2").design.key == "D-100"


def test_an_assembly_that_was_only_built_is_on_no_position_until_it_is_installed(take):
    shelved = Assembly.objects.get(key="A-4")
    assert (shelved.position, shelved.design.key, str(shelved.built_on)) == (None, "D-200", "2024-01-08")
    stay = {"machine": "WL-02", "position": "lift", "design": "D-200", "installed_on": "2024-01-09"}
    outcome = take({"installations": [{"assembly": "A-4", **stay}]})
    assert created(outcome) == {"installations": 1}
    installed = Assembly.objects.get(key="A-4")
    assert (installed.pk, str(installed.position)) == (shelved.pk, "WL-02 lift")
    assert (str(installed.built_on), installed.crimped_by) == ("2024-01-08", "bench 1")


def test_a_build_can_be_mended_without_its_installation(take):
    build = fleet_files()["builds"][0] | {"hose_lot": "L-9", "built_by": "bench 3"}
    take({"builds": [build]})
    assembly = Assembly.objects.get(key="A-2")
    assert (assembly.hose_lot, assembly.crimped_by) == ("L-9", "bench 3")


def test_an_organization_that_is_known_keeps_its_own_rows(take, tmp_path):
    other = Organization.objects.create(name="Harbour", slug="quarry-2")
    folder = write_fleet_folder(tmp_path / "harbour", fleet_files())
    outcome = import_fleet(folder=folder, organization=other, today=TODAY)
    assert created(outcome)["machines"] == 2
    assert sorted(Machine.objects.filter(key="EX-01").values_list("organization__name", flat=True)) == [
        "Harbour",
        "Quarry",
    ]
    third = import_fleet(folder=folder, organization_name="Quarry!", today=TODAY).organization
    assert third.slug == "quarry-3"


def test_settings_are_kept_as_they_were_set(take):
    assert dict(Setting.objects.values_list("name", "value")) == {"currency": "EUR", "pressure_unit": "psi"}


def test_a_fault_in_the_midst_leaves_what_stood(take, monkeypatch):
    before = standing_tables(Organization.objects.get())
    files = fleet_files()
    files["machines"][0]["model"] = "other"
    files["policies"][0]["age_limit_days"] = "1000"

    stored = []

    def failing(noun, *given, **named):
        if stored:
            raise OSError("disk full")
        stored.append(noun.table)
        change_rows(noun, *given, **named)

    monkeypatch.setattr("fleet.services.folders.importing.change_rows", failing)
    with pytest.raises(OSError, match="disk full"):
        take(files)
    assert stored == ["machines"], "one table was written before the fault"
    after = standing_tables(Organization.objects.get())
    assert all(after[name].equals(before[name]) for name in before)
    assert MeterReading.objects.count() == 5
