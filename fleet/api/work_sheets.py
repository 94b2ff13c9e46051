"""The sheets that a person works from: of each assembly of a kit at the bench, of one stop at the machine."""

from django.http import Http404
from django.urls import URLPattern, path
from django.utils.translation import gettext as _
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from fleet.services.sheets.build_sheets import build_sheets
from fleet.services.sheets.changeout_sheets import changeout_sheet
from fleet.services.sheets.steps import HOW_TO_CLEAN, HOW_TO_MEASURE
from fleet.trade.cautions import AFTER_THE_WORK, AT_THE_BENCH, BEFORE_OPENING

from .columns import Text
from .members import MemberView
from .plans import Cautions


class SheetPartShown(serializers.Serializer):
    """A part to lay out; null lot and piece where none is set aside or on record."""

    place = serializers.ChoiceField(choices=["a", "b", "hose"])
    part = serializers.CharField()
    kind = serializers.CharField()
    description = Text(allow_null=True)
    quantity = serializers.FloatField()
    unit = serializers.CharField()
    lot = Text(allow_null=True)
    piece = Text(allow_null=True)
    substitute_for = Text(allow_null=True)


class LengthToleranceShown(serializers.Serializer):
    """What a standard lets a length be off."""

    standard = serializers.CharField()
    edition = serializers.CharField()
    over_mm = serializers.FloatField()
    under_mm = serializers.FloatField()
    mark = serializers.ChoiceField(choices=["found", "memory"])
    source = serializers.CharField()


class SheetCutShown(serializers.Serializer):
    """Cut length = overall − cut-off a − cut-off b; null where `lacks` says why."""

    cut_length_mm = serializers.FloatField(allow_null=True)
    overall_length_mm = serializers.FloatField()
    cutoff_a_mm = serializers.FloatField(allow_null=True)
    cutoff_b_mm = serializers.FloatField(allow_null=True)
    cut_tolerance = LengthToleranceShown(allow_null=True)
    overall_tolerance = LengthToleranceShown(allow_null=True)
    lacks = Text(allow_null=True)
    question = Text(allow_null=True, help_text="to be settled before cutting")


class SheetAngleShown(serializers.Serializer):
    """The angle between the ends and how it counts; null where `lacks` says why."""

    angle_deg = serializers.FloatField(allow_null=True)
    either_way_deg = serializers.FloatField(source="tolerance.either_way_deg")
    source = serializers.CharField(source="tolerance.source")
    convention = Text(allow_null=True)
    lacks = Text(allow_null=True)


class SheetCrimpShown(serializers.Serializer):
    """What a chart asks of one end; a null band where the chart's is not on record."""

    ferrule = Text(allow_null=True)
    target_mm = serializers.FloatField()
    smallest_mm = serializers.FloatField(allow_null=True)
    largest_mm = serializers.FloatField(allow_null=True)
    die = Text(allow_null=True)
    chart = Text(allow_null=True)


class SheetEndShown(serializers.Serializer):
    """One end; `lacks` are steps without their data, which are not to be taken."""

    place = serializers.ChoiceField(choices=["a", "b"])
    hose = serializers.CharField()
    part = serializers.CharField()
    insertion_depth_mm = serializers.FloatField(allow_null=True)
    crimps = SheetCrimpShown(many=True)
    lacks = serializers.ListField(child=serializers.CharField())


class SheetProofShown(serializers.Serializer):
    """Twice what the weakest part carries; null where `lacks` says why."""

    pressure_bar = serializers.FloatField(allow_null=True)
    rated_pressure_bar = serializers.FloatField(allow_null=True)
    weakest_part = Text(allow_null=True)
    least_seconds = serializers.FloatField()
    most_seconds = serializers.FloatField()
    source = serializers.CharField()
    lacks = Text(allow_null=True)


class BuildSheetShown(serializers.Serializer):
    """The sheet of one assembly; null cut and angle where it is bought ready made."""

    number = serializers.IntegerField()
    machine = Text(allow_null=True)
    position = Text(allow_null=True)
    critical = serializers.BooleanField()
    design = serializers.CharField()
    not_to_build = Text(allow_null=True, help_text="why the plan in force forbids to build it")
    why = Text(allow_null=True, help_text="the plan's reason, where the kit is not begun")
    assembly = Text(allow_null=True, help_text="its tag, once it is made")
    set_aside = serializers.BooleanField()
    parts = SheetPartShown(many=True)
    cut = SheetCutShown(allow_null=True)
    angle = SheetAngleShown(allow_null=True)
    ends = SheetEndShown(many=True)
    cleanings_before = serializers.IntegerField()
    cleanings_after = serializers.IntegerField()
    proof = SheetProofShown()


