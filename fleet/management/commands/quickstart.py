"""`manage.py quickstart [--no-serve]`: the demo fleet, its plan in ten lines, and the pages on loopback."""

import os
import secrets
import socket
import sys
from pathlib import Path

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError
from django.db import connections
from django.utils.translation import gettext as _

from fleet.management.terminal import shown_progress, solver_kept_quiet, told_plainly
from fleet.models import Plan, RunState
from fleet.services.folders.demonstration import DEMO_ORGANIZATION, admit_demo_members, demo_day, load_demo
from fleet.services.plans.replanning import request_plan, run_plan
from fleet.services.plans.telling import tell_plan

LOOPBACK = "127.0.0.1"
PORT = 8000


class Command(BaseCommand):
    help = "Creates the embedded database, loads the demo fleet, plans it and serves the pages on loopback."

    def add_arguments(self, parser) -> None:
        parser.add_argument("--no-serve", action="store_true", help="stop before serving")
        parser.add_argument("--port", type=int, default=PORT, help=f"serve there (default {PORT})")

    def handle(self, *, no_serve: bool, port: int, **options) -> None:
        if os.environ.get("DATABASE_URL"):
            raise CommandError(
                _(
                    "DATABASE_URL is set, and quickstart makes demo members whose password it "
                    "prints. Unset it, or use migrate, import_fleet and replan there."
                )
            )
        if not no_serve:
            require_free(port)
        with told_plainly():
            self.prepare()
        if not no_serve:
            connections.close_all()
            serve(port)

    def prepare(self) -> None:
        """Everything up to serving; prints what the plan says and how to sign in."""
        progress = shown_progress()
        progress(_("Creating the database"))
        make_secret_key(settings.VAR_DIR / "secret_key")
        call_command("migrate", verbosity=0, interactive=False)
        call_command("collectstatic", verbosity=0, interactive=False)
        folder = settings.BASE_DIR / "demo_data"
        organization, read_now = load_demo(folder=folder, progress=progress)
        plan = Plan.objects.in_force(organization)
        if plan is None:
            requested = request_plan(
                organization=organization, user=None, as_of=demo_day(folder), any_day=True
            )
            with solver_kept_quiet():
                plan = run_plan(requested.pk, progress=progress)
        if plan.state != RunState.DONE:
            raise CommandError(plan.failure)
        if not read_now:
            self.stdout.write(
                _("%(organization)s is there already: it was not read again, and its plan stands.")
                % {"organization": DEMO_ORGANIZATION}
            )
        password = secrets.token_urlsafe(9)
        members = admit_demo_members(organization=organization, password=password)
        names = ", ".join(member.username for member in members)
        self.stdout.write(
            _("Sign in as %(names)s; the password of each is now: %(password)s")
            % {"names": names, "password": password}
        )
        for line in tell_plan(plan):
            self.stdout.write(line)


def make_secret_key(path: Path) -> None:
    """Writes a secret of this machine's own, for its owner's eyes only, where none stands."""
    try:
        handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    except FileExistsError:
        return
    with os.fdopen(handle, "w") as file:
        file.write(secrets.token_urlsafe(64))


def require_free(port: int) -> None:
    """Raises CommandError where another program listens on the port."""
    with socket.socket() as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((LOOPBACK, port))
        except OSError as error:
            raise CommandError(
                _(
                    "Port %(port)s of %(loopback)s cannot be had: %(strerror)s. Stop what "
                    "listens there, or choose another, as in --port %(next)s."
                )
                % {"port": port, "loopback": LOOPBACK, "strerror": error.strerror, "next": port + 1}
            ) from error


def serve(port: int) -> None:
    """Turns this process into the server; it ends with Ctrl-C. Never returns."""
    print(
        _("Serving http://%(loopback)s:%(port)s/ to this machine only. Stop with Ctrl-C.")
        % {"loopback": LOOPBACK, "port": port},
        flush=True,
    )
    # One process with threads: the embedded database and the jobs that run in this process belong to it.
    workers = ["--workers", "1", "--threads", "8", "--no-control-socket"]
    where = ["--chdir", str(settings.BASE_DIR), "--bind", f"{LOOPBACK}:{port}"]
    command = [sys.executable, "-m", "gunicorn", *where, *workers, "fleet.wsgi"]
    os.execve(sys.executable, command, os.environ | {"PLAIN_HTTP": "1"})  # noqa: S606  no shell, own arguments
