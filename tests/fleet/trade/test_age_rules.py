"""The published age rules: where each is from, and that none goes before what an organization set itself."""

import pandas as pd
import pytest

from fleet.trade.age_rules import add_age_limit, add_shelf_lives, age_rule_named, load_age_rules
from forecasting.inputs import PARTS, POLICIES
from forecasting.policies import position_limits
from forecasting.tables import make_table
from tests.forecasting.builders import a_position, build_fleet, hose

DIN = age_rule_named("DIN 20066")


def limits_under_din(*policies: dict) -> dict[str, float]:
    """The age limit of each of two positions, the second one critical."""
    tables = build_fleet(
        positions=[a_position(position="P-1"), a_position(position="P-2", critical=True)],
        installations=[],
    )
    tables["policies"] = add_age_limit(make_table(list(policies), POLICIES), DIN)
    return position_limits(tables).set_index("position")["age_limit_days"].to_dict()


def shelf_life(rule: str, **of_part) -> float:
    parts = make_table([hose(**of_part)], PARTS)
    return add_shelf_lives(parts, age_rule_named(rule))["shelf_life_days"].item()


def test_every_rule_has_a_name_of_its_own_a_source_and_says_something():
    rules = load_age_rules()
    assert len({rule.name for rule in rules}) == len(rules)
    for rule in rules:
        assert rule.source and rule.note and rule.mark in ("found", "memory")
        assert any(
            days is not None for days in (rule.age_limit_days, rule.hose_shelf_days, rule.assembly_shelf_days)
        )


@pytest.mark.parametrize(
    ("rule", "years", "hose_years", "assembly_years"),
    [
        ("DIN 20066", 6, 4, 2),  # DIN 20066:2002-10, as trade pages that agree give it
        ("DGUV 113-020", 6, None, 2),  # DGUV 113-020 (2017)
        ("DGUV 113-020 severe duty", 2, None, None),  # DGUV 113-020 (2017)
        ("ISO 8331", None, 4, 2),  # ISO 8331, summary of 1991, storage clause of 2016
        ("US Navy training text", 5, 4, None),  # US Navy training text, edition not named
        ("UFC 4-390-01 critical", 5.5, None, None),  # UFC 4-390-01 (2003)
        ("UFC 4-390-01 not critical", 12, None, None),  # UFC 4-390-01 (2003)
    ],
)
def test_the_rules_say_what_was_read_of_them(rule, years, hose_years, assembly_years):
    found = age_rule_named(rule)
    told = (found.age_limit_days, found.hose_shelf_days, found.assembly_shelf_days)
    expected = (years, hose_years, assembly_years)
    assert [days and round(days / 365.25, 1) for days in told] == list(expected)


def test_a_chosen_rule_holds_where_the_organization_set_nothing():
    assert limits_under_din() == {"P-1": 2191, "P-2": 2191}


@pytest.mark.parametrize("own", [700, 4000])
def test_a_limit_of_ones_own_for_all_stands_whether_stricter_or_not(own):
    assert limits_under_din({"scope": "all", "age_limit_days": own}) == {"P-1": own, "P-2": own}


@pytest.mark.parametrize("scope", ["critical:yes", "position:M-1/P-2"])
def test_a_narrower_limit_of_ones_own_stands_in_its_scope(scope):
    assert limits_under_din({"scope": scope, "age_limit_days": 4000}) == {"P-1": 2191, "P-2": 4000}


@pytest.mark.parametrize("scope", ["site:North", "construction:100R2", "machine:M-1"])
def test_a_limit_of_ones_own_in_any_scope_is_never_overridden(scope):
    assert limits_under_din({"scope": scope, "age_limit_days": 4000}) == {"P-1": 4000, "P-2": 4000}


def test_other_limits_for_all_are_left_as_they_are():
    told = add_age_limit(
        make_table([{"scope": "all", "hours_limit": 6000, "service_level": 0.9}], POLICIES), DIN
    )
    assert told[["age_limit_days", "hours_limit", "service_level"]].to_numpy().tolist() == [[2191, 6000, 0.9]]


def test_without_a_chosen_rule_nothing_is_added():
    policies, parts = make_table(None, POLICIES), make_table([hose()], PARTS)
    pd.testing.assert_frame_equal(add_age_limit(policies, None), policies)
    pd.testing.assert_frame_equal(add_shelf_lives(parts, None), parts)


def test_hose_gets_the_rules_shelf_life_but_keeps_its_makers():
    assert shelf_life("DIN 20066") == 1461
    assert shelf_life("DIN 20066", shelf_life_days=3000) == 3000


def test_the_ten_years_of_rubber_hose_are_not_set_on_plastic():
    assert shelf_life("SAE bulk hose", construction="SAE 100R2AT") == 3652
    assert pd.isna(shelf_life("SAE bulk hose", construction="SAE 100R7"))


def test_a_made_up_assembly_has_a_shelf_life_of_its_own():
    parts = make_table([{"part": "A-1", "kind": "assembly", "unit": "each"}], PARTS)
    assert add_shelf_lives(parts, DIN)["shelf_life_days"].item() == 730
