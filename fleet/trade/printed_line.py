"""A line as it was printed on a hose, from which one reader after another takes what it understands."""

import re
from collections.abc import Iterator

TAKEN = "\0"
# A piece begins here: not inside a number, a word or a part number, of which nobody has taken a part yet.
APART = r"(?<![A-Z0-9.])(?<!\d,)(?<![A-Z0-9][/-])"
_FRACTIONS = {
    "¼": "1/4", "½": "1/2", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8", "⁄": "/",
}  # fmt: skip
_SAME = str.maketrans(
    {"–": "-", "—": "-", "−": "-", "‐": "-", "‑": "-", "”": '"', "“": '"', "″": '"', "º": "°", TAKEN: " "}
    | {sign: f" {plain}" if len(plain) > 1 else plain for sign, plain in _FRACTIONS.items()}
)
# Between pieces; a comma or stop between digits is a decimal sign or a thousands' mark.
_BETWEEN = re.compile(
    rf"\bW[./]P\b|\bI\.D\b|[{TAKEN}*|•·;()\[\]]|(?<!\d)[,.:]|[,.:](?!\d)|(?<!\S)[-/=+]+(?!\S)"
)
# Words that say what follows or what everybody sees; nobody needs to be told that they were not understood.
_FILLERS = frozenset(
    {"HYDRAULIC", "HOSE", "RUBBER", "PRESSURE", "WORKING", "WP", "MAX", "MAWP", "SIZE", "ID", "TYPE", "DATE"}
)


class PrintedLine:
    """`printed` is the line with one space between its pieces; `left`, in capitals, what nobody took yet.

    Both have the same length, so that a place in one is the same place in the other.
    """

    def __init__(self, text: str) -> None:
        self.printed = " ".join(text.translate(_SAME).replace("''", '"').split())
        # A few letters become two in capitals, which would shift all places behind them.
        self.left = "".join(letter.upper() if len(letter.upper()) == 1 else letter for letter in self.printed)

    def take(self, pattern: re.Pattern[str]) -> Iterator[tuple[re.Match[str], str]]:
        """Each match in what is left, with the words as printed; taken as it is handed out."""
        while match := pattern.search(self.left):
            yield match, self.take_span(*match.span())

    def take_span(self, start: int, end: int) -> str:
        """The words from one place to another as printed; taken."""
        self.left = self.left[:start] + TAKEN * (end - start) + self.left[end:]
        return self.printed[start:end].strip()

    def rest(self) -> list[str]:
        """The pieces that nobody took, as printed, in their order."""
        left = _BETWEEN.sub(lambda match: TAKEN * len(match[0]), self.left)
        pieces = [self.printed[one.start() : one.end()] for one in re.finditer(rf"[^{TAKEN} ]+", left)]
        stripped = [piece.strip("-/,.:=+\"'") for piece in pieces]
        return [piece for piece in stripped if piece and piece.upper() not in _FILLERS]
