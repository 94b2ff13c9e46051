"""The hose positions of the invented machines: what each asks of a hose, and what it costs."""

import numpy as np
import pandas as pd

LABOUR_COST_PER_HOUR = 65.0
RELIEF_SET_TOO_HIGH_SHARE = 0.015
NOT_KNOWN_SHARE = 0.02


def make_positions(
    machines: pd.DataFrame, places: pd.DataFrame, ratings_bar: np.ndarray, rng: np.random.Generator
) -> pd.DataFrame:
    """One row per machine and place of its model, with the true values of what the place asks.

    `ratings_bar` is the weakest part's rating for each place. `machine` and `place` are numbers.
    """
    counts = places.groupby("model").size().to_numpy()
    first = np.cumsum(counts) - counts
    model = machines["model"].to_numpy()
    each = counts[model]
    machine = np.repeat(np.arange(len(machines)), each)
    along = np.arange(each.sum()) - np.repeat(np.cumsum(each) - each, each)
    place = first[model[machine]] + along
    taken = places.iloc[place].reset_index(drop=True)
    pressure = (taken["line"] == "pressure").to_numpy()
    drift = np.where(pressure, rng.lognormal(-0.05, 0.03, len(place)), 1.0)
    too_high = pressure & (rng.random(len(place)) < RELIEF_SET_TOO_HIGH_SHARE)
    drift *= np.where(too_high, 1.3, 1.0)
    warmth = rng.normal(0, 3, len(machines))[machine] + rng.normal(0, 2, len(place))
    return pd.DataFrame(
        {
            "machine": machine,
            "place": place,
            "working_bar": _rounded(taken["working_pressure_bar"] * drift),
            "peak_bar": _rounded(taken["peak_pressure_bar"] * drift),
            "rated_bar": ratings_bar[place],
            "fluid_c": np.round(taken["fluid_temperature_c"].to_numpy() + warmth),
            "ambient_c": np.round(rng.normal(18, 6, len(machines)))[machine]
            + np.where(taken["exposure"].str.contains("hot"), 20, 0),
        }
    )


def _rounded(pressure_bar: pd.Series) -> np.ndarray:
    """Pressures as a person writes them down: to 5 bar, small ones to 1 bar."""
    values = pressure_bar.to_numpy(dtype=float)
    return np.where(values >= 60, 5 * np.round(values / 5), np.maximum(1, np.round(values)))


def positions_file(
    positions: pd.DataFrame,
    machines: pd.DataFrame,
    places: pd.DataFrame,
    designs: pd.DataFrame,
    design_costs: pd.Series,
    bend_radii_mm: np.ndarray,
    rng: np.random.Generator,
) -> pd.DataFrame:
    """The positions as they stand in `positions.csv`: not everything is known of each."""
    count = len(positions)
    place = positions["place"].to_numpy()
    taken = places.iloc[place].reset_index(drop=True)
    machine = positions["machine"].to_numpy()
    design = designs["design"].to_numpy()[place]
    pressure = (taken["line"] == "pressure").to_numpy()
    minutes = 5 * np.round(taken["changeout_minutes"] * rng.lognormal(0, 0.12, count) / 5)
    planned = np.round(design_costs.loc[design].to_numpy() + minutes / 60 * LABOUR_COST_PER_HOUR)
    standstill_hours = rng.gamma(4, 0.35, count) + minutes / 60
    spill = 0.6 * taken["flow_lpm"] + 50
    failure = np.round(
        1.15 * planned + spill + standstill_hours * machines["downtime_cost_per_hour"].to_numpy()[machine]
    )
    tightness = rng.uniform(1.05, 2.2, count)
    return pd.DataFrame(
        {
            "machine": machines["machine"].to_numpy()[machine],
            "position": taken["position"],
            "circuit": taken["circuit"],
            "line": taken["line"],
            "design": design,
            "fluid": np.where(
                machines["site"].to_numpy()[machine] % 3 == 1, "synthetic ester", "mineral oil"
            ),
            "working_pressure_bar": _known(positions["working_bar"], NOT_KNOWN_SHARE, rng),
            "peak_pressure_bar": _known(positions["peak_bar"], np.where(pressure, 0.12, 0.6), rng),
            "fluid_temperature_c": _known(positions["fluid_c"], 0.1, rng),
            "ambient_temperature_c": _known(positions["ambient_c"], 0.4, rng),
            "exposure": taken["exposure"],
            "bend_radius_mm": _known(5 * np.round(bend_radii_mm[place] * tightness / 5), 0.45, rng),
            "flow_lpm": taken["flow_lpm"].astype(float),
            "changeout_minutes": minutes,
            "planned_cost": _known(planned, NOT_KNOWN_SHARE, rng),
            "failure_cost": _known(failure, NOT_KNOWN_SHARE, rng),
            "critical": np.where(taken["critical"], "yes", "no"),
        }
    )


def _known(values, unknown_share, rng: np.random.Generator) -> np.ndarray:
    numbers = np.asarray(values, dtype=float)
    return np.where(rng.random(len(numbers)) < unknown_share, np.nan, numbers)
