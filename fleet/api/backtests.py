"""Backtests: ask for one, follow it, and read how right past forecasts were."""

from django.core.validators import MinValueValidator
from django.db.models import QuerySet
from django.urls import URLPattern, path, reverse
from drf_spectacular.utils import extend_schema
from rest_framework import generics, serializers, status
from rest_framework.request import Request
from rest_framework.response import Response

from fleet.jobs import enqueue_backtest
from fleet.models import Backtest
from fleet.permissions import Action
from fleet.services.plans.backtesting import request_backtest

from .fields import DayField, WholeField
from .lists import ListView
from .members import MemberView


class BacktestRequest(serializers.Serializer):
    """Which past dates a new backtest is asked for."""

    from_day = DayField(help_text="the first past date")
    every_days = WholeField(
        validators=[MinValueValidator(1)], help_text="days from one past date to the next"
    )


class ScoreShown(serializers.Serializer):
    """A row of scores.csv."""

    as_of = serializers.DateField()
    horizon_days = serializers.IntegerField()
    model = serializers.CharField()
    installed = serializers.IntegerField()
    expected = serializers.FloatField(help_text="failures while watched")
    observed = serializers.IntegerField()
    low_80 = serializers.IntegerField()
    high_80 = serializers.IntegerField()
    low_95 = serializers.IntegerField()
    high_95 = serializers.IntegerField()
    log_loss = serializers.FloatField(allow_null=True)
    brier = serializers.FloatField(allow_null=True)
    calibration_slope = serializers.FloatField(allow_null=True)
    calibration_intercept = serializers.FloatField(allow_null=True)


class BacktestShown(serializers.ModelSerializer):
    """A backtest and how far it is."""

    backtest = serializers.IntegerField(source="pk", read_only=True)
    requested_by = serializers.SlugRelatedField("username", read_only=True, allow_null=True)

    class Meta:
        model = Backtest
        fields: tuple[str, ...] = (
            "backtest",
            "state",
            "from_day",
            "every_days",
            "until",
            "requested_at",
            "requested_by",
            "started_at",
            "finished_at",
            "progress",
            "failure",
            "version",
        )
        read_only_fields: tuple[str, ...] = fields


class BacktestAlone(BacktestShown):
    """A backtest with its scores, and what they say in words."""

    scores = ScoreShown(many=True, read_only=True)
    words = serializers.ListField(child=serializers.CharField(), read_only=True)
    passed_over = serializers.ListField(child=serializers.CharField(), read_only=True)

    class Meta(BacktestShown.Meta):
        fields = (*BacktestShown.Meta.fields, "scores", "words", "passed_over")
        read_only_fields = fields


class Backtests(ListView):
    """The organization's backtests, newest first."""

    queryset = Backtest.objects.select_related("requested_by").order_by("-requested_at", "-pk")
    serializer_class = BacktestShown
    filterset_fields = ("state",)
    asks = {"POST": Action.REPLAN}

    def get_queryset(self) -> QuerySet:
        return super().get_queryset().of(self.organization)

    @extend_schema(request=BacktestRequest, responses={202: BacktestShown})
    def post(self, request: Request) -> Response:
        """Asks for a new backtest. Follow it at the address that the answer's Location names."""
        wanted = BacktestRequest(data=request.data)
        wanted.is_valid(raise_exception=True)
        backtest = request_backtest(
            organization=self.organization, user=request.user, **wanted.validated_data
        )
        enqueue_backtest(backtest.pk)
        return Response(
            BacktestShown(backtest).data,
            status=status.HTTP_202_ACCEPTED,
            headers={"Location": reverse("api:backtest", args=[backtest.pk])},
        )


class BacktestDetail(MemberView, generics.RetrieveAPIView):
    """One backtest, by its number."""

    queryset = Backtest.objects.select_related("requested_by")
    serializer_class = BacktestAlone

    def get_queryset(self) -> QuerySet:
        return super().get_queryset().of(self.organization)


def addresses() -> list[URLPattern]:
    return [
        path("backtests/", Backtests.as_view(), name="backtests"),
        path("backtests/<int:pk>/", BacktestDetail.as_view(), name="backtest"),
    ]
