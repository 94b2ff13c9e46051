"""An invented fleet of any size as a fleet folder, lived through by a law that is known.

`invent_fleet` takes the random generator and the last day as arguments: the same ones give the same fleet.
Models of machines and the catalogue are written down (`models`, `catalogue`); machines work their hours
(`machines`), hoses are built (`workshops`), live and end (`lives`), and the register holds what somebody
wrote down (`records`). Everything is invented: no maker, no person, and no figure that may pass a hose.
"""

from dataclasses import dataclass
from datetime import date
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
import pandas as pd

from ..schema import FILES_BY_NAME
from .calendar import make_service_windows, make_site_labour
from .catalogue import make_crimp_specs, make_parts
from .designs import make_bill, make_design_parts, make_designs, used_parts
from .lives import live, make_law
from .machines import (
    machines_file,
    make_hours,
    make_machines,
    make_meter_readings,
    make_sites,
    sites_file,
)
from .models import make_places
from .positions import make_positions, positions_file
from .records import builds_file, inspections_file, installations_file, keep_known
from .rules import make_policies, make_settings
from .shelves import make_demand, make_open_orders, make_stock
from .workshops import make_workshops


@dataclass(frozen=True, slots=True)
class InventedFleet:
    """A frame for each file of the folder, and the truth planted in it: benches and lots that are bad."""

    files: dict[str, pd.DataFrame]
    poor_benches: tuple[str, ...]
    bad_lots: tuple[str, ...]


# Hose was made ten years before thirty of register, and windows are planned for a year ahead.
EARLIEST, LATEST = date(2000, 1, 1), date(2098, 12, 31)


def invent_fleet(*, machines: int, rng: np.random.Generator, until: date, years: float = 5) -> InventedFleet:
    """A fleet of so many machines with `years` of register up to `until`.

    Raises ValueError where there is no machine, less than a year, or a day that no folder may hold.
    """
    if machines < 1:
        raise ValueError("machines must be 1 or more")
    if not 1 <= years <= 30:
        raise ValueError("years must be 1 to 30")
    if not EARLIEST <= until <= LATEST:
        raise ValueError(f"until must be a day from {EARLIEST} to {LATEST}")
    last = float(np.datetime64(until, "D").astype(np.int64))

    places, catalogue = make_places(), make_parts(rng)
    designs = make_designs(places)
    design_parts = make_design_parts(places, designs)
    bill = make_bill(designs, design_parts, catalogue)
    crimps = make_crimp_specs(catalogue)
    facts = _place_facts(designs, bill, catalogue, crimps)

    sites = make_sites(machines, rng, last, years)
    fleet = make_machines(machines, sites, rng, last, years)
    hours = make_hours(fleet, rng, last, years)
    positions = make_positions(fleet, places, facts["rated_bar"].to_numpy(), rng)

    hoses, hose_of_place = _numbered(designs["hose_part"])
    hose_use = np.bincount(hose_of_place[positions["place"]], minlength=len(hoses))
    site_of_machine = fleet["site"].to_numpy()
    workshops = make_workshops(len(sites), site_of_machine, hose_of_place, hose_use, rng, hours.start, last)
    law = make_law(positions, places, rng)
    every_life = live(positions, fleet, hours, law, workshops, rng, last)
    machine_of_position = positions["machine"].to_numpy()
    began = sites["began"].to_numpy()[site_of_machine[machine_of_position]]
    lives = keep_known(every_life, began)

    at = lives["position"].to_numpy()
    machine, place = machine_of_position[at], positions["place"].to_numpy()[at]
    names = pd.DataFrame(
        {
            "machine": machine,
            "machine_name": fleet["machine"].to_numpy()[machine],
            "position_name": places["position"].to_numpy()[place],
            "metered": fleet["metered"].to_numpy()[machine],
            "began": began[at],
        }
    )
    site_names = sites["site"].to_numpy()
    installations = installations_file(lives, names, hours, workshops, site_names, rng)
    builds, crimp_readings = builds_file(installations, lives, workshops, designs, place, facts, rng, last)

    used = designs[places["model"].isin(fleet["model"])]
    used_bill = bill[bill["design"].isin(used["design"])]
    parts = used_parts(catalogue, used_bill)
    demand = make_demand(positions, fleet, designs, bill)
    stock = make_stock(demand, parts, sites, workshops, hoses, rng, last)
    costs = bill["quantity"] * bill["part"].map(catalogue.set_index("part")["unit_cost"])
    files = {
        "settings": make_settings(),
        "sites": sites_file(sites),
        "machines": machines_file(fleet, sites),
        "meter_readings": make_meter_readings(fleet, sites, hours, rng, last),
        "parts": parts,
        "crimp_specs": crimps[
            crimps["hose_part"].isin(parts["part"]) & crimps["end_part"].isin(parts["part"])
        ],
        "designs": used,
        "design_parts": design_parts[design_parts["design"].isin(used["design"])],
        "positions": positions_file(
            positions,
            fleet,
            places,
            designs,
            costs.groupby(bill["design"]).sum(),
            facts["bend_radius_mm"].to_numpy(),
            rng,
        ),
        "installations": installations,
        "builds": builds,
        "crimp_readings": crimp_readings,
        "inspections": inspections_file(installations, lives, names, hours, machines, rng, last),
        "stock": stock,
        "open_orders": make_open_orders(demand, stock, parts, sites, rng, last),
        "service_windows": make_service_windows(fleet, rng, last),
        "site_labour": make_site_labour(sites, fleet, last),
        "policies": make_policies(),
    }
    return InventedFleet(
        files,
        poor_benches=tuple(workshops.bench_names(workshops.poor_benches(), site_names)),
        bad_lots=tuple(workshops.lot_names(workshops.bad_lots())),
    )


