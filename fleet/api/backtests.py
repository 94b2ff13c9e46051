"""Backtests: ask for one, follow it, and read how right past forecasts were."""

from django.core.validators import MinValueValidator
from django.urls import URLPattern, path
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from fleet.jobs import enqueue_backtest
from fleet.models import Backtest
from fleet.permissions import Action
from fleet.services.plans.backtesting import WAITED_FOR, request_backtest

from .fields import DayField, WholeField
from .runs import RunDetail, RunList, RunShown


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


class BacktestShown(RunShown):
    """A backtest and how far it is."""

    waited_for = WAITED_FOR

    backtest = serializers.IntegerField(source="pk", read_only=True)

    class Meta(RunShown.Meta):
        model = Backtest
        fields = ("backtest", "from_day", "every_days", "until", *RunShown.Meta.fields, "version")
        read_only_fields = fields


class BacktestAlone(BacktestShown):
    """A backtest with its scores, and what they say in words."""

    scores = ScoreShown(many=True, read_only=True)
    words = serializers.ListField(child=serializers.CharField(), read_only=True)
    passed_over = serializers.ListField(child=serializers.CharField(), read_only=True)

    class Meta(BacktestShown.Meta):
        fields = (*BacktestShown.Meta.fields, "scores", "words", "passed_over")
        read_only_fields = fields


class Backtests(RunList):
    """The organization's backtests, newest first."""

    queryset = Backtest.objects.select_related("requested_by")
    serializer_class = BacktestShown
    detail = "api:backtest"
    asks = {"POST": Action.REPLAN}

    @extend_schema(request=BacktestRequest, responses={202: BacktestShown})
    def post(self, request: Request) -> Response:
        """Asks for a new backtest. Follow it at the address that the answer's Location names."""
        wanted = BacktestRequest(data=request.data)
        wanted.is_valid(raise_exception=True)
        backtest = request_backtest(
            organization=self.organization, user=request.user, **wanted.validated_data
        )
        enqueue_backtest(backtest.pk)
        return self.accept(backtest)


class BacktestDetail(RunDetail):
    """One backtest, by its number."""

    queryset = Backtest.objects.select_related("requested_by")
    serializer_class = BacktestAlone


def addresses() -> list[URLPattern]:
    return [
        path("backtests/", Backtests.as_view(), name="backtests"),
        path("backtests/<int:pk>/", BacktestDetail.as_view(), name="backtest"),
    ]
