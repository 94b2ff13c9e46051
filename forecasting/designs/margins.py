"""Whether each assembly may be where it is: pressure, temperature, bend, shelf life, velocity.

`short` must come off, `thin` has little to spare, `unknown` lacks a rating or a pressure, `sound` has neither
fault nor gap. A table's value from memory may make an assembly short or unknown, never sound.

A suction line must stand vacuum besides: it is judged by its pressure, without surge, by its hose's
construction and by the flow's velocity. Only a hose made for suction passes there; of any other the vacuum it
stands is not known, and so is the verdict. Common practice, no source.
"""

from collections.abc import Iterator

import numpy as np
import pandas as pd

from ..outputs import MARGINS
from ..tables import make_table
from ..units import STORED_UNITS, ReaderUnits
from ..wording import gettext as _
from ..wording import gettext_noop
from .findings import Finding, weigh_findings
from .ratings import rate_designs

# Gravest first: the first that applies is the verdict. A remark changes none.
VERDICTS = ("short", "unknown", "thin", "remark")
USUAL_VELOCITY_M_S = {"suction": 1.5, "return": 4.0, "pressure": 10.0}  # common practice, no source
VELOCITY_FACTOR = 21.22  # m/s of 1 L/min through a bore of 1 mm: 1000 / 60 × 4 / π
ROUNDING = 1e-9  # 5,000 psi are not above 5,000 psi, whichever way they were entered

_ASKED = [
    "line",
    "working_pressure_bar",
    "peak_pressure_bar",
    "fluid_temperature_c",
    "ambient_temperature_c",
    "bend_radius_mm",
    "flow_lpm",
]


def judge_margins(
    assemblies: pd.DataFrame,
    tables: dict[str, pd.DataFrame],
    limits: pd.DataFrame,
    units: ReaderUnits = STORED_UNITS,
    rated: pd.DataFrame | None = None,
) -> pd.DataFrame:
    """MARGINS, one row per row of `assemblies` and in its order; past assemblies may be among them.

    `assemblies` has assembly, machine, position, design, built_on and hose_made_on; `limits` is that of
    `policies.position_limits`. Rated is the lowest rating of hose, ends and adapters. Demanded is the peak
    pressure, surges included; else (or where that peak is below it) the working pressure with the surge
    allowance. margin_percent is empty where the verdict is unknown; rated_pressure_bar may then hold a
    table's value from memory. `reason` joins all findings, gravest first, its measures in `units`. `rated` is
    what `rate_designs` says of the tables, where the caller has it already.

    Source: the peak with its surges must not pass the rating (SAE J517 practice; SAE J1273 has surges above
    system pressure counted): common practice, no source.
    """
    cases = _cases(assemblies, tables, limits, rate_designs(tables) if rated is None else rated)
    verdict, reason = weigh_findings(cases, _findings(cases), VERDICTS, "sound", units)
    shown = cases["complete"] | np.isin(verdict, ["short", "unknown"])
    return make_table(
        cases[["assembly", "machine", "position", "demanded_pressure_bar"]].assign(
            rated_pressure_bar=cases["weakest_bar"].where(shown),
            margin_percent=cases["margin_percent"].where(shown & (verdict != "unknown")),
            verdict=verdict,
            limiting_part=cases["weakest_part"].where(shown),
            reason=reason,
        ),
        MARGINS,
    )


def flow_velocity_m_s(flow_lpm: pd.Series, bore_mm: pd.Series) -> pd.Series:
    """How fast so many litres a minute run through each bore, in m/s; missing where either is."""
    return VELOCITY_FACTOR * flow_lpm / bore_mm**2


