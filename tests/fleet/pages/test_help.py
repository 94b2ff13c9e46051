"""The help pages say all that the forecasts rest on, and how they were tried."""

from html import unescape

import pytest

from fleet.models import Role
from fleet.services.plans.explaining import (
    list_assumptions,
    list_cost_runs,
    list_trial_runs,
    list_tried_figures,
)
from forecasting.life.priors import EFFECTS, FAULTS, PRIORS, SPREADS
from tests.benchmarks.laws import KINDS

RESTS_ON, TRIED = "/gravel-works/help/", "/gravel-works/help/tried/"


def test_every_belief_of_the_model_stands_on_the_page_with_its_source(member_of, planned):
    page = unescape(member_of(planned, Role.VIEWER).get(RESTS_ON).content.decode())

    beliefs = [*PRIORS.values(), *EFFECTS, *FAULTS, *SPREADS.values()]
    assert [one.words for one in beliefs if one.words not in page] == []
    assert [one.source for one in [*PRIORS.values(), *EFFECTS] if one.source not in page] == []
    assert all(basis in page for basis in ("own_history", "pooled", "prior_only"))
    assert "Never feel for leaks" in page


def test_a_belief_is_told_in_the_unit_of_a_person():
    law = {one.words: one for one in list_assumptions()["The law of life"]}
    worn = law["half of hoses worn out by 10,000 h, give or take a factor 4"]
    assert worn.value == pytest.approx(10_000)
    assert worn.low < 10_000 / 4 and worn.high > 10_000 * 4
    assert law["3 % of assemblies fail early, from 0.6 to 14 %"].value == pytest.approx(2.93)


def test_the_range_of_every_belief_holds_its_value():
    lines = [line for of_group in list_assumptions().values() for line in of_group]
    assert all(line.low < line.value < line.high for line in lines if line.low is not None)


def test_every_trial_tells_of_all_kinds_with_its_command(member_of, planned):
    page = unescape(member_of(planned, Role.MANAGER).get(TRIED).content.decode())

    for run in list_trial_runs():
        assert len(run.kinds) == len({one.kind for one in run.kinds}) == len(KINDS)
        assert run.command in page
        assert all(one.kind in page for one in run.kinds)
    for run in list_cost_runs():
        assert len(run.kinds) == len({one.kind for one in run.kinds}) >= 8
        assert run.command in page
    saved = [one for run in list_cost_runs() for kind in run.kinds for one in (kind.expected, kind.paid)]
    short = [one for run in list_trial_runs() for one in run.kinds if one.skill < one.aim]
    assert page.count("short of 0.") == len(short) + sum(one.share < one.aim for one in saved)
    behind = sum(one.share < one.fixed_age for one in saved)
    assert page.count("<strong>behind the fixed age</strong>") == behind
    assert all(one.what in page for one in list_tried_figures())


@pytest.mark.parametrize(
    "address",
    ["/gravel-works/due/", "/gravel-works/order/past-forecasts/", "/gravel-works/assemblies/A-1-1/"],
)
def test_pages_lead_to_the_help(member_of, planned, address):
    page = member_of(planned, Role.PLANNER).get(address).content.decode()
    assert f'href="{RESTS_ON}"' in page
