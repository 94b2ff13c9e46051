"""Celery tasks, and the adapters that start them once what they work on is committed.

A task takes ids, makes one service call and may run twice. With REDIS_URL it runs on a worker; without, in a
thread of this process, one at a time, so that no page waits for it.
"""

import logging
import threading

from celery import Task, shared_task
from django.conf import settings
from django.db import connections, transaction
from kombu.exceptions import OperationalError

from fleet.models import Backtest, Plan, Run, WhatIf
from fleet.services import runs
from fleet.services.errors import ServiceError
from fleet.services.folders import readings
from fleet.services.plans import backtesting, replanning, what_ifs

log = logging.getLogger(__name__)

_one_at_a_time = threading.Lock()


@shared_task
def run_plan(plan_id: int) -> None:
    replanning.run_plan(plan_id)


@shared_task
def read_folder(reading_id: int) -> None:
    readings.read_folder(reading_id)


@shared_task
def backtest(backtest_id: int) -> None:
    backtesting.run_backtest(backtest_id)


@shared_task
def what_if(what_if_id: int) -> None:
    what_ifs.run_what_if(what_if_id)


def enqueue_what_if(what_if_id: int) -> None:
    """Has the question answered, once the transaction that asked it is committed."""
    _enqueue(what_if, WhatIf, what_if_id)


def enqueue_backtest(backtest_id: int) -> None:
    """Has the requested backtest made, once the transaction that requested it is committed."""
    _enqueue(backtest, Backtest, backtest_id)


def enqueue_plan(plan_id: int) -> None:
    """Has the requested plan made, once the transaction that requested it is committed."""
    _enqueue(run_plan, Plan, plan_id)


def enqueue_reading(reading_id: int) -> None:
    """Has the received folder read, once the transaction that received it is committed.

    One of which no worker hears keeps its files: its page offers to have it read after a minute.
    """
    _enqueue(read_folder, None, reading_id)


def _enqueue(task: Task, model: type[Run] | None, pk: int) -> None:
    """Hands the task its row; one of `model` ends with the reason where the broker does not answer."""
    if settings.REDIS_URL:
        transaction.on_commit(lambda: _hand_over(task, model, pk))
        return
    # A daemon: a server that is stopped does not wait for it, and what it leaves is taken for dead.
    thread = threading.Thread(target=_run_here, args=(task, pk), name=f"{task.name} {pk}", daemon=True)
    transaction.on_commit(thread.start)


def _hand_over(task: Task, model: type[Run] | None, pk: int) -> None:
    try:
        task.delay(pk)
    except OperationalError:
        log.exception("%s %s was not queued", task.name, pk)
        if model is not None:
            runs.end_not_queued(model, pk)


def _run_here(task: Task, pk: int) -> None:
    with _one_at_a_time:
        try:
            task(pk)
        except ServiceError as error:
            log.warning("%s %s: %s", task.name, pk, error)  # its row holds the reason
        finally:
            connections.close_all()
