"""What a part and an assembly may carry: stated ratings, and what a standard's table gives a hose."""

import pandas as pd

from ..wording import gettext as _
from ..wording import gettext_noop
from .constructions import bore_mm, stands_suction, tabulated_construction

# The newest edition of SAE J517 read of is that of July 2020; an older table without a date ends before it.
_CURRENT_SINCE = 2020
_TABULATED = [
    "rated_pressure_bar",
    "minimum_bend_radius_mm",
    "minimum_temperature_c",
    "maximum_temperature_c",
]
_FROM_MEMORY = [f"tabulated_{name}" for name in _TABULATED]
_OF_HOSE = ["construction", "dash", "minimum_bend_radius_mm", "shelf_life_days", "bore_mm", "suction"]
_WITHOUT_OWN_RATING = ("ferrule", "sleeve")  # rated with the end they hold
# What a part of an assembly is called: by its place in the design, of other places by its kind.
_PLACES = {
    "hose_part": gettext_noop("hose %(part)s"),
    "end_a_part": gettext_noop("end %(part)s"),
    "end_b_part": gettext_noop("end %(part)s"),
}
_KINDS = {
    "bulk_hose": gettext_noop("bulk_hose %(part)s"),
    "hose_end": gettext_noop("hose_end %(part)s"),
    "ferrule": gettext_noop("ferrule %(part)s"),
    "sleeve": gettext_noop("sleeve %(part)s"),
    "adapter": gettext_noop("adapter %(part)s"),
    "assembly": gettext_noop("assembly %(part)s"),
}
_OF_NO_KIND = gettext_noop("part %(part)s")


def tabulate_ratings(parts: pd.DataFrame, ratings: pd.DataFrame) -> pd.DataFrame:
    """What the standards' tables give each part's construction, edition and dash; index of `parts` kept.

    rated_pressure_bar, minimum_bend_radius_mm, minimum_temperature_c, maximum_temperature_c (missing where
    not tabulated) and found (False where a value is from memory: it may fail a hose, never pass one). An
    edition that is not known to be a current one gets the lowest of its construction's editions.
    """
    construction = tabulated_construction(parts["construction"])
    wanted = pd.DataFrame({"construction": construction, "dash": parts["dash"]})

    held = ratings.assign(found=ratings["mark"].eq("found"))
    year = held["edition"].str.extract(r"^before (\d{4})$")[0].astype("float64")
    held["current_since"] = year.mask(year.isna() & (held["edition"] != "current"), _CURRENT_SINCE)
    by_size = held.groupby(["construction", "dash"])
    stated = parts["edition"].str.extract(r"((?:19|20)\d\d)")[0].astype("float64")
    since = _looked_up(by_size["current_since"].max().to_frame(), wanted)["current_since"]
    is_current = parts["edition"].str.strip().str.lower().eq("current") | (stated >= since)

    lowest = (
        by_size[_TABULATED]
        .min()
        .assign(
            minimum_bend_radius_mm=by_size["minimum_bend_radius_mm"].max(),
            minimum_temperature_c=by_size["minimum_temperature_c"].max(),
            found=by_size["found"].all(),
        )
    )
    current = held[held["edition"] == "current"].set_index(["construction", "dash"])[[*_TABULATED, "found"]]
    given = _looked_up(lowest, wanted)
    given = given.where(~is_current, _looked_up(current, wanted))
    return given.assign(found=given["found"].eq(True))


def _looked_up(table: pd.DataFrame, wanted: pd.DataFrame) -> pd.DataFrame:
    return table.reindex(pd.MultiIndex.from_frame(wanted)).set_axis(wanted.index)


