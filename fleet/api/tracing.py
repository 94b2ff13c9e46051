"""From a lot, part, crimper, gauge or die to every assembly, acts for all in place, and what is to see."""

from typing import Any

import django_filters
from django.db.models import QuerySet
from django.http import Http404
from django.urls import URLPattern, path
from drf_spectacular.utils import extend_schema
from rest_framework import serializers, status
from rest_framework.request import Request
from rest_framework.response import Response

from fleet.models import Assembly, InspectionRequest
from fleet.permissions import Action
from fleet.services.decisions.deciding import LONGEST_REASON
from fleet.services.decisions.inspection_requests import NoSuchRequest, open_requests, withdraw_request
from fleet.services.decisions.tracing import (
    GROUPS,
    Asked,
    ask_inspections,
    set_changeouts,
    trace_assemblies,
    with_place,
)

from .columns import Text
from .fields import DayField
from .lists import ListView
from .members import MemberView
from .plans import Cautions

MEANINGS = {
    "crimped_by": "the person or bench that crimped",
    "lot": "any part's lot",
    "part": "made with that part",
    "position": "MACHINE/POSITION",
}


class ByGroup(django_filters.FilterSet):
    """Filters by what a group of assemblies is named by; several name those that belong to all of them."""

    class Meta:
        model = Assembly
        fields: list[str] = []

    def of_group(self, rows: QuerySet, kind: str, name: str) -> QuerySet:
        return rows.filter(GROUPS[kind](self.request.parser_context["view"].organization, name))


GroupFilters = type(
    "GroupFilters",
    (ByGroup,),
    {
        kind: django_filters.CharFilter(field_name=kind, method="of_group", label=MEANINGS.get(kind))
        for kind in GROUPS
    },
)


class TracedShown(serializers.Serializer):
    """An assembly of the group, and where it is or was."""

    assembly = serializers.CharField(source="key")
    machine = serializers.CharField(source="position.machine.key", allow_null=True, default=None)
    position = serializers.CharField(source="position.key", allow_null=True, default=None)
    in_place = serializers.SerializerMethodField(help_text="on a machine now")
    design = serializers.CharField(source="design.key", allow_null=True, default=None)
    built_on = serializers.DateField(allow_null=True)
    hose_lot = Text(allow_null=True)
    crimped_by = Text(allow_null=True)
    installed_on = serializers.DateField(allow_null=True)
    removed_on = serializers.DateField(allow_null=True)
    removal_cause = Text(allow_null=True)

    def get_in_place(self, one: Assembly) -> bool:
        return one.position_id is not None and one.removed_on is None


class Traced(ListView):
    """Every assembly of a group, past and present, on a machine or not; without a group, all of them."""

    queryset = Assembly.objects.all()
    serializer_class = TracedShown
    filterset_class = GroupFilters

    def get_queryset(self) -> QuerySet:
        rows = with_place(trace_assemblies(self.organization, {}))
        return rows.select_related("position__machine", "design").order_by("key")


GroupSent = type(
    "GroupSent",
    (serializers.Serializer,),
    {
        "__doc__": "A group of assemblies: those that belong to all that is named.",
        **{
            kind: serializers.CharField(max_length=200, required=False, help_text=MEANINGS.get(kind, ""))
            for kind in GROUPS
        },
    },
)
REASON: dict[str, Any] = {"max_length": LONGEST_REASON}


class LookSent(serializers.Serializer):
    """By when all of a group that is in place is to be looked at, and what for."""

    group = GroupSent()
    by_day = DayField()
    reason = serializers.CharField(**REASON)


class ChangeSent(serializers.Serializer):
    """By when all of a group that is in place is to be changed at the latest, and why."""

    group = GroupSent()
    not_after = DayField()
    reason = serializers.CharField(**REASON)


class AskedShown(serializers.Serializer):
    """For how many assemblies it was set, and for how many it stood already; which were left as a planner had
    decided, in words."""

    cautions = Cautions()
    made = serializers.IntegerField()
    stood = serializers.IntegerField()
    left = serializers.ListField(child=serializers.CharField())


class LookShown(serializers.Serializer):
    """One assembly that is to be looked at."""

    request = serializers.IntegerField(source="pk")
    assembly = serializers.CharField(source="assembly.key")
    machine = serializers.CharField(source="assembly.position.machine.key")
    position = serializers.CharField(source="assembly.position.key")
    by_day = serializers.DateField()
    reason = serializers.CharField()
    asked_on = serializers.DateField()
    asked_by = serializers.CharField(source="asked_by.username", allow_null=True, default=None)
    cautions = Cautions()


class GroupAct(MemberView):
    """An act about all of a group that is in place, for all or none."""

    asks = {"POST": Action.DECIDE_CHANGEOUT}

    def asked(self, request: Request, sends: type[serializers.Serializer]) -> dict[str, Any]:
        sent = sends(data=request.data)
        sent.is_valid(raise_exception=True)
        asked = dict(sent.validated_data)
        return {
            "organization": self.organization,
            "user": request.user,
            "groups": dict(asked.pop("group")),
            **asked,
        }

    def told(self, asked: Asked) -> Response:
        return Response(AskedShown(asked).data, status=status.HTTP_201_CREATED)


class GroupLooks(GroupAct):
    @extend_schema(request=LookSent, responses={201: AskedShown})
    def post(self, request: Request) -> Response:
        """Has all of a group that is in place looked at by a day."""
        return self.told(ask_inspections(**self.asked(request, LookSent)))


class GroupChangeouts(GroupAct):
    @extend_schema(request=ChangeSent, responses={201: AskedShown})
    def post(self, request: Request) -> Response:
        """Has all of a group that is in place changed by a day at the latest, from the next plan on."""
        return self.told(set_changeouts(**self.asked(request, ChangeSent)))


class Looks(ListView):
    """What is to be looked at, the most urgent first; an inspection answers it."""

    queryset = InspectionRequest.objects.all()
    serializer_class = LookShown

    def get_queryset(self) -> QuerySet:
        return open_requests(self.organization).select_related("assembly__position__machine", "asked_by")


class Look(MemberView):
    asks = {"DELETE": Action.DECIDE_CHANGEOUT}

    @extend_schema(responses={204: None})
    def delete(self, request: Request, look: int) -> Response:
        """Withdraws a request that something be looked at."""
        try:
            withdraw_request(organization=self.organization, user=request.user, request=look)
        except NoSuchRequest as refusal:
            raise Http404(str(refusal)) from refusal
        return Response(status=status.HTTP_204_NO_CONTENT)


def addresses() -> list[URLPattern]:
    return [
        path("groups/", Traced.as_view(), name="groups"),
        path("groups/look/", GroupLooks.as_view(), name="group-look"),
        path("groups/change/", GroupChangeouts.as_view(), name="group-change"),
        path("looks/", Looks.as_view(), name="looks"),
        path("looks/<int:look>/", Look.as_view(), name="look"),
    ]
