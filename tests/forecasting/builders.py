"""Rows of the core's tables with trade defaults, and a forecaster whose law is known."""

import re
from collections.abc import Callable, Iterable, Iterator
from datetime import date, timedelta

import numpy as np
import pandas as pd

from forecasting.inputs import INPUTS
from forecasting.outputs import MARGINS
from forecasting.tables import make_table

AS_OF = date(2027, 1, 4)


def build_tables(**rows: Iterable[dict]) -> dict[str, pd.DataFrame]:
    """One frame per INPUTS name from rows by table name; what is not named is empty."""
    unknown = set(rows) - set(INPUTS)
    if unknown:
        raise ValueError(f"No such table: {', '.join(sorted(unknown))}")
    return {name: make_table(list(rows.get(name, [])), table) for name, table in INPUTS.items()}


def a_site(site: str = "North", **more) -> dict:
    return {"site": site, **more}


def a_machine(machine: str = "M-1", **more) -> dict:
    return {
        "machine": machine,
        "site": "North",
        "model": "Loader 20",
        "commissioned_on": "2020-01-01",
        **more,
    }


def a_position(machine: str = "M-1", position: str = "boom 1", **more) -> dict:
    usual = {
        "design": "D-1",
        "line": "pressure",
        "working_pressure_bar": 200.0,
        "peak_pressure_bar": 250.0,
        "changeout_minutes": 45.0,
        "planned_cost": 200.0,
        "failure_cost": 2_000.0,
    }
    return {"machine": machine, "position": position, **usual, **more}


def an_installation(assembly: str = "A-1", machine: str = "M-1", position: str = "boom 1", **more) -> dict:
    usual = {"design": "D-1", "installed_on": "2024-01-04", "built_on": "2024-01-04"}
    return {"assembly": assembly, "machine": machine, "position": position, **usual, **more}


def a_window(machine: str = "M-1", starts_on: str = "2027-02-01", days: int = 2, **more) -> dict:
    """A service window of so many days, both its ends counted."""
    ends_on = date.fromisoformat(starts_on) + timedelta(days=days - 1)
    return {"machine": machine, "starts_on": starts_on, "ends_on": ends_on, **more}


def hose(part: str = "H-6", **more) -> dict:
    usual = {
        "kind": "bulk_hose",
        "construction": "100R2",
        "dash": 6.0,
        "rated_pressure_bar": 330.0,
        "unit": "metre",
        "unit_cost": 10.0,
        "lead_time_days": 14.0,
    }
    return {"part": part, **usual, **more}


def hose_end(part: str = "E-6", **more) -> dict:
    usual = {
        "kind": "hose_end",
        "dash": 6.0,
        "rated_pressure_bar": 350.0,
        "cutoff_mm": 44.45,  # 1 3/4 in: two such ends add 3 1/2 in
        "unit": "each",
        "unit_cost": 8.0,
        "lead_time_days": 14.0,
    }
    return {"part": part, **usual, **more}


def a_design(design: str = "D-1", **more) -> dict:
    usual = {"hose_part": "H-6", "end_a_part": "E-6", "end_b_part": "E-6", "overall_length_mm": 901.7}
    return {"design": design, **usual, **more}


def one_design() -> dict[str, list[dict]]:
    """The tables of parts and designs with one design D-1 of hose H-6 and two ends E-6."""
    return {"parts": [hose(), hose_end()], "designs": [a_design()]}


def build_fleet(machine_count: int = 1, position_count: int = 1, **more: Iterable[dict]) -> dict:
    """Tables of machines M-1 … with positions P-1 … each; assembly M-1/P-1 sits in the first.

    Tables given in `more` stand in place of the usual ones.
    """
    machines = [f"M-{number}" for number in range(1, machine_count + 1)]
    places = [(machine, f"P-{number}") for machine in machines for number in range(1, position_count + 1)]
    usual = {
        "sites": [a_site()],
        "machines": [a_machine(machine) for machine in machines],
        "positions": [a_position(machine, position) for machine, position in places],
        "installations": [
            an_installation(f"{machine}/{position}", machine, position) for machine, position in places
        ],
        **one_design(),
    }
    return build_tables(**{**usual, **more})