def rate_designs(tables: dict[str, pd.DataFrame]) -> pd.DataFrame:
    """What an assembly of each design may carry, one row per design.

    rated_pressure_bar: the lowest rating known of hose, ends and adapters; limiting_part and limiting_words
    name whose it is. minimum_ and maximum_temperature_c likewise, with coldest_ and hottest_. unrated: the
    parts that carry pressure and have no known rating, in words; missing where there are none;
    only_hose_unrated: whether the hose alone has none.
    minimum_bend_radius_mm, shelf_life_days, bore_mm, construction, dash, suction: those of the hose;
    heat_limit_known: whether the hose itself has one.
    tabulated_…: what a table from memory gives a hose that states nothing itself.

    Source: an assembly carries what its lowest-rated component carries (SAE J517, ISO 18752).
    """
    parts = complete_parts(tables)
    parts = parts.assign(heat_limit_known=parts["maximum_temperature_c"].notna())
    hoses = parts.rename(columns={"part": "hose_part"})[
        ["hose_part", *_OF_HOSE, "heat_limit_known", *_FROM_MEMORY]
    ]
    components = _components(tables["designs"], tables["design_parts"], parts)
    unrated = components[components["rated_pressure_bar"].isna()]
    only_hose = unrated["place"].eq("hose_part").groupby(unrated["design"]).all().rename("only_hose_unrated")
    return (
        tables["designs"][["design", "hose_part"]]
        .merge(hoses, on="hose_part", how="left")
        .merge(_tightest(components, "rated_pressure_bar", "min", "limiting"), on="design", how="left")
        .merge(_tightest(components, "minimum_temperature_c", "max", "coldest"), on="design", how="left")
        .merge(_tightest(components, "maximum_temperature_c", "min", "hottest"), on="design", how="left")
        .merge(unrated.groupby("design")["words"].agg(", ".join).rename("unrated"), on="design", how="left")
        .merge(only_hose, on="design", how="left")
    )


def find_unrated(tables: dict[str, pd.DataFrame]) -> pd.DataFrame:
    """Each part of a design that carries pressure and of which no rating is known: design, part.

    One that a found table rates is known; what a table gives from memory is not.
    """
    parts = complete_parts(tables)
    components = _components(tables["designs"], tables["design_parts"], parts)
    return components.loc[components["rated_pressure_bar"].isna(), ["design", "part"]].reset_index(drop=True)


def complete_parts(tables: dict[str, pd.DataFrame]) -> pd.DataFrame:
    """`parts` with a found table's values where a hose states none, and beside it those from memory.

    One row per part, in the order of `parts`: bore_mm and suction (see `constructions`) are there too. Parts
    that are completed already are given back, so who judges several times over completes them once.
    """
    parts = tables["parts"]
    if set(_FROM_MEMORY) <= set(parts):
        return parts
    tabulated = tabulate_ratings(parts, tables["ratings"])
    hose = parts["kind"].isin(["bulk_hose", "assembly"])
    stated = parts[_TABULATED].assign(
        rated_pressure_bar=parts["rated_pressure_bar"].where(parts["rated_pressure_bar"] > 0)
    )
    known = stated.fillna(tabulated[_TABULATED].where(tabulated["found"] & hose))
    from_memory = tabulated[_TABULATED].where(known.isna()).add_prefix("tabulated_")
    return parts.assign(
        **known, **from_memory, bore_mm=bore_mm(parts), suction=stands_suction(parts["construction"])
    )


def _components(designs: pd.DataFrame, design_parts: pd.DataFrame, parts: pd.DataFrame) -> pd.DataFrame:
    """One row per design and part that carries pressure, hose first; `words` call it by kind and name."""
    columns = ["hose_part", "end_a_part", "end_b_part"]
    main = designs.melt("design", columns, var_name="place", value_name="part")
    more = design_parts[["design", "part"]].assign(place="more").sort_values(["design", "part"])
    held = parts[["part", "kind", *_TABULATED]]
    components = pd.concat([main, more], ignore_index=True).merge(held, on="part", how="left")
    components = components.drop_duplicates(["design", "part"])
    goes_without = (components["place"] == "more") & components["kind"].isin(_WITHOUT_OWN_RATING)
    bears = ~goes_without | components["rated_pressure_bar"].notna()
    forms = components["place"].map(_told(_PLACES)).fillna(components["kind"].map(_told(_KINDS)))
    forms = forms.fillna(_(_OF_NO_KIND))
    words = [form % {"part": part} for form, part in zip(forms, components["part"], strict=True)]
    return components.assign(words=pd.array(words, dtype="str"))[bears]


def _told(words: dict[str, str]) -> dict[str, str]:
    return {name: _(form) for name, form in words.items()}


def _tightest(components: pd.DataFrame, column: str, by: str, name: str) -> pd.DataFrame:
    """Each design's tightest value of a column, and the part that sets it (the first in order)."""
    known = components.dropna(subset=column)
    tightest = known.sort_values(column, ascending=by == "min", kind="stable").drop_duplicates("design")
    return tightest[["design", column, "part", "words"]].rename(
        columns={"part": f"{name}_part", "words": f"{name}_words"}
    )
