"""What if: ask what a year would cost under other policies, follow it, and read the comparison."""

from typing import Any

from django.urls import URLPattern, path
from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.exceptions import ValidationError
from rest_framework.request import Request
from rest_framework.response import Response

from fleet.jobs import enqueue_what_if
from fleet.models import Plan, WhatIf
from fleet.permissions import Action
from fleet.services.errors import FolderRefused
from fleet.services.plans.what_ifs import COLUMNS, WAITED_FOR, request_what_if, written_policies

from .fields import DayField, NumberField
from .policies import PolicyYear
from .runs import RunDetail, RunList, RunShown

MOST_POLICIES = 10_000

PolicySent = type(
    "PolicySent",
    (serializers.Serializer,),
    {
        "__doc__": "A row of policies.csv; what is not given is not limited.",
        "scope": serializers.CharField(max_length=200),
        **{column: NumberField(required=False, allow_null=True) for column in COLUMNS},
    },
)


class WhatIfSent(serializers.Serializer):
    """The policies to try; they take the place of all that stand."""

    policies = PolicySent(many=True, allow_empty=True, max_length=MOST_POLICIES)
    as_of = DayField(required=False, help_text="default: the day of the plan in force, or today")


class ComparedShown(PolicyYear):
    """A row of comparison.csv."""

    policy = serializers.CharField(help_text="plan, run_to_failure, best_fixed_age or what_if")
    stock_value = serializers.FloatField(allow_null=True)


class WhatIfShown(RunShown):
    """A question and how far it is."""

    waited_for = WAITED_FOR

    what_if = serializers.IntegerField(source="pk", read_only=True)

    class Meta(RunShown.Meta):
        model = WhatIf
        fields = ("what_if", "as_of", *RunShown.Meta.fields)
        read_only_fields = fields


class WhatIfAlone(WhatIfShown):
    """A question with its policies, and the comparison once it is done."""

    policies = serializers.CharField(help_text="as policies.csv holds them", read_only=True)
    comparison = ComparedShown(many=True, read_only=True)

    class Meta(WhatIfShown.Meta):
        fields = (*WhatIfShown.Meta.fields, "policies", "comparison")
        read_only_fields = fields


class WhatIfs(RunList):
    """The organization's questions, newest first."""

    queryset = WhatIf.objects.select_related("requested_by")
    serializer_class = WhatIfShown
    detail = "api:what-if"
    asks = {"POST": Action.REPLAN}

    @extend_schema(request=WhatIfSent, responses={202: WhatIfShown})
    def post(self, request: Request) -> Response:
        """Asks what a year would cost under other policies. Nothing of it comes into force."""
        sent = WhatIfSent(data=request.data)
        sent.is_valid(raise_exception=True)
        asked: dict[str, Any] = sent.validated_data
        plan = Plan.objects.in_force(self.organization)
        try:
            what_if = request_what_if(
                organization=self.organization,
                user=request.user,
                policies=written_policies(asked["policies"]),
                as_of=asked.get("as_of") or (plan.as_of if plan else timezone.localdate()),
            )
        except FolderRefused as refusal:
            raise ValidationError({"policies": _wrong(refusal.findings)}) from refusal
        enqueue_what_if(what_if.pk)
        return self.accept(what_if)


def _wrong(findings: list) -> dict[str, list[str]]:
    """What is wrong with the policies, by row (from 0) and column as they were sent."""
    told: dict[str, list[str]] = {}
    for one in findings:
        place = one.column if one.line is None else f"{one.line - 2}.{one.column}"
        told.setdefault(place, []).append(f"{one.wrong} {one.right}".strip())
    return told


class WhatIfDetail(RunDetail):
    """One question, by its number."""

    queryset = WhatIf.objects.select_related("requested_by")
    serializer_class = WhatIfAlone


def addresses() -> list[URLPattern]:
    return [
        path("what-ifs/", WhatIfs.as_view(), name="what-ifs"),
        path("what-ifs/<int:pk>/", WhatIfDetail.as_view(), name="what-if"),
    ]
