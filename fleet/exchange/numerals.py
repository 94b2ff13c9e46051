"""Numbers as people and files write them."""

import math
import re
import unicodedata

import numpy as np

from forecasting.wording import gettext as _

PLAIN_NUMBER = re.compile(r"[+-]?(\d+(\.\d*)?|\.\d+)([eE][+-]?\d{1,3})?", re.ASCII)
_SIGNS = str.maketrans({"．": ".", "٫": ".", "，": ",", "－": "-", "−": "-", "＋": "+"})


def shortest(value: float) -> str:
    """The shortest decimal that reads back as exactly `value`, without exponent: 3500, 0.835."""
    if math.isfinite(value):
        return np.format_float_positional(value + 0.0, trim="-")
    return str(value)


def rounded(value: float) -> str:
    """`value` for a sentence: thousands set off, three figures where it is small."""
    if abs(value) >= 100:
        return f"{value:,.0f}"
    return shortest(float(f"{value:.3g}"))


def read_number(text: str) -> float | None:
    """The number that `text` writes plainly, or None where it writes none or one beyond all measure."""
    value = float(text) if PLAIN_NUMBER.fullmatch(text) else math.inf
    return value if math.isfinite(value) else None


def tell_other_digits(text: str) -> str:
    """What is wrong where digits of another script, or full-width ones, stand in it; '' where none do.

    Some look like another digit than they are.
    """
    if any(sign.isdecimal() and not sign.isascii() for sign in text):
        return _("%(text)s has other digits than 0 to 9.") % {"text": text}
    return ""


def in_plain_digits(text: str) -> str:
    """`text` with 0 to 9, point, comma and sign for those of other scripts and full-width ones."""
    plain = text.translate(_SIGNS)
    return "".join(str(unicodedata.decimal(sign)) if sign.isdecimal() else sign for sign in plain)


def meant_number(text: str) -> str:
    """What a number written with a comma, blanks or a sign of a unit was likely meant to be, or ''."""
    if PLAIN_NUMBER.fullmatch(text):
        return ""
    bare = re.sub(r"[\s'’_]", "", in_plain_digits(text))
    if PLAIN_NUMBER.fullmatch(bare):
        return bare
    if re.fullmatch(r"[+-]?\d{1,3}(,\d{3})+(\.\d+)?", bare):
        return bare.replace(",", "")
    if re.fullmatch(r"[+-]?\d{1,3}(\.\d{3})+,\d+", bare):
        return bare.replace(".", "").replace(",", ".")
    if re.fullmatch(r"[+-]?\d+,\d+", bare):
        return bare.replace(",", ".")
    leading = re.match(r"[+-]?\d+(\.\d+)?(?=[^\d.,])", bare)
    return leading.group() if leading else ""
