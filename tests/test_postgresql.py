"""The register, the job and both ways in hold on PostgreSQL as they do on the embedded database.

The tests of `tests/fleet` that touch the database run once more, in a process of their own on a real server.
"""

import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
# What asks nothing of the database, or of the embedded one only; and what tries every answer at length.
LEFT_OUT = (
    "api/test_schema.py",
    "browser",
    "exchange",
    "trade",
    "test_importing_mistakes.py",
    "test_inventing.py",
    "test_quickstart.py",
    "test_telling.py",
    "test_terminal.py",
)


@pytest.mark.servers
def test_the_register_and_the_job_hold_on_postgresql(postgres_url):
    command = [sys.executable, "-m", "pytest", "tests/fleet", "-q", "-m", "not browser"]
    command += ["--numprocesses=0"]  # the other tests go on beside it
    command += [f"--ignore=tests/fleet/{name}" for name in LEFT_OUT] + ["-p", "no:cacheprovider"]
    environment = os.environ | {"DATABASE_URL": postgres_url}

    run = subprocess.run(command, cwd=ROOT, env=environment, capture_output=True, text=True)

    assert run.returncode == 0, run.stdout + run.stderr
    assert " passed" in run.stdout
