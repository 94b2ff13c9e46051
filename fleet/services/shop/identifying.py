"""Which hoses and ends of the catalogue are what was read and measured; no judgement that they fit."""

import re
from collections.abc import Collection
from dataclasses import dataclass

import pandas as pd
from django.db.models import FloatField, Sum, Value
from django.db.models.functions import Coalesce

from fleet.models import Organization, Part, PartKind
from fleet.trade.layline import Layline
from fleet.trade.threads import Thread
from forecasting.designs.constructions import normal_construction


@dataclass(frozen=True, slots=True)
class SameHose:
    """A hose of the catalogue, the metres of it at all sites, and what its standard calls it."""

    part: Part
    on_hand_m: float
    construction: str


def find_same_hoses(*, organization: Organization, layline: Layline) -> list[SameHose]:
    """The bulk hoses of exactly a construction and the size of the layline, by key; none without both."""
    if not layline.constructions or layline.dash is None:
        return []
    parts = list(
        Part.objects.of(organization)
        .filter(kind=PartKind.BULK_HOSE, dash=layline.dash)
        .select_related("superseded_by")
        .annotate(on_hand_m=Coalesce(Sum("pieces__on_hand"), Value(0.0), output_field=FloatField()))
        .order_by("key")
    )
    called = normal_construction(pd.Series([part.construction for part in parts], dtype="str"))
    return [
        SameHose(part, part.on_hand_m, construction)
        for part, construction in zip(parts, called, strict=True)
        if construction in layline.constructions
    ]


def find_same_ends(*, organization: Organization, threads: Collection[Thread]) -> list[Part]:
    """The hose ends of the catalogue whose thread is one of those, however it is written there, by key."""
    named = {_bare(one.thread) for one in threads}
    rows = Part.objects.of(organization).filter(kind=PartKind.HOSE_END).exclude(thread="")
    return [part for part in rows.order_by("key") if _bare(part.thread) in named]


def _bare(thread: str) -> str:
    """The thread without what its series and class add: 3/4-16 UNF-2A as 3/4-16, M18x1.5 as M18×1.5."""
    bare = re.sub(r"\s+", "", thread).upper().replace("X", "×")
    return re.sub(r"(?<=\d)(UN[A-Z]*|NPT[A-Z]*)(-\d[AB])?$", "", bare)
