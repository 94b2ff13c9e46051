"""What is not known and matters, by the money that knowing it could save in a year.

A gap leaves the failure rate of some assemblies uncertain by a spread, and `knowing` says what it costs to
act without knowing, as if it stayed unknown. The spreads are assumptions (common practice, no source), stated
below. Where several things are missing before an assembly can be judged, each is worth an equal part. Where
costs are missing, knowing them saves what the best age saves against leaving the assembly to fail. What it
costs that a hose cannot be cut until somebody measures an end is on no record: that has no worth.
"""

from collections.abc import Callable

import numpy as np
import pandas as pd

from ..designs.bills import END_A, END_B, list_parts
from ..designs.ratings import complete_parts, find_unrated, rate_designs
from ..outputs import GAPS
from ..tables import make_table
from ..wording import gettext as _
from ..wording import ngettext
from .knowing import DAYS_A_YEAR, value_of_knowing
from .prospects import Prospects
from .renewal import Curves, best_renewal

MOST = 500  # gaps told; the rest is worth less than each of them
# Standard deviations of the logarithm of the failure rate that not knowing leaves.
PRESSURE_SPREAD = 0.7  # a demand or a rating known to within a quarter, life falling with its third power
LIMIT_SPREAD = 0.35  # within a heat limit by 10 °C more or less, half a life each; of a bend as much
USAGE_SPREAD = 0.6  # hours a day known to within a third, the rate rising with its square
ESTIMATE_SPREAD = 0.3  # the same with somebody's estimate
AGE_SPREAD_DAYS = 211.0  # built at any time within the two years that DIN 20066 lets an assembly be stored
WEAR_OUT_SHAPE = 2.0  # by which power the rate follows an age in doubt
MOST_CAUSE_SPREAD = 1.0
USUAL_FAILURE_TO_PLANNED = 5.0  # where no position of the fleet has both costs

GAP = ["kind", "name", "column"]
# What knowing it would do for so many assemblies, by its column.
WORDS: dict[str, Callable[[int], str]] = {
    "working_pressure_bar": lambda count: ngettext(
        "One assembly could be judged if the pressure in this position were known.",
        "%(n)s assemblies could be judged if the pressure in this position were known.",
        count,
    ),
    "design": lambda count: ngettext(
        "One assembly could be judged if the design in this position were known.",
        "%(n)s assemblies could be judged if the design in this position were known.",
        count,
    ),
    "rated_pressure_bar": lambda count: ngettext(
        "One assembly could be judged if the rated pressure of this part were known.",
        "%(n)s assemblies could be judged if the rated pressure of this part were known.",
        count,
    ),
    "construction": lambda count: ngettext(
        "One assembly could be judged if it were known that this hose is made for suction.",
        "%(n)s assemblies could be judged if it were known that this hose is made for suction.",
        count,
    ),
    "maximum_temperature_c": lambda count: ngettext(
        "One assembly could be judged by its temperature if that limit of this hose were known.",
        "%(n)s assemblies could be judged by its temperature if that limit of this hose were known.",
        count,
    ),
    "minimum_bend_radius_mm": lambda count: ngettext(
        "One assembly could be judged by its bend if that limit of this hose were known.",
        "%(n)s assemblies could be judged by its bend if that limit of this hose were known.",
        count,
    ),
    "hours": lambda count: ngettext(
        "One assembly would be forecast better with readings of this machine's hour meter.",
        "%(n)s assemblies would be forecast better with readings of this machine's hour meter.",
        count,
    ),
    "built_on": lambda count: ngettext(
        "One assembly would be forecast better with the day it was built.",
        "%(n)s assemblies would be forecast better with the day it was built.",
        count,
    ),
    "cutoff_mm": lambda count: ngettext(
        "One assembly could be cut to length if it were known what this end adds to it.",
        "%(n)s assemblies could be cut to length if it were known what this end adds to it.",
        count,
    ),
    "removal_cause": lambda count: ngettext(
        "One assembly of the same hose would be forecast better if it were known why this one came off.",
        "%(n)s assemblies of the same hose would be forecast better if it were known why this one came off.",
        count,
    ),
    "failure_cost": lambda count: ngettext(
        "One assembly could be changed at the age that costs least if the cost of a failure here were known.",
        "%(n)s assemblies could be changed at the age that costs least if the cost of a failure here were "
        "known.",
        count,
    ),
    "planned_cost": lambda count: ngettext(
        "One assembly could be changed at the age that costs least if the cost of a changeout here were "
        "known.",
        "%(n)s assemblies could be changed at the age that costs least if the cost of a changeout here were "
        "known.",
        count,
    ),
    "unit_cost": lambda count: ngettext(
        "One assembly could be changed at the age that costs least if the cost of this part were known.",
        "%(n)s assemblies could be changed at the age that costs least if the cost of this part were known.",
        count,
    ),
}


