"""Every noun of the register is read under its own name, with its keys, in the units it is stored in."""

import pytest

from fleet.exchange.schema import FILES
from fleet.models import Assembly, Machine, Part


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.name)
def test_a_list_shows_the_columns_of_its_file_in_stored_units(file, planner):
    response = planner.get(f"/api/v1/{file.name}/")

    assert response.status_code == 200
    page = response.json()
    expected = [column.stored_name for column in file.columns]
    shown = [list(row) for row in page["results"]]
    assert page["count"] == len(shown) >= 1
    assert all(row == expected for row in shown)


@pytest.mark.parametrize(
    "file", [file for file in FILES if not file.may_be_empty], ids=lambda file: file.name
)
def test_each_row_is_found_under_its_key(file, planner):
    row = planner.get(f"/api/v1/{file.name}/").json()["results"][0]
    key = "/".join(str(row[name]) for name in file.key)

    response = planner.get(f"/api/v1/{file.name}/{key}/")

    assert response.status_code == 200
    assert response.json() == row


def test_a_position_names_its_machine_and_design_by_their_keys(planner):
    position = planner.get("/api/v1/positions/").json()["results"][0]

    assert (position["machine"], position["position"], position["design"]) == (
        "gravel-1",
        "gravel boom",
        "gravel design",
    )
    assert position["line"] == "pressure"
    assert position["planned_cost"] == "80.5000"


def test_what_is_not_known_is_null_whatever_its_kind(planner):
    position = planner.get("/api/v1/positions/").json()["results"][0]

    unknown = ("circuit", "exposure", "working_pressure_bar", "critical", "failure_cost")
    assert [position[name] for name in unknown] == [None] * 5


def test_a_part_number_with_a_slash_is_found_under_its_key(planner, gravel):
    Part.objects.create(organization=gravel, key="H 3/8", kind="bulk_hose", dash=6)

    assert planner.get("/api/v1/parts/H%203%2F8/").json()["dash"] == 6.0


def test_a_list_is_filtered_by_the_value_of_a_column(planner):
    ends = planner.get("/api/v1/parts/", {"kind": "hose_end"}).json()

    assert [part["part"] for part in ends["results"]] == ["gravel-hose_end"]


def test_installed_assemblies_are_those_whose_removal_is_not_known(planner, gravel):
    removed = Assembly.objects.get(key="gravel-A1")
    removed.removed_on = removed.installed_on.replace(month=9)
    removed.save()
    Assembly.objects.create(
        organization=gravel, key="gravel-A2", position=removed.position, installed_on=removed.removed_on
    )

    installed = planner.get("/api/v1/installations/", {"removed_on_known": "false"}).json()
    of_autumn = planner.get("/api/v1/installations/", {"removed_on_from": "2024-09-01"}).json()

    assert [row["assembly"] for row in installed["results"]] == ["gravel-A2"]
    assert [row["assembly"] for row in of_autumn["results"]] == ["gravel-A1"]


def test_a_misspelt_filter_is_refused_with_the_nearest_right_name(planner):
    response = planner.get("/api/v1/parts/", {"kin": "hose_end"})

    assert response.status_code == 400
    assert response.json() == {
        "code": "invalid",
        "text": "kin: There is no such filter. Did you mean kind?",
        "fields_wrong": [
            {"field": "kin", "code": "unknown_filter", "text": "There is no such filter. Did you mean kind?"}
        ],
    }


def test_a_list_comes_in_pages(planner, gravel):
    site = Machine.objects.get(key="gravel-1").site
    Machine.objects.bulk_create(
        Machine(organization=gravel, key=f"gravel-{number:03}", site=site) for number in range(10, 15)
    )

    first = planner.get("/api/v1/machines/", {"limit": 4}).json()
    rest = planner.get(first["next"]).json()

    assert first["count"] == rest["count"] == 6
    assert [len(first["results"]), len(rest["results"])] == [4, 2]
    keys = [machine["machine"] for machine in first["results"] + rest["results"]]
    assert keys == sorted(set(keys))


def test_a_list_takes_as_many_queries_for_one_row_as_for_many(planner, gravel, django_assert_max_num_queries):
    position = Assembly.objects.get(key="gravel-A1").position
    for number in range(20):
        other = position.__class__.objects.create(
            organization=gravel, machine=position.machine, key=f"place {number}", design=position.design
        )
        Assembly.objects.create(
            organization=gravel,
            key=f"A{number}",
            position=other,
            design=other.design,
            installed_on="2024-01-01",
        )

    with django_assert_max_num_queries(5):
        assert planner.get("/api/v1/installations/").json()["count"] == 21


def test_a_row_that_is_not_there_is_not_found(planner):
    response = planner.get("/api/v1/machines/nowhere/")

    assert response.status_code == 404
    assert response.json() == {"code": "not_found", "text": "There is no such row.", "fields_wrong": []}


@pytest.mark.parametrize("address", ["nowhere/", "machines", "machines/%00/", "plan/kits/%0A/", "%0A/"])
def test_an_address_that_leads_nowhere_is_answered_in_the_same_form(address, planner, gravel):
    response = planner.get(f"/api/v1/{address}")

    assert response.status_code == 404
    assert set(response.json()) == {"code", "text", "fields_wrong"}


def test_the_register_is_read_only_here(planner):
    assert planner.post("/api/v1/parts/", {"part": "new"}).status_code == 405
    assert not Part.objects.filter(key="new").exists()
