"""Whether a hose end is bent, by the words of the trade that a catalogue has for it.

A catalogue names the bend of an end, not that another has none: "female swivel 90° elbow" beside "female
swivel". The degrees of a seat ("37° flare", "60° cone") are no bend. Common practice, no source.
"""

import re

BEND = re.compile(
    r"elbow|bent|bend|swept|banjo"
    r"|(?<![\d.,])(?:22[.,]5|30|45|60|67[.,]5|90|110|120|135)\s*(?:°|deg)"
    r"(?!\w*\.?\s*(?:flare|cone|seat|inverted))",
    re.IGNORECASE,
)


def is_bent(end_style: str, description: str) -> bool | None:
    """Whether an end of that style and description is bent; None where its style is not on record."""
    if BEND.search(f"{end_style}; {description}"):
        return True
    return False if end_style.strip() else None
