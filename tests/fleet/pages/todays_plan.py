"""The small fleet with its plan as of today: each machine has a window in a week, M-01 another one later."""

import datetime

from django.utils import timezone

from fleet.models import LINES, Machine, Organization, Plan, Position, RunState, ServiceWindow


def day(offset: int) -> datetime.date:
    """So many days from today."""
    return timezone.localdate() + datetime.timedelta(days=offset)


def bring_up_to_today(organization: Organization) -> None:
    """Moves plan and windows: what is over its rating is due today, all else in 20 days, and
    everything is planned in a week. A failure costs 2,000, a changeout 180."""
    made_at = timezone.now() - datetime.timedelta(hours=1)
    Plan.objects.of(organization).filter(state=RunState.DONE).update(as_of=day(0), finished_at=made_at)
    ServiceWindow.objects.of(organization).update(starts_on=day(7), ends_on=day(8))
    first = Machine.objects.of(organization).get(key="M-01")
    first.windows.create(organization=organization, starts_on=day(60), ends_on=day(61))
    LINES["changeouts"].objects.update(planned_on=day(7), window_starts_on=day(7))
    for name in ("changeouts", "forecasts"):
        LINES[name].objects.filter(due_reason="economy").update(due_on=day(20))
        LINES[name].objects.filter(due_reason="unfit").update(due_on=day(0))
    LINES["forecasts"].objects.filter(limit_reason="unfit").update(limit_on=day(0))
    Position.objects.of(organization).update(planned_cost=180, failure_cost=2_000)
