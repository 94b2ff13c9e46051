"""What the organization decided: settings of the whole service, and limits by scope.

The narrowest scope wins, column by column. From wide to narrow: all, site, construction, circuit, critical,
machine, position; and for a part's service level: all, site, part.
"""

from dataclasses import dataclass, fields

import numpy as np
import pandas as pd

from .designs.constructions import normal_construction


@dataclass(frozen=True, slots=True)
class Settings:
    """The organization's settings with their defaults: the rows of `settings.csv`."""

    currency: str = "EUR"
    pressure_unit: str = "bar"
    length_unit: str = "mm"
    temperature_unit: str = "c"
    kerf_mm: float = 3.0
    keep_length_mm: float = 300.0
    stop_setup_cost: float = 0.0
    labour_cost_per_hour: float = 0.0
    review_days: float = 7.0
    order_cost: float = 25.0
    holding_rate_per_year: float = 0.2
    freight_cost: float = 0.0
    standby_budget: float = 0.0
    least_saving_to_move: float = 50.0
    horizon_days: float = 365.0


SETTING_NAMES: tuple[str, ...] = tuple(field.name for field in fields(Settings))

DEFAULT_SURGE_ALLOWANCE_PERCENT = 25.0
DEFAULT_THIN_MARGIN_PERCENT = 10.0
DEFAULT_SERVICE_LEVEL = 0.95
LIMITS_BY_DEFAULT = {
    "age_limit_days": np.nan,
    "hours_limit": np.nan,
    "risk_limit": np.nan,
    "risk_horizon_days": np.nan,
    "surge_allowance_percent": DEFAULT_SURGE_ALLOWANCE_PERCENT,
    "thin_margin_percent": DEFAULT_THIN_MARGIN_PERCENT,
}


def position_limits(tables: dict[str, pd.DataFrame]) -> pd.DataFrame:
    """The limits that hold in each position, one row per row of `positions` and in its order.

    machine, position, age_limit_days, hours_limit, risk_limit, risk_horizon_days (NaN where no scope sets
    one), surge_allowance_percent, thin_margin_percent (by default 25 and 10). A construction is that of the
    hose in the position's design.
    """
    positions, parts = tables["positions"], tables["parts"].set_index("part")
    hose = positions["design"].map(tables["designs"].set_index("design")["hose_part"])
    names = {
        "all": pd.Series("", index=positions.index),
        "site": positions["machine"].map(tables["machines"].set_index("machine")["site"]),
        "construction": normal_construction(hose.map(parts["construction"])),
        "circuit": positions["circuit"],
        "critical": positions["critical"].map({True: "yes", False: "no"}),
        "machine": positions["machine"],
        "position": positions["machine"] + "/" + positions["position"],
    }
    limits = _narrowest(tables["policies"], names, LIMITS_BY_DEFAULT)
    return pd.concat([positions[["machine", "position"]], limits], axis=1)


def service_levels(tables: dict[str, pd.DataFrame]) -> pd.DataFrame:
    """The share of order cycles without a shortage to hold: part, site, service_level for every pair."""
    pairs = tables["parts"][["part"]].merge(tables["sites"][["site"]], how="cross")
    names = {"all": pd.Series("", index=pairs.index), "site": pairs["site"], "part": pairs["part"]}
    levels = _narrowest(tables["policies"], names, {"service_level": DEFAULT_SERVICE_LEVEL})
    return pd.concat([pairs, levels], axis=1)


def _narrowest(
    policies: pd.DataFrame, names: dict[str, pd.Series], by_default: dict[str, float]
) -> pd.DataFrame:
    """Each column's value from the narrowest scope that sets it; `names` holds, from wide to narrow, what a
    scope must name for each row to be in it."""
    columns = list(by_default)
    scopes = policies["scope"].str.extract(r"^\s*(?P<kind>[^:]*?)\s*(?::\s*(?P<name>.*?)\s*)?$")
    kind, name = scopes["kind"], scopes["name"].fillna("")
    name = name.where(kind != "construction", normal_construction(name))
    # Two spellings of one construction are one scope; the first that sets a column counts.
    set_by = (
        policies.assign(kind=kind, name=name).sort_values("scope").groupby(["kind", "name"])[columns].first()
    )

    index = next(iter(names.values())).index
    limits = pd.DataFrame(by_default, index=index)
    for scope, named in names.items():
        if scope in set_by.index:
            limits = set_by.loc[scope].reindex(named).set_axis(index).fillna(limits)
    return limits
