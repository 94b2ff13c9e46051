"""What is done at a machine: an assembly put on, taken off, looked at.

Each may bear a token, any UUID of the sender's own: what is sent again under it counts once, and the answer
says what the first one did. What stands is read under `installations/` and `inspections/`.
"""

from typing import Any

from django.urls import URLPattern, path
from drf_spectacular.utils import extend_schema
from rest_framework import serializers, status
from rest_framework.request import Request
from rest_framework.response import Response

from fleet.exchange.schema import GRADES, REMOVAL_CAUSES
from fleet.permissions import Action
from fleet.services.work.recording import inspect_assembly, install_assembly, remove_assembly
from fleet.services.work.rows import Fitted

from .fields import DayField, NumberField
from .folders import FindingShown
from .members import MemberView

KEY: dict[str, Any] = {"max_length": 80}
MAYBE: dict[str, Any] = {"required": False, "allow_blank": True}
DAY: dict[str, Any] = {"required": False, "allow_null": True}
HOURS: dict[str, Any] = {"required": False, "allow_null": True, "help_text": "what the hour meter showed"}
NEW_METER: dict[str, Any] = {
    "required": False,
    "help_text": "whether a new hour meter was fitted, which starts with what it showed",
}
TOKEN: dict[str, Any] = {"required": False, "help_text": "what is sent again under it counts once"}
FITTED = ("assembly", "design", "built_on", "hose_made_on", "hose_lot", "crimped_by")


class InstallationSent(serializers.Serializer):
    """An assembly put on a position. One that the register does not know yet is entered by it; with
    `removal_cause` what is there, `comes_off`, comes off in the same act."""

    assembly = serializers.CharField(**KEY)
    machine = serializers.CharField(**KEY)
    position = serializers.CharField(**KEY)
    installed_on = DayField()
    installed_hours = NumberField(**HOURS)
    meter_replaced = serializers.BooleanField(**NEW_METER)
    design = serializers.CharField(**KEY, **MAYBE)
    built_on = DayField(**DAY)
    hose_made_on = DayField(**DAY)
    hose_lot = serializers.CharField(**KEY, **MAYBE)
    crimped_by = serializers.CharField(max_length=120, **MAYBE)
    removal_cause = serializers.ChoiceField(choices=REMOVAL_CAUSES, **MAYBE)
    failure_mode = serializers.CharField(max_length=200, **MAYBE)
    comes_off = serializers.CharField(
        **KEY,
        **MAYBE,
        help_text="what was seen there, wherever something comes off; refused where another is there by now",
    )
    answered_by = serializers.CharField(
        max_length=120,
        **MAYBE,
        help_text="who answers for it where it is not known whether its rating and length suit the place",
    )
    token = serializers.UUIDField(**TOKEN)


class RemovalSent(serializers.Serializer):
    """An assembly taken off, and why."""

    assembly = serializers.CharField(**KEY)
    removed_on = DayField()
    removed_hours = NumberField(**HOURS)
    meter_replaced = serializers.BooleanField(**NEW_METER)
    removal_cause = serializers.ChoiceField(choices=REMOVAL_CAUSES)
    failure_mode = serializers.CharField(max_length=200, **MAYBE)
    token = serializers.UUIDField(**TOKEN)


class InspectionSent(serializers.Serializer):
    """What was seen on an assembly."""

    assembly = serializers.CharField(**KEY)
    inspected_on = DayField()
    hours = NumberField(**HOURS)
    meter_replaced = serializers.BooleanField(**NEW_METER)
    finding = serializers.CharField(max_length=300, **MAYBE)
    grade = serializers.ChoiceField(choices=GRADES)
    token = serializers.UUIDField(**TOKEN)


class RecordedShown(serializers.Serializer):
    """What was recorded; `again` where it had been sent before and nothing was done this time."""

    told = serializers.CharField()
    again = serializers.BooleanField()
    warnings = FindingShown(many=True)


class WorkView(MemberView):
    """A view that records work; `sends` reads what it is asked with."""

    asks = {"POST": Action.RECORD_WORK}
    sends: type[serializers.Serializer]

    def asked(self, request: Request) -> dict[str, Any]:
        sent = self.sends(data=request.data)
        sent.is_valid(raise_exception=True)
        return {"organization": self.organization, "user": request.user, **sent.validated_data}


class WorkInstallations(WorkView):
    sends = InstallationSent

    @extend_schema(request=InstallationSent, responses={201: RecordedShown})
    def post(self, request: Request) -> Response:
        """Puts an assembly on a position; 409 where another than `comes_off` is there by now.

        400 `unfit_for_place` where the place asks more than it is rated for, `fitness_not_known` where that
        is not known, or it was cut further off its design than the bench may, and nobody answers for it: on
        a critical position a competent person by name.
        """
        asked = self.asked(request)
        fitted = Fitted(**{name: asked.pop(name) for name in FITTED if name in asked})
        recorded = install_assembly(fitted=fitted, **asked)
        return Response(RecordedShown(recorded).data, status=status.HTTP_201_CREATED)


class WorkRemovals(WorkView):
    sends = RemovalSent

    @extend_schema(request=RemovalSent, responses={201: RecordedShown})
    def post(self, request: Request) -> Response:
        """Takes an assembly off; 409 where somebody recorded that already."""
        recorded = remove_assembly(**self.asked(request))
        return Response(RecordedShown(recorded).data, status=status.HTTP_201_CREATED)


class WorkInspections(WorkView):
    sends = InspectionSent

    @extend_schema(request=InspectionSent, responses={201: RecordedShown})
    def post(self, request: Request) -> Response:
        """Records what was seen on an assembly; it answers what anybody asked to have looked at."""
        recorded = inspect_assembly(**self.asked(request))
        return Response(RecordedShown(recorded).data, status=status.HTTP_201_CREATED)


def addresses() -> list[URLPattern]:
    return [
        path("machine-work/installations/", WorkInstallations.as_view(), name="work-installations"),
        path("machine-work/removals/", WorkRemovals.as_view(), name="work-removals"),
        path("machine-work/inspections/", WorkInspections.as_view(), name="work-inspections"),
    ]
