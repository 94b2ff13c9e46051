"""The main job: a plan is requested, claimed, computed outside any transaction and published in one step.

A plan in state `running` shows signs of life (see `runs`). Where its process is taken for dead, the plan in
force stands as it was, and the next request may run.
"""

import hashlib
from collections.abc import Callable
from datetime import date, datetime

import numpy as np
import pandas as pd
from django.db import IntegrityError, transaction
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from fleet import __version__
from fleet.exchange.cells import FIRST_DAY, LAST_DAY
from fleet.frames.plans import plan_tables, previous_plan, store_plan_lines
from fleet.frames.register import core_settings, core_tables
from fleet.frames.snapshots import one_snapshot
from fleet.models import Backtest, Organization, Plan, RunState, User
from forecasting.errors import ForecastingError
from forecasting.pipeline import make_plan
from forecasting.policies import Settings

from ..errors import DayAhead, DayOutOfReach, NewerInForce, PlanGivenUp, PlanRuns
from ..runs import alive, end_run, give_up_silent, making, show_progress, take_up
from ..signing import hold_organization

SEED = 1
STOPPED = gettext_lazy("Stopped before it was done. The plan in force stands as it was.")

Progress = Callable[[str], None]


@transaction.atomic(durable=True)
def request_plan(
    *, organization: Organization, user: User | None, as_of: date, any_day: bool = False
) -> Plan:
    """The requested plan; an adapter hands its number to `run_plan`.

    Everybody works by the plan in force, so that one of a day ahead, or of one before it, takes its place
    with `any_day` alone: whoever says that on the server's command line has both in hand.

    Raises PlanRuns where one is being made for the organization, or was requested a moment ago, DayOutOfReach
    where no row of a register can bear on the day, and DayAhead and NewerInForce.
    """
    if not FIRST_DAY <= as_of <= LAST_DAY:
        raise DayOutOfReach(day=as_of, first=FIRST_DAY, last=LAST_DAY)
    hold_organization(organization)  # two requests at once: one after the other
    if not any_day:
        _refuse_other_days(organization, as_of)
    other = running_plan(organization)
    if other is not None:
        raise PlanRuns(organization=organization, since=_clock(other.started_at or other.requested_at))
    plan = Plan(organization=organization, requested_by=user, as_of=as_of)
    plan.full_clean()
    plan.save()
    return plan


def _refuse_other_days(organization: Organization, as_of: date) -> None:
    today, newer = timezone.localdate(), Plan.objects.in_force(organization)
    if as_of > today:
        raise DayAhead(day=as_of)
    if newer and as_of < min(newer.as_of, today):  # one of a day ahead gives way to today's
        raise NewerInForce(day=as_of, newer=newer.as_of)


def running_plan(organization: Organization) -> Plan | None:
    """The organization's plan that is being made or was requested a moment ago, or None.

    A process that died, or a request that a stopped server lost, is not waited for.
    """
    return Plan.objects.of(organization).filter(alive()).order_by("-requested_at").first()


def run_plan(plan_id: int, *, progress: Progress = lambda step: None) -> Plan:
    """The plan of that number, made and in force. One that is done, failed or being made is left as it is.

    Raises PlanRuns where another plan of the organization is being made, PlanGivenUp where this one was
    taken for dead meanwhile, ForecastingError where the register's tables cannot be planned with. Each of
    them is also stored as the plan's failure.
    """
    plan = _claim(plan_id)
    if plan is None:
        return Plan.objects.get(pk=plan_id)
    refusals = (PlanGivenUp, ForecastingError)
    with making(plan, name=f"plan {plan.pk}", refusals=refusals, stopped=str(STOPPED)):
        _make(plan, progress)
    plan.refresh_from_db()
    return plan


def _make(plan: Plan, progress: Progress) -> None:
    def say(step: str) -> None:
        show_progress(plan, step)
        progress(step)

    say(_("Reading the register"))
    with one_snapshot():
        tables = core_tables(plan.organization)
        settings = core_settings(plan.organization)
        last = previous_plan(plan.organization, plan.as_of)
        previous = plan_tables(last) if last else None
    previous_on = last.as_of if last else None
    made = make_plan(tables, settings, plan.as_of, same_chance(), previous, say, previous_on)
    say(_("Storing the plan"))
    with transaction.atomic(durable=True):
        store_plan_lines(plan, made.tables)
        published = end_run(
            plan,
            state=RunState.DONE,
            version=__version__,
            input_digest=_digest(tables, settings),
            policies=_records(tables["policies"]),
            report=made.report | _scores_known(plan),
        )
        if not published:
            raise PlanGivenUp(organization=plan.organization)


def _claim(plan_id: int) -> Plan | None:
    """The plan, now running in this process; None where there is nothing to do.

    Raises PlanRuns.
    """
    now = timezone.now()
    plan = Plan.objects.select_related("organization").get(pk=plan_id)
    try:
        with transaction.atomic(durable=True):
            give_up_silent(Plan.objects.of(plan.organization).exclude(pk=plan_id))
            claimed = take_up(Plan.objects.filter(pk=plan_id))
    except IntegrityError as error:  # plan_one_runs_at_a_time
        other = Plan.objects.of(plan.organization).filter(state=RunState.RUNNING).first()
        refusal = PlanRuns(organization=plan.organization, since=_clock(other.started_at if other else now))
        Plan.objects.filter(pk=plan_id, state=RunState.REQUESTED).update(
            state=RunState.FAILED, finished_at=now, failure=str(refusal)
        )
        raise refusal from error
    if not claimed:
        return None
    plan.refresh_from_db()
    return plan


def same_chance() -> np.random.Generator:
    """Chance that begins alike for every plan: it comes out the same when it is made again.

    Alike for every day too: with few failures on record, chances drawn anew each day rose and fell by a tenth
    without cause, and `changes` told it. Not seeded by the input: rows dated after the plan's day must not
    change it.
    """
    return np.random.default_rng(SEED)


def _scores_known(plan: Plan) -> dict:
    """How right past forecasts were, by the newest backtest that saw nothing later than the plan may."""
    backtest = Backtest.objects.newest(plan.organization, plan.as_of)
    return {"scores": backtest.report} if backtest else {}


def _digest(tables: dict[str, pd.DataFrame], settings: Settings) -> str:
    """A hash of all that the plan was made from."""
    digest = hashlib.sha256(repr(settings).encode())
    for name in sorted(tables):
        digest.update(name.encode())
        digest.update(pd.util.hash_pandas_object(tables[name], index=False).to_numpy().tobytes())
    return digest.hexdigest()


def _records(policies: pd.DataFrame) -> list[dict]:
    """The policies as JSON holds them, one object per row."""
    return policies.astype(object).where(policies.notna(), None).to_dict("records")


def _clock(moment: datetime) -> str:
    return _("%(moment)s UTC") % {"moment": f"{moment:%Y-%m-%d %H:%M}"}
