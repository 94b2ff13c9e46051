"""A page as a person reads it."""

import html
import re


def read(answer) -> str:
    """What the page says, without its tags and with one space wherever there are some."""
    text = answer if isinstance(answer, str) else answer.content.decode()
    return " ".join(html.unescape(re.sub("<[^>]+>", "", text)).split())
