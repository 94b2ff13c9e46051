"""Who changed a row of the register, when, and what from and to."""

from itertools import pairwise

from django.utils.formats import localize
from django.utils.translation import gettext as _

CHANGES_SHOWN = 50
BOOKKEEPING = {"id", "organization", "entered"}


def change_history(row, *, related: tuple[str, ...] = ()) -> list[dict]:
    """One entry per change of the row, newest first: when, who, what, columns (name, before, now).

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
            "columns": _differences(row, before, now),
        }
        for now, before in pairwise(records)
    ]
    if records and len(records) <= CHANGES_SHOWN:
        first = records[-1]
        entries.append(
            {"when": first.history_date, "who": first.history_user, "what": _("entered"), "columns": []}
        )
    return entries


def _differences(row, before, now) -> list[tuple[str, str, str]]:
    """The columns in which two records of the row differ: name, before, now."""
    return [
        (field.verbose_name, _shown(before, field), _shown(now, field))
        for field in row._meta.concrete_fields
        if field.name not in BOOKKEEPING and getattr(before, field.attname) != getattr(now, field.attname)
    ]


def _shown(record, field) -> str:
    if getattr(record, field.attname) in (None, ""):
        return _("not known")
    value = getattr(record, f"get_{field.name}_display", None)
    return value() if value else localize(getattr(record, field.name))
