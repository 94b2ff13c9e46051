"""From a fresh checkout to a plan and pages on loopback, by one command."""

import os
import re
import signal
import socket
import stat
import subprocess
import sys
import time
import urllib.error
import urllib.request
from contextlib import closing
from pathlib import Path

import pytest
from django.conf import settings
from django.core.management import CommandError, call_command

from fleet.management.commands.quickstart import LOOPBACK
from fleet.models import Membership, Organization, Role
from fleet.services.folders.demonstration import admit_demo_members, demo_day

SECONDS_ALLOWED = 300  # for a machine under load; on two idle cores it takes less than a minute


def free_port():
    with closing(socket.socket()) as probe:
        probe.bind((LOOPBACK, 0))
        return probe.getsockname()[1]


@pytest.fixture(scope="module")
def own_place(tmp_path_factory):
    """The environment of a checkout of one's own: no database, broker or secret but the embedded ones."""
    others = {"DATABASE_URL", "REDIS_URL", "SECRET_KEY", "DEBUG", "PLAIN_HTTP", "ALLOWED_HOSTS"}
    kept = {name: value for name, value in os.environ.items() if name not in others}
    return kept | {"VAR_DIR": str(tmp_path_factory.mktemp("var"))}


@pytest.fixture(scope="module")
def said(own_place):
    """What `quickstart --no-serve` prints in a place where nothing stands."""
    ran = subprocess.run(
        [sys.executable, "manage.py", "quickstart", "--no-serve"],
        cwd=settings.BASE_DIR,
        env=own_place,
        capture_output=True,
        text=True,
        timeout=SECONDS_ALLOWED,
        check=False,
    )
    assert ran.returncode == 0, ran.stderr
    return ran.stdout.splitlines()


def test_it_ends_with_ten_lines_of_what_the_plan_says(said):
    lines = said[-10:]
    assert re.fullmatch(r"As of 2026-10-31: 461 assemblies installed on 24 machines\.", lines[0])
    assert re.match(r"Due now: \d+ assemblies \(", lines[1])
    assert re.match(r"Pressure margins: [1-9]\d* over the rating, ", lines[3])
    assert re.match(
        r"Failures in 90 days if nothing is changed ahead: \d+\.\d expected, \d+ to \d+ ", lines[4]
    )
    assert re.match(r"To order now: \d+ lines for [\d,]+ EUR", lines[8])


def test_the_plan_finds_the_poor_bench_that_was_planted(said):
    assert "S02 bench 2" in said[-4]


def test_it_tells_how_to_sign_in(said):
    assert re.match(r"Sign in as demo-viewer, demo-shop, .*; the password of each is now: \S{12}$", said[-11])


def test_its_secret_is_for_its_owner_only(said, own_place):
    secret = Path(own_place["VAR_DIR"], "secret_key").stat()
    assert stat.S_IMODE(secret.st_mode) == 0o600
    assert secret.st_size > 50


def test_a_second_run_reads_nothing_again_and_serves_the_pages_on_loopback(said, own_place, tmp_path):
    port = free_port()
    with (tmp_path / "said").open("w") as output:
        server = subprocess.Popen(
            [sys.executable, "manage.py", "quickstart", "--port", str(port)],
            cwd=settings.BASE_DIR,
            env=own_place,
            stdout=output,
            stderr=subprocess.STDOUT,
        )
        try:
            page = first_page(port, server)
        finally:
            server.send_signal(signal.SIGINT)
            server.wait(timeout=30)
    told = (tmp_path / "said").read_text()
    assert 'type="password"' in page, "the sign-in page"
    assert "Demo fleet is there already: it was not read again, and its plan stands." in told
    assert "\n".join(said[-10:]) in told, "the plan in force says the same"
    assert f"Serving http://{LOOPBACK}:{port}/ to this machine only." in told


def first_page(port, server):
    ends = time.monotonic() + SECONDS_ALLOWED
    while time.monotonic() < ends and server.poll() is None:
        try:
            with urllib.request.urlopen(f"http://{LOOPBACK}:{port}/", timeout=5) as answer:
                return answer.read().decode()
        except urllib.error.HTTPError:
            raise
        except OSError:  # nobody listens yet
            time.sleep(0.2)
    return pytest.fail(f"no page came; the server ended with {server.poll()}")


def test_a_port_that_is_taken_is_told_before_anything_is_done(monkeypatch):
    monkeypatch.delenv("DATABASE_URL", raising=False)
    with closing(socket.socket()) as other:
        other.bind((LOOPBACK, 0))
        other.listen()
        port = other.getsockname()[1]
        with pytest.raises(CommandError, match=f"Port {port} of {LOOPBACK} cannot be had"):
            call_command("quickstart", port=port)


def test_it_refuses_a_database_that_is_not_the_embedded_one(monkeypatch):
    monkeypatch.setenv("DATABASE_URL", "postgres://somewhere/fleet")
    with pytest.raises(CommandError, match="DATABASE_URL is set"):
        call_command("quickstart", no_serve=True)


def test_the_demo_speaks_of_the_day_of_its_newest_meter_reading():
    assert demo_day(settings.BASE_DIR / "demo_data").isoformat() == "2026-10-31"


@pytest.mark.django_db(transaction=True)
def test_each_role_of_the_demo_has_a_member_who_can_sign_in():
    organization = Organization.objects.create(name="Demo fleet", slug="demo-fleet")
    admit_demo_members(organization=organization, password="as it was before")
    members = admit_demo_members(organization=organization, password="a new one")
    assert {member.username for member in members} == {f"demo-{role}" for role in Role.values}
    assert all(member.check_password("a new one") for member in members)
    roles = Membership.objects.filter(organization=organization).values_list("user__username", "role")
    assert dict(roles) == {f"demo-{role}": role for role in Role.values}
