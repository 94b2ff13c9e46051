"""Fleet folders: send one, and follow what comes of it."""

from django.urls import URLPattern, path
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.parsers import MultiPartParser
from rest_framework.request import Request
from rest_framework.response import Response

from fleet.exchange.findings import Severity
from fleet.jobs import enqueue_reading
from fleet.models import FolderReading
from fleet.permissions import Action
from fleet.services.folders.readings import receive_folder

from .runs import RunDetail, RunList, RunShown


class FolderSent(serializers.Serializer):
    """A fleet folder as it is sent: one .zip or .xlsx, or several .csv."""

    files = serializers.ListField(child=serializers.FileField(), allow_empty=False, max_length=40)


class FindingShown(serializers.Serializer):
    """One thing wrong in the folder, at one place."""

    severity = serializers.ChoiceField(choices=[(one.value, one.value) for one in Severity])
    file = serializers.CharField()
    line = serializers.IntegerField(allow_null=True)
    column = serializers.CharField()
    value = serializers.CharField()
    wrong = serializers.CharField()
    right = serializers.CharField()


class ReadingShown(RunShown):
    """A folder that was sent in and how far its reading is."""

    folder = serializers.IntegerField(source="pk", read_only=True)

    class Meta(RunShown.Meta):
        model = FolderReading
        fields = ("folder", *RunShown.Meta.fields)
        read_only_fields = fields


class ReadingAlone(ReadingShown):
    """A folder with every finding, and what was stored."""

    findings = FindingShown(many=True, read_only=True)
    outcome = serializers.DictField(read_only=True)

    class Meta(ReadingShown.Meta):
        fields = (*ReadingShown.Meta.fields, "findings", "outcome")
        read_only_fields = fields


class Folders(RunList):
    """The fleet folders that were sent in, newest first."""

    queryset = FolderReading.objects.select_related("requested_by")
    serializer_class = ReadingShown
    parser_classes = (MultiPartParser,)
    detail = "api:folder"
    asks = {"POST": Action.IMPORT}

    @extend_schema(request=FolderSent, responses={202: ReadingShown})
    def post(self, request: Request) -> Response:
        """Sends a fleet folder. Follow its reading at the address that the answer's Location names."""
        sent = FolderSent(data=request.data)
        sent.is_valid(raise_exception=True)
        reading = receive_folder(
            organization=self.organization, user=request.user, files=sent.validated_data["files"]
        )
        enqueue_reading(reading.pk)
        return self.accept(reading)


class FolderDetail(RunDetail):
    """One folder that was sent in, by its number."""

    queryset = FolderReading.objects.select_related("requested_by")
    serializer_class = ReadingAlone


def addresses() -> list[URLPattern]:
    return [
        path("folders/", Folders.as_view(), name="folders"),
        path("folders/<int:pk>/", FolderDetail.as_view(), name="folder"),
    ]
