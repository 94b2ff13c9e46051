"""Sentences for people: the English as it stands, unless whoever runs the process sets a translator.

A sentence is asked for whole, with named places that are filled afterwards, so that another language may
order them anew: `gettext("%(part)s is no longer made.") % {"part": part}`. It is asked for where it is told
and never kept at import: the language may be another one by then.
"""

import datetime
import gettext as catalogues
from typing import TYPE_CHECKING, Protocol

if TYPE_CHECKING:
    import pandas as pd


class Translator(Protocol):
    """What gives a sentence in the language of the moment."""

    def gettext(self, message: str, /) -> str: ...

    def ngettext(self, singular: str, plural: str, number: int, /) -> str: ...


_DAY = "%-d %b %Y"

_translator: Translator = catalogues.NullTranslations()


def set_translator(translator: Translator) -> Translator:
    """The translator until now; from here on every sentence of this process comes from the given one."""
    global _translator
    before, _translator = _translator, translator
    return before


def gettext(message: str) -> str:
    """The sentence in the language of the moment."""
    return _translator.gettext(message)


def ngettext(singular: str, plural: str, number: int) -> str:
    """The sentence for so many, in the language of the moment."""
    return _translator.ngettext(singular, plural, number)


def tell_day(day: datetime.date) -> str:
    """The day as a sentence has it, so that no reader takes the month for the day: 4 May 2026."""
    return f"{day:{_DAY}}"


def tell_days(days: "pd.Series") -> "pd.Series":
    """Each day as `tell_day` has it, and empty where there is none."""
    return days.dt.strftime(_DAY).fillna("").astype("str")


def gettext_noop(message: str) -> str:
    """The sentence as it stands, marked for who translates: it is asked for by `gettext` where it is told."""
    return message
