"""Long lists, fifty rows at a time."""

from django.core.paginator import Page, Paginator
from django.http import HttpRequest

ROWS = 50


def page_of(request: HttpRequest, rows, *, size: int = ROWS, count: int | None = None) -> Page:
    """The page of `rows` that the address asks for; the nearest one where it asks for none that exists.

    `count`, where the caller knows it already, saves the query that counts the rows.
    """
    paginator = Paginator(rows, size)
    if count is not None:
        paginator.count = count
    return paginator.get_page(request.GET.get("page"))
