"""What there is to replace a hose that burst just now."""

from typing import cast

from django.urls import URLPattern, path
from django.utils.translation import gettext as _
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from fleet.models import Position
from fleet.services.replacing.bursts import find_replacements
from fleet.trade.cautions import AT_A_BURST

from .columns import Text
from .lists import row_named
from .members import MemberView
from .plans import Cautions


class BurstPart(serializers.Serializer):
    """A part that the assembly takes at a site, and what of it is missing there."""

    part = serializers.CharField()
    substitute_for = Text(allow_null=True)
    unit = serializers.CharField()
    quantity = serializers.FloatField()
    cut_length_mm = serializers.FloatField(allow_null=True)
    short_by = serializers.FloatField()
    available_on = serializers.DateField(
        allow_null=True, help_text="when the missing is there; null too where nothing is missing"
    )
    order = Text(allow_null=True, help_text="the open order that brings it")
    promised = serializers.BooleanField(help_text="that order names the day; else it is reckoned")
    elsewhere = serializers.ListField(child=serializers.CharField(), help_text="sites that have it")
    missing = Text(allow_null=True, help_text="what is missing, as a sentence")


class ShortageShown(serializers.Serializer):
    """A kit of the plan in force that lacks more of a part once the burst has taken what it takes."""

    kit = serializers.CharField()
    site = serializers.CharField()
    machine = Text(allow_null=True, help_text="null where the kit stands by")
    needed_by = serializers.DateField()
    part = serializers.CharField()
    unit = serializers.CharField()
    short_by = serializers.FloatField(help_text="more than before")
    available_on = serializers.DateField(allow_null=True, help_text="null where nothing says when")
    in_time = serializers.BooleanField()
    says = serializers.CharField()


class ReplacementShown(serializers.Serializer):
    """One way to a new assembly, and what it takes from others."""

    kind = serializers.ChoiceField(choices=["built", "bench", "kit", "stock", "stand_in"])
    site = Text(allow_null=True)
    assembly = Text(allow_null=True)
    kit = Text(allow_null=True)
    ready_on = serializers.DateField(allow_null=True, help_text="null where nothing says when")
    complete = serializers.BooleanField(help_text="nothing is missing")
    says = serializers.CharField()
    lines = BurstPart(many=True)
    goes_short = ShortageShown(many=True)
    then = serializers.ListField(child=serializers.CharField(), help_text="what else follows from it")


class ReplacementsShown(serializers.Serializer):
    """What there is, soonest first, with what must be read before a hand goes near the machine."""

    cautions = Cautions(AT_A_BURST)
    machine = serializers.CharField(source="position.machine.key")
    position = serializers.CharField(source="position.key")
    design = serializers.CharField(source="design.key", allow_null=True, default=None)
    notes = serializers.ListField(child=serializers.CharField())
    ways = ReplacementShown(many=True)
    then = serializers.ListField(
        child=serializers.CharField(), help_text="what the next plan makes of the failure"
    )
    installed = serializers.CharField(
        source="installed.key", allow_null=True, default=None, help_text="still there by the register"
    )
    changeout_minutes = serializers.FloatField(source="position.changeout_minutes", allow_null=True)


class Burst(MemberView):
    @extend_schema(responses=ReplacementsShown)
    def get(self, request: Request, machine: str, position: str) -> Response:
        """What fits a position whose hose failed just now, where it lies and how soon it can be there."""
        rows = Position.objects.of(self.organization).select_related("machine__site", "design")
        named = {"machine__key": machine, "key": position}
        found = cast(Position, row_named(rows, named, _("There is no such position.")))
        replacements = find_replacements(organization=self.organization, position=found)
        return Response(ReplacementsShown(replacements).data)


def addresses() -> list[URLPattern]:
    return [path("positions/<str:machine>/<str:position>/burst/", Burst.as_view(), name="burst")]
