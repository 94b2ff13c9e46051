"""What is found of a candidate beside what its place asks and what belongs there, in words."""

from collections.abc import Iterator

import pandas as pd

from ..designs.findings import Finding
from ..wording import gettext as _

SAME_BORE = 0.98  # bores of one nominal size differ by tenths of a millimetre: common practice, no source


def candidate_findings(cases: pd.DataFrame) -> Iterator[Finding]:
    """The findings of `cases`: candidates with what is judged of them, and beside it what the old hose is;
    `joined` those that are with a pair of ends.
    """
    other, said = cases["other_hose"], "%(margin_reason)s"
    fast = cases["velocity_m_s"] > cases["usual_velocity_m_s"]
    smaller = ~(cases["bore_mm"] >= cases["own_bore_mm"] * SAME_BORE)
    heat = cases[["fluid_temperature_c", "ambient_temperature_c"]].notna().any(axis=1)
    unlimited = heat & ~cases["heat_limit_known"].eq(True)
    unlimited |= cases["bend_radius_mm"].notna() & cases["minimum_bend_radius_mm"].isna()
    unfit = (cases["of_margin"] == "short") | (fast & smaller & other)
    unjudged = ~unfit & ((cases["of_margin"] == "unknown") | unlimited)
    yield "unfit", unfit, said
    yield "not_judged", unjudged, said
    yield "remark", ~unfit & ~unjudged & (cases["margin_reason"].fillna("") != ""), said
    yield from _bore_findings(cases, other, fast, smaller)
    yield from _kind_findings(cases, other)
    gone = cases["obsolete_part"].notna()
    yield "unfit", cases["other"] & gone, _("%(obsolete_part)s is no longer made")
    yield (
        "remark",
        ~cases["other"] & gone,
        _("%(obsolete_part)s is no longer made: what lies there is the last of it"),
    )
    yield (
        "not_judged",
        cases["uncrimped"].notna(),
        _(
            "no crimp is on record for hose %(hose_part)s with end %(uncrimped)s: do not crimp before "
            "there is one"
        ),
    )
    yield (
        "remark",
        cases["joined"] & cases["drawn"] & cases["cut_length_mm"].isna(),
        _("the cut length is not known: the cut-off of an end is not on record"),
    )


def _bore_findings(
    cases: pd.DataFrame, other: pd.Series, fast: pd.Series, smaller: pd.Series
) -> Iterator[Finding]:
    bore, own, flow = cases["bore_mm"], cases["own_bore_mm"], cases["flow_lpm"]
    yield "not_judged", bore.isna(), _("the bore of hose %(hose_part)s is not on record")
    yield (
        "not_judged",
        flow.isna() & other & (bore < own * SAME_BORE),
        _(
            "its bore of %(bore_mm)s is smaller than the %(own_bore_mm)s of %(own_part)s, and the flow here "
            "is not on record"
        ),
    )
    yield (
        "not_judged",
        flow.isna() & bore.notna() & own.isna(),
        _("neither the flow here nor the bore of what belongs here is on record"),
    )
    yield (
        "not_judged",
        other & ~cases["ends_known"] & (bore * SAME_BORE > own),
        _(
            "its bore of %(bore_mm)s is larger than the %(own_bore_mm)s of %(own_part)s, and what its ends "
            "join is not on record"
        ),
    )
    yield (
        "remark",
        fast & other & ~smaller,
        _("its bore is no smaller than that of %(own_part)s, in which the flow is as fast"),
    )


def _kind_findings(cases: pd.DataFrame, other: pd.Series) -> Iterator[Finding]:
    own, material = cases["own_material"], cases["material"]
    unlike = other & own.notna()
    yield (
        "not_judged",
        unlike & material.notna() & (material != own),
        _(
            "it is of %(material)s and %(own_part)s of %(own_material)s: whether it stands the fluid is not "
            "on record"
        ),
    )
    yield "not_judged", unlike & material.isna(), _("of what hose %(hose_part)s is made is not on record")
    # Of a worn hose without a place it is never known, and its notes ask for the fluid.
    yield (
        "not_judged",
        other & own.isna() & cases["placed"],
        _("of what %(own_part)s is made is not on record, nor so whether another hose stands the fluid"),
    )
    conducts, owns = cases["conductive"].astype("boolean"), cases["own_conductive"].astype("boolean")
    for own_conducts, words in (
        (False, _("it conducts and %(own_part)s does not: never near live lines")),
        (True, _("it does not conduct and %(own_part)s does")),
    ):
        differs = (owns == own_conducts).fillna(False) & (conducts != own_conducts).fillna(False)
        yield "unfit", other & differs.astype(bool), words
    yield (
        "not_judged",
        other & owns.notna() & conducts.isna(),
        _("whether hose %(hose_part)s conducts is not on record, and %(own_part)s was chosen knowing it"),
    )
    yield (
        "remark",
        other & owns.isna() & cases["placed"] & ~conducts.eq(False).fillna(False).astype(bool),
        _("whether %(own_part)s conducts is not on record: near live lines only what does not conduct"),
    )
    yield (
        "remark",
        other & (cases["outside_diameter_mm"] > cases["own_outside_diameter_mm"]),
        _(
            "outside it is %(outside_diameter_mm)s and %(own_part)s %(own_outside_diameter_mm)s: see that it "
            "goes through clamps and guards"
        ),
    )
