"""Plans: what the main job said on a day, kept as it was said.

A plan and its lines are never edited. The lines are the files out of `replan`, column by column, and name
machines, assemblies and parts by their keys, so that an old plan still reads when the register moved on.
"""

from typing import Any, ClassVar

from django.db import models
from django.db.models import Q

from .organizations import Organization, OwnedQuerySet
from .runs import Run, RunState


class PlanQuerySet(OwnedQuerySet):
    def in_force(self, organization: Organization):
        """The organization's newest finished plan, or None."""
        return self.of(organization).filter(state=RunState.DONE).order_by("-finished_at", "-pk").first()


class Plan(Run):
    """One run of the main job."""

    as_of = models.DateField()
    version = models.CharField(max_length=40, blank=True)
    input_digest = models.CharField(max_length=64, blank=True)
    policies = models.JSONField(default=list, blank=True)
    report = models.JSONField(default=dict, blank=True)

    objects: ClassVar = PlanQuerySet.as_manager()

    class Meta(Run.Meta):
        constraints = [
            models.UniqueConstraint(
                fields=["organization"], condition=Q(state="running"), name="plan_one_runs_at_a_time"
            ),
        ]
        indexes = [models.Index(fields=["organization", "state", "-finished_at"], name="plan_in_force")]

    def __str__(self) -> str:
        return f"plan {self.pk} of {self.organization} as of {self.as_of} ({self.state})"


class PlanLine(models.Model):
    """One line of a plan; `row` is its place in the file out."""

    plan = models.ForeignKey(Plan, on_delete=models.CASCADE, related_name="+")
    row = models.PositiveIntegerField()

    class Meta:
        abstract = True


KEY: dict[str, Any] = {"max_length": 200, "blank": True, "default": ""}


class MarginLine(PlanLine):
    assembly = models.CharField(**KEY)
    machine = models.CharField(**KEY)
    position = models.CharField(**KEY)
    rated_pressure_bar = models.FloatField(null=True)
    demanded_pressure_bar = models.FloatField(null=True)
    margin_percent = models.FloatField(null=True)
    verdict = models.CharField(max_length=8)
    limiting_part = models.CharField(**KEY)
    reason = models.TextField(blank=True)

    class Meta:
        ordering = ["plan", "row"]
        indexes = [
            models.Index(fields=["plan", "assembly"], name="margin_by_assembly"),
            models.Index(fields=["plan", "machine"], name="margin_by_machine"),
            models.Index(fields=["plan", "verdict"], name="margin_by_verdict"),
        ]

    def __str__(self) -> str:
        return f"{self.assembly}: {self.verdict}"


class ForecastLine(PlanLine):
    assembly = models.CharField(**KEY)
    machine = models.CharField(**KEY)
    position = models.CharField(**KEY)
    population = models.CharField(**KEY)
    age_days = models.FloatField()
    age_hours = models.FloatField()
    p_fail_30d = models.FloatField()
    p_fail_90d = models.FloatField()
    p_fail_180d = models.FloatField()
    p_fail_365d = models.FloatField()
    p_fail_365d_low = models.FloatField()
    p_fail_365d_high = models.FloatField()
    median_days_left = models.FloatField(null=True)
    due_on = models.DateField(null=True)
    due_reason = models.CharField(max_length=12)
    limit_on = models.DateField(null=True)
    limit_reason = models.CharField(max_length=12, blank=True, default="")

    class Meta:
        ordering = ["plan", "row"]
        indexes = [
            models.Index(fields=["plan", "assembly"], name="forecast_by_assembly"),
            models.Index(fields=["plan", "machine"], name="forecast_by_machine"),
            models.Index(fields=["plan", "due_on"], name="forecast_by_due"),
            models.Index(fields=["plan", "-p_fail_90d"], name="forecast_by_chance"),
        ]

    def __str__(self) -> str:
        return f"{self.assembly}: {self.p_fail_365d:.3f} in a year"


class FactorLine(PlanLine):
    assembly = models.CharField(**KEY)
    factor = models.CharField(**KEY)
    multiple = models.FloatField()

    class Meta:
        ordering = ["plan", "row"]
        indexes = [models.Index(fields=["plan", "assembly"], name="factor_by_assembly")]

    def __str__(self) -> str:
        return f"{self.assembly}: {self.factor} ×{self.multiple:.2f}"