def _cases(
    assemblies: pd.DataFrame, tables: dict[str, pd.DataFrame], limits: pd.DataFrame, rated: pd.DataFrame
) -> pd.DataFrame:
    """Each assembly with what its position asks, what its design gives, and its pressure margin."""
    place = ["machine", "position"]
    asked = limits[[*place, "surge_allowance_percent", "thin_margin_percent"]]
    positions = tables["positions"][[*place, "design", *_ASKED]].rename(columns={"design": "usual_design"})
    asked = positions.merge(asked, on=place, how="left")
    recorded = tables["builds"][["assembly", "built_on"]].rename(columns={"built_on": "recorded_on"})
    cases = (
        assemblies[["assembly", *place, "design", "built_on", "hose_made_on"]]
        .merge(recorded, on="assembly", how="left")
        .merge(asked, on=place, how="left")
    )
    cases["design"] = cases["design"].fillna(cases["usual_design"])
    cases = cases.merge(rated, on="design", how="left")
    cases["line"] = cases["line"].fillna("pressure")

    suction = cases["line"] == "suction"
    peak, working = cases["peak_pressure_bar"], cases["working_pressure_bar"]
    by_peak = peak.notna() & ~(peak < working)
    surged = working * (1 + cases["surge_allowance_percent"] / 100)
    demanded = peak.where(by_peak, working.where(suction, surged))
    cases["demanded_pressure_bar"] = demanded
    cases["demanded"] = np.select([suction, by_peak], ["pressure", "peak"], "surge")

    known, tabulated = cases["rated_pressure_bar"], cases["tabulated_rated_pressure_bar"]
    cases["complete"] = known.notna() & cases["unrated"].isna()
    cases["over_known"] = demanded > known * (1 + ROUNDING)
    cases["over_tabulated"] = demanded > tabulated * (1 + ROUNDING)
    over = cases["over_known"] | cases["over_tabulated"]
    table_tells = tabulated.notna() & cases["only_hose_unrated"].eq(True)
    weakest = np.fmin(known, tabulated).where(cases["complete"] | over | table_tells)
    cases["weakest_bar"] = weakest
    cases["weakest_part"] = cases["limiting_part"].where(weakest == known, cases["hose_part"])
    cases["weakest_part"] = cases["weakest_part"].where(weakest.notna())
    cases["margin_percent"] = (weakest - demanded) / weakest * 100

    built_on = cases["built_on"].fillna(cases["recorded_on"])
    cases["age_when_built_days"] = (built_on - cases["hose_made_on"]) / pd.Timedelta(days=1)
    cases["velocity_m_s"] = flow_velocity_m_s(cases["flow_lpm"], cases["bore_mm"])
    cases["usual_velocity_m_s"] = cases["line"].map(USUAL_VELOCITY_M_S)
    return cases


def _findings(cases: pd.DataFrame) -> Iterator[Finding]:
    yield from _pressure_findings(cases)
    yield from _suction_findings(cases)
    yield from _temperature_findings(cases)
    yield (
        "short",
        cases["bend_radius_mm"] < cases["minimum_bend_radius_mm"],
        _("bent to %(bend_radius_mm)s, tighter than the %(minimum_bend_radius_mm)s of hose %(hose_part)s"),
    )
    yield (
        "unknown",
        cases["bend_radius_mm"] < cases["tabulated_minimum_bend_radius_mm"],
        _(
            "bent to %(bend_radius_mm)s and no limit of hose %(hose_part)s known; a table gives "
            "%(construction)s %(tabulated_minimum_bend_radius_mm)s, from memory"
        ),
    )
    yield from _unjudged(cases)
    yield (
        "thin",
        cases["age_when_built_days"] > cases["shelf_life_days"],
        _(
            "hose %(hose_part)s was %(age_when_built_days)s days old when built, past its shelf life of "
            "%(shelf_life_days)s days"
        ),
    )


def _unjudged(cases: pd.DataFrame) -> Iterator[Finding]:
    """What a verdict on pressure says nothing of, told so that nobody takes `sound` for more than it is."""
    hose = cases["hose_part"].notna()
    heat = cases[["fluid_temperature_c", "ambient_temperature_c"]].notna().any(axis=1)
    yield (
        "remark",
        hose & heat & ~cases["heat_limit_known"].eq(True),
        _("heat is not judged: the hottest that hose %(hose_part)s may be is not known"),
    )
    yield (
        "remark",
        hose & cases["bend_radius_mm"].notna() & cases["minimum_bend_radius_mm"].isna(),
        _("the bend is not judged: the least radius of hose %(hose_part)s is not known"),
    )