class BuildSheetsShown(serializers.Serializer):
    """The sheets of a kit, with what must be read before."""

    cautions = Cautions(AT_THE_BENCH)
    kit = serializers.CharField()
    begun = serializers.BooleanField()
    purpose = serializers.CharField()
    site = Text(allow_null=True)
    machine = Text(allow_null=True)
    needed_by = serializers.DateField(allow_null=True)
    how_to_clean = serializers.CharField(default=HOW_TO_CLEAN)
    how_to_measure = serializers.CharField(default=HOW_TO_MEASURE)
    sheets = BuildSheetShown(many=True)
    notes = serializers.ListField(child=serializers.CharField())


class ChangeoutStepShown(serializers.Serializer):
    """One position of a stop, in the order of work."""

    order = serializers.IntegerField()
    position = serializers.CharField()
    circuit = Text(allow_null=True)
    line = Text(allow_null=True)
    critical = serializers.BooleanField()
    fluid = Text(allow_null=True)
    pressure_bar = serializers.FloatField(allow_null=True)
    assembly = serializers.CharField()
    design = Text(allow_null=True)
    hose = Text(allow_null=True)
    construction = Text(allow_null=True)
    dash = serializers.FloatField(allow_null=True)
    end_a = Text(allow_null=True)
    end_b = Text(allow_null=True)
    overall_length_mm = serializers.FloatField(allow_null=True)
    angle_deg = serializers.FloatField(allow_null=True)
    angle_question = Text(
        allow_null=True, help_text="an angle is drawn, and an end looks straight: ask before it goes on"
    )
    due_reason = serializers.CharField()
    due_on = serializers.DateField(allow_null=True)
    minutes = serializers.FloatField(allow_null=True)
    reason = Text(allow_null=True)
    planned_on = serializers.DateField(
        help_text="the day on which it is planned; later than the stop's where its parts come later"
    )


class ChangeoutKitShown(serializers.Serializer):
    """A kit for the stop, and how far it is."""

    kit = serializers.CharField()
    site = Text(allow_null=True)
    ready = serializers.BooleanField()
    begun = serializers.BooleanField()
    made = serializers.IntegerField()
    of = serializers.IntegerField(help_text="of those that are for this stop; 0 where it is not begun")
    assemblies = serializers.ListField(
        child=serializers.CharField(), help_text="those made that wait to be fitted"
    )
    lacks = serializers.ListField(child=serializers.CharField())
    not_for_stop = serializers.ListField(
        child=serializers.CharField(),
        help_text="a sentence on each assembly of it that is not what goes on at this stop",
    )


class ChangeoutSheetShown(serializers.Serializer):
    """One stop: what must be read before a line is opened, the steps, the kits, and what to do after."""

    cautions = Cautions(BEFORE_OPENING)
    changeout = serializers.CharField()
    machine = serializers.CharField(source="machine.key")
    planned_on = serializers.DateField()
    window_starts_on = serializers.DateField(allow_null=True)
    special_stop = serializers.BooleanField()
    order_rule = serializers.CharField()
    steps = ChangeoutStepShown(many=True)
    minutes = serializers.FloatField(help_text="of the steps whose time is known")
    untimed = serializers.IntegerField(help_text="steps whose time is not known")
    kits = ChangeoutKitShown(many=True)
    after = Cautions(AFTER_THE_WORK)


class OfKit(MemberView):
    @extend_schema(responses=BuildSheetsShown)
    def get(self, request: Request, kit: str) -> Response:
        """The build sheets of a begun kit, else of the kit of that name in the plan in force."""
        sheets = None if "\x00" in kit else build_sheets(organization=self.organization, kit=kit)
        if sheets is None:
            raise Http404(_("No kit of that name is begun, and the plan in force has none."))
        return Response(BuildSheetsShown(sheets).data)


class OfChangeout(MemberView):
    @extend_schema(responses=ChangeoutSheetShown)
    def get(self, request: Request, machine: str, changeout: str) -> Response:
        """The sheet of one stop of a machine in the plan in force."""
        sheet = None
        if "\x00" not in machine + changeout:
            sheet = changeout_sheet(organization=self.organization, machine=machine, changeout=changeout)
        if sheet is None:
            raise Http404(_("The plan in force has no such changeout on that machine."))
        return Response(ChangeoutSheetShown(sheet).data)


def addresses() -> list[URLPattern]:
    return [
        path("kits/<path:kit>/sheet/", OfKit.as_view(), name="build-sheet"),
        path(
            "changeouts/<str:machine>/<path:changeout>/sheet/", OfChangeout.as_view(), name="changeout-sheet"
        ),
    ]
