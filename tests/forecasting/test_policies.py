import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from forecasting.policies import position_limits, service_levels
from tests.forecasting.builders import a_design, a_machine, a_position, a_site, build_tables, hose, hose_end


def fleet(policies, **position):
    return build_tables(
        sites=[a_site("North"), a_site("South")],
        machines=[a_machine("M-1", site="North"), a_machine("M-2", site="South")],
        parts=[hose(construction="SAE 100R2AT"), hose_end()],
        designs=[a_design()],
        positions=[
            a_position("M-1", "boom 1", circuit="boom", critical=True, **position),
            a_position("M-2", "boom 1", circuit="tilt", critical=False, **position),
        ],
        policies=policies,
    )


def test_without_a_policy_only_surge_and_thin_margin_have_limits():
    limits = position_limits(fleet([]))
    assert limits[["machine", "position"]].to_numpy().tolist() == [["M-1", "boom 1"], ["M-2", "boom 1"]]
    assert limits["surge_allowance_percent"].tolist() == [25, 25]
    assert limits["thin_margin_percent"].tolist() == [10, 10]
    assert limits[["age_limit_days", "hours_limit", "risk_limit", "risk_horizon_days"]].isna().all(axis=None)


NARROWER = [
    "all",
    "site:North",
    "construction:100 R2",
    "circuit:boom",
    "critical:yes",
    "machine:M-1",
    "position:M-1/boom 1",
]


@pytest.mark.parametrize("narrow", range(1, len(NARROWER)))
def test_the_narrowest_scope_wins(narrow):
    policies = [
        {"scope": scope, "age_limit_days": 100 + place} for place, scope in enumerate(NARROWER[: narrow + 1])
    ]
    limits = position_limits(fleet(policies[::-1])).set_index("machine")
    assert limits.loc["M-1", "age_limit_days"] == 100 + narrow


def test_a_narrow_scope_leaves_what_it_does_not_set():
    policies = [
        {"scope": "all", "age_limit_days": 2190, "hours_limit": 6000},
        {"scope": "machine:M-1", "hours_limit": 4000, "thin_margin_percent": 15},
    ]
    limits = position_limits(fleet(policies)).set_index("machine")
    assert limits.loc["M-1", ["age_limit_days", "hours_limit", "thin_margin_percent"]].tolist() == [
        2190,
        4000,
        15,
    ]
    assert limits.loc["M-2", ["age_limit_days", "hours_limit", "thin_margin_percent"]].tolist() == [
        2190,
        6000,
        10,
    ]


def test_a_limit_of_nought_is_a_limit():
    limits = position_limits(fleet([{"scope": "all", "surge_allowance_percent": 0}]))
    assert limits["surge_allowance_percent"].tolist() == [0, 0]


def test_a_scope_that_names_nothing_here_sets_nothing():
    policies = [
        {"scope": scope, "age_limit_days": 1} for scope in ("site:East", "construction:4SP", "part:H-6")
    ]
    assert position_limits(fleet(policies))["age_limit_days"].isna().all()


def test_a_position_without_design_circuit_or_criticality_takes_the_wider_scopes():
    tables = fleet([{"scope": "all", "age_limit_days": 9}, {"scope": "critical:yes", "age_limit_days": 5}])
    tables["positions"] = (
        tables["positions"]
        .assign(design=None, circuit=None, critical=None)
        .astype({"design": "str", "circuit": "str", "critical": "boolean"})
    )
    assert position_limits(tables)["age_limit_days"].tolist() == [9, 9]


def test_a_service_level_holds_for_every_part_at_every_site():
    policies = [
        {"scope": "site:South", "service_level": 0.9},
        {"scope": "part:H-6", "service_level": 0.99},
    ]
    levels = service_levels(fleet(policies)).set_index(["part", "site"])["service_level"]
    assert levels.to_dict() == {
        ("H-6", "North"): 0.99,
        ("H-6", "South"): 0.99,
        ("E-6", "North"): 0.95,
        ("E-6", "South"): 0.9,
    }


@settings(max_examples=15, deadline=None)
@given(st.permutations(range(len(NARROWER))))
def test_row_order_is_irrelevant(order):
    policies = [
        {"scope": scope, "age_limit_days": 100 + place if place % 2 else np.nan, "risk_limit": place / 10}
        for place, scope in enumerate(NARROWER)
    ]
    mixed = position_limits(fleet([policies[place] for place in order]))
    assert mixed.equals(position_limits(fleet(policies)))