def find_gaps(tables: dict[str, pd.DataFrame], prospects: Prospects, margins: pd.DataFrame) -> pd.DataFrame:
    """GAPS, one row per thing that is not known, dearest first and at most 500; those without a worth last,
    what touches most assemblies first.

    `kind` is the file in which to enter it, `name` the row's key there (MACHINE/POSITION for a position) and
    `column` where. The worth is empty for a cut-off, and where no cost of the fleet is known to reckon it by.
    """
    tables = tables | {"parts": complete_parts(tables)}
    rated = rate_designs(tables)
    planned, failure = _usual_costs(prospects)
    installed = prospects.installed
    verdict = installed["assembly"].map(margins.set_index("assembly")["verdict"])
    links = pd.concat(
        [
            _margin_links(installed, tables, rated, (verdict == "unknown").to_numpy(bool)),
            _limit_links(installed, tables, rated),
            _usage_links(installed, tables),
            _age_links(installed, tables),
            _cause_links(installed, tables),
        ],
        ignore_index=True,
    )
    rows = links["row"].to_numpy(int)
    links["worth"] = value_of_knowing(
        prospects.fresh, rows, planned[rows], failure[rows], links["spread"].to_numpy(float)
    )
    links["worth"] = links["worth"] / links["shared_by"]
    links = pd.concat(
        [links, _cost_links(prospects, planned, failure, tables), _cut_links(prospects, tables)],
        ignore_index=True,
    )
    found = links.groupby(GAP, as_index=False).agg(worth=("worth", _sum_of_known), assemblies=("row", "size"))
    found = _by_removal(found, tables)
    found = found[~(found["worth"] <= 0)]
    found = found.sort_values(["worth", "assemblies"], ascending=False, na_position="last").head(MOST)
    columns = found[["assemblies", "kind", "column"]].itertuples(index=False, name=None)
    enter = _("Enter it in %(file)s under %(column)s.")
    why = [
        f"{WORDS[column](count) % {'n': count}} {enter % {'file': kind, 'column': column}}"
        for count, kind, column in columns
    ]
    return make_table(found.assign(why=why), GAPS)


def _sum_of_known(worth: pd.Series) -> float:
    return worth.sum(min_count=1)


def _links(rows: np.ndarray, kind: str, name: pd.Series, column: str, spread=np.nan, shared_by=1):
    """One row per gap and installed assembly that it leaves uncertain: `row` is its place among these."""
    return pd.DataFrame(
        {
            "row": rows,
            "kind": kind,
            "name": np.asarray(name, dtype=object),
            "column": column,
            "spread": spread,
            "shared_by": shared_by,
        }
    )


def _place(assemblies: pd.DataFrame) -> pd.Series:
    return assemblies["machine"] + "/" + assemblies["position"]


def _margin_links(
    installed: pd.DataFrame, tables: dict[str, pd.DataFrame], rated: pd.DataFrame, unknown: np.ndarray
) -> pd.DataFrame:
    """What keeps assemblies whose margin is unknown from being judged."""
    here = installed.loc[unknown, ["machine", "position", "design"]].reset_index(names="row")
    asked = ["machine", "position", "line", "working_pressure_bar", "peak_pressure_bar"]
    here = here.merge(tables["positions"][asked], on=["machine", "position"], how="left")
    here = here.merge(rated[["design", "hose_part", "suction"]], on="design", how="left")
    suction = here["line"] == "suction"
    pressed = here[["working_pressure_bar", "peak_pressure_bar"]].notna().any(axis=1)
    undemanded = here[~pressed]
    undesigned = here[here["design"].isna()]
    unmade = here[suction & here["hose_part"].notna() & (here["suction"] != "meant")]
    unrated = here.merge(find_unrated(tables), on="design")
    links = pd.concat(
        [
            _links(
                undemanded["row"],
                "positions",
                _place(undemanded),
                "working_pressure_bar",
                PRESSURE_SPREAD,
            ),
            _links(
                undesigned["row"],
                "positions",
                _place(undesigned),
                "design",
                PRESSURE_SPREAD,
            ),
            _links(
                unrated["row"],
                "parts",
                unrated["part"],
                "rated_pressure_bar",
                PRESSURE_SPREAD,
            ),
            _links(
                unmade["row"],
                "parts",
                unmade["hose_part"],
                "construction",
                PRESSURE_SPREAD,
            ),
        ],
        ignore_index=True,
    )
    return links.assign(shared_by=links.groupby("row")["row"].transform("size"))


