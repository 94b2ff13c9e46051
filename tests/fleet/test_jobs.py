"""Jobs run on a real worker behind a real broker, and without one in this process, with no page waiting."""

import datetime

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import transaction
from rest_framework.test import APIClient

from fleet.celery import app
from fleet.jobs import enqueue_plan
from fleet.models import Membership, Organization, Plan, Role, RunState, User
from fleet.services.plans.replanning import request_plan

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


@pytest.fixture
def broker(redis_url, settings):
    """A broker that this process sends its jobs to."""
    settings.REDIS_URL = redis_url
    app.conf.broker_url = redis_url
    yield redis_url
    app.conf.broker_url = None
    app.pool.force_close_all()


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
