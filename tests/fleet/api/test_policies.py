"""What ways of working cost, and the published age rules, for programs."""

from fleet.models import ChosenAgeRule, Membership, Role

RULES = "/api/v1/age-rules/"


def as_manager(organization) -> None:
    Membership.objects.filter(organization=organization).update(role=Role.MANAGER)


def test_the_plan_stands_beside_run_to_failure_and_the_best_fixed_age(planner, plan):
    plan.report |= {
        "yearly_cost": {
            "plan": 4100.0,
            "plan_failures": 1.2,
            "plan_planned_changeouts": 6.0,
            "plan_stock_value": 2300.0,
            "run_to_failure": None,
            "run_to_failure_failures": 4.6,
            "run_to_failure_planned_changeouts": 0.0,
            "best_fixed_age": 5300.0,
        }
    }
    plan.save()

    told = planner.get("/api/v1/plan/comparison/").json()

    assert (told["plan"], told["as_of"]) == (plan.pk, "2024-03-01")
    assert [row["policy"] for row in told["comparison"]] == ["plan", "run_to_failure", "best_fixed_age"]
    assert told["comparison"][0]["stock_value"] == 2300
    assert told["comparison"][1]["yearly_cost"] is None


def test_without_a_plan_there_is_nothing_to_compare(planner):
    assert planner.get("/api/v1/plan/comparison/").status_code == 404


def test_the_rules_are_listed_with_their_sources_and_none_holds(planner):
    told = planner.get(RULES).json()

    assert told["chosen"] is None
    assert "ceiling" in told["caution"]
    assert {"DIN 20066", "ISO 8331"} <= {rule["name"] for rule in told["rules"]}
    assert all(rule["source"] for rule in told["rules"])


def test_a_manager_chooses_a_rule_and_lets_it_go(planner, gravel):
    as_manager(gravel)

    assert planner.put(RULES, {"rule": "DIN 20066"}, format="json").json()["chosen"] == "DIN 20066"
    assert planner.put(RULES, {"rule": None}, format="json").json()["chosen"] is None


def test_a_rule_that_there_is_not_is_refused_by_its_code(planner, gravel):
    as_manager(gravel)

    refused = planner.put(RULES, {"rule": "BS 3832"}, format="json")

    assert (refused.status_code, refused.json()["code"]) == (400, "no_such_age_rule")


def test_a_planner_may_not_choose(planner, gravel):
    assert planner.put(RULES, {"rule": "DIN 20066"}, format="json").status_code == 403
    assert not ChosenAgeRule.objects.exists()
