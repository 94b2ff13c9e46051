"""What a decision about a changeout costs and risks, at once, from what the plan in force said.

Nothing is computed anew and nothing is stored: the next plan reckons the decision in full, with what else is
done in the same stop. Costs leave set-ups of stops aside, which stops share.
"""

import datetime
from dataclasses import dataclass
from functools import cached_property

from django.utils import timezone
from django.utils.translation import gettext as _

from fleet.frames.register import core_settings
from fleet.models import LINES, Assembly, DecisionKind, Organization, Plan, Position, ServiceWindow
from forecasting.ahead.forecasts import HORIZONS
from forecasting.policies import Settings
from forecasting.stops.decisions import tell_limit
from forecasting.stops.weighing import Outlook
from forecasting.wording import tell_day

from ..errors import ServiceError
from .errors import (
    AssemblyNotThere,
    CriticalNotPutOff,
    DecisionDay,
    NotAWindow,
    ReasonMissing,
)

WINDOWS_SHOWN = 12


@dataclass(frozen=True, slots=True)
class Weighing:
    """One decision weighed. What the plan in force does not tell is None.

    `changed_on` is the day on which the hose would then be changed, None: not in the time that the plan looks
    ahead. `cost` is what is expected to be spent on this position until the end of that time, and `dearer_by`
    how much more than as planned. `chance` is that of failing before it is changed, with its interval (four
    times in five), and `chance_as_planned` the same as planned. `limits` are those it goes past, in words.
    `refusal` says why it may not be decided so; `asks_reason`, that it takes a reason.
    """

    kind: str
    day: datetime.date | None
    changed_on: datetime.date | None
    special_stop: bool
    as_planned: bool
    cost: float | None
    dearer_by: float | None
    chance: float | None
    chance_low: float | None
    chance_high: float | None
    chance_as_planned: float | None
    limits: tuple[str, ...]
    asks_reason: bool
    refusal: ServiceError | None

    @property
    def refusal_in_words(self) -> str:
        return str(self.refusal) if self.refusal else ""


class Scales:
    """What is needed to weigh decisions about one installed assembly: its lines in the plan in force, its
    machine's windows, its latest inspection."""

    def __init__(
        self,
        assembly: Assembly,
        position: Position,
        plan: Plan | None,
        settings: Settings,
        today: datetime.date,
    ) -> None:
        self.assembly, self.position, self.machine = assembly, position, position.machine
        self.plan, self.settings, self.today = plan, settings, today

    @cached_property
    def windows(self) -> list[ServiceWindow]:
        """The windows of its machine that are not over, within the time that plans look ahead."""
        end = self.today + datetime.timedelta(days=self.settings.horizon_days)
        rows = ServiceWindow.objects.filter(machine=self.machine, ends_on__gte=self.today, starts_on__lte=end)
        return list(rows.order_by("starts_on"))

    def _line(self, table: str):
        return LINES[table].objects.filter(plan=self.plan, assembly=self.assembly.key).first()

    @cached_property
    def forecast(self):
        return self._line("forecasts")

    @cached_property
    def changeout(self):
        """The line of the plan in force that changes it; None where it does not."""
        return self._line("changeouts")

    @cached_property
    def outlook(self) -> Outlook | None:
        line = self.forecast
        if line is None:
            return None
        chances = tuple(getattr(line, f"p_fail_{days}d") for days in HORIZONS)
        return Outlook.read(HORIZONS, chances, line.p_fail_365d_low, line.p_fail_365d_high)

    @cached_property
    def limit(self) -> tuple[str, datetime.date] | None:
        """The reason and day of the limit that holds it, today where it is past; None where none is known.

        On a critical position any due date is one. A newer inspection counts though no plan knows it yet.
        """
        latest = self.assembly.inspections.order_by("-inspected_on").first()
        if latest is not None and latest.grade == "replace":
            return "inspection", self.today
        line = self.forecast
        if line is None:
            return None
        reason, limit = line.limit_reason, line.limit_on
        if self.position.critical:  # which the plan may not know yet
            reason, limit = line.due_reason, line.due_on
        if limit is None or reason == "inspection":  # and it says so no longer
            return None
        return reason, max(limit, self.today)

    @property
    def looks_to(self) -> datetime.date:
        """The last day that the plan looks ahead to."""
        begins = self.plan.as_of if self.plan else self.today
        return begins + datetime.timedelta(days=self.settings.horizon_days)

    @property
    def limit_ahead(self) -> datetime.date | None:
        """The day of that limit where plans look so far ahead."""
        end = self.today + datetime.timedelta(days=self.settings.horizon_days)
        return self.limit[1] if self.limit and self.limit[1] <= end else None

    def window_on(self, day: datetime.date) -> ServiceWindow | None:
        return next((one for one in self.windows if one.starts_on <= day <= one.ends_on), None)

    def days_to(self, day: datetime.date) -> int:
        """Days from the day of which the plan speaks; from today where there is none."""
        return (day - (self.plan.as_of if self.plan else self.today)).days