# What is demanded, told of a rating that is known, of one that a table gives from memory, and of one that
# leaves too thin a margin.
DEMANDED = {
    "pressure": (
        gettext_noop(
            "pressure %(demanded_pressure_bar)s is above the %(rated_pressure_bar)s rating of "
            "%(limiting_words)s (weakest part)"
        ),
        gettext_noop(
            "pressure %(demanded_pressure_bar)s is too high for hose %(hose_part)s, whose rating is not "
            "known: a table gives %(construction)s %(tabulated_rated_pressure_bar)s, from memory"
        ),
        gettext_noop(
            "pressure %(demanded_pressure_bar)s leaves %(margin_percent)s %% under the "
            "%(rated_pressure_bar)s rating of %(limiting_words)s (weakest part), less than the "
            "%(thin_margin_percent)s %% asked for"
        ),
    ),
    "peak": (
        gettext_noop(
            "peak %(demanded_pressure_bar)s is above the %(rated_pressure_bar)s rating of "
            "%(limiting_words)s (weakest part)"
        ),
        gettext_noop(
            "peak %(demanded_pressure_bar)s is too high for hose %(hose_part)s, whose rating is not known: "
            "a table gives %(construction)s %(tabulated_rated_pressure_bar)s, from memory"
        ),
        gettext_noop(
            "peak %(demanded_pressure_bar)s leaves %(margin_percent)s %% under the "
            "%(rated_pressure_bar)s rating of %(limiting_words)s (weakest part), less than the "
            "%(thin_margin_percent)s %% asked for"
        ),
    ),
    "surge": (
        gettext_noop(
            "working pressure with surge %(demanded_pressure_bar)s is above the %(rated_pressure_bar)s "
            "rating of %(limiting_words)s (weakest part)"
        ),
        gettext_noop(
            "working pressure with surge %(demanded_pressure_bar)s is too high for hose %(hose_part)s, whose "
            "rating is not known: a table gives %(construction)s %(tabulated_rated_pressure_bar)s, from "
            "memory"
        ),
        gettext_noop(
            "working pressure with surge %(demanded_pressure_bar)s leaves %(margin_percent)s %% under the "
            "%(rated_pressure_bar)s rating of %(limiting_words)s (weakest part), less than the "
            "%(thin_margin_percent)s %% asked for"
        ),
    ),
}


def _pressure_findings(cases: pd.DataFrame) -> Iterator[Finding]:
    thin = cases["margin_percent"] < cases["thin_margin_percent"] - ROUNDING
    thin &= cases["complete"] & ~cases["over_known"]
    for kind, (over_known, over_tabulated, too_thin) in DEMANDED.items():
        told = cases["demanded"] == kind
        yield "short", told & cases["over_known"], _(over_known)
        yield "short", told & cases["over_tabulated"], _(over_tabulated)
        yield "thin", told & thin, _(too_thin)
    yield "unknown", cases["hose_part"].isna(), _("its design is not known")
    yield (
        "unknown",
        cases["demanded_pressure_bar"].isna(),
        _("neither peak nor working pressure of the position is known"),
    )
    unrated = cases["unrated"].notna() & ~cases["over_tabulated"]
    yield "unknown", unrated, _("the rating of %(unrated)s is not known")
    yield (
        "unknown",
        unrated & cases["tabulated_rated_pressure_bar"].notna(),
        _("a table gives %(construction)s %(tabulated_rated_pressure_bar)s, from memory"),
    )


