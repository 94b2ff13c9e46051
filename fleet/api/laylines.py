"""What an old hose is: by the line printed on it, and by the threads and flanges of its ends."""

from typing import Any

from django.urls import URLPattern, path
from django.utils import timezone
from django.utils.translation import gettext_lazy
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from fleet.services.shop.identifying import find_same_hoses
from fleet.trade.cautions import AT_THE_BENCH
from fleet.trade.flanges import find_flanges
from fleet.trade.layline import read_layline
from fleet.trade.threads import SEATS, find_threads, next_measures

from .columns import Text
from .fields import NumberField
from .members import MemberView
from .plans import Cautions

LENGTH: dict[str, Any] = {"min_value": 0.1, "max_value": 300, "required": False, "default": None}
MARKS = "found, memory or practice: where the row is from"
SEAT_CHOICES = [(seat, gettext_lazy(words)) for seat, words in SEATS.items()]
VERDICTS = ["certain", "could_be", "looks_alike"]


class LineAsked(serializers.Serializer):
    """The line along a hose, as it reads."""

    line = serializers.CharField(max_length=300, required=False, default="", allow_blank=True)


class StandardNamed(serializers.Serializer):
    """A standard that the line names."""

    name = serializers.CharField()
    edition = serializers.CharField(allow_null=True)


class PressurePrinted(serializers.Serializer):
    """The working pressure as printed."""

    pressure_bar = serializers.FloatField()
    printed = serializers.CharField()


class MadeBetween(serializers.Serializer):
    """The days on one of which the hose was made."""

    first_day = serializers.DateField()
    last_day = serializers.DateField()
    says = serializers.CharField()


class RatingTabulated(serializers.Serializer):
    """What a table gives such a hose; a value from memory passes no hose."""

    edition = serializers.CharField()
    pressure_bar = serializers.FloatField()
    mark = serializers.CharField(help_text=MARKS)
    source = serializers.CharField()


class LaylineRead(serializers.Serializer):
    """What the line says; null or empty what it does not say plainly."""

    printed = serializers.CharField()
    constructions = serializers.ListField(child=serializers.CharField())
    standards = StandardNamed(many=True)
    dash = serializers.IntegerField(allow_null=True)
    bore_mm = serializers.FloatField(allow_null=True)
    pressure = PressurePrinted(allow_null=True)
    made = MadeBetween(allow_null=True)
    may_be_made = MadeBetween(many=True)
    tabulated = RatingTabulated(many=True)
    not_understood = serializers.ListField(child=serializers.CharField())
    doubts = serializers.ListField(child=serializers.CharField())
    missing = serializers.ListField(child=serializers.CharField())


class SameHoseShown(serializers.Serializer):
    """A hose of the catalogue with that construction and size; that it fits is not said."""

    part = serializers.CharField(source="part.key")
    description = Text(source="part.description", allow_null=True)
    construction = serializers.CharField()
    rated_pressure_bar = serializers.FloatField(source="part.rated_pressure_bar", allow_null=True)
    on_hand_m = serializers.FloatField()


class LaylineShown(serializers.Serializer):
    """The line as it was understood, and the hoses of the catalogue that are called the same."""

    cautions = Cautions(AT_THE_BENCH)
    read = LaylineRead()
    same_hoses = SameHoseShown(many=True)


class ThreadAsked(serializers.Serializer):
    """What a caliper, a gauge and the eye tell of a thread."""

    male_mm = NumberField(**LENGTH, help_text="outside of a male thread")
    female_mm = NumberField(**LENGTH, help_text="inside of a female thread")
    threads_per_inch = NumberField(min_value=4, max_value=60, required=False, default=None)
    pitch_mm = NumberField(min_value=0.3, max_value=6, required=False, default=None)
    seat = serializers.ChoiceField(choices=SEAT_CHOICES, required=False, default=None)
    tube_mm = NumberField(**LENGTH, help_text="outside of the tube, or its recess")


class ThreadNamed(serializers.Serializer):
    """A thread by its form, size and designation."""

    form = serializers.CharField()
    size = serializers.CharField()
    thread = serializers.CharField()


class ThreadTabulated(ThreadNamed):
    """A thread as its standard has it."""

    male_mm = serializers.FloatField()
    female_mm = serializers.FloatField()
    pitch_mm = serializers.FloatField()
    threads_per_inch = serializers.FloatField(allow_null=True)
    seats = serializers.ListField(child=serializers.ChoiceField(choices=SEAT_CHOICES))
    tube_mm = serializers.FloatField(allow_null=True)
    standard = serializers.CharField()
    mark = serializers.CharField(help_text=MARKS)
    source = serializers.CharField()