def _limit_links(
    installed: pd.DataFrame, tables: dict[str, pd.DataFrame], rated: pd.DataFrame
) -> pd.DataFrame:
    """Hoses whose place is known to be hot or bent, and of which nobody says how hot or bent they may be."""
    here = installed[["machine", "position", "design"]].reset_index(names="row")
    asked = ["machine", "position", "fluid_temperature_c", "ambient_temperature_c", "bend_radius_mm"]
    here = here.merge(tables["positions"][asked], on=["machine", "position"], how="left")
    here = here.merge(rated, on="design").dropna(subset="hose_part")
    heat = here[["fluid_temperature_c", "ambient_temperature_c"]].notna().any(axis=1)
    hot = here[heat & ~here["heat_limit_known"].eq(True)]
    bent = here[here["bend_radius_mm"].notna() & here["minimum_bend_radius_mm"].isna()]
    return pd.concat(
        [
            _links(of_hose["row"], "parts", of_hose["hose_part"], column, LIMIT_SPREAD)
            for of_hose, column in ((hot, "maximum_temperature_c"), (bent, "minimum_bend_radius_mm"))
        ],
        ignore_index=True,
    )


def _usage_links(installed: pd.DataFrame, tables: dict[str, pd.DataFrame]) -> pd.DataFrame:
    """Machines whose hour meter nobody has read."""
    unread = installed[~installed["machine"].isin(tables["meter_readings"]["machine"])]
    estimate = unread["machine"].map(tables["machines"].set_index("machine")["hours_per_day"])
    return _links(
        unread.index,
        "meter_readings",
        unread["machine"],
        "hours",
        np.where(estimate.notna(), ESTIMATE_SPREAD, USAGE_SPREAD),
    )


def _age_links(installed: pd.DataFrame, tables: dict[str, pd.DataFrame]) -> pd.DataFrame:
    """Installed assemblies of which nobody knows when they were built."""
    built = pd.concat([tables["installations"], tables["builds"]])[["assembly", "built_on"]].dropna()
    undated = installed[~installed["assembly"].isin(built["assembly"])]
    return _links(
        undated.index,
        "installations",
        undated["assembly"],
        "built_on",
        WEAR_OUT_SHAPE * AGE_SPREAD_DAYS / (undated["age_days"].to_numpy(float) + AGE_SPREAD_DAYS),
    )


def _cause_links(installed: pd.DataFrame, tables: dict[str, pd.DataFrame]) -> pd.DataFrame:
    """Hoses of which some came off nobody knows why; named by hose until `_by_removal` names each removal.

    How many of k such removals were failures is binomial, with the share among the known; the rate is in
    doubt by that number's spread over the failures expected in all.
    """
    removals = _removals(tables)
    by_hose = removals.groupby("hose_part")[["failed", "known", "unexplained"]].sum()
    by_hose = by_hose[by_hose["unexplained"] > 0]
    share = (by_hose["failed"] + 0.5) / (by_hose["known"] + 1.0)
    failures = by_hose["failed"] + share * by_hose["unexplained"]
    spread = np.sqrt(by_hose["unexplained"] * share * (1 - share)) / failures
    hose = _hose_of(installed, tables)
    touched = np.flatnonzero(hose.isin(by_hose.index))
    hose = hose.iloc[touched]
    return _links(
        touched,
        "installations",
        hose,
        "removal_cause",
        hose.map(spread).clip(upper=MOST_CAUSE_SPREAD).to_numpy(float),
        hose.map(by_hose["unexplained"]).to_numpy(float),
    )