def find_scales(
    *,
    organization: Organization,
    assembly: str,
    plan: Plan | None = None,
    settings: Settings | None = None,
    today: datetime.date | None = None,
) -> Scales:
    """What weighs decisions about that assembly. Raises AssemblyNotThere.

    `plan`, the one in force, and `settings` are read where the caller has not done so already.
    """
    rows = Assembly.objects.of(organization).select_related("position__machine__site", "design")
    found = None if "\x00" in assembly else rows.filter(key=assembly).first()
    if found is None:
        raise AssemblyNotThere(assembly=assembly, why=_("is not in the register"))
    if found.position is None:
        raise AssemblyNotThere(assembly=assembly, why=_("is built and not on a machine yet"))
    if found.removed_on is not None:
        raise AssemblyNotThere(
            assembly=assembly,
            why=_("came off %(position)s on %(removed_on)s")
            % {"position": found.position, "removed_on": found.removed_on},
        )
    plan = plan or Plan.objects.in_force(organization)
    settings = settings or core_settings(organization)
    return Scales(found, found.position, plan, settings, today or timezone.localdate())


def weigh_choices(scales: Scales) -> list[Weighing]:
    """Each window that the machine still has, and leaving it in place, the one planned marked."""
    windows = scales.windows[:WINDOWS_SHOWN]
    kept = [
        weigh_decision(scales, kind=DecisionKind.KEEP, day=max(one.starts_on, scales.today))
        for one in windows
    ]
    return [*kept, weigh_decision(scales, kind=DecisionKind.REFUSE)]


def weigh_decision(scales: Scales, *, kind: str, day: datetime.date | None = None) -> Weighing:
    """What it costs and risks to decide so.

    Raises DecisionDay and NotAWindow where nothing could be weighed; that it may not be decided stands in
    `refusal`.
    """
    check_day(scales, kind, day)
    changed_on, special = _changed_on(scales, kind, day)
    line, stop_planned = scales.changeout, _planned(scales)
    passed = _limit_passed(scales, changed_on, kind)
    cost = _cost(scales, changed_on)
    own = line.expected_cost_now if line else None
    chance = _chance(scales, changed_on)
    planned = _chance(scales, stop_planned[0]) if line else None
    return Weighing(
        kind=kind,
        day=day,
        changed_on=changed_on,
        special_stop=special,
        as_planned=(changed_on, special) == stop_planned,
        cost=cost,
        dearer_by=None if cost is None or own is None else cost - own,
        chance=chance[0] if chance else None,
        chance_low=chance[1] if chance else None,
        chance_high=chance[2] if chance else None,
        chance_as_planned=planned[0] if planned else None,
        limits=(passed,) if passed else (),
        asks_reason=bool(passed) or kind == DecisionKind.REFUSE,
        refusal=_critical(scales) if passed and scales.position.critical else None,
    )


def check_day(scales: Scales, kind: str, day: datetime.date | None) -> None:
    """Raises DecisionDay or NotAWindow where the day does not fit what is decided."""
    if kind == DecisionKind.REFUSE:
        if day is not None:
            raise DecisionDay(
                wrong=_("To leave it in place takes no day."),
                right=_("Leave the day out, or say not before a day."),
            )
        return
    if day is None:
        raise DecisionDay(
            wrong=_("There is no day."), right=_("Give the day from which, or until when, it is to be.")
        )
    check_not_past(day, scales.today)
    if kind == DecisionKind.KEEP and scales.window_on(day) is None:
        raise NotAWindow(machine=scales.machine, day=day, right=_windows_in_words(scales))


def check_not_past(day: datetime.date, today: datetime.date) -> None:
    """Raises DecisionDay where the day is past."""
    if day < today:
        raise DecisionDay(
            wrong=_("%(day)s is past.") % {"day": day},
            right=_("Give a day from %(today)s on.") % {"today": today},
        )


