"""How the commands end where a person can act on what went wrong, and what they say then."""

import os
import subprocess
import sys

import pytest
from django.core.management import CommandError, call_command

from fleet.models import Organization, Plan
from tests.fleet.builders import fleet_files, write_fleet_folder
from tests.fleet.processes import ROOT, environment

A_SOLVER_THAT_SPEAKS = """
import ctypes

from fleet.management.terminal import solver_kept_quiet

with solver_kept_quiet():
    ctypes.CDLL(None).printf(b"the solver's own line\\n")
print("what the plan says")
"""


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return write_fleet_folder(tmp_path_factory.mktemp("in"), fleet_files())


@pytest.fixture(scope="module")
def imported(kept_for_module, folder):
    call_command("import_fleet", str(folder), "--organization=Quarry")


@pytest.fixture
def quarry(db, imported):
    return Organization.objects.get(name="Quarry")


def manage(*words: str, **more: str) -> subprocess.CompletedProcess:
    """A command of manage.py as a shell runs it, on a database of its own."""
    return subprocess.run(
        [sys.executable, "manage.py", *words],
        cwd=ROOT,
        env={**os.environ, "DEBUG": "1", "DATABASE_URL": "", **more},
        capture_output=True,
        text=True,
        check=False,
    )


def test_the_first_command_makes_the_embedded_database(folder, tmp_path):
    read = manage("import_fleet", str(folder), "--organization=Quarry", VAR_DIR=str(tmp_path / "var"))
    assert read.returncode == 0, read.stderr
    assert read.stdout.startswith("Read into the register of Quarry:\n")


def test_a_database_that_others_keep_is_not_changed_unasked(tmp_path):
    url = f"sqlite:///{tmp_path / 'theirs.sqlite3'}"
    refused = manage("replan", "--organization=Quarry", DATABASE_URL=url, VAR_DIR=str(tmp_path))
    assert refused.returncode == 1
    assert refused.stderr == (
        "CommandError: The database lacks tables of this version. Run `migrate`, then this again.\n"
    )


def test_a_database_that_cannot_be_opened_is_told_in_a_sentence(tmp_path):
    url = f"sqlite:///{tmp_path / 'missing' / 'fleet.sqlite3'}"
    refused = manage("replan", "--organization=Quarry", DATABASE_URL=url, VAR_DIR=str(tmp_path))
    assert refused.returncode == 1
    assert refused.stderr == "CommandError: The database cannot be reached: unable to open database file\n"


@pytest.mark.parametrize(
    "words",
    [
        ("replan", "--organization=Quarry", "--as-of=2024-06-30", "--out={file}"),
        ("export_fleet", "{file}", "--organization=Quarry"),
        ("invent_fleet", "{file}", "--machines=2", "--seed=1"),
    ],
)
def test_a_file_is_no_folder_to_write_into(words, quarry, tmp_path):
    file = tmp_path / "notes.txt"
    file.touch()
    with pytest.raises(CommandError, match=r"notes\.txt is a file\. Name a folder\."):
        call_command(*(word.format(file=file) for word in words))


def test_a_folder_within_a_file_is_refused_before_a_plan_is_made(quarry, tmp_path):
    file = tmp_path / "notes.txt"
    file.touch()
    with pytest.raises(CommandError, match=r"notes\.txt is a file\. Name a folder\."):
        call_command("replan", "--organization=Quarry", "--as-of=2024-06-30", f"--out={file / 'out'}")
    assert not Plan.objects.of(quarry).exists()


def test_where_nothing_can_be_written_no_plan_is_made(quarry, tmp_path, monkeypatch):
    # Whoever runs the tests as root may write anywhere.
    monkeypatch.setattr(os, "access", lambda path, mode: False)
    with pytest.raises(CommandError, match=r"Nothing can be written into .*\. Name another folder\."):
        call_command("replan", "--organization=Quarry", "--as-of=2024-06-30", f"--out={tmp_path / 'out'}")
    assert not Plan.objects.of(quarry).exists()


def test_findings_that_cannot_be_written_are_told_by_place_and_nothing_is_stored(db, folder, tmp_path):
    missing = tmp_path / "missing" / "findings.csv"
    with pytest.raises(CommandError) as refused:
        call_command("import_fleet", str(folder), "--organization=Gravel", f"--findings={missing}")
    assert str(refused.value) == f"{missing}: No such file or directory."
    assert not Organization.objects.filter(name="Gravel").exists()


@pytest.mark.parametrize("name", ["", "  ", "x" * 201])
def test_an_organization_needs_a_name_of_a_length_that_is_kept(name, db, folder):
    with pytest.raises(CommandError, match=r"Give it a name of 1 to 200 characters\.$"):
        call_command("import_fleet", str(folder), "--organization", name)
    assert not Organization.objects.exclude(name="Quarry").exists()


@pytest.mark.parametrize(("day", "told"), [("1949-12-31", "31 Dec 1949"), ("9999-12-31", "31 Dec 9999")])
def test_no_plan_is_made_for_a_day_out_of_reach(day, told, quarry):
    with pytest.raises(CommandError) as refused:
        call_command("replan", "--organization=Quarry", f"--as-of={day}")
    assert str(refused.value) == (
        f"There is no planning for {told}. Name a day from 1 Jan 1950 to 31 Dec 2100."
    )


def test_a_line_of_the_solver_does_not_reach_what_the_command_says(db):
    said = subprocess.run(
        [sys.executable, "-c", f"import django\ndjango.setup()\n{A_SOLVER_THAT_SPEAKS}"],
        cwd=ROOT,
        env=environment(),
        capture_output=True,
        text=True,
        check=True,
    )
    assert said.stdout == "what the plan says\n"


def test_a_plan_is_made_without_a_word_where_nobody_watches(quarry, capfd):
    capfd.readouterr()
    call_command("replan", "--organization=Quarry", "--as-of=2024-06-30")
    assert capfd.readouterr() == ("", "")
