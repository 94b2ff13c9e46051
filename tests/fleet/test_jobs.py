"""Jobs run on a real worker behind a real broker, and without one in this process, with no page waiting."""

import contextlib
import datetime
from collections.abc import Iterator

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import transaction
from rest_framework.test import APIClient

from fleet.celery import app
from fleet.jobs import enqueue_plan
from fleet.models import Membership, Organization, Plan, Role, RunState, User
from fleet.services.plans.replanning import request_plan, run_plan
from tests.servers import free_port

from .builders import take_small_fleet
from .processes import wait_for_jobs, wait_until, worker

AS_OF = datetime.date(2024, 1, 15)

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def gravel(tmp_path) -> Organization:
    return take_small_fleet(tmp_path / "fleet", "Gravel Works")


@pytest.fixture
def planner(gravel) -> APIClient:
    user = User.objects.create_user("ada")
    Membership.objects.create(user=user, organization=gravel, role=Role.PLANNER)
    client = APIClient()
    client.force_login(user, backend="django.contrib.auth.backends.ModelBackend")
    return client


@contextlib.contextmanager
def sending_to(url: str, settings) -> Iterator[None]:
    """While it lasts, this process sends its jobs to the broker at that address."""
    settings.REDIS_URL = app.conf.broker_url = url
    yield
    app.conf.broker_url = None
    app.pool.force_close_all()
    app.close()
    del app.amqp  # which keeps the closed connections


@pytest.fixture
def broker(redis_url, settings):
    """A broker that this process sends its jobs to."""
    with sending_to(redis_url, settings):
        yield redis_url


def followed(client: APIClient, address: str) -> dict:
    """The state of a job once it ended."""
    ended = ("done", "failed", "refused")
    wait_until(lambda: client.get(address).json()["state"] in ended, f"{address} ended", every_seconds=0.2)
    return client.get(address).json()


@pytest.mark.servers
def test_a_worker_behind_a_broker_reads_a_folder_and_makes_the_plan(broker, gravel, planner, tmp_path):
    folder = SimpleUploadedFile("sites.csv", b"site,name\nSouth pit,South pit workshop\n")
    with worker(broker, tmp_path / "worker.log"):
        sent = planner.post("/api/v1/folders/", {"files": [folder]}, format="multipart")
        read = followed(planner, sent["Location"])
        asked = planner.post("/api/v1/plans/", {"as_of": "2024-01-15"}, format="json")
        made = followed(planner, asked["Location"])

    log = (tmp_path / "worker.log").read_text()
    assert (sent.status_code, asked.status_code) == (202, 202)
    assert (read["state"], read["outcome"]["sites"]["created"]) == ("done", 1), log
    assert made["state"] == "done", log
    assert planner.get("/api/v1/plan/").json()["plan"] == made["plan"]
    assert planner.get("/api/v1/plan/margins/").json()["count"] > 0


def test_without_a_broker_a_plan_is_made_in_this_process_while_the_answer_is_out(gravel, planner):
    asked = planner.post("/api/v1/plans/", {"as_of": "2024-01-15"}, format="json")

    assert (asked.status_code, asked.json()["state"]) == (202, "requested")
    assert followed(planner, asked["Location"])["state"] == "done"
    wait_for_jobs()


def test_a_job_starts_only_once_what_it_works_on_is_committed(gravel):
    plan = request_plan(organization=gravel, user=None, as_of=AS_OF)

    with transaction.atomic():
        enqueue_plan(plan.pk)
        wait_for_jobs()
        assert Plan.objects.get().state == RunState.REQUESTED
    wait_for_jobs()

    assert Plan.objects.get().state == RunState.DONE


def test_a_job_whose_reason_was_taken_back_never_starts(gravel):
    plan = request_plan(organization=gravel, user=None, as_of=AS_OF)

    with transaction.atomic():
        enqueue_plan(plan.pk)
        transaction.set_rollback(True)
    wait_for_jobs()

    assert Plan.objects.get().state == RunState.REQUESTED


@pytest.fixture
def silent_broker(settings):
    """A broker and cache at a port where nothing listens."""
    url = f"redis://127.0.0.1:{free_port()}/0"
    settings.CACHES = {"default": {"BACKEND": "fleet.caches.DispensableCache", "LOCATION": url}}
    with sending_to(url, settings):
        yield


def test_where_the_broker_does_not_answer_a_job_says_so_and_the_next_may_be_asked_for(
    silent_broker, gravel, planner
):
    for address, body in (
        ("plans", {"as_of": "2024-01-15"}),
        ("backtests", {"from_day": "2023-06-01", "every_days": 90}),
        ("what-ifs", {"policies": [{"scope": "all", "age_limit_days": 900}]}),
    ):
        for _again in range(2):
            asked = planner.post(f"/api/v1/{address}/", body, format="json")
            assert asked.status_code == 202, asked.content
            told = planner.get(asked["Location"]).json()
            assert told["state"] == "failed"
            assert told["failure"].startswith("It was not begun: the queue of the service's jobs")


def test_where_the_broker_does_not_answer_a_folder_is_kept_until_it_can_be_read(silent_broker, planner):
    folder = SimpleUploadedFile("sites.csv", b"site,name\nSouth pit,South pit workshop\n")
    sent = planner.post("/api/v1/folders/", {"files": [folder]}, format="multipart")
    assert (sent.status_code, sent.json()["state"]) == (202, "requested")


def test_pages_are_read_without_the_cache(silent_broker, gravel, planner):
    run_plan(request_plan(organization=gravel, user=None, as_of=AS_OF, any_day=True).pk)
    assert planner.get(f"/{gravel.slug}/due/").status_code == 200
