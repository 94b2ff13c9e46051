"""Who changed a row of the register, when, and what from and to."""

import datetime
from itertools import pairwise

from django.utils.formats import localize
from django.utils.translation import gettext as _

from fleet.templatetags.measures import day, figure, hours

CHANGES_SHOWN = 50
MOST_DECIMALS = 6
BOOKKEEPING = {"id", "organization", "entered"}


def change_history(row, *, related: tuple[str, ...] = ()) -> list[dict]:
    """One entry per change of the row, newest first: when, who, what, why, columns (name, before, now).

    `related` names the foreign keys to read in the same query, so that they show by their keys.
    """
    # One more than is shown, so that the oldest one shown has something to be compared with.
    records = list(
        row.history.select_related("history_user", *related).order_by("-history_date", "-history_id")[
            : CHANGES_SHOWN + 1
        ]
    )
    entries = [
        {
            "when": now.history_date,
            "who": now.history_user,
            "what": _("changed"),
            "why": now.history_change_reason or "",
            "columns": _differences(row, before, now),
        }
        for now, before in pairwise(records)
    ]
    if records and len(records) <= CHANGES_SHOWN:
        first = records[-1]
        entries.append(
            {
                "when": first.history_date,
                "who": first.history_user,
                "what": _("entered"),
                "why": first.history_change_reason or "",
                "columns": [],
            }
        )
    return entries


def _differences(row, before, now) -> list[tuple[str, str, str]]:
    """The columns in which two records of the row differ: name, before, now."""
    return [
        (field.verbose_name, *_told_apart(before, now, field))
        for field in row._meta.concrete_fields
        if field.name not in BOOKKEEPING and getattr(before, field.attname) != getattr(now, field.attname)
    ]


def _told_apart(before, now, field) -> tuple[str, str]:
    """Both as a person reads them, with more decimals where the usual ones do not tell them apart."""
    more = 0
    while (shown := (_shown(before, field, more), _shown(now, field, more)))[0] == shown[1]:
        if more == MOST_DECIMALS:
            break
        more += 1
    return shown


def _shown(record, field, more: int) -> str:
    if getattr(record, field.attname) in (None, ""):
        return _("not known")
    if display := getattr(record, f"get_{field.name}_display", None):
        return display()
    value = getattr(record, field.name)
    if isinstance(value, float):
        return hours(value, more) if field.name.endswith("_hours") else figure(value, 1 + more)
    return day(value) if type(value) is datetime.date else localize(value)
