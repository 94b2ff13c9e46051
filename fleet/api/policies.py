"""What ways of working cost beside the plan in force, and the published age rules."""

from django.urls import URLPattern, path
from django.utils.translation import gettext as _
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from fleet.frames.register import chosen_age_rule
from fleet.permissions import Action
from fleet.services.plans.age_rules import choose_age_rule, drop_age_rule
from fleet.services.plans.comparing import long_run
from fleet.trade.age_rules import CAUTION, load_age_rules

from .members import MemberView
from .plans import InForce


class PolicyYear(serializers.Serializer):
    """A year of living with one policy, in the long run."""

    policy = serializers.ChoiceField(choices=["plan", "run_to_failure", "best_fixed_age"])
    yearly_cost = serializers.FloatField(allow_null=True)
    failures = serializers.FloatField(allow_null=True)
    planned_changeouts = serializers.FloatField(allow_null=True)
    stock_value = serializers.FloatField(
        allow_null=True, help_text="of the plan; of the others `replan --what-if` tells it"
    )
    yearly_cost_low = serializers.FloatField(allow_null=True, help_text="with the high one: limits of 80 %")
    yearly_cost_high = serializers.FloatField(allow_null=True)
    failures_low = serializers.FloatField(allow_null=True)
    failures_high = serializers.FloatField(allow_null=True)


class ComparisonShown(serializers.Serializer):
    """The plan in force beside run to failure and the best fixed age."""

    plan = serializers.IntegerField()
    as_of = serializers.DateField()
    comparison = PolicyYear(many=True)


class AgeRuleShown(serializers.Serializer):
    """One published age rule; days are null where it says nothing of them."""

    name = serializers.CharField()
    standard = serializers.CharField()
    edition = serializers.CharField()
    applies_to = serializers.CharField()
    age_limit_days = serializers.FloatField(allow_null=True, help_text="in use, from the day of building")
    hose_shelf_days = serializers.FloatField(allow_null=True, help_text="of hose when it is built in")
    assembly_shelf_days = serializers.FloatField(allow_null=True)
    note = serializers.CharField()
    mark = serializers.ChoiceField(choices=["found", "memory"])
    source = serializers.CharField()


class AgeRulesShown(serializers.Serializer):
    """The published age rules, and which one is chosen."""

    caution = serializers.CharField()
    chosen = serializers.CharField(allow_null=True, help_text="the name of the rule that is chosen, if any")
    rules = AgeRuleShown(many=True)


class AgeRuleChoice(serializers.Serializer):
    """Which published age rule is chosen."""

    rule = serializers.CharField(allow_null=True, help_text="its name; null chooses none")


class Comparison(InForce):
    """What a year costs under the plan in force, under run to failure and under the best fixed age."""

    @extend_schema(responses=ComparisonShown)
    def get(self, request: Request) -> Response:
        """The comparison, as it stands in the report of the plan in force."""
        shown = {"plan": self.plan.pk, "as_of": self.plan.as_of, "comparison": long_run(self.plan)}
        return Response(ComparisonShown(shown).data)


class AgeRules(MemberView):
    """The published age rules. None applies unless it is chosen, and none goes before one's own limits."""

    asks = {"PUT": Action.SET_POLICY}

    def _shown(self) -> Response:
        chosen = chosen_age_rule(self.organization)
        shown = {"caution": _(CAUTION), "chosen": chosen and chosen.name, "rules": load_age_rules()}
        return Response(AgeRulesShown(shown).data)

    @extend_schema(responses=AgeRulesShown)
    def get(self, request: Request) -> Response:
        """The rules side by side, and the one that is chosen."""
        return self._shown()

    @extend_schema(request=AgeRuleChoice, responses=AgeRulesShown)
    def put(self, request: Request) -> Response:
        """Chooses a rule from the next plan on, or none."""
        wanted = AgeRuleChoice(data=request.data)
        wanted.is_valid(raise_exception=True)
        rule = wanted.validated_data["rule"]
        if rule is None:
            drop_age_rule(organization=self.organization, user=request.user)
        else:
            choose_age_rule(organization=self.organization, user=request.user, rule=rule)
        return self._shown()


def addresses() -> list[URLPattern]:
    return [
        path("plan/comparison/", Comparison.as_view(), name="comparison"),
        path("age-rules/", AgeRules.as_view(), name="age-rules"),
    ]
