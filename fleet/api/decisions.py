"""What people decided about changeouts: read, weighed, made, withdrawn. The next plan honours what stands."""

from typing import Any

import django_filters
from django.db.models import QuerySet
from django.http import Http404
from django.urls import URLPattern, path
from django.utils.translation import gettext as _
from drf_spectacular.utils import extend_schema
from rest_framework import serializers, status
from rest_framework.request import Request
from rest_framework.response import Response

from fleet.models import ChangeoutDecision, DecisionKind, Plan
from fleet.permissions import Action
from fleet.services.decisions.deciding import (
    LONGEST_REASON,
    decide_changeout,
    standing_decisions,
    withdraw_decision,
)
from fleet.services.decisions.errors import AssemblyNotThere, NothingDecided
from fleet.services.decisions.staying import tell_stay
from fleet.services.decisions.weighing import find_scales, weigh_choices, weigh_decision

from .columns import Text
from .fields import DayField
from .lists import ListView, row_named
from .members import MemberView

KINDS = "keep the stop of `day`, not_before and not_after `day`, or refuse: leave it in place"


class DecisionSent(serializers.Serializer):
    """What is decided about the changeout of one installed assembly."""

    assembly = serializers.CharField(max_length=80)
    decision = serializers.ChoiceField(choices=DecisionKind.values, help_text=KINDS)
    day = DayField(required=False, allow_null=True, help_text="of all but a refusal")
    reason = serializers.CharField(
        max_length=LONGEST_REASON,
        required=False,
        allow_blank=True,
        help_text="of a refusal, and of what goes past a limit; the sender's name stands beside it",
    )


class DecisionShown(serializers.Serializer):
    """A decision that stands."""

    assembly = serializers.CharField(source="assembly.key")
    machine = serializers.CharField(source="assembly.position.machine.key")
    position = serializers.CharField(source="assembly.position.key")
    decision = serializers.ChoiceField(choices=DecisionKind.values, source="kind")
    day = serializers.DateField(allow_null=True)
    reason = Text(allow_null=True)
    decided_on = serializers.DateField()
    decided_by = serializers.CharField(source="decided_by.username", allow_null=True, default=None)
    waits = serializers.BooleanField(help_text="the plan in force does not know it yet")


class WeighedShown(serializers.Serializer):
    """One decision weighed from what the plan in force said; what it did not say is null."""

    decision = serializers.ChoiceField(choices=DecisionKind.values, source="kind")
    day = serializers.DateField(allow_null=True)
    changed_on = serializers.DateField(allow_null=True, help_text="null: not in the time plans look ahead")
    special_stop = serializers.BooleanField()
    as_planned = serializers.BooleanField()
    cost = serializers.FloatField(
        allow_null=True, help_text="expected until the plan's horizon, set-ups of stops aside"
    )
    dearer_by = serializers.FloatField(allow_null=True, help_text="than as planned")
    chance = serializers.FloatField(allow_null=True, help_text="of failing before it is changed")
    chance_low = serializers.FloatField(allow_null=True, help_text="lower end of the 80 % interval")
    chance_high = serializers.FloatField(allow_null=True)
    chance_as_planned = serializers.FloatField(allow_null=True)
    limits = serializers.ListField(child=serializers.CharField(), help_text="those it goes past, in words")
    asks_reason = serializers.BooleanField()
    refused = Text(source="refusal_in_words", allow_null=True, help_text="why it may not be decided")


class StayShown(serializers.Serializer):
    """Why the plan in force leaves the assembly in place, and what to wait a year is expected to cost."""

    why = serializers.CharField()
    cost_a_year = serializers.FloatField(
        allow_null=True, help_text="in failures; null where what one costs is not known"
    )
    low = serializers.FloatField(
        allow_null=True, help_text="of it, at the lower end of the chance's 80 % interval"
    )
    high = serializers.FloatField(allow_null=True)


