"""The bench: kits begun, supplied and taken apart, builds accepted and scrapped, as the shop's pages do it.

Lengths are in mm, pressures in bar, hose in metres. Kits are named in what is sent, as their names may hold a
slash.
"""

from typing import Any

from django.urls import URLPattern, path
from drf_spectacular.utils import extend_schema, extend_schema_field
from rest_framework import serializers, status
from rest_framework.request import Request
from rest_framework.response import Response

from fleet.models import Kit, KitPartState, KitState
from fleet.permissions import Action
from fleet.services.shop.bench import accept_build, scrap_build
from fleet.services.shop.build_rules import ENDS, BuildRecord
from fleet.services.shop.kits import begin_assembly, begin_kit, supply_kit, take_apart_kit

from .columns import Text
from .fields import DayField, NumberField, WholeField
from .members import MemberView
from .stock import StockView

KEY: dict[str, Any] = {"max_length": 80}
KIT: dict[str, Any] = {"max_length": 200}
MAYBE: dict[str, Any] = {**KEY, "required": False, "allow_blank": True}
NUMBER: dict[str, Any] = {"required": False, "allow_null": True, "min_value": 0}
MOST_KITS = 500


def held_parts(help_text: str) -> serializers.ListField:
    """Names of parts that an assembly holds, as `held` gives them."""
    child = WholeField(min_value=1)
    return serializers.ListField(child=child, required=False, max_length=1000, help_text=help_text)


class KitSent(serializers.Serializer):
    """A kit of the plan in force, to begin."""

    kit = serializers.CharField(**KIT)
    partly = serializers.BooleanField(
        required=False, help_text="begin what can be supplied; the rest waits. Else all of it or nothing"
    )


class AssemblySent(serializers.Serializer):
    """One assembly that no plan asked for: for a position, or to stand by where none is named."""

    site = serializers.CharField(**KEY)
    design = serializers.CharField(**MAYBE, help_text="empty: what belongs in the position")
    machine = serializers.CharField(**MAYBE)
    position = serializers.CharField(**MAYBE)


class BegunSent(serializers.Serializer):
    """A begun kit."""

    kit = serializers.CharField(**KIT)


class ApartSent(BegunSent):
    """A begun kit, and the numbers of its assemblies whose hose is cut already."""

    cut = serializers.ListField(
        child=WholeField(min_value=1, max_value=10_000), required=False, max_length=1000
    )


class RecordSent(BegunSent):
    """What was seen and measured of one assembly of a begun kit, and the questions that are answered for."""

    number = WholeField(min_value=1, max_value=10_000, help_text="which assembly of the kit")
    assembly = serializers.CharField(**MAYBE, help_text="its tag; empty: the next free one")
    built_on = DayField()
    built_by = serializers.CharField(max_length=120)
    accepted_by = serializers.CharField(max_length=120, required=False, allow_blank=True)
    cut_length_mm = NumberField(**NUMBER)
    inserted_before = serializers.ListField(
        child=serializers.ChoiceField(ENDS), required=False, help_text="ends whose mark was at the shell"
    )
    inserted_after = serializers.ListField(
        child=serializers.ChoiceField(ENDS), required=False, help_text="and still was after crimping"
    )
    cleanings_before = WholeField(**NUMBER, max_value=100)
    cleanings_after = WholeField(**NUMBER, max_value=100)
    readings_a_mm = serializers.ListField(
        child=NumberField(min_value=0.1, max_value=500), required=False, max_length=100
    )
    readings_b_mm = serializers.ListField(
        child=NumberField(min_value=0.1, max_value=500), required=False, max_length=100
    )
    gauge = serializers.CharField(**MAYBE)
    die = serializers.CharField(**MAYBE)
    proof_pressure_bar = NumberField(**NUMBER)
    proof_seconds = NumberField(**NUMBER)
    proof_medium = serializers.CharField(**MAYBE)
    remarks = serializers.CharField(max_length=200, required=False, allow_blank=True)
    confirmed = serializers.ListField(
        child=serializers.CharField(max_length=40),
        required=False,
        max_length=40,
        help_text="codes of the questions that somebody answers for",
    )
    token = serializers.UUIDField(required=False, help_text="what is sent again under it counts once")


