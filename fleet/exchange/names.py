"""The nearest right name for one that is not known."""

import difflib
import re
from collections.abc import Iterable, Iterator

from forecasting.wording import gettext as _

# difflib compares some twenty thousand names a second; in more names only single slips are looked for.
MOST_COMPARED = 500


class Names:
    """A set of right names that can be asked for the nearest one."""

    def __init__(self, names: Iterable[str]) -> None:
        self._names = list(dict.fromkeys(names))
        self._known = frozenset(self._names)
        self._by_bare = {_bare(name): name for name in reversed(self._names)}
        self._signs = "".join(sorted({sign for name in self._names for sign in name}))
        self._answers: dict[str, str] = {}

    def nearest(self, name: str) -> str:
        """The right name that `name` was most likely meant to be, or an empty text."""
        if name not in self._answers:
            self._answers[name] = self._by_bare.get(_bare(name)) or self._compare(name)
        return self._answers[name]

    def suggest(self, name: str, where: str) -> str:
        """A sentence that says what would be right in place of `name`."""
        nearest = self.nearest(name)
        if nearest:
            return _("Did you mean %(nearest)s?") % {"nearest": nearest}
        if not self._names:
            return _("There are none yet: enter %(where)s first.") % {"where": where}
        if len(self._names) <= 20:
            return _("Enter one of %(where)s: %(names)s.") % {
                "where": where,
                "names": ", ".join(self._names),
            }
        return _("Enter one of %(where)s.") % {"where": where}

    def _compare(self, name: str) -> str:
        if len(self._names) <= MOST_COMPARED:
            return next(iter(difflib.get_close_matches(name, self._names, n=1, cutoff=0.6)), "")
        return next((one for one in _one_slip_away(name, self._signs) if one in self._known), "")


def either(texts: Iterable[str]) -> str:
    """The texts as one of them is to be chosen: bar or psi."""
    return _(" or ").join(texts)


def _one_slip_away(name: str, signs: str) -> Iterator[str]:
    """Every text that a slip turns into `name`: two signs swapped, one too many, a wrong one, one missing."""
    cuts = [(name[:place], name[place:]) for place in range(len(name) + 1)]
    yield from (head + tail[1] + tail[0] + tail[2:] for head, tail in cuts if len(tail) > 1)
    yield from (head + tail[1:] for head, tail in cuts if tail)
    yield from (head + sign + tail[1:] for head, tail in cuts if tail for sign in signs)
    yield from (head + sign + tail for head, tail in cuts for sign in signs)


def _bare(name: str) -> str:
    """`name` without what is mistyped most: case, blanks and punctuation."""
    return re.sub(r"[\W_]+", "", name).casefold()