class FailuresAheadLine(PlanLine):
    scope = models.CharField(**KEY)
    horizon_days = models.PositiveIntegerField()
    expected = models.FloatField()
    low_80 = models.PositiveIntegerField()
    high_80 = models.PositiveIntegerField()
    low_95 = models.PositiveIntegerField()
    high_95 = models.PositiveIntegerField()

    class Meta:
        ordering = ["plan", "row"]
        indexes = [models.Index(fields=["plan", "scope"], name="failures_ahead_by_scope")]

    def __str__(self) -> str:
        return f"{self.scope} in {self.horizon_days} d: {self.expected:.1f}"


class ChangeoutLine(PlanLine):
    changeout = models.CharField(**KEY)
    machine = models.CharField(**KEY)
    planned_on = models.DateField()
    window_starts_on = models.DateField(null=True)
    special_stop = models.BooleanField()
    assembly = models.CharField(**KEY)
    position = models.CharField(**KEY)
    design = models.CharField(**KEY)
    due_on = models.DateField(null=True)
    due_reason = models.CharField(max_length=12)
    expected_cost_now = models.FloatField(null=True)
    expected_cost_if_left = models.FloatField(null=True)
    minutes = models.FloatField(null=True)
    reason = models.TextField(blank=True)
    not_to_build = models.TextField(blank=True)

    class Meta:
        ordering = ["plan", "row"]
        indexes = [
            models.Index(fields=["plan", "assembly"], name="changeout_by_assembly"),
            models.Index(fields=["plan", "machine"], name="changeout_by_machine"),
            models.Index(fields=["plan", "planned_on"], name="changeout_by_day"),
            models.Index(fields=["plan", "changeout"], name="changeout_by_name"),
        ]

    def __str__(self) -> str:
        return f"{self.changeout}: {self.assembly} on {self.planned_on}"


class KitRow(PlanLine):
    kit = models.CharField(**KEY)
    purpose = models.CharField(max_length=10)
    changeout = models.CharField(**KEY)
    machine = models.CharField(**KEY)
    site = models.CharField(**KEY)
    needed_by = models.DateField(null=True)
    ready = models.BooleanField()
    not_to_build = models.TextField(blank=True)

    class Meta:
        ordering = ["plan", "row"]
        indexes = [
            models.Index(fields=["plan", "kit"], name="kit_by_key"),
            models.Index(fields=["plan", "needed_by"], name="kit_by_need"),
            models.Index(fields=["plan", "changeout"], name="kit_by_changeout"),
            models.Index(fields=["plan", "machine"], name="kit_by_machine"),
        ]

    def __str__(self) -> str:
        return self.kit


class KitLine(PlanLine):
    kit = models.CharField(**KEY)
    line = models.PositiveIntegerField()
    position = models.CharField(**KEY)
    design = models.CharField(**KEY)
    part = models.CharField(**KEY)
    kind = models.CharField(max_length=12)
    quantity = models.FloatField()
    unit = models.CharField(max_length=8)
    cut_length_mm = models.FloatField(null=True)
    short_by = models.FloatField()
    available_on = models.DateField(null=True)
    substitute_for = models.CharField(**KEY)
    not_to_build = models.TextField(blank=True)

    class Meta:
        ordering = ["plan", "row"]
        indexes = [
            models.Index(fields=["plan", "kit"], name="kit_line_by_kit"),
            models.Index(fields=["plan", "part", "row"], name="kit_line_by_part"),
        ]

    def __str__(self) -> str:
        return f"{self.kit} {self.line}: {self.quantity:g} × {self.part}"


class CutLine(PlanLine):
    site = models.CharField(**KEY)
    hose_part = models.CharField(**KEY)
    piece = models.CharField(**KEY)
    lot = models.CharField(**KEY)
    kit = models.CharField(**KEY)
    line = models.PositiveIntegerField()
    cut_length_mm = models.FloatField()
    left_on_piece_mm = models.FloatField()
    not_to_build = models.TextField(blank=True)

    class Meta:
        ordering = ["plan", "row"]
        indexes = [
            models.Index(fields=["plan", "site"], name="cut_by_site"),
            models.Index(fields=["plan", "kit", "line"], name="cut_by_kit"),
        ]

    def __str__(self) -> str:
        return f"{self.cut_length_mm:g} mm of {self.hose_part} for {self.kit}"