class KnownLaw:
    """A forecaster whose lives follow a Weibull law in calendar days that is known for certain.

    `scale_days` and `shape` are one number or one per installed assembly, in the order of `installations`.
    `luck` multiplies the hazard of what is now installed, not of its successors. Each of `scale_draws` is a
    draw of what is not known: so many times as long these may live.
    """

    def __init__(
        self,
        tables: dict[str, pd.DataFrame],
        *,
        scale_days: float | np.ndarray = 1_500.0,
        shape: float | np.ndarray = 2.5,
        luck: float | np.ndarray = 1.0,
        hours_per_day: float = 8.0,
        as_of: date = AS_OF,
        scale_draws: Iterable[float] = (1.0,),
    ) -> None:
        self.scale_draws = tuple(scale_draws)
        installations = tables["installations"]
        here = installations[installations["removed_on"].isna()].reset_index(drop=True)
        machines = tables["machines"].set_index("machine")
        born_on = here["built_on"].fillna(here["installed_on"])
        self.installed = here[["assembly", "machine", "position", "design", "crimped_by", "hose_lot"]].assign(
            site=here["machine"].map(machines["site"]),
            population="100R2 -6",
            installed=True,
            age_days=(pd.Timestamp(as_of) - born_on).dt.days.astype(float),
            age_hours=(pd.Timestamp(as_of) - here["installed_on"]).dt.days * hours_per_day,
            hours_per_day=hours_per_day,
            hours_per_day_sd=0.0,
            hours_per_day_noise=0.0,
            hours_per_day_drift=0.0,
        )
        count = len(here)
        self.scale = np.broadcast_to(np.asarray(scale_days, float), count)[:, None]
        self.shape = np.broadcast_to(np.asarray(shape, float), count)[:, None]
        self.luck = np.broadcast_to(np.asarray(luck, float), count)[:, None]

    def survival(self, days: np.ndarray) -> np.ndarray:
        age = self.installed["age_days"].to_numpy()[:, None]
        return np.exp(self.luck * (self._hazard(age) - self._hazard(age + np.asarray(days, float))))

    def fresh_survival(self, days: np.ndarray) -> np.ndarray:
        return np.mean([self._fresh(days, scale) for scale in self.scale_draws], axis=0)

    def fresh_draws(self, rows: np.ndarray) -> Iterator[Callable[[np.ndarray], np.ndarray]]:
        for scale in self.scale_draws:
            yield lambda days, scale=scale: self._fresh(days, scale)[rows]

    def chance_draws(self, days: float, draws: int) -> np.ndarray:
        return np.tile(1 - self.survival(np.array([days]))[:, 0], (draws, 1))

    def _fresh(self, days: np.ndarray, scale: float) -> np.ndarray:
        return np.exp(-self._hazard(np.asarray(days, float)[None, :] / scale))

    def _hazard(self, age: np.ndarray) -> np.ndarray:
        return (age / self.scale) ** self.shape


def limits_of(tables: dict[str, pd.DataFrame], **limits: float) -> pd.DataFrame:
    """The limits of every position as `policies.position_limits` gives them: those named, else none."""
    unset = dict.fromkeys(("age_limit_days", "hours_limit", "risk_limit", "risk_horizon_days"), np.nan)
    usual = {**unset, "surge_allowance_percent": 25.0, "thin_margin_percent": 10.0}
    return tables["positions"][["machine", "position"]].assign(**{**usual, **limits})


def margins_of(tables: dict[str, pd.DataFrame], **verdicts: str) -> pd.DataFrame:
    """MARGINS of what is installed: `sound`, but for the assemblies named (`-` and `/` as `_`)."""
    here = tables["installations"]
    here = here[here["removed_on"].isna()]
    said = [verdicts.get(re.sub(r"[-/ ]", "_", assembly), "sound") for assembly in here["assembly"]]
    return make_table(
        here[["assembly", "machine", "position"]].assign(
            rated_pressure_bar=330.0, demanded_pressure_bar=250.0, margin_percent=24.2, verdict=said
        ),
        MARGINS,
    )