def write_fleet(fleet: InventedFleet, folder: Path) -> None:
    """Writes every file of the fleet into `folder`, which is made where it is not there.

    Files of the same names are replaced once all are written, so that a stopped run leaves what stood.
    """
    folder.mkdir(parents=True, exist_ok=True)
    with TemporaryDirectory(prefix=".inventing-", dir=folder) as unfinished:
        for name, frame in fleet.files.items():
            headers = [header for column in FILES_BY_NAME[name].columns for header in column.file_names]
            dates = {
                column: frame[column].dt.strftime("%Y-%m-%d")
                for column in frame
                if pd.api.types.is_datetime64_any_dtype(frame[column])
            }
            rows = frame.assign(**dates)[[header for header in headers if header in frame]]
            path = Path(unfinished) / f"{name}.csv"
            rows.to_csv(path, index=False, float_format="%.10g", lineterminator="\n")
        for path in Path(unfinished).iterdir():
            path.replace(folder / path.name)


def _numbered(names: pd.Series) -> tuple[list[str], np.ndarray]:
    """The different names in order, and the number of each row's."""
    numbers, different = pd.factorize(names, sort=True)
    return list(different), numbers


def _place_facts(
    designs: pd.DataFrame, bill: pd.DataFrame, parts: pd.DataFrame, crimps: pd.DataFrame
) -> pd.DataFrame:
    """One row per design: rating of its weakest part, its hose's cut and bend, and its crimp at end a."""
    known = parts.set_index("part")
    ratings = [
        designs[column].map(known["rated_pressure_bar"])
        for column in ("hose_part", "end_a_part", "end_b_part")
    ]
    cuts = bill.set_index(["design", "part"])["quantity"]
    chart = crimps.set_index(["hose_part", "end_part"])
    pairs = pd.MultiIndex.from_frame(designs[["hose_part", "end_a_part"]])
    return pd.DataFrame(
        {
            "rated_bar": pd.concat(ratings, axis=1).min(axis=1),
            "cut_mm": 1000 * cuts.loc[pd.MultiIndex.from_frame(designs[["design", "hose_part"]])].to_numpy(),
            "bend_radius_mm": designs["hose_part"].map(known["minimum_bend_radius_mm"]),
            "crimp_mm": chart["crimp_diameter_mm"].reindex(pairs).to_numpy(),
            "die": chart["die"].reindex(pairs).to_numpy(),
        }
    )
