"""What somebody asked to have looked at: open until an inspection answers it or it is withdrawn."""

import datetime
from collections.abc import Collection

from django.db import transaction
from django.db.models import Exists, OuterRef, QuerySet
from django.utils import timezone
from django.utils.translation import gettext_lazy
from simple_history.utils import bulk_create_with_history

from fleet.models import Assembly, Inspection, InspectionRequest, Organization, User

from ..errors import ServiceError
from ..signing import hold_organization, save_signed

LONGEST_REASON = InspectionRequest._meta.get_field("reason").max_length


class InspectionDay(ServiceError):
    """A day that is past, by which something is to be looked at."""

    code = "inspection_day"
    message = gettext_lazy("%(day)s is past. Give the day by which it is to be looked at, from %(today)s on.")


class WithoutReason(ServiceError):
    """Something is to be looked at, and nobody said what for."""

    code = "without_reason"
    message = gettext_lazy("Say what to look for: whoever inspects it reads that first.")


class NoSuchRequest(ServiceError):
    """A request that was answered or withdrawn, or that never was."""

    code = "no_such_request"
    message = gettext_lazy("That request is not open: it was answered or withdrawn.")


def open_requests(organization: Organization) -> QuerySet[InspectionRequest]:
    """The requests about what is in place that no inspection since has answered, the most urgent first."""
    asked = InspectionRequest.objects.of(organization)
    return _unanswered(asked.filter(assembly__position__isnull=False, assembly__removed_on=None))


def requests_about(assembly: Assembly) -> QuerySet[InspectionRequest]:
    """Those about one assembly, wherever it is."""
    return _unanswered(InspectionRequest.objects.filter(assembly=assembly))


def _unanswered(asked: QuerySet[InspectionRequest]) -> QuerySet[InspectionRequest]:
    answered = Inspection.objects.filter(
        assembly=OuterRef("assembly"), inspected_on__gte=OuterRef("asked_on")
    )
    return asked.filter(withdrawn_on=None).exclude(Exists(answered)).order_by("by_day", "assembly__key")


def ask_inspection_of(
    assemblies: Collection[Assembly],
    user: User | None,
    *,
    by_day: datetime.date,
    reason: str,
    today: datetime.date,
) -> list[InspectionRequest]:
    """The requests that each of the assemblies be looked at by a day. Opens no transaction.

    Raises InspectionDay, WithoutReason.
    """
    if by_day < today:
        raise InspectionDay(day=by_day, today=today)
    if not reason.strip():
        raise WithoutReason()
    # Who looked at it earlier today did not know what to look for, and answers nothing.
    seen = Inspection.objects.filter(assembly__in=assemblies, inspected_on=today)
    seen_today = set(seen.values_list("assembly", flat=True))
    asked = [
        InspectionRequest(
            organization_id=assembly.organization_id,
            assembly=assembly,
            asked_on=today + datetime.timedelta(days=1) if assembly.pk in seen_today else today,
            by_day=by_day,
            reason=reason.strip()[:LONGEST_REASON],
            asked_by=user,
        )
        for assembly in assemblies
    ]
    return bulk_create_with_history(
        asked, InspectionRequest, default_user=user, default_change_reason="asked to be looked at"
    )


@transaction.atomic(durable=True)
def withdraw_request(
    *, organization: Organization, user: User | None, request: int, today: datetime.date | None = None
) -> InspectionRequest:
    """The request, withdrawn. Raises NoSuchRequest."""
    hold_organization(organization)
    found = open_requests(organization).filter(pk=request).first()
    if found is None:
        raise NoSuchRequest()
    found.withdrawn_on = today or timezone.localdate()
    save_signed(found, user, "withdrawn")
    return found
