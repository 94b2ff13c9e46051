"""Other processes of the service on the test's own database: commands and workers."""

import contextlib
import os
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from urllib.parse import urlsplit

from django.db import connection

ROOT = Path(__file__).resolve().parents[2]
PATIENCE_SECONDS = 90.0


def environment(**more: str) -> dict[str, str]:
    """What another process needs to work on the database of the running test."""
    name = connection.settings_dict["NAME"]
    if connection.vendor == "sqlite":
        url = f"sqlite:///{name}"
    else:
        url = urlsplit(os.environ["DATABASE_URL"])._replace(path=f"/{name}").geturl()
    return {**os.environ, "DJANGO_SETTINGS_MODULE": "fleet.settings", "DATABASE_URL": url, **more}


def manage(*words: str) -> subprocess.Popen:
    """A command of manage.py that runs beside the test."""
    return subprocess.Popen(
        [sys.executable, "manage.py", *words],
        cwd=ROOT,
        env=environment(),
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        preexec_fn=heed_ctrl_c,
    )


def heed_ctrl_c() -> None:
    """Ctrl-C ends the process, also where a shell had the tests start in the background and ignore it."""
    signal.signal(signal.SIGINT, signal.SIG_DFL)


@contextlib.contextmanager
def worker(redis_url: str, log: Path) -> Iterator[None]:
    """A Celery worker on that broker while the context lasts; `log` gets what it says."""
    command = [sys.executable, "-m", "celery", "-A", "fleet", "worker", "-P", "solo", "-l", "INFO"]
    with log.open("w") as out:
        process = subprocess.Popen(
            command, cwd=ROOT, env=environment(REDIS_URL=redis_url), stdout=out, stderr=subprocess.STDOUT
        )
        try:
            yield
        finally:
            process.terminate()
            process.wait(timeout=PATIENCE_SECONDS)


def wait_until(holds: Callable[[], bool], what: str, every_seconds: float = 0.05) -> None:
    """Returns once `holds` is so. Raises AssertionError where it takes too long."""
    give_up = time.monotonic() + PATIENCE_SECONDS
    while not holds():
        assert time.monotonic() < give_up, f"waited {PATIENCE_SECONDS:g} s in vain until {what}"
        time.sleep(every_seconds)


def wait_for_jobs() -> None:
    """Returns once no job runs in a thread of this process any more."""
    for thread in threading.enumerate():
        if thread.name.startswith("fleet.jobs."):
            thread.join(PATIENCE_SECONDS)
            assert not thread.is_alive(), f"{thread.name} does not end"
