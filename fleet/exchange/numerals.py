"""Numbers as people and files write them."""

import math
import re

import numpy as np

PLAIN_NUMBER = re.compile(r"[+-]?(\d+(\.\d*)?|\.\d+)([eE][+-]?\d{1,3})?")


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


def meant_number(text: str) -> str:
    """What a number written with a comma, blanks or a sign of a unit was likely meant to be, or ''."""
    if PLAIN_NUMBER.fullmatch(text):
        return ""
    bare = re.sub(r"[\s'’_]", "", text)
    if re.fullmatch(r"[+-]?\d{1,3}(,\d{3})+(\.\d+)?", bare):
        return bare.replace(",", "")
    if re.fullmatch(r"[+-]?\d{1,3}(\.\d{3})+,\d+", bare):
        return bare.replace(".", "").replace(",", ".")
    if re.fullmatch(r"[+-]?\d+,\d+", bare):
        return bare.replace(",", ".")
    leading = re.match(r"[+-]?\d+(\.\d+)?(?=[^\d.,])", bare)
    return leading.group() if leading else ""
