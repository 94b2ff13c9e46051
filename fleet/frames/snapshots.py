"""Reading many tables as they were at one moment."""

from collections.abc import Iterator
from contextlib import contextmanager

from django.db import connection, transaction


@contextmanager
def one_snapshot() -> Iterator[None]:
    """A transaction in which every query sees the register as it was at one moment.

    SQLite does so by itself; PostgreSQL must be told before the first query of the transaction, so within an
    outer transaction its level counts.
    """
    outermost = not connection.in_atomic_block
    with transaction.atomic():
        if outermost and connection.vendor == "postgresql":
            with connection.cursor() as cursor:
                cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY")
        yield
