"""`import_fleet` and `export_fleet` as somebody types them."""

import io
import subprocess
import sys

import pytest
from django.core.management import CommandError, call_command

from fleet.models import Build, Machine, Organization
from fleet.services.folders.importing import import_fleet
from tests.fleet.builders import fleet_files, write_fleet_folder
from tests.fleet.processes import ROOT, environment

# Reads a folder and is killed while half of its tables are written.
KILLED_READING = """
import os, signal, sys
from pathlib import Path

import django

django.setup()
from fleet.services.folders.importing import import_fleet


def die(step):
    if step.startswith("Storing builds"):
        os.kill(os.getpid(), signal.SIGKILL)


import_fleet(folder=Path(sys.argv[1]), organization_name="Quarry", progress=die)
"""


def run(*arguments) -> tuple[str, str]:
    """What the command says on its two streams."""
    out, err = io.StringIO(), io.StringIO()
    call_command(*map(str, arguments), stdout=out, stderr=err)
    return out.getvalue(), err.getvalue()


@pytest.mark.django_db
def test_a_folder_is_read_and_written_back(tmp_path):
    folder = write_fleet_folder(tmp_path / "in", fleet_files())
    out, err = run("import_fleet", folder, "--organization", "Quarry")
    assert out.startswith("Read into the register of Quarry:\n")
    assert "  installations: 3 created\n" in out
    assert err == ""
    out, _ = run("import_fleet", folder, "--organization", "Quarry")
    assert out == "Nothing changed: the register of Quarry held all 39 rows already.\n"
    out, _ = run("export_fleet", tmp_path / "out", "--organization", "Quarry")
    assert out == f"18 files written to {tmp_path / 'out'}.\n"


@pytest.mark.django_db
def test_mistakes_are_shown_as_a_table_and_written_as_csv(tmp_path):
    files = fleet_files()
    files["machines"][0]["site"] = "Nort pit"
    folder = write_fleet_folder(tmp_path / "in", files)
    err = io.StringIO()
    with pytest.raises(CommandError) as refused:
        call_command(
            "import_fleet",
            str(folder),
            "--organization=Quarry",
            f"--findings={tmp_path / 'findings.csv'}",
            stderr=err,
        )
    assert refused.value.returncode == 1
    assert str(refused.value).startswith("1 error in the fleet folder: nothing was stored.")
    assert err.getvalue().split()[:3] == ["error", "machines.csv:2", "site"]
    lines = (tmp_path / "findings.csv").read_text().splitlines()
    assert lines[:2] == [
        "severity,file,line,column,value,wrong,right",
        "error,machines.csv,2,site,Nort pit,Nort pit is not in sites.,Did you mean North pit?",
    ]


@pytest.mark.django_db
def test_findings_that_go_into_the_folder_do_not_stop_its_reading(tmp_path):
    folder = write_fleet_folder(tmp_path / "in", fleet_files())
    out, _ = run("import_fleet", folder, "--organization", "Quarry", "--findings", folder / "findings.csv")
    assert out.startswith("Read into the register of Quarry:")
    assert (folder / "findings.csv").read_text().startswith("severity,file,line")


@pytest.mark.django_db
def test_an_organization_that_is_not_there_has_nothing_to_export(tmp_path):
    run("import_fleet", write_fleet_folder(tmp_path / "in", fleet_files()), "--organization", "Quarry")
    with pytest.raises(CommandError, match="Quarry"):
        run("export_fleet", tmp_path / "out", "--organization", "Quary")
    assert not (tmp_path / "out").exists()


@pytest.mark.django_db
def test_ctrl_c_in_the_midst_stores_nothing(tmp_path, monkeypatch):
    def interrupt(step):
        if step.startswith("Storing builds"):
            raise KeyboardInterrupt

    monkeypatch.setattr("fleet.management.commands.import_fleet.shown_progress", lambda: interrupt)
    folder = write_fleet_folder(tmp_path / "in", fleet_files())
    with pytest.raises(CommandError, match=r"^Stopped; nothing was stored\.$") as stopped:
        call_command("import_fleet", str(folder), "--organization=Quarry")
    assert stopped.value.returncode == 130
    assert not Organization.objects.exists()


@pytest.mark.django_db(transaction=True)
def test_a_reading_that_is_killed_in_the_midst_leaves_what_stood(tmp_path):
    files = fleet_files()
    import_fleet(folder=write_fleet_folder(tmp_path / "in", files), organization_name="Quarry")
    files["machines"][0]["model"] = "36 t excavator"
    files["builds"].append({"assembly": "A-5", "design": "D-100", "built_on": "2024-01-09"})
    folder = write_fleet_folder(tmp_path / "again", files)
    killed = subprocess.run(
        [sys.executable, "-c", KILLED_READING, str(folder)], cwd=ROOT, env=environment(), check=False
    )
    assert killed.returncode == -9
    assert Machine.objects.get(key="EX-01").model == "30 t excavator"
    assert Build.objects.count() == 2
    # The next reading finds nothing in its way.
    assert not import_fleet(folder=folder, organization_name="Quarry").changed_nothing
    assert Machine.objects.get(key="EX-01").model == "36 t excavator"