class ChoicesShown(serializers.Serializer):
    """What could be decided about one assembly."""

    assembly = serializers.CharField()
    stay = StayShown(
        allow_null=True, help_text="null where a stop changes it, or the plan does not speak of it"
    )
    choices = WeighedShown(many=True)


class ChoiceAsked(serializers.Serializer):
    """One decision to weigh; without one, every window of the machine and leaving it in place."""

    decision = serializers.ChoiceField(choices=DecisionKind.values, required=False)
    day = DayField(required=False)


class DecisionFilters(django_filters.FilterSet):
    assembly = django_filters.CharFilter(field_name="assembly__key")
    machine = django_filters.CharFilter(field_name="assembly__position__machine__key")
    decision = django_filters.ChoiceFilter(field_name="kind", choices=DecisionKind.choices)

    class Meta:
        model = ChangeoutDecision
        fields: list[str] = []


class Decisions(ListView):
    """The decisions that stand about what is installed, newest first."""

    queryset = ChangeoutDecision.objects.all()
    serializer_class = DecisionShown
    filterset_class = DecisionFilters
    asks = {"POST": Action.DECIDE_CHANGEOUT}

    def get_queryset(self) -> QuerySet:
        return standing_decisions(self.organization, Plan.objects.in_force(self.organization))

    @extend_schema(request=DecisionSent, responses={201: DecisionShown})
    def post(self, request: Request) -> Response:
        """Decides about a changeout; what stood about that assembly is withdrawn by it."""
        sent = DecisionSent(data=request.data)
        sent.is_valid(raise_exception=True)
        asked: dict[str, Any] = dict(sent.validated_data)
        decide_changeout(
            organization=self.organization, user=request.user, kind=asked.pop("decision"), **asked
        )
        made = self.get_queryset().get(assembly__key=asked["assembly"])
        return Response(DecisionShown(made).data, status=status.HTTP_201_CREATED)


class DecisionAbout(MemberView):
    asks = {"DELETE": Action.DECIDE_CHANGEOUT}

    @extend_schema(responses=DecisionShown)
    def get(self, request: Request, assembly: str) -> Response:
        """The decision that stands about an assembly."""
        rows = standing_decisions(self.organization, Plan.objects.in_force(self.organization))
        found = row_named(rows, {"assembly__key": assembly}, _("No decision about such an assembly stands."))
        return Response(DecisionShown(found).data)

    @extend_schema(responses={204: None})
    def delete(self, request: Request, assembly: str) -> Response:
        """Withdraws the decision that stands about an assembly."""
        try:
            withdraw_decision(organization=self.organization, user=request.user, assembly=assembly)
        except NothingDecided as refusal:
            raise Http404(str(refusal)) from refusal
        return Response(status=status.HTTP_204_NO_CONTENT)


class Choices(MemberView):
    @extend_schema(parameters=[ChoiceAsked], responses=ChoicesShown)
    def get(self, request: Request, assembly: str) -> Response:
        """What deciding about an assembly's changeout costs and risks, before anything is decided."""
        asked = ChoiceAsked(data=request.query_params)
        asked.is_valid(raise_exception=True)
        kind, day = asked.validated_data.get("decision"), asked.validated_data.get("day")
        try:
            scales = find_scales(organization=self.organization, assembly=assembly)
        except AssemblyNotThere as refusal:
            raise Http404(str(refusal)) from refusal
        choices = [weigh_decision(scales, kind=kind, day=day)] if kind else weigh_choices(scales)
        told = {"assembly": assembly, "stay": tell_stay(scales), "choices": choices}
        return Response(ChoicesShown(told).data)


def addresses() -> list[URLPattern]:
    return [
        path("decisions/", Decisions.as_view(), name="decisions"),
        path("decisions/<path:assembly>/", DecisionAbout.as_view(), name="decision"),
        path("choices/<path:assembly>/", Choices.as_view(), name="choices"),
    ]
