"""What a planner decides about a changeout: made, withdrawn, listed. The next plan honours what stands."""

import datetime

from django.db import transaction
from django.db.models import BooleanField, Exists, ExpressionWrapper, OuterRef, Q, QuerySet
from django.utils import timezone

from fleet.models import ChangeoutDecision, Organization, Plan, User

from ..signing import hold_organization, save_signed
from .errors import NothingDecided
from .weighing import find_scales, reason_missing, weigh_decision

LONGEST_REASON = ChangeoutDecision._meta.get_field("reason").max_length


@transaction.atomic(durable=True)
def decide_changeout(
    *,
    organization: Organization,
    user: User | None,
    assembly: str,
    kind: str,
    day: datetime.date | None = None,
    reason: str = "",
    today: datetime.date | None = None,
) -> ChangeoutDecision:
    """The decision that now stands about that assembly's changeout; one that stood is withdrawn by it.

    keep        change it in the window of its machine in which `day` lies
    not_before  change it on `day` at the earliest
    not_after   change it on `day` at the latest
    refuse      leave it in place; without a `day`, and with a reason

    To leave it past a limit takes a reason, and on a critical position is refused. Raises ServiceError.
    """
    today = today or timezone.localdate()
    hold_organization(organization)
    scales = find_scales(organization=organization, assembly=assembly, today=today)
    weighed = weigh_decision(scales, kind=kind, day=day)
    if weighed.refusal:
        raise weighed.refusal
    reason = reason.strip()[:LONGEST_REASON]
    missing = None if reason else reason_missing(scales, weighed)
    if missing:
        raise missing
    stood = ChangeoutDecision.objects.filter(assembly=scales.assembly, withdrawn_on=None).first()
    if stood is not None:
        _withdraw(stood, user, today, "decided anew")
    made = ChangeoutDecision(
        organization=organization,
        assembly=scales.assembly,
        kind=kind,
        day=day,
        reason=reason,
        decided_on=today,
        decided_by=user,
    )
    save_signed(made, user, "decided")
    return made


@transaction.atomic(durable=True)
def withdraw_decision(
    *, organization: Organization, user: User | None, assembly: str, today: datetime.date | None = None
) -> ChangeoutDecision:
    """The decision that stood about that assembly and now is withdrawn. Raises NothingDecided."""
    hold_organization(organization)
    rows = ChangeoutDecision.objects.of(organization).filter(withdrawn_on=None)
    stood = None if "\x00" in assembly else rows.filter(assembly__key=assembly).first()
    if stood is None:
        raise NothingDecided(assembly=assembly)
    _withdraw(stood, user, today or timezone.localdate(), "withdrawn")
    return stood


def standing_decisions(organization: Organization, plan: Plan | None) -> QuerySet[ChangeoutDecision]:
    """The decisions that stand about what is installed, the newest first.

    Each has `waits`: `plan`, the one in force, does not know it yet.
    """
    waits: Q = Q(decided_on__gt=plan.as_of) if plan else Q(pk__isnull=False)
    began = plan and (plan.started_at or plan.finished_at)
    if began:
        records = ChangeoutDecision.history.filter(id=OuterRef("pk"), history_type="+")
        waits |= Q(Exists(records.filter(history_date__gt=began)))
    return (
        ChangeoutDecision.objects.of(organization)
        .filter(withdrawn_on=None, assembly__position__isnull=False, assembly__removed_on=None)
        .select_related("assembly__position__machine__site", "decided_by")
        .annotate(waits=ExpressionWrapper(waits, output_field=BooleanField()))
        .order_by("-decided_on", "assembly__key")
    )


def _withdraw(decision: ChangeoutDecision, user: User | None, day: datetime.date, why: str) -> None:
    decision.withdrawn_on = day
    save_signed(decision, user, why)