class StockAdviceLine(PlanLine):
    part = models.CharField(**KEY)
    site = models.CharField(**KEY)
    unit = models.CharField(max_length=8)
    on_hand = models.FloatField()
    on_order = models.FloatField()
    planned_demand = models.FloatField()
    unplanned_demand_mean = models.FloatField()
    lead_time_days = models.FloatField(null=True)
    reorder_point = models.FloatField()
    order_up_to = models.FloatField()
    order_now = models.FloatField()
    service_level = models.FloatField()
    expected_fill_rate = models.FloatField(null=True)
    surplus = models.FloatField()
    expires_unused = models.FloatField()
    why = models.TextField(blank=True)
    demand_low = models.FloatField(default=0.0)
    demand_high = models.FloatField(default=0.0)
    runs_out_on = models.DateField(null=True)

    class Meta:
        ordering = ["plan", "row"]
        indexes = [
            models.Index(fields=["plan", "part"], name="stock_advice_by_part"),
            models.Index(fields=["plan", "row"], condition=Q(order_now__gt=0), name="stock_advice_to_order"),
        ]

    def __str__(self) -> str:
        return f"{self.part} at {self.site}: order {self.order_now:g}"


class TransferLine(PlanLine):
    part = models.CharField(**KEY)
    from_site = models.CharField(**KEY)
    to_site = models.CharField(**KEY)
    quantity = models.FloatField()
    why = models.TextField(blank=True)

    class Meta:
        ordering = ["plan", "row"]
        indexes = [models.Index(fields=["plan", "part", "to_site"], name="transfer_by_part")]

    def __str__(self) -> str:
        return f"{self.quantity:g} × {self.part} from {self.from_site} to {self.to_site}"


class SuspectLine(PlanLine):
    kind = models.CharField(max_length=16)
    name = models.CharField(**KEY)
    lives = models.PositiveIntegerField()
    failures = models.PositiveIntegerField()
    expected = models.FloatField()
    ratio = models.FloatField()
    ratio_low = models.FloatField()
    ratio_high = models.FloatField()
    q_value = models.FloatField()
    installed_now = models.PositiveIntegerField()
    explained_by = models.CharField(**KEY)

    class Meta:
        ordering = ["plan", "row"]

    def __str__(self) -> str:
        return f"{self.kind} {self.name}: ×{self.ratio:.1f}"


class ChangeLine(PlanLine):
    assembly = models.CharField(**KEY)
    before = models.TextField()
    now = models.TextField()
    cause = models.TextField()

    class Meta:
        ordering = ["plan", "row"]
        indexes = [models.Index(fields=["plan", "assembly"], name="change_by_assembly")]

    def __str__(self) -> str:
        return f"{self.assembly}: {self.now}"


class GapLine(PlanLine):
    kind = models.CharField(**KEY)
    name = models.CharField(**KEY)
    column = models.CharField(**KEY)
    worth = models.FloatField(null=True)
    why = models.TextField(blank=True)

    class Meta:
        ordering = ["plan", "row"]
        indexes = [models.Index(fields=["plan", "row"], name="gap_by_row")]

    def __str__(self) -> str:
        return f"{self.kind} {self.name}: {self.column}"


# Each a model of PlanLine with columns of its own, which a common type would hide from the type checker.
LINES: dict[str, Any] = {
    "margins": MarginLine,
    "forecasts": ForecastLine,
    "factors": FactorLine,
    "failures_ahead": FailuresAheadLine,
    "changeouts": ChangeoutLine,
    "kits": KitRow,
    "kit_lines": KitLine,
    "cut_list": CutLine,
    "stock_advice": StockAdviceLine,
    "transfers": TransferLine,
    "suspects": SuspectLine,
    "changes": ChangeLine,
    "gaps": GapLine,
}
