"""The register, the job and both ways in hold on PostgreSQL as they do on the embedded database.

What of `tests/fleet` asks the most of a database runs once more, in a process of its own on a real server.
"""

import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
# Every page and noun, the job, and of the acts those that two may do at once or that store much together.
ONCE_MORE: dict[str, tuple[str, ...]] = {
    "api/test_bench.py": ("test_a_program_follows_one_hose_from_worn_to_the_next_one_installed",),
    "api/test_register.py": (),  # all of it
    "frames": (),
    "pages/test_query_counts.py": (),
    "pages/test_sorting.py": (),
    "test_bench.py": (
        "test_what_is_accepted_exists_with_its_build_and_its_parts_have_left_the_stock_lot_by_lot",
        "test_a_tag_follows_the_last_and_is_never_given_twice",
        "test_a_scrapped_build_uses_up_its_parts_and_others_are_set_aside_for_the_next_try",
        "test_one_hose_from_worn_to_the_next_one_installed",
    ),
    "test_bench_balance.py": (),
    "test_bench_at_once.py": (),
    "test_decisions_at_once.py": (),
    "test_importing.py": (
        "test_every_row_of_every_file_is_taken_in",
        "test_history_tells_who_changed_what_and_when",
    ),
    "test_importing_again.py": (
        "test_reading_the_same_folder_twice_changes_nothing_and_says_so",
        "test_two_assemblies_may_change_places_in_one_folder",
        "test_a_fault_in_the_midst_leaves_what_stood",
    ),
    "test_jobs.py": (  # not what is done where no broker answers: that asks the database nothing
        "test_a_worker_behind_a_broker_reads_a_folder_and_makes_the_plan",
        "test_without_a_broker_a_plan_is_made_in_this_process_while_the_answer_is_out",
        "test_a_job_starts_only_once_what_it_works_on_is_committed",
        "test_a_job_whose_reason_was_taken_back_never_starts",
    ),
    "test_kits.py": (
        "test_a_begun_kit_holds_real_pieces_and_lots",
        "test_taken_apart_everything_is_anybodys_again",
        "test_a_hose_that_is_cut_comes_back_as_an_offcut_of_its_lot",
        "test_of_two_who_begin_one_kit_at_once_one_is_told",
    ),
    "test_readings_at_once.py": (),
    "test_register.py": (),
    "test_replanning.py": (
        "test_a_plan_comes_into_force_with_all_its_lines",
        "test_a_run_that_was_given_up_publishes_nothing",
    ),
    "test_replanning_at_once.py": (
        "test_of_two_at_once_one_is_made_and_the_other_says_that_one_runs",
        "test_killing_the_process_leaves_the_old_plan_in_force_and_a_later_run_succeeds",
    ),
    "test_stock.py": (),
    "test_tracing.py": (
        "test_what_is_in_place_of_a_part_is_counted_as_it_is_traced",
        "test_one_act_has_a_whole_lot_looked_at",
        "test_one_act_has_a_bench_s_work_changed_and_leaves_what_is_to_go_sooner",
    ),
    "test_work.py": (
        "test_what_the_bench_built_goes_on_with_all_that_is_known_of_it",
        "test_a_form_sent_twice_counts_once_and_says_again_what_it_did",
        "test_a_days_work_on_a_machine_is_stored_whole_or_not_at_all",
        "test_a_form_of_the_same_day_takes_off_nothing_that_another_just_put_on",
        "test_pasted_rows_sent_twice_count_once",
    ),
    "test_work_at_once.py": (),
}


@pytest.mark.servers
def test_the_register_and_the_job_hold_on_postgresql(postgres_url):
    command = [sys.executable, "-m", "pytest", "-q", "--numprocesses=0"]  # the other tests go on beside it
    command += ["-p", "no:cacheprovider"]
    for name, tests in ONCE_MORE.items():
        command += [f"tests/fleet/{name}::{test}" for test in tests] or [f"tests/fleet/{name}"]
    environment = os.environ | {"DATABASE_URL": postgres_url}

    run = subprocess.run(command, cwd=ROOT, env=environment, capture_output=True, text=True)

    assert run.returncode == 0, run.stdout + run.stderr
    assert " passed" in run.stdout
