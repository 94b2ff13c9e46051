"""The register, the job and both ways in hold on PostgreSQL as they do on the embedded database.

What of `tests/fleet` asks the most of a database runs once more, in a process of its own on a real server.
"""

import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
# The register, the job, the acts of the bench and on the machine, and every page and noun once.
ONCE_MORE = (
    "api/test_bench.py",
    "api/test_register.py",
    "api/test_work.py",
    "frames",
    "pages/test_query_counts.py",
    "pages/test_sorting.py",
    "test_bench.py",
    "test_importing.py::test_every_row_of_every_file_is_taken_in",
    "test_importing.py::test_reading_the_same_folder_twice_changes_nothing_and_says_so",
    "test_importing.py::test_history_tells_who_changed_what_and_when",
    "test_importing.py::test_two_assemblies_may_change_places_in_one_folder",
    "test_importing.py::test_a_fault_in_the_midst_leaves_what_stood",
    "test_jobs.py",
    "test_kits.py",
    "test_register.py",
    "test_replanning.py::test_a_plan_comes_into_force_with_all_its_lines",
    "test_replanning.py::test_of_two_at_once_one_is_made_and_the_other_says_that_one_runs",
    "test_replanning.py::test_a_run_that_was_given_up_publishes_nothing",
    "test_replanning.py::test_killing_the_process_leaves_the_old_plan_in_force_and_a_later_run_succeeds",
    "test_stock.py",
    "test_tracing.py",
    "test_work.py",
)
ONE_SEED_IS_ENOUGH = "not (hundred_acts and not 2)"


@pytest.mark.servers
def test_the_register_and_the_job_hold_on_postgresql(postgres_url):
    command = [sys.executable, "-m", "pytest", *(f"tests/fleet/{name}" for name in ONCE_MORE), "-q"]
    command += ["-k", ONE_SEED_IS_ENOUGH]
    command += ["--numprocesses=0", "-p", "no:cacheprovider"]  # the other tests go on beside it
    environment = os.environ | {"DATABASE_URL": postgres_url}

    run = subprocess.run(command, cwd=ROOT, env=environment, capture_output=True, text=True)

    assert run.returncode == 0, run.stdout + run.stderr
    assert " passed" in run.stdout
