"""The kits that a plan still means to be supplied from the shelves, as lines that ask for stock."""

from collections.abc import Collection

import numpy as np
import pandas as pd
from django.db.models import Exists, OuterRef, Q, QuerySet

from fleet.models import LINES, Assembly, Organization, Plan, Position
from forecasting.outputs import KIT_LINES, KITS
from forecasting.supply.begun import is_held
from forecasting.tables import Table, make_table

from .begun import begun_kits


def waiting_lines(
    organization: Organization, plan: Plan, which: Q, sites: Collection[str] | None = None
) -> pd.DataFrame:
    """The lines of the plan's kits that still ask the shelves: those of which `which` holds, at those sites.

    KIT_LINES and KITS in one, with `critical`. What the bench has begun since, or somebody has fitted, asks
    for nothing any more and is not there.
    """
    asked = LINES["kit_lines"].objects.filter(which, plan=plan).order_by("row")
    kits = LINES["kits"].objects.filter(plan=plan).order_by("row")
    # The narrower of the two comes first, and the other by name: so either takes few of many rows.
    if sites is None:
        lines = _stored(asked, KIT_LINES)
        made = _stored(kits.filter(kit__in=lines["kit"].unique().tolist()), KITS)
    else:
        made = _stored(kits.filter(site__in=sites), KITS)
        lines = _stored(asked.filter(kit__in=made["kit"].tolist()), KIT_LINES)
    held = is_held(lines, made, {"begun_kits": begun_kits(organization)})
    lines = lines[~held].merge(made.drop(columns="not_to_build"), on="kit")
    since = Assembly.objects.filter(position=OuterRef("pk"), installed_on__gt=plan.as_of)
    of_note = Position.objects.of(organization).filter(
        key__in=lines["position"].dropna().unique(), machine__key__in=lines["machine"].dropna().unique()
    )
    of_note = of_note.annotate(since=Exists(since)).filter(Q(critical=True) | Q(since=True))
    noted = list(of_note.values_list("machine__key", "key", "critical", "since"))
    critical = {(machine, position) for machine, position, is_so, _ in noted if is_so}
    fitted = {(machine, position) for machine, position, _, is_so in noted if is_so}
    places = list(zip(lines["machine"], lines["position"], strict=True))
    standby = (lines["purpose"] == "standby").to_numpy(bool)
    lines["critical"] = np.array([place in critical for place in places], dtype=bool) | standby
    waits = np.array([place not in fitted for place in places], dtype=bool)
    return lines[waits].reset_index(drop=True)


def as_asked(lines: pd.DataFrame) -> pd.DataFrame:
    """The lines as they ask for stock: each for its own part, whatever the plan put in its place."""
    own = lines["substitute_for"].fillna(lines["part"])
    return lines.assign(part=own).drop(columns=["substitute_for", "short_by", "available_on"])


def _stored(rows: QuerySet, table: Table) -> pd.DataFrame:
    """The rows as the table; a text that the database keeps empty is not known."""
    return make_table(pd.DataFrame(rows.values(*table.names), columns=table.names).replace("", None), table)
