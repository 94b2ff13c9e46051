"""What plans, backtests, what-ifs and readings of folders have in common: signs of life, and an end.

The row of a running job shows a sign of life every few seconds. Where none came for ABANDONED_AFTER, its
process is taken for dead and nobody waits for it. One that was requested and never begun, because a stopped
server lost it, is waited for as long as its service says.
"""

import contextlib
import logging
import threading
from collections.abc import Iterator
from datetime import timedelta
from typing import TypeVar

from django.db import DatabaseError, connection
from django.db.models import Q, QuerySet
from django.utils import timezone
from django.utils.translation import gettext_lazy

from fleet.models import Backtest, Organization, Run, RunState, WhatIf

log = logging.getLogger(__name__)

SIGN_OF_LIFE_SECONDS = 5.0
ABANDONED_AFTER = timedelta(seconds=60)

GIVEN_UP = gettext_lazy("Its process stopped before it was done.")
NOT_BEGUN = gettext_lazy(
    "It has not begun: other jobs stand before it, or the server stopped before its turn."
)
NOT_QUEUED = gettext_lazy(
    "It was not begun: the queue of the service's jobs does not answer. Ask again in a few minutes; if it "
    "stays so, tell whoever runs the service."
)
FAULT = gettext_lazy("A fault in the service, not in your data; it stands in the server's log as %(name)s.")

Queued = TypeVar("Queued", Backtest, WhatIf)


def alive(waited_for: timedelta = ABANDONED_AFTER) -> Q:
    """What is being made, or was requested so short a while ago that it may still be begun."""
    now = timezone.now()
    # A reading that waited for somebody's word is requested anew, long after it was sent in: seen then.
    requested = Q(requested_at__gte=now - waited_for) | Q(seen_at__gte=now - waited_for)
    return Q(state=RunState.RUNNING, seen_at__gte=now - ABANDONED_AFTER) | (
        Q(state=RunState.REQUESTED) & requested
    )


def lost(waited_for: timedelta = ABANDONED_AFTER) -> Q:
    """What nobody waits for any more: its process is taken for dead, or it was not begun for so long that a
    stopped server may have lost it."""
    return Q(state__in=[RunState.REQUESTED, RunState.RUNNING]) & ~alive(waited_for)


def silent() -> Q:
    """What is running by its row and has shown no sign of life for too long, or none at all."""
    return Q(state=RunState.RUNNING) & ~Q(seen_at__gte=timezone.now() - ABANDONED_AFTER)


def give_up_silent(rows: QuerySet) -> None:
    """Ends those of the rows whose process is taken for dead."""
    rows.filter(silent()).update(state=RunState.FAILED, finished_at=timezone.now(), failure=str(GIVEN_UP))


def take_up(rows: QuerySet) -> bool:
    """Whether one of the rows was requested, or its process taken for dead: it is running in this one now."""
    now = timezone.now()
    free = rows.filter(silent() | Q(state=RunState.REQUESTED))
    return bool(free.update(state=RunState.RUNNING, started_at=now, seen_at=now, failure=""))


def claim_run(model: type[Queued], pk: int) -> Queued | None:
    """The requested job, now running in this process; None where it was begun before."""
    run = model.objects.select_related("organization").get(pk=pk)
    give_up_silent(model.objects.of(run.organization))
    now = timezone.now()
    requested = model.objects.filter(pk=pk, state=RunState.REQUESTED)
    if not requested.update(state=RunState.RUNNING, started_at=now, seen_at=now):
        return None
    run.refresh_from_db()
    return run


def end_not_queued(model: type[Run], pk: int) -> None:
    """Ends a requested job of which no worker will hear."""
    requested = model._default_manager.filter(pk=pk, state=RunState.REQUESTED)
    requested.update(state=RunState.FAILED, finished_at=timezone.now(), failure=str(NOT_QUEUED))


def tell_loss(run: Run, waited_for: timedelta = ABANDONED_AFTER) -> str:
    """Why nobody waits for it any more; empty where it ended, or is still waited for."""
    goes_on = run.state in (RunState.REQUESTED, RunState.RUNNING)  # else the database is not asked
    if not goes_on or not type(run).objects.filter(lost(waited_for), pk=run.pk).exists():
        return ""
    return str(GIVEN_UP if run.state == RunState.RUNNING else NOT_BEGUN)


def is_made(model: type[Backtest] | type[WhatIf], organization: Organization, waited_for: timedelta) -> bool:
    """Whether one of the organization's is being made, or may still be begun."""
    return model.objects.of(organization).filter(alive(waited_for)).exists()


@contextlib.contextmanager
def making(run: Run, *, name: str, refusals: tuple[type[Exception], ...], stopped: str) -> Iterator[None]:
    """While it lasts, the run's row shows that its process lives; whatever ends it early stands there too.

    A refusal is told in its own words, a fault by `name` in the log, and `stopped` where the process ends.
    Each is raised on.
    """
    try:
        with signs_of_life(run, name):
            yield
    except refusals as refusal:
        end_run(run, state=RunState.FAILED, failure=str(refusal))
        raise
    except Exception:
        log.exception("%s of %s failed", name, run.organization)
        end_run(run, state=RunState.FAILED, failure=FAULT % {"name": name})
        raise
    except BaseException:  # Ctrl-C, or the server that ran it ends
        end_run(run, state=RunState.FAILED, failure=stopped)
        raise


def end_run(run: Run, **columns) -> bool:
    """Whether the run ends here, with `columns` in its row; False where it was given up meanwhile."""
    rows = rows_of(run).filter(state=RunState.RUNNING)
    return bool(rows.update(finished_at=timezone.now(), progress="", **columns))


def show_progress(run: Run, step: str) -> None:
    rows_of(run).update(progress=step)


@contextlib.contextmanager
def signs_of_life(run: Run, name: str) -> Iterator[None]:
    """While it lasts, the run's row shows every few seconds that its process lives."""
    over = threading.Event()

    def show() -> None:
        while not over.wait(SIGN_OF_LIFE_SECONDS):
            try:
                rows_of(run).update(seen_at=timezone.now())
            except DatabaseError as error:
                # SQLite is locked while a large plan is stored; nobody else can take it for dead then either.
                log.warning("%s: no sign of life could be given: %s", name, error)
        connection.close()

    thread = threading.Thread(target=show, name=f"signs of life of {name}", daemon=True)
    thread.start()
    try:
        yield
    finally:
        over.set()
        thread.join()


def rows_of(run: Run) -> QuerySet:
    """The row of this very run: one that was claimed anew has another beginning."""
    return type(run).objects.filter(pk=run.pk, started_at=run.started_at)
