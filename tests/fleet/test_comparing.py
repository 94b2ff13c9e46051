"""What if: the same job under the policies of a file, held against the plan; nothing of it is stored."""

import datetime
from pathlib import Path

import pytest

from fleet.models import LINES, Organization, Plan, Policy
from fleet.services.errors import FolderRefused
from fleet.services.plans.comparing import compare_policies

from .builders import fleet_files, take_small_fleet, write_fleet_folder

AS_OF = datetime.date(2024, 1, 15)
pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def gravel(kept_for_module, tmp_path_factory) -> Organization:
    return take_small_fleet(tmp_path_factory.mktemp("fleet"), "Gravel Works")


@pytest.fixture(scope="module")
def policies(gravel) -> list[dict]:
    """The policies that stand in its register."""
    return list(Policy.objects.of(gravel).values())


@pytest.fixture(scope="module")
def stricter(gravel, policies, tmp_path_factory):
    """Its plan compared with one that changes every hose after four months."""
    path = policies_file(tmp_path_factory.mktemp("policies"), "scope,age_limit_days", "all,120")
    return compared(gravel, path)


def policies_file(tmp_path: Path, *lines: str) -> Path:
    path = tmp_path / "stricter.csv"
    path.write_text("\n".join([*lines, ""]), encoding="utf-8")
    return path


def compared(organization: Organization, path: Path):
    comparison = compare_policies(organization=organization, policies_file=path, as_of=AS_OF)
    return comparison.set_index("policy")


def test_the_policies_in_force_compare_as_the_plan(gravel, tmp_path):
    own = write_fleet_folder(tmp_path, {"policies": fleet_files()["policies"]})

    told = compared(gravel, own / "policies.csv")

    assert list(told.index) == ["plan", "run_to_failure", "best_fixed_age", "what_if"]
    assert told.loc["what_if"].tolist() == told.loc["plan"].tolist()
    assert told["failures"].min() > 0
    assert told.loc["run_to_failure", "planned_changeouts"] == 0
    assert told["stock_value"].notna().all()


def test_an_earlier_age_limit_means_more_changeouts_and_fewer_failures(stricter):
    what_if, plan = stricter.loc["what_if"], stricter.loc["plan"]

    assert what_if["planned_changeouts"] > 2 * plan["planned_changeouts"]
    assert what_if["failures"] < plan["failures"]


def test_a_higher_service_level_ties_up_more_in_stock(gravel, tmp_path):
    low = compared(gravel, policies_file(tmp_path, "scope,service_level", "all,0.5"))
    high = compared(gravel, policies_file(tmp_path, "scope,service_level", "all,0.999"))

    assert high.loc["what_if", "stock_value"] > low.loc["what_if", "stock_value"]
    assert high.loc["plan", "stock_value"] == low.loc["plan", "stock_value"]


def test_nothing_is_stored(gravel, policies, stricter):
    assert list(Policy.objects.of(gravel).values()) == policies
    assert not Plan.objects.exists()
    assert not LINES["changeouts"].objects.exists()


def test_a_scope_that_names_nothing_is_found_as_in_a_fleet_folder(gravel, tmp_path):
    path = policies_file(tmp_path, "scope,age_limit_days,hours_limit", "machine:EX-1,120,", "all,soon,")

    with pytest.raises(FolderRefused) as refused:
        compared(gravel, path)

    found = {(one.file, one.line, one.column) for one in refused.value.findings}
    assert found == {("stricter.csv", 2, "scope"), ("stricter.csv", 3, "age_limit_days")}


def test_a_column_that_policies_do_not_have_is_refused(gravel, tmp_path):
    with pytest.raises(FolderRefused) as refused:
        compared(gravel, policies_file(tmp_path, "scope,age_limit", "all,120"))

    assert refused.value.findings[0].right == "Did you mean age_limit_days?"


def test_a_file_that_is_not_there_is_refused(gravel, tmp_path):
    with pytest.raises(FolderRefused) as refused:
        compared(gravel, tmp_path / "none.csv")

    assert "does not exist" in refused.value.findings[0].wrong
