"""What if, asked on a page: kept, answered by a job, in force nowhere."""

import datetime

import pytest

from fleet.models import Organization, Plan, Policy, RunState, WhatIf
from fleet.services.errors import FolderRefused
from fleet.services.plans.what_ifs import WhatIfRuns, own_policies, request_what_if, run_what_if
from tests.fleet.builders import take_small_fleet

AS_OF = datetime.date(2024, 1, 15)
pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def gravel(kept_for_module, tmp_path_factory) -> Organization:
    return take_small_fleet(tmp_path_factory.mktemp("fleet"), "Gravel Works")


def asked(organization: Organization, policies: str) -> WhatIf:
    return request_what_if(organization=organization, user=None, policies=policies, as_of=AS_OF)


def test_an_answer_holds_four_ways_of_working_and_changes_nothing(gravel):
    before = list(Policy.objects.of(gravel).values())
    policies = own_policies(gravel, {"age_limit_days": 120.0}, narrower=False)
    answer = run_what_if(asked(gravel, policies).pk)
    assert answer.state == RunState.DONE
    lines = {line["policy"]: line for line in answer.comparison}
    assert list(lines) == ["plan", "run_to_failure", "best_fixed_age", "what_if"]
    assert lines["what_if"]["planned_changeouts"] > lines["plan"]["planned_changeouts"]
    assert list(Policy.objects.of(gravel).values()) == before and not Plan.objects.exists()


def test_our_own_narrower_limits_stay_or_go_as_asked(gravel):
    Policy.objects.of(gravel).delete()
    Policy.objects.create(organization=gravel, scope="all", age_limit_days=900)
    Policy.objects.create(organization=gravel, scope="critical:yes", risk_limit=0.05)
    kept, gone = (own_policies(gravel, {"hours_limit": 4000.0}, narrower).split("\n") for narrower in (1, 0))
    assert kept[1:3] == ["all,,4000,,,,,", "critical:yes,,,0.05,,,,"]
    assert gone[1:] == ["all,,4000,,,,,", ""]


def test_a_second_question_waits_for_the_first(gravel):
    policies = own_policies(gravel, {})
    first = asked(gravel, policies)
    with pytest.raises(WhatIfRuns):
        asked(gravel, policies)
    WhatIf.objects.filter(pk=first.pk).update(state=RunState.DONE)
    asked(gravel, policies)


def test_limits_that_cannot_be_are_refused_with_every_finding(gravel):
    with pytest.raises(FolderRefused) as refused:
        asked(gravel, "scope,risk_limit\nall,7\n")
    assert refused.value.findings and not WhatIf.objects.exists()


def test_an_answer_is_not_reckoned_twice(gravel):
    one = asked(gravel, own_policies(gravel, {}))
    WhatIf.objects.filter(pk=one.pk).update(state=RunState.RUNNING)
    assert run_what_if(one.pk).comparison == []
