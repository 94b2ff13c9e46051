"""A small fleet as a fleet folder: two machines of one quarry, three positions, hose lives past and present.

A test takes `fleet_files()`, changes the rows it is about and writes them with `write_fleet_folder`. The
first row of a file stands on line 2, as a spreadsheet counts.
"""

import csv
import datetime
from pathlib import Path

from fleet.models import Organization
from fleet.services.folders.importing import import_fleet

Row = dict[str, str]
Files = dict[str, list[Row]]


def fleet_files() -> Files:
    """Every file of the folder, one dict a row; fresh at every call."""
    return {
        "settings": [{"name": "currency", "value": "EUR"}, {"name": "pressure_unit", "value": "psi"}],
        "sites": [{"site": "North pit", "name": "North pit workshop", "register_began_on": "2022-01-01"}],
        "machines": [
            {
                "machine": "EX-01",
                "site": "North pit",
                "model": "30 t excavator",
                "commissioned_on": "2020-05-01",
                "hours_per_day": "9.5",
                "downtime_cost_per_hour": "180",
            },
            {
                "machine": "WL-02",
                "site": "North pit",
                "model": "wheel loader",
                "commissioned_on": "2021-02-15",
                "hours_per_day": "8",
                "downtime_cost_per_hour": "140.5",
            },
        ],
        "meter_readings": [
            {"machine": "EX-01", "read_on": "2023-01-10", "hours": "5200", "meter_replaced": ""},
            {"machine": "EX-01", "read_on": "2023-07-10", "hours": "6600.5", "meter_replaced": ""},
            {"machine": "EX-01", "read_on": "2024-01-10", "hours": "12", "meter_replaced": "yes"},
            {"machine": "WL-02", "read_on": "2023-06-01", "hours": "4100", "meter_replaced": ""},
            {"machine": "WL-02", "read_on": "2024-01-10", "hours": "5400", "meter_replaced": "no"},
        ],
        "parts": [
            {
                "part": "H-2SN-06",
                "kind": "bulk_hose",
                "description": "two wire braids",
                "construction": "EN 853 2SN",
                "dash": "6",
                "conductive": "yes",
                "rated_pressure_psi": "4800",
                "minimum_temperature_c": "-40",
                "maximum_temperature_c": "100",
                "minimum_bend_radius_in": "5",
                "unit": "metre",
                "unit_cost": "7.85",
                "lead_time_days": "10",
                "pack_quantity": "50",
                "shelf_life_days": "1460",
            },
            {
                "part": "E-JIC-06",
                "kind": "hose_end",
                "dash": "6",
                "connection_dash": "8",
                "end_style": "37° flare female swivel",
                "thread": "3/4-16 UNF",
                "rated_pressure_psi": "5000",
                "cutoff_in": "1.75",
                "unit_cost": "3.2",
            },
            {"part": "F-06", "kind": "ferrule", "dash": "6", "unit": "each", "unit_cost": "0.9"},
            {"part": "S-06", "kind": "sleeve", "unit": "each", "unit_cost": "1.1", "superseded_by": "S-06N"},
            {"part": "S-06N", "kind": "sleeve", "unit": "each", "unit_cost": "1.3"},
        ],
        "crimp_specs": [
            {
                "hose_part": "H-2SN-06",
                "end_part": "E-JIC-06",
                "ferrule_part": "F-06",
                "crimp_diameter_in": "0.835",
                "crimp_over_in": "0.005",
                "crimp_under_in": "0.005",
                "die": "20",
                "chart": "2SN chart rev. 4",
            }
        ],
        "designs": [
            {
                "design": "D-100",
                "hose_part": "H-2SN-06",
                "end_a_part": "E-JIC-06",
                "end_b_part": "E-JIC-06",
                "overall_length_in": "35.5",
                "orientation_deg": "90",
            },
            {
                "design": "D-200",
                "hose_part": "H-2SN-06",
                "end_a_part": "E-JIC-06",
                "end_b_part": "E-JIC-06",
                "overall_length_in": "60",
                "orientation_deg": "",
            },
        ],
        "design_parts": [
            {"design": "D-100", "place": "a", "part": "F-06", "quantity": "1"},
            {"design": "D-100", "place": "b", "part": "F-06", "quantity": "1"},
            {"design": "D-100", "place": "hose", "part": "S-06N", "quantity": "1"},
        ],
        "positions": [
            {
                "machine": "EX-01",
                "position": "boom left",
                "circuit": "boom",
                "line": "pressure",
                "design": "D-100",
                "working_pressure_psi": "3500",
                "peak_pressure_psi": "4200",
                "fluid_temperature_f": "160",
                "exposure": "abrasive+flexing",
                "changeout_minutes": "45",
                "planned_cost": "120",
                "failure_cost": "1900.25",
                "critical": "yes",
            },
            {"machine": "EX-01", "position": "boom right", "circuit": "boom", "design": "D-100"},
            {"machine": "WL-02", "position": "lift", "line": "pressure", "working_pressure_psi": "3000"},
        ],
        "installations": [
            {
                "assembly": "A-1",
                "machine": "EX-01",
                "position": "boom left",
                "built_on": "2022-02-20",
                "hose_made_on": "2021-11-01",
                "hose_lot": "L-7",
                "installed_on": "2022-03-01",
                "installed_hours": "2900",
                "removed_on": "2023-05-04",
                "removed_hours": "6000",
                "removal_cause": "failed",
                "failure_mode": "burst behind the ferrule",
                "crimped_by": "bench 1",
            },
            {
                "assembly": "A-2",
                "machine": "EX-01",
                "position": "boom left",
                "built_on": "2023-04-30",
                "hose_lot": "L-8",
                "installed_on": "2023-05-04",
                "crimped_by": "bench 2",
            },
            {
                "assembly": "A-3",
                "machine": "EX-01",
                "position": "boom right",
                "design": "D-200",
                "installed_on": "2021-06-01",
            },
        ],
        "builds": [
            {
                "assembly": "A-2",
                "design": "D-100",
                "built_on": "2023-04-30",
                "built_by": "bench 2",
                "hose_lot": "L-8",
                "cut_length_in": "32",
                "insertion_a_seen": "yes",
                "insertion_b_seen": "no",
                "cleanings_before": "1",
                "cleanings_after": "2",
                "proof_pressure_psi": "9600",
                "proof_seconds": "45",
                "accepted": "yes",
            },
            {"assembly": "A-4", "design": "D-200", "built_on": "2024-01-08", "built_by": "bench 1"},
        ],
        "crimp_readings": [
            {"assembly": "A-2", "end": "a", "number": "1", "diameter_in": "0.834"},
            {"assembly": "A-2", "end": "b", "number": "1", "diameter_in": "0.836"},
        ],
        "inspections": [
            {
                "assembly": "A-2",
                "inspected_on": "2023-11-02",
                "hours": "7400",
                "finding": "cover rubbed, no wire",
                "grade": "watch",
            }
        ],
        "stock": [
            {"part": "H-2SN-06", "site": "North pit", "piece": "R-1", "lot": "L-8", "on_hand_ft": "164",
             "made_on": "2022-10-01"},
            {"part": "E-JIC-06", "site": "North pit", "piece": "", "on_hand_ft": "25"},
        ],
        "open_orders": [
            {"order": "PO-9", "part": "F-06", "site": "North pit", "quantity": "40",
             "expected_on": "2024-02-01"}
        ],
        "service_windows": [
            {"machine": "EX-01", "starts_on": "2024-03-01", "ends_on": "2024-03-02", "labour_minutes": "480"}
        ],
        "site_labour": [
            {"site": "North pit", "starts_on": "2024-03-01", "ends_on": "2024-03-31",
             "labour_minutes": "2400"}
        ],
        "policies": [
            {"scope": "all", "age_limit_days": "2190", "risk_limit": "", "risk_horizon_days": ""},
            {"scope": "position:EX-01/boom left", "age_limit_days": "730", "risk_limit": "0.05",
             "risk_horizon_days": "90"},
        ],
    }  # fmt: skip


def write_fleet_folder(folder: Path, files: Files) -> Path:
    """`folder`, made where it is new, with one CSV file for each of `files`."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, rows in files.items():
        with (folder / f"{name}.csv").open("w", encoding="utf-8", newline="") as out:
            writer = csv.DictWriter(out, headers(rows), restval="")
            writer.writeheader()
            writer.writerows(rows)
    return folder


def take_small_fleet(folder: Path, name: str, today: datetime.date | None = None) -> Organization:
    """The organization of that name with the small fleet, which was read from `folder`."""
    write_fleet_folder(folder, fleet_files())
    return import_fleet(folder=folder, organization_name=name, today=today).organization


def headers(rows: list[Row]) -> list[str]:
    """Every column of the rows, in the order in which they first stand."""
    return list(dict.fromkeys(name for row in rows for name in row))
