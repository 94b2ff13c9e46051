"""`replan --what-if` as somebody types it: a comparison, or the findings, and nothing stored."""

import csv
import io

import pytest
from django.core.management import CommandError, call_command

from fleet.models import Plan
from fleet.services.folders.importing import import_fleet
from forecasting.outputs import COMPARISON

from .builders import fleet_files, write_fleet_folder

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def gravel(kept_for_module, tmp_path_factory) -> None:
    folder = write_fleet_folder(tmp_path_factory.mktemp("fleet"), fleet_files())
    import_fleet(folder=folder, organization_name="Gravel Works")


@pytest.fixture
def what_if(gravel, tmp_path):
    """Runs the command with a policies file of these lines; gives what it says on its two streams."""
    out, err = io.StringIO(), io.StringIO()

    def run(*lines: str) -> tuple[str, str]:
        policies = tmp_path / "stricter.csv"
        policies.write_text("\n".join([*lines, ""]), encoding="utf-8")
        call_command(
            "replan",
            "--organization=Gravel Works",
            "--as-of=2024-01-15",
            f"--what-if={policies}",
            f"--out={tmp_path / 'out'}",
            stdout=out,
            stderr=err,
        )
        return out.getvalue(), err.getvalue()

    run.streams = (out, err)
    return run


def test_a_comparison_is_shown_and_written_and_nothing_stored(what_if, tmp_path):
    out, err = what_if("scope,age_limit_days", "all,120")

    with (tmp_path / "out" / "comparison.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert list(rows[0]) == COMPARISON.names
    assert [row["policy"] for row in rows] == ["plan", "run_to_failure", "best_fixed_age", "what_if"]
    assert all(row["policy"] in out for row in rows)
    assert err == ""
    assert [path.name for path in (tmp_path / "out").iterdir()] == ["comparison.csv"]
    assert not Plan.objects.exists()


def test_mistakes_in_the_policies_are_shown_as_a_table_and_end_with_status_one(what_if, tmp_path):
    with pytest.raises(CommandError) as refused:
        what_if("scope,age_limit_days", "machine:EX-1,120")

    assert refused.value.returncode == 1
    told = " ".join(what_if.streams[1].getvalue().split())
    assert told == "error stricter.csv:2 scope No machine is named EX-1. Did you mean machine:EX-01?"
    assert not (tmp_path / "out").exists()
