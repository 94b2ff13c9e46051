"""The order of a list, as its address asks: `?sort=costs`, or `?sort=-costs` for the other way round."""

from dataclasses import dataclass

from django.db.models import F, QuerySet
from django.http import HttpRequest


def own_columns(*names: str) -> dict[str, str]:
    """Columns that the address calls as the table does."""
    return {name: name for name in names}


@dataclass(frozen=True, slots=True)
class Sorting:
    """By which of its `columns` (name and path of each that can be asked for) a list stands, and which way.

    `by` is empty where the address asks for none of them: then the list stands as it does of itself.
    """

    columns: dict[str, str]
    by: str
    descending: bool

    @classmethod
    def asked(cls, request: HttpRequest, columns: dict[str, str]) -> "Sorting":
        sort = request.GET.get("sort", "")
        name = sort.removeprefix("-")
        known = name in columns
        return cls(columns, name if known else "", known and sort.startswith("-"))

    def sort(self, rows: QuerySet, *otherwise) -> QuerySet:
        """The rows as asked, what is not known last; equal ones, or all if none was asked, as `otherwise`."""
        if not self.by:
            return rows.order_by(*otherwise)
        path = F(self.columns[self.by])
        first = path.desc(nulls_last=True) if self.descending else path.asc(nulls_last=True)
        return rows.order_by(first, *otherwise)
