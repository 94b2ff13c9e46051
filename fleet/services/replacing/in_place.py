"""Whether what is built or put on is rated for its place: judged on the spot, as a plan judges it later.

Over what the place asks is allowed, under never.
"""

import datetime
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import pandas as pd
from django.utils import timezone
from django.utils.translation import gettext as _

from fleet.frames.places import place_tables
from fleet.frames.register import core_settings
from fleet.frames.tags import as_made
from fleet.models import Assembly, Design, KitAssembly, Organization, Position
from forecasting.designs.margins import judge_margins
from forecasting.inputs import INSTALLATIONS
from forecasting.policies import Settings, position_limits
from forecasting.tables import make_table


@dataclass(frozen=True, slots=True)
class InPlace:
    """What would be in a position from `day` on. `name` tells it from the others judged with it; it has the
    parts that `known` was built from, those of the `design` (its key) where no assembly is known yet."""

    name: str
    position: Position
    design: str
    day: datetime.date
    known: Assembly | None = None
    built_on: datetime.date | None = None
    hose_made_on: datetime.date | None = None


def judge_in_place(organization: Organization, cases: Sequence[InPlace]) -> tuple[list[str], list[str]]:
    """The verdict of `judge_margins` on each, and its reasons in the organization's units."""
    drawn = Design.objects.of(organization).filter(key__in={one.design for one in cases})
    tables = place_tables(organization, [one.position for one in cases], drawn)
    return judge_by(tables, core_settings(organization), cases)


def judge_by(
    tables: dict[str, pd.DataFrame], units: Settings, cases: Sequence[InPlace]
) -> tuple[list[str], list[str]]:
    """As `judge_in_place` says, from the `place_tables` of the positions and designs."""
    rows = [
        {
            "assembly": one.name,
            "machine": one.position.machine.key,
            "position": one.position.key,
            "design": one.name,  # a design of its own, of the parts that are in it
            "built_on": one.built_on,
            "hose_made_on": one.hose_made_on,
            "installed_on": one.day,
        }
        for one in cases
    ]
    made = as_made(tables, {one.name: (one.design, one.known) for one in cases})
    judged = judge_margins(make_table(rows, INSTALLATIONS), made, position_limits(tables), units)
    return judged["verdict"].tolist(), judged["reason"].fillna("").tolist()


def unfit_designs(organization: Organization, assemblies: Iterable[KitAssembly]) -> dict[int, str]:
    """Of those whose design would be `short` in their position: what is wrong and what to do, by number.

    An assembly for no position is judged when it is put on. What nobody can judge is left to who builds it.
    """
    today = timezone.localdate()
    cases = [
        InPlace(str(one.number), one.position, one.design.key, today) for one in assemblies if one.position
    ]
    if not cases:
        return {}
    return {
        int(one.name): _(
            "a design that bears %(position)s: %(design)s would be over its rating there, %(reason)s. Choose "
            "another, or correct the pressures of the position or the ratings of the parts."
        )
        % {"position": one.position, "design": one.design, "reason": reason}
        for one, verdict, reason in zip(cases, *judge_in_place(organization, cases), strict=True)
        if verdict == "short"
    }
