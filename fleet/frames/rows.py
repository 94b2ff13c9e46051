"""Rows of the register's tables into the database, past the models.

A fleet of a million assemblies brings several million rows, each with its history; through the models they
would take many times as long. Constraints and triggers hold here as everywhere: they are the database's.
"""

import itertools
import json
from collections.abc import Iterable, Iterator
from decimal import Decimal

import numpy as np
import pandas as pd
from django.db import connection
from django.db.models import Model
from django.utils import timezone

from fleet.exchange.columns import Column, Kind
from fleet.models import Organization, User

from .nouns import NOUNS_BY_TABLE, Link, Noun

CREATED, CHANGED = "+", "~"  # as simple_history marks them
ROWS_AT_ONCE = 10_000


def create_rows(
    noun: Noun,
    rows: pd.DataFrame,
    organization: Organization,
    ids: dict[str, pd.DataFrame],
    *,
    user: User | None,
    reason: str,
) -> list[int]:
    """The ids of the rows, now stored with a history of their own.

    `ids` has for each table that the rows name its key columns and `id`.
    """
    new = _next_ids(noun.model, len(rows))
    columns = {"id": new, **_stored_columns(noun, rows, organization, ids)}
    insert_rows(noun.model._meta.db_table, list(columns), zip(*columns.values(), strict=True))
    _write_history(noun, columns, CREATED, user, reason)
    return new


def change_rows(
    noun: Noun,
    rows: pd.DataFrame,
    organization: Organization,
    ids: dict[str, pd.DataFrame],
    *,
    user: User | None,
    reason: str,
) -> None:
    """Stores the rows over those with their ids, and the change in their history."""
    columns = {**_stored_columns(noun, rows, organization, ids), "id": rows["id"].tolist()}
    quote = connection.ops.quote_name
    written = ", ".join(f"{quote(name)} = %s" for name in columns if name != "id")
    statement = f"UPDATE {quote(noun.model._meta.db_table)} SET {written} WHERE {quote('id')} = %s"  # noqa: S608  own names only
    with connection.cursor() as cursor:
        for batch in _batches(zip(*columns.values(), strict=True)):
            cursor.executemany(statement, batch)
    _write_history(noun, columns, CHANGED, user, reason)


def insert_rows(table: str, columns: list[str], rows: Iterable[tuple]) -> None:
    """Writes the rows into the table of the database; values are what its driver takes."""
    quote = connection.ops.quote_name
    into = f"{quote(table)} ({', '.join(quote(name) for name in columns)})"
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            with cursor.copy(f"COPY {into} FROM STDIN") as copy:
                for row in rows:
                    copy.write_row(row)
        else:
            values = ", ".join(["%s"] * len(columns))
            for batch in _batches(rows):
                cursor.executemany(f"INSERT INTO {into} VALUES ({values})", batch)  # noqa: S608  own names only


def _batches(rows: Iterable[tuple]) -> Iterator[list[tuple]]:
    rows = iter(rows)
    while batch := list(itertools.islice(rows, ROWS_AT_ONCE)):
        yield batch


def linked_ids(rows: pd.DataFrame, link: Link, ids: pd.DataFrame) -> pd.Series:
    """For each row the id of the row it names, 0 where it names none or one that is not there."""
    key = list(NOUNS_BY_TABLE[link.table].file.key)
    named = rows[list(link.columns)].set_axis(key, axis=1)
    found = named.merge(ids[[*key, "id"]], how="left", on=key)["id"].set_axis(rows.index)
    return found.where(named.notna().all(axis=1)).fillna(0).astype("int64")


def _next_ids(model: type[Model], count: int) -> list[int]:
    """Ids that no row has had. On SQLite the transaction holds the only pen, so counting on is safe."""
    table = model._meta.db_table
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute(
                "SELECT nextval(pg_get_serial_sequence(%s, 'id')) FROM generate_series(1, %s)", [table, count]
            )
            return [number for (number,) in cursor.fetchall()]
        cursor.execute("SELECT seq FROM sqlite_sequence WHERE name = %s", [table])
        (last,) = cursor.fetchone() or (0,)
        return list(range(last + 1, last + 1 + count))


def _write_history(noun: Noun, columns: dict[str, list], kind: str, user: User | None, reason: str) -> None:
    now = connection.ops.adapt_datetimefield_value(timezone.now())
    told = {
        "history_date": now,
        "history_change_reason": reason,
        "history_type": kind,
        "history_user_id": user.pk if user else None,
    }
    rows: Iterator[tuple] = zip(
        *columns.values(), *(itertools.repeat(value) for value in told.values()), strict=False
    )
    insert_rows(noun.model.history.model._meta.db_table, [*columns, *told], rows)


def _stored_columns(
    noun: Noun, rows: pd.DataFrame, organization: Organization, ids: dict[str, pd.DataFrame]
) -> dict[str, list]:
    """The values of every column of the database but `id`."""
    columns: dict[str, list] = {"organization_id": [organization.pk] * len(rows)}
    for name, field in noun.fields.items():
        columns[field] = _stored(rows[name], noun.file.by_stored_name[name])
    for link in noun.links:
        columns[link.attname] = [one or None for one in linked_ids(rows, link, ids[link.table]).tolist()]
    if noun.is_measured:
        columns["entered"] = _entered(rows, noun)
    return columns  # Django names a column as it names the field


def _stored(values: pd.Series, column: Column) -> list:
    """The values as both databases' drivers take them."""
    if column.kind is Kind.DATE:
        codes, days = pd.factorize(values)
        written = np.array([*(f"{day:%Y-%m-%d}" for day in days), None], dtype=object)
        return written[codes].tolist()
    objects = values.astype(object).where(values.notna(), None).tolist()
    if column.kind is Kind.MONEY:
        # Four decimals, as the column of the database has them.
        return [None if one is None else str(Decimal(f"{one:.4f}")) for one in objects]
    if column.kind is Kind.WHOLE:
        return [None if one is None else int(one) for one in objects]
    if column.kind in (Kind.TEXT, Kind.CHOICE, Kind.CHOICES):
        return [one or "" for one in objects]
    return objects


def _entered(rows: pd.DataFrame, noun: Noun) -> list[str]:
    """For each row, as JSON, the measures that were entered in another unit than the stored one."""
    entered: dict[int, dict] = {}
    for column in noun.file.measures:
        value, unit = (rows[name] for name in column.entered_names)
        for place in np.flatnonzero(unit.notna()).tolist():
            entered.setdefault(place, {})[column.name] = [float(value.iat[place]), unit.iat[place]]
    return [json.dumps(entered[place]) if place in entered else "{}" for place in range(len(rows))]
