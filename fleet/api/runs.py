"""Jobs that go on behind the API: each is asked for, answered with its address, and followed there."""

from django.urls import reverse
from rest_framework import generics, serializers, status
from rest_framework.response import Response

from fleet.models import Run
from fleet.services.runs import ABANDONED_AFTER, tell_loss

from .lists import ListView
from .members import OwnedRows


class RunShown(serializers.ModelSerializer):
    """How far a job is. Those of each kind name their number first, and add what is theirs."""

    waited_for = ABANDONED_AFTER  # behind other jobs, until it is begun

    requested_by = serializers.SlugRelatedField("username", read_only=True, allow_null=True)
    loss = serializers.SerializerMethodField(
        help_text="why it is not waited for any more, though it never ended: ask for it anew; else empty"
    )

    class Meta:
        model: type[Run]
        fields: tuple[str, ...] = (
            "state",
            "requested_at",
            "requested_by",
            "started_at",
            "finished_at",
            "progress",
            "failure",
            "loss",
        )

    def get_loss(self, run: Run) -> str:
        return tell_loss(run, self.waited_for)


class RunList(OwnedRows, ListView):
    """The organization's jobs of one kind, newest first; a new one is asked for by POST."""

    filterset_fields: tuple[str, ...] = ("state",)
    detail: str  # the name of the address at which one is followed

    def accept(self, run: Run) -> Response:
        """The answer to who asked for it: how far it is, and where to follow it."""
        return Response(
            self.get_serializer(run).data,
            status=status.HTTP_202_ACCEPTED,
            headers={"Location": reverse(self.detail, args=[run.pk])},
        )


class RunDetail(OwnedRows, generics.RetrieveAPIView):
    """One job, by its number."""
