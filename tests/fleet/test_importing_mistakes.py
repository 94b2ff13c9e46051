"""A folder with thirty different mistakes: all thirty are told, and nothing is stored."""

import datetime

import pytest

from fleet.models import Organization
from fleet.services.errors import FolderRefused
from fleet.services.folders.importing import import_fleet
from tests.fleet.builders import fleet_files, write_fleet_folder

# Where each stands, and what is entered there instead.
THIRTY_MISTAKES = {
    ("sites.csv", 3, "site"): "North pit",  # a second time
    ("machines.csv", 2, "site"): "Nort pit",
    ("machines.csv", 3, "hours_per_day"): "25",
    ("machines.csv", 4, "machine"): "",
    ("machines.csv", 5, "commissioned_on"): "31.12.2023",
    ("meter_readings.csv", 3, "hours"): "5100",  # backward
    ("meter_readings.csv", 6, "hours"): "99000",  # over 24 hours a day
    ("parts.csv", 2, "rated_pressure_psi"): "33000",  # kPa
    ("parts.csv", 3, "kind"): "hoseend",
    ("parts.csv", 4, "unit_cost"): "0,90",
    ("parts.csv", 5, "superseded_by"): "S-06M",
    ("parts.csv", 7, "unit"): "each",  # bulk hose
    ("crimp_specs.csv", 2, "ferrule_part"): "S-06N",  # a sleeve
    ("designs.csv", 2, "end_a_part"): "E-JIC-08",  # dash 8 on dash 6
    ("designs.csv", 3, "overall_length_in"): "0",
    ("designs.csv", 4, "overall_length_in"): "3",  # the ends take 3 1/2
    ("design_parts.csv", 2, "place"): "c",
    ("positions.csv", 2, "critical"): "Y",
    ("positions.csv", 3, "exposure"): "hott",
    ("positions.csv", 4, "machine"): "WL-20",
    ("installations.csv", 2, "removed_on"): "2022-02-28",  # before installed
    ("installations.csv", 2, "built_on"): "2021-10-31",  # before its hose was made
    ("installations.csv", 4, "removal_cause"): "worn",  # still there
    ("installations.csv", 5, "installed_on"): "2023-06-01",  # while A-2 is there
    ("builds.csv", 2, "hose_lot"): "L-9",  # the installation says L-8
    ("crimp_readings.csv", 3, "end"): "c",
    ("inspections.csv", 2, "grade"): "bad",
    ("stock.csv", 2, "on_hand_ft"): "-1",
    ("service_windows.csv", 2, "ends_on"): "2024-02-28",
    ("policies.csv", 3, "scope"): "position:EX-01/boom lft",
}


def folder_with_thirty_mistakes(folder):
    files = fleet_files()
    files["sites"].append({})
    files["machines"] += [
        {"site": "North pit", "model": "crusher"},
        {"machine": "CR-03", "site": "North pit"},
    ]
    files["parts"] += [
        {"part": "H-R1-08", "kind": "bulk_hose", "dash": "8"},
        {"part": "E-JIC-08", "kind": "hose_end", "dash": "8", "cutoff_in": "1.75"},
    ]
    files["designs"].append(files["designs"][0] | {"design": "D-300"})
    files["installations"].append({"assembly": "A-5", "machine": "EX-01", "position": "boom left"})
    for (file, line, column), text in THIRTY_MISTAKES.items():
        files[file.removesuffix(".csv")][line - 2][column] = text
    return write_fleet_folder(folder, files)


def _place(finding):
    return finding.file, finding.line, finding.column


@pytest.mark.django_db
def test_thirty_mistakes_are_all_told_with_file_and_line_and_nothing_is_stored(tmp_path):
    folder = folder_with_thirty_mistakes(tmp_path / "fleet")
    with pytest.raises(FolderRefused) as refused:
        import_fleet(folder=folder, organization_name="Quarry", today=datetime.date(2024, 2, 1))
    findings = refused.value.findings
    places = {_place(finding) for finding in findings}
    assert len(THIRTY_MISTAKES) == 30
    assert set(THIRTY_MISTAKES) - places == set()
    assert not Organization.objects.exists()
    # No mistake makes others elsewhere.
    assert [str(finding) for finding in findings if _place(finding) not in THIRTY_MISTAKES] == []


@pytest.mark.django_db
def test_a_key_that_is_not_known_is_sought_in_the_register_where_its_file_was_not_sent(tmp_path):
    quarry = import_fleet(
        folder=write_fleet_folder(tmp_path / "fleet", fleet_files()), organization_name="Quarry"
    ).organization
    reading = {"read_on": "2024-01-10", "hours": "12"}
    rights = []
    for machine in ("EX-1", "drill"):
        folder = write_fleet_folder(tmp_path / machine, {"meter_readings": [reading | {"machine": machine}]})
        with pytest.raises(FolderRefused) as refused:
            import_fleet(folder=folder, organization=quarry)
        rights += [one.right for one in refused.value.findings if one.severity == "error"]
    assert rights == ["Did you mean EX-01?", "Enter one of the register's machines: EX-01, WL-02."]
