"""The environment of every test, set before Django reads its settings, and the fixtures all tests share.

What a machine lacks (a browser, a server) skips the tests that need it, with the reason; with CI set it
fails them, so that nothing goes untested there unseen.
"""

import contextlib
import gc
import os
import shutil
import tempfile
from pathlib import Path

import django
import pytest

from tests import servers

# Here, before Django reads its settings from it, and not in pyproject: pytest-django would read them first.
_VAR = tempfile.TemporaryDirectory(prefix="fleet-tests-", ignore_cleanup_errors=True)
os.environ["VAR_DIR"] = _VAR.name
Path(_VAR.name, "static").mkdir()
os.environ["DEBUG"] = "1"
# For the workers and every process that a test starts: they share the processor as it is.
os.environ["OPENBLAS_NUM_THREADS"] = os.environ["OMP_NUM_THREADS"] = "1"
os.environ.pop("REDIS_URL", None)
os.environ["DJANGO_SETTINGS_MODULE"] = "fleet.settings"
django.setup()
# The workers that pytest starts prepare an environment of their own: with this set, pytest-django would read
# the settings in them before this file does.
del os.environ["DJANGO_SETTINGS_MODULE"]

CHROMIUM_NAMES = ("chromium", "chromium-browser", "google-chrome")
CHROMIUM_ARGUMENTS = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
    "--disable-quic",
]


def lacking(reason: str) -> None:
    """Skips the test that asked for what this machine lacks, or fails it in CI."""
    if os.environ.get("CI"):
        pytest.fail(f"CI must have it: {reason}")
    pytest.skip(reason)


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """The longest test, a run of its own, begins first, so that the others are over when it is."""
    items.sort(key=lambda item: item.path.name != "test_postgresql.py")


def pytest_collection_finish() -> None:
    """What is loaded by now stays to the end: the garbage collector need not look at it over and over."""
    gc.collect()
    gc.freeze()


@pytest.fixture(autouse=True)
def empty_cache():
    """Nothing kept by an earlier test: SQLite hands out again the row numbers that a test gave back."""
    from django.core.cache import cache

    cache.clear()


@pytest.fixture(scope="session", autouse=True)
def no_signs_of_life():
    """A test is one transaction, behind which another thread that writes waits half a minute for SQLite."""
    from fleet.services import runs

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(runs, "SIGN_OF_LIFE_SECONDS", 3_600.0)
        yield


@pytest.fixture(scope="module")
def kept_for_module(django_db_setup, django_db_blocker):
    """What a fixture of the module stores is there for all its tests, each of which takes back its own.

    A transaction around the module, rolled back at its end; that of a test is a savepoint in it. So it is not
    for modules with a test of `transaction=True`, which must see what others commit.
    """
    from django.db import transaction

    around = transaction.atomic()
    around._from_testcase = True  # as Django marks its own: a service may open its outermost one in it
    with django_db_blocker.unblock(), around:
        yield
        transaction.set_rollback(True)


@pytest.fixture(scope="session")
def postgres_url():
    """DATABASE_URL of a real PostgreSQL server."""
    with contextlib.ExitStack() as stack:
        try:
            url = stack.enter_context(servers.postgresql())
        except servers.ServerUnavailable as error:
            lacking(str(error))
        yield url


@pytest.fixture(scope="session")
def redis_url():
    """REDIS_URL of a real server that speaks the Redis protocol."""
    with contextlib.ExitStack() as stack:
        try:
            url = stack.enter_context(servers.valkey())
        except servers.ServerUnavailable as error:
            lacking(str(error))
        yield url


@pytest.fixture(scope="session")
def django_db_modify_db_settings():
    """The embedded test database is a file, as in service: threads and other processes can open it too."""
    from django.db import connection

    if connection.vendor == "sqlite":
        connection.settings_dict["TEST"]["NAME"] = str(Path(_VAR.name) / "test.sqlite3")


@pytest.fixture(scope="session")
def browser():
    """A headless Chromium."""
    program = next(filter(None, map(shutil.which, CHROMIUM_NAMES)), None)
    if program is None:
        lacking(f"none of {', '.join(CHROMIUM_NAMES)} is installed")
    from playwright.sync_api import sync_playwright

    with pytest.MonkeyPatch.context() as patch, sync_playwright() as playwright:
        # Playwright keeps an event loop on this thread, which Django takes for asynchronous code.
        patch.setenv("DJANGO_ALLOW_ASYNC_UNSAFE", "1")
        opened = playwright.chromium.launch(executable_path=program, args=CHROMIUM_ARGUMENTS)
        yield opened
        opened.close()


@pytest.fixture
def browser_page(browser, live_server):
    """An empty page of a fresh browser, relative to the live server's address.

    Asking any other host than the live server is refused and fails the test.
    """
    asked_outside: list[str] = []

    def refuse(route) -> None:
        asked_outside.append(route.request.url)
        route.abort()

    context = browser.new_context(base_url=live_server.url)
    context.route(lambda url: not url.startswith((live_server.url, "data:", "blob:")), refuse)
    yield context.new_page()
    context.close()
    assert asked_outside == [], "pages may not ask other hosts for anything"
