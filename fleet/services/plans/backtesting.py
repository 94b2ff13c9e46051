"""How right past forecasts were: a backtest is requested, computed outside any transaction, stored whole."""

from collections.abc import Callable
from datetime import date, timedelta

import pandas as pd
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from fleet import __version__
from fleet.frames.register import core_tables
from fleet.frames.snapshots import one_snapshot
from fleet.models import Backtest, Organization, RunState, User
from forecasting.errors import ForecastingError
from forecasting.hindsight.backtest import last_recorded_day, past_days, replay, tell_scores
from forecasting.outputs import SCORES
from forecasting.tables import make_table

from ..errors import BacktestRuns, NothingToReplay, ServiceError
from ..runs import claim_run, end_run, is_made, making, show_progress
from ..signing import hold_organization
from .replanning import same_chance

WAITED_FOR = timedelta(hours=1)  # behind other jobs, until it is begun
STOPPED = gettext_lazy("Stopped before it was done. What was known before still stands.")

Progress = Callable[[str], None]


@transaction.atomic(durable=True)
def request_backtest(
    *, organization: Organization, user: User | None, from_day: date, every_days: int
) -> Backtest:
    """The requested backtest; an adapter hands its number to `run_backtest`.

    Raises BacktestRuns where one is being made for the organization, or was requested a moment ago.
    """
    hold_organization(organization)
    if is_made(Backtest, organization, WAITED_FOR):
        raise BacktestRuns(organization=organization)
    backtest = Backtest(
        organization=organization, requested_by=user, from_day=from_day, every_days=every_days
    )
    backtest.full_clean()
    backtest.save()
    return backtest


def run_backtest(backtest_id: int, *, progress: Progress = lambda step: None) -> Backtest:
    """The backtest of that number with its scores. One that was begun before is left as it is.

    Raises NothingToReplay where nothing on record reaches far enough, ForecastingError where the register's
    tables cannot be forecast with. Each is also stored as the backtest's failure.
    """
    backtest = claim_run(Backtest, backtest_id)
    if backtest is None:
        return Backtest.objects.select_related("organization").get(pk=backtest_id)
    refusals = (ServiceError, ForecastingError)
    with making(backtest, name=f"backtest {backtest.pk}", refusals=refusals, stopped=str(STOPPED)):
        _make(backtest, progress)
    backtest.refresh_from_db()
    return backtest


def scores_table(backtest: Backtest) -> pd.DataFrame:
    """SCORES as the backtest stored them."""
    return make_table(backtest.scores, SCORES)


def _make(backtest: Backtest, progress: Progress) -> None:
    def say(step: str) -> None:
        show_progress(backtest, step)
        progress(step)

    say(_("Reading the register"))
    with one_snapshot():
        tables = core_tables(backtest.organization)
    until = last_recorded_day(tables, timezone.localdate())
    days = list(past_days(backtest.from_day, backtest.every_days, until)) if until else []
    if until is None or not days:
        raise NothingToReplay(from_day=backtest.from_day, until=until or _("no day at all"))
    made = replay(tables, days, until, same_chance, say)
    end_run(
        backtest,
        state=RunState.DONE,
        version=__version__,
        until=until,
        scores=_records(made.scores.assign(as_of=made.scores["as_of"].dt.strftime("%Y-%m-%d"))),
        bands=_records(made.bands),
        words=tell_scores(made),
        passed_over=made.passed_over,
    )


def _records(rows: pd.DataFrame) -> list[dict]:
    """The rows as JSON holds them: an empty cell is null."""
    return rows.astype(object).where(rows.notna(), None).to_dict("records")
