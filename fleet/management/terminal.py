"""What the commands share: whom they work for, what they say while they work, and how they end."""

import argparse
import ctypes
import datetime
import os
import re
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from difflib import get_close_matches
from pathlib import Path

from django.core.exceptions import ValidationError
from django.core.management import call_command
from django.core.management.base import CommandError
from django.db import OperationalError, connection
from django.db.migrations.executor import MigrationExecutor
from django.utils.translation import gettext as _

from fleet.models import Organization
from fleet.services.errors import ServiceError
from forecasting.errors import ForecastingError

# What a command here asks of Django's checks before it begins: they load every page and the whole API, which
# takes as long as a small folder, and the servers' own commands ask for them.
NO_CHECKS: tuple[str, ...] = ()
STOPPED = 130  # what a shell expects of a program that Ctrl-C ended


def a_date(text: str) -> datetime.date:
    """The day that an argument names."""
    try:
        return datetime.date.fromisoformat(text)
    except ValueError:
        raise argparse.ArgumentTypeError(
            _("%(text)s is not a date. Write it as 2025-06-30.") % {"text": text}
        ) from None


def a_count(text: str) -> int:
    """How many an argument says: one at least."""
    if not re.fullmatch(r"\+?0*[1-9][0-9]{0,8}", text):
        raise argparse.ArgumentTypeError(
            _("%(text)s is not a whole number of 1 or more. Write it as 30.") % {"text": text}
        )
    return int(text)


def a_folder(text: str) -> Path:
    """The folder that an argument names to write into. It may be new, but not a file or within one.

    Asked before the work begins: a plan would be in force whose files nobody got.
    """
    folder = Path(text)
    there = next(one for one in (folder, *folder.absolute().parents) if one.exists())
    if not there.is_dir():
        raise argparse.ArgumentTypeError(_("%(folder)s is a file. Name a folder.") % {"folder": there})
    if not os.access(there, os.W_OK):
        raise argparse.ArgumentTypeError(
            _("Nothing can be written into %(folder)s. Name another folder.") % {"folder": there}
        )
    return folder


def require_database() -> None:
    """Makes the embedded database ready. Raises CommandError where another is not."""
    try:
        executor = MigrationExecutor(connection)
        lacking = executor.migration_plan(executor.loader.graph.leaf_nodes())
    except OperationalError as error:
        told = str(error).partition("\n")[0]
        raise CommandError(_("The database cannot be reached: %(told)s") % {"told": told}) from error
    if not lacking:
        return
    if os.environ.get("DATABASE_URL"):  # of others too: only who keeps it says when its tables change
        raise CommandError(_("The database lacks tables of this version. Run `migrate`, then this again."))
    call_command("migrate", verbosity=0, interactive=False)


def organization_named(name: str) -> Organization:
    """The organization of that name. Raises CommandError with the nearest right name."""
    try:
        return Organization.objects.get(name=name)
    except Organization.DoesNotExist:
        names = list(Organization.objects.values_list("name", flat=True))
        near = get_close_matches(name, names, n=1)
        hint = _(' Did you mean "%(near)s"?') % {"near": near[0]} if near else _(" `import_fleet` makes one.")
        raise CommandError(
            _('There is no organization "%(name)s".%(hint)s') % {"name": name, "hint": hint}
        ) from None


def shown_progress() -> Callable[[str], None]:
    """A function that shows each step where a person watches, and is quiet otherwise."""
    if not sys.stderr.isatty():
        return lambda step: None
    return lambda step: print(f"{step} …", file=sys.stderr, flush=True)


@contextmanager
def told_plainly(stopped: str = "") -> Iterator[None]:
    """While it lasts, what a person can act on ends the command with a sentence instead of a traceback.

    That is a refusal, a file that cannot be written, and Ctrl-C, which says `stopped`, else that what stood
    before still stands.
    """
    try:
        yield
    except ValidationError as error:
        raise CommandError(" ".join(error.messages)) from error
    except (ServiceError, ForecastingError) as error:
        raise CommandError(str(error)) from error
    except OSError as error:
        raise CommandError(
            f"{error.filename}: {error.strerror}." if error.filename else str(error)
        ) from error
    except KeyboardInterrupt:
        raise CommandError(
            stopped or _("Stopped. What stood before still stands."), returncode=STOPPED
        ) from None


@contextmanager
def solver_kept_quiet() -> Iterator[None]:
    """While it lasts, nothing that compiled libraries print reaches standard output.

    HiGHS now and then prints a line of its own with C's printf, whatever it was told; no option of it or of
    scipy's reaches that line, and C's buffer would bring it out as late as at exit.
    """
    sys.stdout.flush()
    kept = os.dup(1)
    with Path(os.devnull).open("wb") as nowhere:
        os.dup2(nowhere.fileno(), 1)
    try:
        yield
    finally:
        ctypes.CDLL(None).fflush(None)
        os.dup2(kept, 1)
        os.close(kept)
