"""The heads of a table's columns, each a link where the list can be sorted by it, and words of each row."""

from django.template import Library, Node, TemplateSyntaxError
from django.template.base import render_value_in_context

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


@register.tag
def once(parser, token):
    """Words that stand in every row, translated once for all rows of a template: `{% once _("Site") %}`."""
    words = parser.compile_filter(token.contents.partition(" ")[2])
    if not words.token.startswith("_(") or words.filters or "%" in words.token:
        raise TemplateSyntaxError(f"Only words to be translated stand in each row as they are: {words}")
    return Once(words)


class Once(Node):
    def __init__(self, words) -> None:
        self.words = words

    def render(self, context) -> str:
        told = context.render_context.get(self)
        if told is None:
            told = context.render_context[self] = render_value_in_context(
                self.words.resolve(context), context
            )
        return told
