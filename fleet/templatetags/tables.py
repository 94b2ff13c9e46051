"""The heads of a table's columns: each that the list can be sorted by is a link that does it."""

from django.template import Library

register = Library()


@register.inclusion_tag("includes/head.html", takes_context=True)
def head(context, name: str, label: str, kind: str = ""):
    """A column's head. `name` is what the address calls it; `kind` is `number` where figures stand below.

    The list's own Sorting stands in the context as `sorting`.
    """
    sorting = context["sorting"]
    stands = sorting.by == name
    return {
        "request": context["request"],
        "label": label,
        "kind": kind,
        "sorts": name in sorting.columns,
        "stands": ("descending" if sorting.descending else "ascending") if stands else "",
        "next": f"-{name}" if stands and not sorting.descending else name,
    }