class ScrapSent(BegunSent):
    """A build that was spoilt."""

    number = WholeField(min_value=1, max_value=10_000)
    reason = serializers.CharField(max_length=200)
    cut_length_mm = NumberField(
        **NUMBER, help_text="empty: as asked for, or not cut where the hose was spared"
    )
    spared = held_parts("of what the assembly holds, the `held` that was not spoilt")
    seen = held_parts(
        "every `held` that was there to be seen; refused where other parts are set aside by now"
    )


class HeldShown(serializers.Serializer):
    """So much of one piece or lot that an assembly holds; `held` names it where a build is scrapped."""

    held = serializers.IntegerField(source="pk")
    place = serializers.CharField()
    part = serializers.CharField(source="part.key")
    quantity = serializers.FloatField()
    cut_length_mm = serializers.FloatField(allow_null=True)
    piece = Text(allow_null=True, source="piece_name")
    lot = Text(allow_null=True)


class BegunAssemblyShown(serializers.Serializer):
    """One assembly of a begun kit: `assembly` once it is made, `holds` nothing while it waits for parts."""

    number = serializers.IntegerField()
    design = serializers.CharField(source="design.key")
    machine = serializers.SerializerMethodField()
    position = serializers.SerializerMethodField()
    assembly = serializers.SerializerMethodField()
    holds = serializers.SerializerMethodField()

    def get_machine(self, row) -> str | None:
        return row.position.machine.key if row.position else None

    def get_position(self, row) -> str | None:
        return row.position.key if row.position else None

    def get_assembly(self, row) -> str | None:
        return row.assembly.key if row.assembly else None

    @extend_schema_field(HeldShown(many=True))
    def get_holds(self, row) -> list[dict]:
        return HeldShown(
            [one for one in row.parts.all() if one.state == KitPartState.RESERVED], many=True
        ).data


class BegunKitShown(serializers.Serializer):
    """A kit that the shop has begun."""

    kit = serializers.CharField(source="key")
    state = serializers.ChoiceField(KitState.choices)
    purpose = serializers.CharField()
    site = serializers.CharField(source="site.key")
    needed_by = serializers.DateField(allow_null=True)
    begun_on = serializers.DateField()
    assemblies = BegunAssemblyShown(many=True)


class BegunShown(serializers.Serializer):
    """The begun kit, and what the assemblies that wait lack."""

    kit = BegunKitShown()
    waiting = serializers.ListField(child=serializers.CharField())


class ApartShown(serializers.Serializer):
    """What came of the parts of a kit that was taken apart."""

    told = serializers.ListField(child=serializers.CharField())


class AcceptedShown(serializers.Serializer):
    """The tag of the assembly that now exists, and what became of the rests of its parts; `again` where the
    record had been sent before and nothing was done this time."""

    assembly = serializers.CharField(source="assembly.key")
    told = serializers.ListField(child=serializers.CharField())
    again = serializers.BooleanField()


class ScrappedShown(serializers.Serializer):
    """`ready` where parts are set aside for the next try; else what is missing."""

    ready = serializers.BooleanField()
    told = serializers.ListField(child=serializers.CharField())


class BegunKits(StockView):
    asks = {"GET": Action.READ, "POST": Action.RECORD_BUILD}
    sends = KitSent

    @extend_schema(responses=BegunKitShown(many=True))
    def get(self, request: Request) -> Response:
        """The kits that are being built, the first needed first."""
        return Response(BegunKitShown(being_built(self)[:MOST_KITS], many=True).data)

    @extend_schema(request=KitSent, responses={201: BegunShown})
    def post(self, request: Request) -> Response:
        """Begins a kit: its parts are set aside of real pieces and lots; 409 where another was first."""
        return Response(BegunShown(begin_kit(**self.asked(request))).data, status=status.HTTP_201_CREATED)