class ThreadCandidate(serializers.Serializer):
    """A thread that the end may have; certain only by diameter, pitch and seat."""

    thread = ThreadTabulated()
    verdict = serializers.ChoiceField(choices=VERDICTS)
    agrees = serializers.ListField(child=serializers.CharField())
    disagrees = serializers.ListField(child=serializers.CharField())
    look_alikes = ThreadNamed(many=True)


class MeasureReading(serializers.Serializer):
    """What a measure may read, and the threads that it would leave."""

    reads = serializers.CharField()
    threads = ThreadNamed(many=True)


class MeasureNext(serializers.Serializer):
    """One thing to measure to tell the candidates apart."""

    measure = serializers.CharField()
    says = serializers.CharField()
    readings = MeasureReading(many=True)


class ThreadsShown(serializers.Serializer):
    """Every thread that it may be, the likeliest first, and what to measure next."""

    cautions = Cautions(AT_THE_BENCH)
    candidates = ThreadCandidate(many=True)
    next_measures = MeasureNext(many=True)


class FlangeAsked(serializers.Serializer):
    """Distances of the bolts from middle to middle, and the head of the end."""

    bolts_long_mm = NumberField(**LENGTH)
    bolts_short_mm = NumberField(**LENGTH)
    head_mm = NumberField(**LENGTH)
    head_thickness_mm = NumberField(**LENGTH)


class FlangeTabulated(serializers.Serializer):
    """A flange as its standard has it."""

    code = serializers.CharField()
    dash = serializers.IntegerField()
    bolts_long_mm = serializers.FloatField()
    bolts_short_mm = serializers.FloatField()
    head_mm = serializers.FloatField()
    head_thickness_mm = serializers.FloatField()
    standard = serializers.CharField()
    mark = serializers.CharField(help_text=MARKS)
    source = serializers.CharField()


class FlangeCandidateShown(serializers.Serializer):
    """A flange that the port may have."""

    flange = FlangeTabulated()
    verdict = serializers.ChoiceField(choices=VERDICTS)
    agrees = serializers.ListField(child=serializers.CharField())
    disagrees = serializers.ListField(child=serializers.CharField())


class FlangesShown(serializers.Serializer):
    """Every flange that it may be, the likeliest first."""

    cautions = Cautions(AT_THE_BENCH)
    candidates = FlangeCandidateShown(many=True)


class AskedView(MemberView):
    """A view that answers what its query asks; `asks_by` reads the query."""

    asks_by: type[serializers.Serializer]

    def asked(self, request: Request) -> dict[str, Any]:
        query = self.asks_by(data=request.query_params)
        query.is_valid(raise_exception=True)
        return dict(query.validated_data)


class LaylineView(AskedView):
    asks_by = LineAsked

    @extend_schema(parameters=[LineAsked], responses=LaylineShown)
    def get(self, request: Request) -> Response:
        """What the line on a hose says, what of it was not understood, and the hoses called the same."""
        read = read_layline(self.asked(request)["line"], today=timezone.localdate())
        same = find_same_hoses(organization=self.organization, layline=read)
        return Response(LaylineShown({"read": read, "same_hoses": same}).data)


class ThreadsView(AskedView):
    asks_by = ThreadAsked

    @extend_schema(parameters=[ThreadAsked], responses=ThreadsShown)
    def get(self, request: Request) -> Response:
        """Every thread that the measured may be, what looks like it, and what to measure next."""
        found = find_threads(**self.asked(request))
        return Response(ThreadsShown({"candidates": found, "next_measures": next_measures(found)}).data)


class FlangesView(AskedView):
    asks_by = FlangeAsked

    @extend_schema(parameters=[FlangeAsked], responses=FlangesShown)
    def get(self, request: Request) -> Response:
        """Every four-bolt flange that something measured agrees with."""
        return Response(FlangesShown({"candidates": find_flanges(**self.asked(request))}).data)


def addresses() -> list[URLPattern]:
    return [
        path("identify/layline/", LaylineView.as_view(), name="layline"),
        path("identify/threads/", ThreadsView.as_view(), name="threads"),
        path("identify/flanges/", FlangesView.as_view(), name="flanges"),
    ]
