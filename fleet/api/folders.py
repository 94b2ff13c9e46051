"""Fleet folders: send one, and follow what comes of it."""

from django.db.models import QuerySet
from django.urls import URLPattern, path, reverse
from drf_spectacular.utils import extend_schema
from rest_framework import generics, serializers, status
from rest_framework.parsers import MultiPartParser
from rest_framework.request import Request
from rest_framework.response import Response

from fleet.exchange.findings import Severity
from fleet.jobs import enqueue_reading
from fleet.models import FolderReading
from fleet.permissions import Action
from fleet.services.folders.readings import receive_folder

from .lists import ListView
from .members import MemberView


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


class ReadingShown(serializers.ModelSerializer):
    """A folder that was sent in and how far its reading is."""

    folder = serializers.IntegerField(source="pk", read_only=True)
    requested_by = serializers.SlugRelatedField("username", read_only=True, allow_null=True)

    class Meta:
        model = FolderReading
        fields: tuple[str, ...] = (
            "folder",
            "state",
            "requested_at",
            "requested_by",
            "started_at",
            "finished_at",
            "progress",
            "failure",
        )
        read_only_fields: tuple[str, ...] = fields


class ReadingAlone(ReadingShown):
    """A folder with every finding, and what was stored."""

    findings = FindingShown(many=True, read_only=True)
    outcome = serializers.DictField(read_only=True)

    class Meta(ReadingShown.Meta):
        fields = (*ReadingShown.Meta.fields, "findings", "outcome")
        read_only_fields = fields


class Folders(ListView):
    """The fleet folders that were sent in, newest first."""

    queryset = FolderReading.objects.select_related("requested_by").order_by("-requested_at", "-pk")
    serializer_class = ReadingShown
    parser_classes = (MultiPartParser,)
    filterset_fields = ("state",)
    asks = {"POST": Action.IMPORT}

    def get_queryset(self) -> QuerySet:
        return super().get_queryset().filter(organization=self.organization)

    @extend_schema(request=FolderSent, responses={202: ReadingAlone})
    def post(self, request: Request) -> Response:
        """Sends a fleet folder. Follow its reading at the address that the answer's Location names."""
        sent = FolderSent(data=request.data)
        sent.is_valid(raise_exception=True)
        reading = receive_folder(
            organization=self.organization, user=request.user, files=sent.validated_data["files"]
        )
        enqueue_reading(reading.pk)
        return Response(
            ReadingAlone(reading).data,
            status=status.HTTP_202_ACCEPTED,
            headers={"Location": reverse("api:folder", args=[reading.pk])},
        )


class FolderDetail(MemberView, generics.RetrieveAPIView):
    """One folder that was sent in, by its number."""

    queryset = FolderReading.objects.select_related("requested_by")
    serializer_class = ReadingAlone

    def get_queryset(self) -> QuerySet:
        return super().get_queryset().filter(organization=self.organization)


def addresses() -> list[URLPattern]:
    return [
        path("folders/", Folders.as_view(), name="folders"),
        path("folders/<int:pk>/", FolderDetail.as_view(), name="folder"),
    ]