def _removals(tables: dict[str, pd.DataFrame]) -> pd.DataFrame:
    """Past assemblies: assembly, hose_part and whether they failed, their cause is known, or it is not."""
    past = tables["installations"][tables["installations"]["removed_on"].notna()]
    unexplained = past["removal_cause"].isna() | (past["removal_cause"] == "unknown")
    return pd.DataFrame(
        {
            "assembly": past["assembly"],
            "hose_part": _hose_of(past, tables),
            "failed": past["removal_cause"].isin(["failed", "worn"]).astype(float),
            "known": (~unexplained).astype(float),
            "unexplained": unexplained.astype(float),
        }
    )


def _by_removal(found: pd.DataFrame, tables: dict[str, pd.DataFrame]) -> pd.DataFrame:
    """The gaps with those of a hose's removals named by each removal."""
    of_hose = (found["column"] == "removal_cause").to_numpy(bool)
    removals = _removals(tables)
    unexplained = removals.loc[removals["unexplained"] > 0, ["assembly", "hose_part"]]
    each = found[of_hose].merge(unexplained, left_on="name", right_on="hose_part")
    each = each.assign(name=each["assembly"])[found.columns]
    return pd.concat([found[~of_hose], each], ignore_index=True)


def _hose_of(assemblies: pd.DataFrame, tables: dict[str, pd.DataFrame]) -> pd.Series:
    return assemblies["design"].map(tables["designs"].set_index("design")["hose_part"])


def _usual_costs(prospects: Prospects) -> tuple[np.ndarray, np.ndarray]:
    """Planned and failure cost (n,) with the fleet's usual ones where an assembly's are not known."""
    assemblies = prospects.assemblies
    planned, failure = assemblies["planned_cost"], assemblies["failure_cost"]
    ratio = (failure / planned.where(planned > 0)).median()
    ratio = USUAL_FAILURE_TO_PLANNED if np.isnan(ratio) else max(float(ratio), 1.0)
    planned = planned.fillna(failure / ratio).fillna(planned.median())
    planned = planned.fillna(failure.median() / ratio)
    return planned.to_numpy(float), failure.fillna(planned * ratio).to_numpy(float)


def _cost_links(
    prospects: Prospects, planned: np.ndarray, failure: np.ndarray, tables: dict[str, pd.DataFrame]
) -> pd.DataFrame:
    """Costs without which no assembly is changed for money's sake, and what that forgoes in a year."""
    assemblies = prospects.assemblies
    unpriced = assemblies[assemblies["planned_cost"].isna()]
    uncosted = assemblies[assemblies["failure_cost"].isna()]
    lines = list_parts(tables)
    dear = lines.loc[lines["unit_cost"].isna(), ["design", "part"]].drop_duplicates()
    parts = unpriced.reset_index(names="row").merge(dear, on="design")
    bare = unpriced[~unpriced["design"].isin(dear["design"])]
    links = pd.concat(
        [
            _links(uncosted.index, "positions", _place(uncosted), "failure_cost"),
            _links(bare.index, "positions", _place(bare), "planned_cost"),
            _links(parts["row"], "parts", parts["part"], "unit_cost"),
        ],
        ignore_index=True,
    )
    rows = np.unique(links["row"].to_numpy(int))
    fresh = Curves(prospects.fresh.days, prospects.fresh.survival[rows], prospects.fresh.served[rows])
    renewal = best_renewal(fresh, planned[rows], failure[rows])
    saved = pd.Series((renewal.run_to_failure_rate - renewal.rate) * DAYS_A_YEAR, index=rows)
    missing = links.groupby("row")["row"].transform("size")
    return links.assign(worth=links["row"].map(saved).to_numpy(float) / missing, shared_by=missing)


def _cut_links(prospects: Prospects, tables: dict[str, pd.DataFrame]) -> pd.DataFrame:
    """Ends of which nobody knows what they add to the length, in what is built to stand there next."""
    lines = list_parts(tables)
    ends = lines[lines["place"].isin([END_A, END_B]) & (lines["kind"] == "hose_end")]
    cutoff = tables["parts"].set_index("part")["cutoff_mm"]
    unmeasured = ends.loc[ends["part"].map(cutoff).isna(), ["design", "part"]].drop_duplicates()
    found = prospects.assemblies[["design"]].reset_index(names="row").merge(unmeasured, on="design")
    return _links(found["row"], "parts", found["part"], "cutoff_mm").assign(worth=np.nan)