TOO_FAST = {
    "suction": gettext_noop(
        "%(flow_lpm)s L/min through %(bore_mm)s run at %(velocity_m_s)s m/s, above the usual "
        "%(usual_velocity_m_s)s m/s in a suction line"
    ),
    "return": gettext_noop(
        "%(flow_lpm)s L/min through %(bore_mm)s run at %(velocity_m_s)s m/s, above the usual "
        "%(usual_velocity_m_s)s m/s in a return line"
    ),
    "pressure": gettext_noop(
        "%(flow_lpm)s L/min through %(bore_mm)s run at %(velocity_m_s)s m/s, above the usual "
        "%(usual_velocity_m_s)s m/s in a pressure line"
    ),
}


def _suction_findings(cases: pd.DataFrame) -> Iterator[Finding]:
    suction = cases["line"] == "suction"
    yield (
        "unknown",
        suction & cases["hose_part"].notna() & ~cases["suction"].isin(["meant", "falls_in"]),
        _("hose %(hose_part)s is in a suction line and its construction does not say that it stands vacuum"),
    )
    # Not thin, which would say that it passed: no part states what vacuum textile alone stands.
    yield (
        "unknown",
        suction & (cases["suction"] == "falls_in"),
        _(
            "hose %(hose_part)s is in a suction line, where %(construction)s without a wire helix may fall "
            "in, and nothing states what vacuum it stands; 100R4 is made for it"
        ),
    )
    fast = cases["velocity_m_s"] > cases["usual_velocity_m_s"]
    for line, words in TOO_FAST.items():
        yield "thin" if line == "suction" else "remark", fast & (cases["line"] == line), _(words)


# What is too hot or too cold: the temperature, the limit passed, 1 above it and -1 below, told of a limit
# that is known, and of one that a table gives from memory.
BEYOND = (
    (
        "fluid_temperature_c",
        "maximum_temperature_c",
        1,
        gettext_noop(
            "fluid at %(fluid_temperature_c)s is hotter than the %(maximum_temperature_c)s of "
            "%(hottest_words)s"
        ),
        gettext_noop(
            "fluid at %(fluid_temperature_c)s is hotter than the %(tabulated_maximum_temperature_c)s that a "
            "table gives %(construction)s, from memory, and no limit of hose %(hose_part)s is known"
        ),
    ),
    (
        "fluid_temperature_c",
        "minimum_temperature_c",
        -1,
        gettext_noop(
            "fluid at %(fluid_temperature_c)s is colder than the %(minimum_temperature_c)s of "
            "%(coldest_words)s"
        ),
        gettext_noop(
            "fluid at %(fluid_temperature_c)s is colder than the %(tabulated_minimum_temperature_c)s that a "
            "table gives %(construction)s, from memory, and no limit of hose %(hose_part)s is known"
        ),
    ),
    (
        "ambient_temperature_c",
        "maximum_temperature_c",
        1,
        gettext_noop(
            "ambient at %(ambient_temperature_c)s is hotter than the %(maximum_temperature_c)s of "
            "%(hottest_words)s"
        ),
        gettext_noop(
            "ambient at %(ambient_temperature_c)s is hotter than the %(tabulated_maximum_temperature_c)s "
            "that a table gives %(construction)s, from memory, and no limit of hose %(hose_part)s is known"
        ),
    ),
    (
        "ambient_temperature_c",
        "minimum_temperature_c",
        -1,
        gettext_noop(
            "ambient at %(ambient_temperature_c)s is colder than the %(minimum_temperature_c)s of "
            "%(coldest_words)s"
        ),
        gettext_noop(
            "ambient at %(ambient_temperature_c)s is colder than the %(tabulated_minimum_temperature_c)s "
            "that a table gives %(construction)s, from memory, and no limit of hose %(hose_part)s is known"
        ),
    ),
)


def _temperature_findings(cases: pd.DataFrame) -> Iterator[Finding]:
    for reached, limit, sign, known, from_memory in BEYOND:
        yield "short", sign * cases[reached] > sign * cases[limit], _(known)
        yield "unknown", sign * cases[reached] > sign * cases[f"tabulated_{limit}"], _(from_memory)
