"""What if through the API: ask, follow, read the comparison; what is wrong is told row by row."""

from fleet.models import Role, RunState, WhatIf

from .conftest import DAY

ROW = {
    "policy": "what_if",
    "yearly_cost": 4100.0,
    "failures": 2.5,
    "planned_changeouts": 9.0,
    "stock_value": None,
    "yearly_cost_low": 3600.0,
    "yearly_cost_high": 4900.0,
    "failures_low": 1.9,
    "failures_high": 3.4,
}


def asked(client, *policies, **more):
    return client.post("/api/v1/what-ifs/", {"policies": policies, **more}, format="json")


def test_a_question_is_asked_followed_and_answered(planner, gravel):
    answer = asked(planner, {"scope": "all", "age_limit_days": 1500}, as_of="2024-03-01")
    assert answer.status_code == 202
    followed = planner.get(answer["Location"]).json()
    assert (followed["state"], followed["comparison"]) == ("requested", [])
    assert followed["policies"].splitlines()[1] == "all,1500,,,,,,"

    WhatIf.objects.update(state=RunState.DONE, comparison=[ROW])
    assert planner.get(answer["Location"]).json()["comparison"] == [ROW]
    before = {name: told for name, told in ROW.items() if not name.endswith(("_low", "_high"))}
    WhatIf.objects.update(comparison=[before])  # compared before ranges were told
    assert planner.get(answer["Location"]).json()["comparison"][0]["failures_high"] is None


def test_a_policy_that_cannot_be_is_told_by_its_row_and_column(planner):
    answer = asked(planner, {"scope": "all", "risk_limit": 0.1}, {"scope": "site:nowhere", "risk_limit": 7})
    assert answer.status_code == 400
    assert {one["field"] for one in answer.json()["fields_wrong"]} >= {
        "policies.1.scope",
        "policies.1.risk_limit",
    }
    assert not WhatIf.objects.exists()


def test_while_one_is_reckoned_another_is_refused_and_a_day_out_of_reach_too(planner, gravel):
    assert asked(planner, as_of="1066-10-14").json()["code"] == "day_out_of_reach"
    WhatIf.objects.create(organization=gravel, as_of=DAY, policies="scope\n")
    second = asked(planner, {"scope": "all"})
    assert (second.status_code, second.json()["code"]) == (409, "what_if_runs")


def test_nobody_else_sees_it_and_the_shop_does_not_ask(planner, quarry, gravel, member, client_of):
    other = WhatIf.objects.create(organization=quarry, as_of=DAY, policies="scope\n")
    assert planner.get(f"/api/v1/what-ifs/{other.pk}/").status_code == 404
    shop = client_of(member(gravel, Role.SHOP, "bob"))
    assert asked(shop, {"scope": "all"}).status_code == 403
