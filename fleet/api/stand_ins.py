"""What may stand in for a hose: in a position, or for a worn one by what is printed on it; choosing it."""

from typing import cast

from django.urls import URLPattern, path
from django.utils.translation import gettext as _
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from fleet.exchange.columns import KEY_LENGTH
from fleet.models import Position
from fleet.permissions import Action
from fleet.services.replacing.designing import Make, choose_design
from fleet.services.replacing.stand_ins import find_stand_ins_for, find_stand_ins_for_worn
from fleet.services.signing import REASON_LENGTH
from fleet.trade.cautions import AT_THE_BENCH

from .columns import Text
from .fields import NumberField
from .lists import row_named
from .members import MemberView
from .plans import Cautions


class ShelfShown(serializers.Serializer):
    """What of a part may be used at a site."""

    site = serializers.CharField()
    on_hand = serializers.FloatField()
    unit = serializers.ChoiceField(choices=["each", "metre"])
    longest_m = serializers.FloatField(
        allow_null=True, help_text="the longest piece of hose; null for others"
    )


class StandInPart(serializers.Serializer):
    """A part that a candidate takes, and where it lies."""

    part = serializers.CharField()
    description = Text(allow_null=True)
    shelves = ShelfShown(many=True)


class StandInShown(serializers.Serializer):
    """One hose with the ends it would be crimped to; null ends where no pair is known to do."""

    hose = StandInPart()
    end_a = StandInPart(allow_null=True)
    end_b = StandInPart(allow_null=True)
    ferrules = StandInPart(many=True)
    kinship = serializers.ChoiceField(
        choices=["own", "successor", "other"], help_text="own: what belongs there"
    )
    verdict = serializers.ChoiceField(choices=["fits", "not_judged", "unfit"])
    reason = Text(allow_null=True, help_text="why it does not pass, or what to see to where it does")
    rated_pressure_bar = serializers.FloatField(allow_null=True)
    velocity_m_s = serializers.FloatField(allow_null=True)
    cut_length_mm = serializers.FloatField(allow_null=True)
    cost = serializers.FloatField(allow_null=True)
    ready_at = serializers.ListField(
        child=serializers.CharField(), help_text="sites whose stock makes one now"
    )


class EndShown(serializers.Serializer):
    """An end of the catalogue against the one that belongs there."""

    place = serializers.ChoiceField(choices=["a", "b"])
    part = serializers.CharField()
    verdict = serializers.ChoiceField(choices=["fits", "not_judged", "unfit"])
    reason = Text(allow_null=True)


class StandInsShown(serializers.Serializer):
    """What may stand in, in the order to be thought of: advice, on which a competent person decides."""

    cautions = Cautions(AT_THE_BENCH)
    machine = serializers.CharField(source="position.machine.key", allow_null=True, default=None)
    position = serializers.CharField(source="position.key", allow_null=True, default=None)
    design = serializers.CharField(source="design.key", allow_null=True, default=None)
    demanded_pressure_bar = serializers.FloatField(allow_null=True)
    notes = serializers.ListField(child=serializers.CharField())
    candidates = StandInShown(many=True)
    ends = EndShown(many=True)


class StandInSent(serializers.Serializer):
    """What of the candidates that fit is to belong in the position from now on."""

    hose = serializers.CharField(max_length=KEY_LENGTH, help_text="the candidate's, by part number")
    end_a = serializers.CharField(max_length=KEY_LENGTH)
    end_b = serializers.CharField(max_length=KEY_LENGTH)
    design = serializers.CharField(
        max_length=KEY_LENGTH,
        help_text="drawing number of the new design, or of one that is drawn so already",
    )
    reason = serializers.CharField(
        max_length=REASON_LENGTH, allow_blank=True, help_text="stands beside the sender's name"
    )
    competent = serializers.BooleanField(
        required=False,
        default=False,
        help_text="of a critical position: the sender is competent to decide what belongs there",
    )


class StandInChosen(serializers.Serializer):
    """What belongs in the position from now on; the next plan counts on it, what is installed stays."""

    cautions = Cautions(AT_THE_BENCH)
    machine = serializers.CharField(source="position.machine.key")
    position = serializers.CharField(source="position.key")
    design = serializers.CharField(source="design.key")


class WornHose(serializers.Serializer):
    """What is printed on a worn hose."""

    construction = serializers.CharField(max_length=80)
    edition = serializers.CharField(max_length=80, required=False, default="")
    dash = NumberField(min_value=1, max_value=64)
    rated_pressure_bar = NumberField(required=False, min_value=0, max_value=10_000)
    end_a = serializers.CharField(
        required=False, default="", help_text="the end of the catalogue that is on it; empty: not looked at"
    )
    end_b = serializers.CharField(required=False, default="", help_text="its other end; empty: alike")
    site = serializers.CharField(required=False, default="", help_text="whose stock comes first")


class OfPosition(MemberView):
    asks = {"POST": Action.IMPORT}

    @extend_schema(responses=StandInsShown)
    def get(self, request: Request, machine: str, position: str) -> Response:
        """Every hose of the catalogue, with each pair of ends that joins there, judged for one position."""
        judged = find_stand_ins_for(
            organization=self.organization, position=self.position_of(machine, position)
        )
        return Response(StandInsShown(judged).data)

    @extend_schema(request=StandInSent, responses=StandInChosen)
    def post(self, request: Request, machine: str, position: str) -> Response:
        """Makes a candidate that fits, judged anew, what belongs in the position from now on."""
        found = self.position_of(machine, position)
        sent = StandInSent(data=request.data)
        sent.is_valid(raise_exception=True)
        said = dict(sent.validated_data)
        design = choose_design(
            organization=self.organization,
            user=request.user,
            position=found,
            make=Make(said.pop("hose"), said.pop("end_a"), said.pop("end_b")),
            key=said.pop("design"),
            **said,
        )
        return Response(StandInChosen({"position": found, "design": design}).data)

    def position_of(self, machine: str, position: str) -> Position:
        rows = Position.objects.of(self.organization).select_related("machine__site", "design")
        named = {"machine__key": machine, "key": position}
        return cast(Position, row_named(rows, named, _("There is no such position.")))


class OfWornHose(MemberView):
    @extend_schema(parameters=[WornHose], responses=StandInsShown)
    def get(self, request: Request) -> Response:
        """Every hose of the catalogue judged against a worn one, with its ends where they are said."""
        worn = WornHose(data=request.query_params)
        worn.is_valid(raise_exception=True)
        said = dict(worn.validated_data)
        judged = find_stand_ins_for_worn(
            organization=self.organization, rated_pressure=said.pop("rated_pressure_bar", None), **said
        )
        return Response(StandInsShown(judged).data)


def addresses() -> list[URLPattern]:
    return [
        path("positions/<str:machine>/<str:position>/stand-ins/", OfPosition.as_view(), name="stand-ins"),
        path("stand-ins/", OfWornHose.as_view(), name="worn-stand-ins"),
    ]