def reason_missing(scales: Scales, weighed: Weighing) -> ReasonMissing | None:
    """The refusal of a decision without a reason, where it takes one."""
    if not weighed.asks_reason:
        return None
    what = (
        _("would stay past a limit: %(limits)s") % {"limits": weighed.limits[0]}
        if weighed.limits
        else _("would be left in place")
    )
    return ReasonMissing(assembly=scales.assembly, what=what)


def _changed_on(scales: Scales, kind: str, day: datetime.date | None) -> tuple[datetime.date | None, bool]:
    """When it would be changed under the decision, and whether in a special stop; None: not planned."""
    line, planned = scales.changeout, _planned(scales)
    if day is None:
        return None, False
    if kind == DecisionKind.KEEP:
        # A window is kept, and the plan chooses the day in it.
        window = scales.window_on(day)
        same = line is not None and window is not None and window.starts_on == line.window_starts_on
        return planned if same else (day, False)
    if kind == DecisionKind.NOT_BEFORE:
        if line is not None and line.planned_on >= day:
            return planned
        later = next((max(one.starts_on, day) for one in scales.windows if one.ends_on >= day), None)
        limit = scales.limit_ahead
        if limit is not None and (later is None or later > limit >= day):
            return max(day, limit), True
        if later is None or (line is None and limit is None):
            return None, False
        return later, False
    if line is not None and line.planned_on <= day:
        return planned
    in_time = [max(one.starts_on, scales.today) for one in scales.windows if one.starts_on <= day]
    return (in_time[-1], False) if in_time else (day, True)


def _planned(scales: Scales) -> tuple[datetime.date | None, bool]:
    line = scales.changeout
    return (line.planned_on, line.special_stop) if line else (None, False)


def _limit_passed(scales: Scales, changed_on: datetime.date | None, kind: str) -> str:
    """The limit that it would stay past, in words; empty where none is passed."""
    if scales.limit is None or kind == DecisionKind.NOT_AFTER:
        return ""
    reason, limit = scales.limit
    if scales.limit_ahead is None if changed_on is None else changed_on <= limit:
        return ""
    return _in_words(scales, reason, limit)


def _in_words(scales: Scales, reason: str, limit: datetime.date) -> str:
    return tell_limit(reason, tell_day(limit), reached=limit <= scales.today)


def _critical(scales: Scales) -> CriticalNotPutOff:
    reason, due = scales.limit or ("none", scales.today)
    by = [one for one in scales.windows if one.starts_on <= due]
    named = ", ".join(tell_day(one.starts_on) for one in by[:5])
    return CriticalNotPutOff(
        position=scales.position,
        limit=_in_words(scales, reason, due),
        due=due,
        right=_("Windows by then begin on %(named)s.") % {"named": named}
        if by
        else _(
            "No window comes by then: it takes a special stop on that day, or sooner if you say not after."
        ),
    )


def _cost(scales: Scales, changed_on: datetime.date | None) -> float | None:
    line = scales.changeout
    if line is None or scales.outlook is None:
        return None
    if changed_on is None:
        return line.expected_cost_if_left
    if changed_on == line.planned_on:
        return line.expected_cost_now
    failure_cost = scales.position.failure_cost
    if line.expected_cost_now is None or line.expected_cost_if_left is None or failure_cost is None:
        return None
    return scales.outlook.cost(
        max(scales.days_to(changed_on), 0),
        planned_days=scales.days_to(line.planned_on),
        cost_now=line.expected_cost_now,
        cost_if_left=line.expected_cost_if_left,
        failure_cost=float(failure_cost),
        horizon_days=scales.settings.horizon_days,
    )


def _chance(scales: Scales, changed_on: datetime.date | None) -> tuple[float, float, float] | None:
    """The chance to fail before that day, or in all the time the plan looks ahead, with its interval."""
    if scales.outlook is None:
        return None
    days = scales.settings.horizon_days if changed_on is None else scales.days_to(changed_on)
    return scales.outlook.chance(max(days, 0))


def _windows_in_words(scales: Scales) -> str:
    if not scales.windows:
        return _("It has none in the time that plans look ahead. Say not before or not after a day instead.")
    named = ", ".join(
        _("%(starts_on)s to %(ends_on)s")
        % {"starts_on": tell_day(one.starts_on), "ends_on": tell_day(one.ends_on)}
        for one in scales.windows[:5]
    )
    more = _(" and later ones") if len(scales.windows) > 5 else ""
    return _("Its windows are %(named)s%(more)s.") % {"named": named, "more": more}
