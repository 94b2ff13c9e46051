"""Lists: paged, filtered by their columns, and refusing a parameter that nobody knows."""

from difflib import get_close_matches
from typing import Any

from django.db.models import Model, QuerySet
from django.http import Http404
from django.utils.translation import gettext as _
from django_filters.rest_framework import DjangoFilterBackend, FilterSet
from rest_framework import generics
from rest_framework.exceptions import ValidationError
from rest_framework.pagination import LimitOffsetPagination
from rest_framework.response import Response

from fleet.trade.cautions import Caution

from .members import MemberView

KNOWN_EVERYWHERE = ("organization", "limit", "offset")


class ColumnFilters(DjangoFilterBackend):
    """Filters by column. A misspelt filter would answer with every row, so it is refused."""

    def filter_queryset(self, request, queryset, view):
        filter_class = self.get_filterset_class(view, queryset)
        known = [*(filter_class.base_filters if filter_class else ()), *KNOWN_EVERYWHERE]
        for name in request.query_params:
            if name not in known:
                near = get_close_matches(name, known, n=1)
                told = _("There is no such filter.")
                if near:
                    told = _("There is no such filter. Did you mean %(near)s?") % {"near": near[0]}
                raise ValidationError({name: told}, code="unknown_filter")
        return super().filter_queryset(request, queryset, view)


class Pages(LimitOffsetPagination):
    """Pages of at most 1,000 rows."""

    default_limit = 100
    max_limit = 1000


class ListView(MemberView, generics.ListAPIView):
    """The rows of one table of an organization."""

    filter_backends = (ColumnFilters,)
    filterset_class: type[FilterSet] | None = None
    pagination_class: type[Pages] = Pages


def row_named(rows: QuerySet, named: dict[str, Any], what: str) -> Model:
    """The row of that key. Raises Http404 where there is none, or where no database could hold such a key."""
    row = None if any("\x00" in str(value) for value in named.values()) else rows.filter(**named).first()
    if row is None:
        raise Http404(what)
    return row


def cautions_shown(cautions: tuple[Caution, ...]) -> list[dict[str, str]]:
    return [{"code": one.code, "title": one.title, "text": one.text} for one in cautions]


CAUTIONS_SCHEMA = {
    "type": "array",
    "description": "To be read before the work that these rows lead to.",
    "items": {
        "type": "object",
        "required": ["code", "title", "text"],
        "properties": {name: {"type": "string"} for name in ("code", "title", "text")},
    },
}


class PlanPages(Pages):
    """Pages of a plan's lines: they say which plan speaks, and carry the cautions of the view."""

    def paginate_queryset(self, queryset, request, view=None):
        self.view = view
        return super().paginate_queryset(queryset, request, view)

    def get_paginated_response(self, data) -> Response:
        response = super().get_paginated_response(data)
        plan = self.view.plan
        said = {"plan": plan.pk, "as_of": plan.as_of.isoformat()}
        if self.view.cautions:
            said["cautions"] = cautions_shown(self.view.cautions)
        return Response(said | response.data)

    def get_paginated_response_schema(self, schema) -> dict:
        paged = super().get_paginated_response_schema(schema)
        paged["required"] += ["plan", "as_of"]
        paged["properties"] |= {
            "plan": {"type": "integer"},
            "as_of": {"type": "string", "format": "date"},
            "cautions": CAUTIONS_SCHEMA,
        }
        return paged
