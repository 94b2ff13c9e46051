"""A published age rule is chosen by its name, holds behind the organization's own limits, and is off else."""

import datetime

import pytest

from fleet.frames.register import core_tables, register_tables
from fleet.models import Assembly, ChosenAgeRule, Organization, Part, Policy, User
from fleet.services.folders.importing import import_fleet
from fleet.services.plans.age_rules import NoSuchAgeRule, choose_age_rule, drop_age_rule
from forecasting.designs.margins import judge_margins
from forecasting.policies import position_limits

from .builders import fleet_files, write_fleet_folder

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def gravel(kept_for_module, tmp_path_factory) -> Organization:
    """An organization with a small fleet and no policies."""
    files = fleet_files()
    del files["policies"]
    folder = write_fleet_folder(tmp_path_factory.mktemp("fleet"), files)
    return import_fleet(folder=folder, organization_name="Gravel Works").organization


def age_limits(organization: Organization) -> set[float]:
    return set(position_limits(core_tables(organization))["age_limit_days"].dropna())


def choose(organization: Organization, rule: str, user: User | None = None) -> ChosenAgeRule:
    return choose_age_rule(organization=organization, user=user, rule=rule)


def test_no_rule_holds_until_one_is_chosen_and_none_once_it_is_dropped(gravel):
    assert age_limits(gravel) == set()
    choose(gravel, "DIN 20066")
    assert age_limits(gravel) == {2191}
    drop_age_rule(organization=gravel, user=None)
    assert age_limits(gravel) == set()


def test_one_rule_holds_at_a_time(gravel):
    choose(gravel, "DIN 20066")
    choose(gravel, "US Navy training text")
    assert age_limits(gravel) == {1826}
    assert ChosenAgeRule.objects.of(gravel).count() == 1


def test_a_published_rule_never_overrides_an_own_one(gravel):
    Policy.objects.create(organization=gravel, scope="site:North pit", age_limit_days=4000)
    choose(gravel, "DIN 20066")
    assert age_limits(gravel) == {4000}


def test_a_rule_is_no_row_of_the_register(gravel):
    choose(gravel, "DIN 20066")
    assert register_tables(gravel)["policies"].empty


def test_who_chose_it_stands_in_its_history(gravel):
    ada = User.objects.create_user("ada")
    chosen = choose(gravel, "DIN 20066", ada)
    assert [record.history_user for record in chosen.history.all()] == [ada]


def test_a_name_that_no_rule_has_is_refused_with_those_that_there_are(gravel):
    with pytest.raises(NoSuchAgeRule, match="DIN 20066, DGUV 113-020"):
        choose(gravel, "DIN 20067")
    assert not ChosenAgeRule.objects.exists()


def test_hose_over_the_rules_storage_age_when_built_in_is_thin(gravel):
    Part.objects.of(gravel).update(shelf_life_days=None)
    Assembly.objects.of(gravel).update(hose_made_on=datetime.date(2010, 1, 1))

    def reasons() -> str:
        tables = core_tables(gravel)
        judged = judge_margins(tables["installations"], tables, position_limits(tables))
        return " ".join(judged.loc[judged["verdict"] != "sound", "reason"].fillna(""))

    assert "past its shelf life" not in reasons()
    choose(gravel, "DIN 20066")
    assert "past its shelf life of 1,461 days" in reasons()
