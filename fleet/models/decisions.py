"""What people decided beside the plan: about a changeout, or that an assembly is to be looked at.

A plan is never edited; the next one honours these rows.
"""

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from .assemblies import Assembly
from .organizations import Owned, User


class DecisionKind(models.TextChoices):
    """What a planner may say of an assembly's changeout; `day` bears on all but a refusal."""

    KEEP = "keep", _("Keep as announced")
    NOT_BEFORE = "not_before", _("Not before a day")
    NOT_AFTER = "not_after", _("Not after a day")
    REFUSE = "refuse", _("Do not change it")


class ChangeoutDecision(Owned):
    """What a named person decided about one assembly's changeout; it stands until it is withdrawn.

    `day` is the announced day of a changeout that is kept, the first day of `not_before` and the last one of
    `not_after`.
    """

    assembly = models.ForeignKey(Assembly, on_delete=models.CASCADE, related_name="decisions")
    kind = models.CharField(max_length=10, choices=DecisionKind.choices)
    day = models.DateField(null=True, blank=True)
    reason = models.CharField(max_length=300, blank=True)
    decided_on = models.DateField()
    decided_by = models.ForeignKey(User, on_delete=models.SET_NULL, null=True, blank=True, related_name="+")
    withdrawn_on = models.DateField(null=True, blank=True)

    class Meta:
        ordering = ["assembly", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["assembly"], condition=Q(withdrawn_on=None), name="decision_one_stands"
            ),
            models.CheckConstraint(
                condition=Q(kind=DecisionKind.REFUSE, day=None) | ~Q(kind=DecisionKind.REFUSE) & ~Q(day=None),
                name="decision_has_its_day",
            ),
            models.CheckConstraint(
                condition=~Q(kind=DecisionKind.REFUSE) | ~Q(reason=""), name="decision_refusal_has_a_reason"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.assembly}: {self.get_kind_display()}"


class InspectionRequest(Owned):
    """That somebody is to look at an assembly by a day; an inspection from `asked_on` on answers it.

    That is the day after where it had been looked at on the day of asking.
    """

    assembly = models.ForeignKey(Assembly, on_delete=models.CASCADE, related_name="inspection_requests")
    asked_on = models.DateField()
    by_day = models.DateField()
    reason = models.CharField(max_length=300)
    asked_by = models.ForeignKey(User, on_delete=models.SET_NULL, null=True, blank=True, related_name="+")
    withdrawn_on = models.DateField(null=True, blank=True)

    class Meta:
        ordering = ["by_day", "assembly"]
        indexes = [models.Index(fields=["organization", "by_day"], name="inspection_request_by_day")]

    def __str__(self) -> str:
        return f"look at {self.assembly} by {self.by_day}"
