"""The register: each file of a fleet folder as a list, and each of its rows under its key."""

from typing import Any

from django.db.models import Model, QuerySet
from django.urls import URLPattern, path
from django.utils.translation import gettext as _
from rest_framework import generics

from fleet.exchange.columns import File
from fleet.exchange.schema import FILES, INSTALLATIONS
from fleet.frames.nouns import NOUNS_BY_TABLE, Noun

from .columns import Shown, filters_of, serializer_of
from .lists import ListView, row_named
from .members import MemberView, OwnedRows


class RegisterList(OwnedRows, ListView):
    """The rows of one file of the register."""


class RegisterDetail(MemberView, generics.RetrieveAPIView):
    """One row of the register. A key with a slash in it is found by the list's filters."""

    paths: dict[str, str] = {}

    def get_object(self) -> Model:
        named = {self.paths[name]: value for name, value in self.kwargs.items()}
        return row_named(self.get_queryset().of(self.organization), named, _("There is no such row."))


def noun_of(file: File) -> Noun:
    """The noun that holds the rows of a file; an installation is kept with its assembly."""
    return NOUNS_BY_TABLE["assemblies" if file is INSTALLATIONS else file.name]


def path_of(column: str, noun: Noun) -> str:
    """The way to a column's value, through the rows that a row names, as a query writes it."""
    for link in noun.links:
        if column in link.columns:
            target = NOUNS_BY_TABLE[link.table]
            theirs = target.file.key[link.columns.index(column)]
            return f"{link.attname.removesuffix('_id')}__{path_of(theirs, target)}"
    return noun.fields[column]


def columns_of(file: File) -> list[Shown]:
    """The columns of a file as the API shows them, measures in the stored unit."""
    noun = noun_of(file)
    return [
        Shown(
            name,
            column.kind,
            path_of(name, noun),
            column.help,
            column.choices,
            filled=column.must_be_filled and column.name not in file.may_be_empty,
        )
        for name, column in file.by_stored_name.items()
    ]


def rows_of(file: File) -> QuerySet:
    """The rows of a file in the order of their keys, with all that their columns need."""
    noun = noun_of(file)
    paths = [path_of(name, noun) for name in file.by_stored_name]
    rows: QuerySet[Any] = noun.model._default_manager.select_related(
        *sorted({one.rpartition("__")[0] for one in paths if "__" in one})
    )
    if file is INSTALLATIONS:
        rows = rows.filter(position__isnull=False)
    return rows.order_by(*(path_of(name, noun) for name in file.key), "pk")


def key_in_address(file: File) -> str | None:
    """How an address names one row; None where a part of the key may be empty.

    A key of one column takes the rest of the address, slashes and all.
    """
    if file.may_be_empty:
        return None
    if len(file.key) == 1:
        return f"<path:{file.key[0]}>"
    converters = {"date": "day", "whole": "int"}
    keys = (file.by_stored_name[name] for name in file.key)
    return "/".join(f"<{converters.get(key.kind, 'str')}:{key.stored_name}>" for key in keys)


def addresses() -> list[URLPattern]:
    """A list for each file, and a detail where its rows can be named."""
    found = []
    for file in FILES:
        name = "".join(word.capitalize() for word in file.name.split("_"))
        columns, rows = columns_of(file), rows_of(file)
        serializer = serializer_of(name, columns)
        filters = filters_of(f"{name}Filters", rows.model, columns)
        listed = RegisterList.as_view(queryset=rows, serializer_class=serializer, filterset_class=filters)
        found.append(path(f"{file.name}/", listed, name=file.name))
        if key := key_in_address(file):
            paths = {column.name: column.path for column in columns}
            one = RegisterDetail.as_view(queryset=rows, serializer_class=serializer, paths=paths)
            found.append(path(f"{file.name}/{key}/", one, name=f"{file.name}-detail"))
    return found
