"""From the columns of a table to what the API shows of it: a serializer, and a filter for each column.

Dates can be asked for by day or span (`removed_on_from`, `removed_on_until`) and by whether they are known
(`removed_on_known`), numbers by span (`hours_min`, `hours_max`), all else by its value.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any

import django_filters
from django.db import models
from rest_framework import serializers

from fleet.exchange.columns import Kind


@dataclass(frozen=True, slots=True)
class Shown:
    """A column as it is shown: `path` leads to its value through the models, as a query writes it."""

    name: str
    kind: Kind
    path: str
    help: str = ""
    choices: tuple[str, ...] = ()
    filled: bool = False


class Text(serializers.CharField):
    """A text; one that is not known is null, as every other value that is not known."""

    def to_representation(self, value: Any) -> str | None:
        return str(value) if value != "" else None


class Choice(serializers.ChoiceField):
    def to_representation(self, value: Any) -> str | None:
        return str(value) if value != "" else None


def serializer_of(name: str, columns: Iterable[Shown]) -> type[serializers.Serializer]:
    """A read-only serializer class called `name`."""
    fields = {column.name: _field(column) for column in columns}
    return type(name, (serializers.Serializer,), fields)


def filters_of(
    name: str, model: type[models.Model], columns: Iterable[Shown]
) -> type[django_filters.FilterSet]:
    """A filter set class called `name`."""
    filters = {key: one for column in columns for key, one in _filters(column)}
    meta = type("Meta", (), {"model": model, "fields": []})
    return type(name, (django_filters.FilterSet,), {**filters, "Meta": meta})


def _field(column: Shown) -> serializers.Field:
    given: dict[str, Any] = {"help_text": column.help, "allow_null": not column.filled, "read_only": True}
    if column.path != column.name:
        given["source"] = column.path.replace("__", ".")
    match column.kind:
        case Kind.CHOICE:
            return Choice(choices=column.choices, **given)
        case Kind.YES_NO:
            return serializers.BooleanField(**given)
        case Kind.DATE:
            return serializers.DateField(**given)
        case Kind.WHOLE:
            return serializers.IntegerField(**given)
        case Kind.NUMBER | Kind.MEASURE:
            return serializers.FloatField(**given)
        case Kind.MONEY:
            return serializers.DecimalField(max_digits=16, decimal_places=4, **given)
    return Text(**given)


def _filters(column: Shown) -> Iterator[tuple[str, django_filters.Filter]]:
    path = column.path
    match column.kind:
        case Kind.CHOICE:
            choices = [(one, one) for one in column.choices]
            yield column.name, django_filters.ChoiceFilter(field_name=path, choices=choices)
        case Kind.YES_NO:
            yield column.name, django_filters.BooleanFilter(field_name=path)
        case Kind.DATE:
            yield column.name, django_filters.DateFilter(field_name=path)
            yield f"{column.name}_from", django_filters.DateFilter(field_name=path, lookup_expr="gte")
            yield f"{column.name}_until", django_filters.DateFilter(field_name=path, lookup_expr="lte")
            if not column.filled:
                yield (
                    f"{column.name}_known",
                    django_filters.BooleanFilter(field_name=path, lookup_expr="isnull", exclude=True),
                )
        case Kind.NUMBER | Kind.MEASURE | Kind.MONEY | Kind.WHOLE:
            yield f"{column.name}_min", django_filters.NumberFilter(field_name=path, lookup_expr="gte")
            yield f"{column.name}_max", django_filters.NumberFilter(field_name=path, lookup_expr="lte")
        case _:
            yield column.name, django_filters.CharFilter(field_name=path)
