"""Many choices of one field, written in one piece: it takes a tenth of the time that a template takes."""

from collections.abc import Iterable
from html import escape
from typing import Any

from django.template import Library
from django.utils.safestring import SafeString

register = Library()


@register.simple_tag
def options(choices: Iterable[tuple[Any, Any]], chosen: str | None = "") -> SafeString:
    """An option for each value and label of the choices, both texts, the `chosen` value selected."""
    return SafeString(
        "".join(
            f'<option value="{escape(value)}"{" selected" if value == chosen else ""}>'
            f"{escape(label)}</option>"
            for value, label in choices
        )
    )
