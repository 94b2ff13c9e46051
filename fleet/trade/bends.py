"""Whether a hose end is bent, by the words of the trade that a catalogue has for it.

A catalogue names the bend of an end, not that another has none: "female swivel 90° elbow" beside "female
swivel". The degrees of a seat ("37° flare", "60° cone") are no bend. Where a figure may be either ("SAE 45",
"90 swivel") nobody is told that the end is straight: an angle that goes unset is a hose that does not fit.
Common practice, no source.
"""

import re

DEGREES = "(?:[°º˚]|deg)"  # an ordinal sign and a ring are typed for it
OF_A_SEAT = r"\w*\.?[-\s]*(?:flare|cone|seat|inverted)"
ANGLES = r"(?:22(?:[.,]5)?|30|45|60|67(?:[.,]5)?|90|110|120|135)"
NO_THREAD = r"(?<!\bM)(?<!\bDN)"  # M30 and DN 30 are sizes
BEND = re.compile(
    r"elbow|bent|bend|swept|banjo|angled"
    rf"|(?<![\d.,]){ANGLES}[-\s]*{DEGREES}(?!{OF_A_SEAT})"
    # "JIC swivel 90", "FJX90": the last thing said of it, unless what stands before has seats of that angle.
    rf"|(?<=[^\W\d_]){NO_THREAD}(?<!\bSAE)(?<!flare)(?<!cone)(?<!seat)[-\s,]*"
    r"(?:30|45|67(?:[.,]5)?|90)(?=\s*(?:;|$))",
    re.IGNORECASE,
)
PERHAPS = re.compile(
    rf"(?<![\d.,/]){NO_THREAD}{ANGLES}(?![\d.,]*\w)(?![-\s]*{DEGREES}?{OF_A_SEAT})",
    re.IGNORECASE,
)


def is_bent(end_style: str, description: str) -> bool | None:
    """Whether an end of that style and description is bent; None where its style does not tell."""
    told = f"{end_style}; {description}"
    if BEND.search(told):
        return True
    return False if end_style.strip() and not PERHAPS.search(told) else None