class BegunAssemblies(StockView):
    asks = {"POST": Action.RECORD_BUILD}
    sends = AssemblySent

    @extend_schema(request=AssemblySent, responses={201: BegunShown})
    def post(self, request: Request) -> Response:
        """Begins a kit of one assembly that no plan asked for."""
        return Response(
            BegunShown(begin_assembly(**self.asked(request))).data, status=status.HTTP_201_CREATED
        )


class Supplies(StockView):
    asks = {"POST": Action.RECORD_BUILD}
    sends = BegunSent

    @extend_schema(request=BegunSent, responses=BegunShown)
    def post(self, request: Request) -> Response:
        """Sets parts aside for the assemblies of a begun kit that wait, as far as they are there."""
        return Response(BegunShown(supply_kit(**self.asked(request))).data)


class TakenApart(StockView):
    asks = {"POST": Action.RECORD_BUILD}
    sends = ApartSent

    @extend_schema(request=ApartSent, responses=ApartShown)
    def post(self, request: Request) -> Response:
        """Gives what a begun kit holds back to the stock; a cut hose comes back as an offcut."""
        return Response(ApartShown(take_apart_kit(**self.asked(request))).data)


class Builds(StockView):
    asks = {"POST": Action.RECORD_BUILD}
    sends = RecordSent

    @extend_schema(request=RecordSent, responses={201: AcceptedShown})
    def post(self, request: Request) -> Response:
        """Accepts a recorded build, so that the assembly exists and its parts leave the stock.

        400 with what refuses or questions it in `fields_wrong`; 409 where another accepted it first.
        """
        sent = self.asked(request)
        named = ("organization", "user", "kit", "number", "assembly", "confirmed", "token")
        given = {name: sent.pop(name) for name in named if name in sent}
        ends: dict[str, Any] = {
            "inserted_before": dict.fromkeys(sent.pop("inserted_before", []), True),
            "inserted_after": dict.fromkeys(sent.pop("inserted_after", []), True),
            "readings": {end: tuple(sent.pop(f"readings_{end}_mm", ())) for end in ENDS},
        }
        done = accept_build(**given, record=BuildRecord(**sent, **ends))
        return Response(AcceptedShown(done).data, status=status.HTTP_201_CREATED)


class Scraps(StockView):
    asks = {"POST": Action.RECORD_BUILD}
    sends = ScrapSent

    @extend_schema(request=ScrapSent, responses=ScrappedShown)
    def post(self, request: Request) -> Response:
        """Scraps a spoilt build with all its parts but those spared, and sets others aside for the next try.

        409 where other parts are set aside for it than were seen.
        """
        return Response(ScrappedShown(scrap_build(**self.asked(request))).data)


def being_built(view: MemberView):
    """The organization's kits that are being built, with what they hold."""
    kits = Kit.objects.of(view.organization).filter(state=KitState.BEGUN).select_related("site")
    inner = ("assemblies__design", "assemblies__position__machine", "assemblies__assembly")
    return kits.prefetch_related(*inner, "assemblies__parts__part").order_by("needed_by", "key")


def addresses() -> list[URLPattern]:
    return [
        path("bench/kits/", BegunKits.as_view(), name="bench-kits"),
        path("bench/kits/supply/", Supplies.as_view(), name="bench-supply"),
        path("bench/kits/take-apart/", TakenApart.as_view(), name="bench-take-apart"),
        path("bench/assemblies/", BegunAssemblies.as_view(), name="bench-assemblies"),
        path("bench/builds/", Builds.as_view(), name="bench-builds"),
        path("bench/scraps/", Scraps.as_view(), name="bench-scraps"),
    ]
