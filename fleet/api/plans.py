"""Plans: ask for one and follow it, and read every result of the plan in force."""

from django.db import models
from django.db.models import QuerySet
from django.urls import URLPattern, path
from django.utils import timezone
from django.utils.translation import gettext as _
from drf_spectacular.utils import extend_schema, extend_schema_field
from rest_framework import generics, serializers
from rest_framework.request import Request
from rest_framework.response import Response

from fleet.exchange.columns import Kind
from fleet.jobs import enqueue_plan
from fleet.models import LINES, Plan
from fleet.permissions import Action
from fleet.services.plans.replanning import request_plan
from fleet.trade.cautions import AT_THE_BENCH, AT_THE_MACHINE, Caution

from .columns import Shown, filters_of, serializer_of
from .errors import NoPlan
from .fields import DayField
from .lists import CAUTIONS_SCHEMA, ListView, PlanPages, cautions_shown, row_named
from .members import MemberView
from .runs import RunDetail, RunList, RunShown

# Lines that send somebody to a hose, and what they must read first.
CAUTIONS = {
    "changeouts": AT_THE_MACHINE,
    "kits": AT_THE_BENCH,
    "kit_lines": AT_THE_BENCH,
    "cut_list": AT_THE_BENCH,
}
LOOKUPS = {
    "margins": "assembly",
    "forecasts": "assembly",
    "changeouts": "assembly",
    "kits": "kit",
    "changes": "assembly",
}
KINDS = {
    models.DateField: Kind.DATE,
    models.BooleanField: Kind.YES_NO,
    models.FloatField: Kind.NUMBER,
    models.PositiveIntegerField: Kind.WHOLE,
}


class PlanRequest(serializers.Serializer):
    """What a new plan is asked for."""

    as_of = DayField(
        required=False,
        help_text="plan as on that day, not ahead and not before the plan in force; today where it is absent",
    )


class PlanShown(RunShown):
    """A plan and how far it is."""

    plan = serializers.IntegerField(source="pk", read_only=True)

    class Meta(RunShown.Meta):
        model = Plan
        fields = ("plan", "as_of", *RunShown.Meta.fields, "version", "input_digest")
        read_only_fields: tuple[str, ...] = fields


@extend_schema_field(CAUTIONS_SCHEMA)
class Cautions(serializers.ReadOnlyField):
    """The cautions of a row that leads to handwork, whatever the row says."""

    def __init__(self, cautions: tuple[Caution, ...] = AT_THE_MACHINE, **given) -> None:
        super().__init__(source="*", **given)
        self.cautions = cautions

    def to_representation(self, value) -> list[dict[str, str]]:
        return cautions_shown(self.cautions)


class PlanInForce(PlanShown):
    """The plan in force with the figures of the whole, as they stand in report.json."""

    report = serializers.DictField(read_only=True)
    cautions = Cautions()

    class Meta(PlanShown.Meta):
        fields = (*PlanShown.Meta.fields, "report", "cautions")
        read_only_fields = fields


class Plans(RunList):
    """The organization's plans, newest first."""

    queryset = Plan.objects.select_related("requested_by")
    serializer_class = PlanShown
    filterset_fields = ("state", "as_of")
    detail = "api:plan"
    asks = {"POST": Action.REPLAN}

    @extend_schema(request=PlanRequest, responses={202: PlanShown})
    def post(self, request: Request) -> Response:
        """Asks for a new plan. Follow it at the address that the answer's Location names."""
        wanted = PlanRequest(data=request.data)
        wanted.is_valid(raise_exception=True)
        plan = request_plan(
            organization=self.organization,
            user=request.user,
            as_of=wanted.validated_data.get("as_of") or timezone.localdate(),
        )
        enqueue_plan(plan.pk)
        return self.accept(plan)


class PlanDetail(RunDetail):
    """One plan, by its number: how far it is, or why it failed."""

    queryset = Plan.objects.select_related("requested_by")
    serializer_class = PlanShown


class InForce(MemberView):
    """A view of the plan in force."""

    @property
    def plan(self) -> Plan:
        """The plan in force, the same for the whole request. Raises NoPlan."""
        if not hasattr(self, "_plan"):
            self._plan = Plan.objects.in_force(self.organization)
        if self._plan is None:
            raise NoPlan()
        return self._plan


class PlanNow(InForce, generics.RetrieveAPIView):
    """The plan in force."""

    queryset = Plan.objects.all()
    serializer_class = PlanInForce

    def get_object(self) -> Plan:
        return self.plan


class Lines(InForce, ListView):
    """One table of the plan in force, in the order of its file."""

    pagination_class = PlanPages
    cautions: tuple[Caution, ...] = ()

    def get_queryset(self) -> QuerySet:
        return super().get_queryset().filter(plan=self.plan).order_by("row")


class Line(InForce, generics.RetrieveAPIView):
    """One line of the plan in force."""

    def get_object(self) -> models.Model:
        lines = self.get_queryset().filter(plan=self.plan)
        return row_named(lines, self.kwargs, _("The plan in force has no such line."))


def columns(model: type[models.Model]) -> list[Shown]:
    """The columns of a plan's table, as its model keeps them."""
    return [
        Shown(
            field.name,
            KINDS.get(type(field), Kind.TEXT),
            field.name,
            filled=not field.null and type(field) in KINDS,
        )
        for field in model._meta.fields
        if field.name not in ("id", "plan", "row")
    ]


def addresses() -> list[URLPattern]:
    """The plans, the plan in force and each of its tables."""
    found = [
        path("plans/", Plans.as_view(), name="plans"),
        path("plans/<int:pk>/", PlanDetail.as_view(), name="plan"),
        path("plan/", PlanNow.as_view(), name="plan-in-force"),
    ]
    for name, model in LINES.items():
        shown, rows = columns(model), model._default_manager.all()
        cautions = CAUTIONS.get(name, ())
        serializer = serializer_of(model.__name__, shown)
        listed = Lines.as_view(
            queryset=rows,
            serializer_class=serializer,
            filterset_class=filters_of(f"{model.__name__}Filters", model, shown),
            cautions=cautions,
        )
        found.append(path(f"plan/{name}/", listed, name=f"plan-{name}"))
        if name in LOOKUPS:
            if cautions:
                serializer = type(f"{model.__name__}Alone", (serializer,), {"cautions": Cautions(cautions)})
            one = Line.as_view(queryset=rows, serializer_class=serializer)
            found.append(path(f"plan/{name}/<path:{LOOKUPS[name]}>/", one, name=f"plan-{name}-detail"))
    return found
