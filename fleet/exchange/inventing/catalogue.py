"""An invented parts catalogue: hoses by construction and dash, ends, ferrules, sleeves, and their crimps.

Ratings, bend radii and temperatures are near what the standards' tables give, so that a fleet looks right;
they are invented all the same, as are costs, lead times and crimp diameters. No hose may be chosen by them.
"""

import numpy as np
import pandas as pd

from forecasting.units import dash_to_mm

DASHES = (4, 6, 8, 10, 12, 16, 20, 24, 32)

# Construction: which ends it takes, bar for each dash, a bend radius as a multiple of the tabulated one for
# wire-braided hose, highest temperature, wall in mm and as a share of the bore, cost of a metre at dash 8.
HOSES: dict[str, tuple[str, dict[int, float], float, float, float, float, float]] = {
    "100R1": ("braid", {4: 225, 6: 180, 8: 160, 10: 130, 12: 105, 16: 88, 20: 63}, 1.0, 100, 3.3, 0.05, 4.1),
    "100R2": (
        "braid",
        {4: 400, 6: 330, 8: 275, 10: 250, 12: 215, 16: 165, 20: 125},
        1.0,
        100,
        4.0,
        0.06,
        5.6,
    ),
    "EN 857 2SC": ("braid", {4: 400, 6: 330, 8: 275, 10: 250, 12: 215, 16: 165}, 0.72, 100, 3.4, 0.05, 6.0),
    "100R17": (
        "braid",
        {4: 210, 6: 210, 8: 210, 10: 210, 12: 210, 16: 210},
        0.5,
        100,
        3.2,
        0.07,
        5.9,
    ),
    "100R6": ("braid", {4: 28, 6: 28, 8: 28, 10: 24, 12: 21}, 0.75, 100, 2.9, 0.03, 2.7),
    "100R7": ("braid", {4: 207, 6: 155, 8: 138}, 0.5, 93, 2.4, 0.04, 4.4),
    "100R12": ("spiral", {6: 280, 8: 280, 10: 280, 12: 280, 16: 280, 20: 210}, 1.0, 120, 4.6, 0.09, 9.5),
    "100R13": ("spiral", {12: 350, 16: 350, 20: 350, 24: 350}, 1.0, 120, 4.2, 0.19, 13.5),
    "100R15": ("spiral", {6: 420, 8: 420, 12: 420, 16: 420, 20: 420}, 1.1, 120, 4.4, 0.2, 15.5),
    "EN 856 4SP": ("spiral", {6: 445, 8: 415, 10: 350, 12: 350, 16: 280, 20: 210}, 1.2, 100, 4.8, 0.11, 10.5),
    "EN 856 4SH": ("spiral", {12: 420, 16: 380, 20: 325, 24: 290, 32: 250}, 1.17, 100, 4.9, 0.13, 12.0),
    "100R4": ("suction", {12: 21, 16: 17, 20: 14, 24: 10, 32: 7}, 1.0, 100, 5.6, 0.09, 7.5),
}
BEND_RADIUS_MM = {4: 100, 6: 130, 8: 180, 10: 200, 12: 240, 16: 300, 20: 420, 24: 500, 32: 630}
BEND_RADIUS_SUCTION_MM = {12: 125, 16: 150, 20: 200, 24: 250, 32: 300}

# Code: style in the words of the trade, bar for each dash, cut-off in mm at dash 0 and for each dash, cost of
# one at dash 8. A flange has a cost that grows faster, as it is forged.
END_STYLES: dict[str, tuple[str, dict[int, float], float, float, float]] = {
    "jics": (
        "37° flare female swivel",
        {4: 410, 6: 345, 8: 310, 10: 275, 12: 240, 16: 205, 20: 170},
        18,
        1.2,
        3.9,
    ),
    "jic9": (
        "37° flare female swivel 90° elbow",
        {4: 410, 6: 345, 8: 310, 10: 275, 12: 240, 16: 205, 20: 170},
        30,
        2.4,
        8.2,
    ),
    "orfs": (
        "face seal female swivel",
        {4: 410, 6: 410, 8: 410, 10: 410, 12: 410, 16: 345, 20: 275},
        20,
        1.4,
        5.4,
    ),
    "orf9": (
        "face seal female swivel 90° elbow",
        {4: 410, 6: 410, 8: 410, 10: 410, 12: 410, 16: 345, 20: 275},
        32,
        2.6,
        11.5,
    ),
    "c61s": ("flange code 61", {12: 345, 16: 345, 20: 275, 24: 210, 32: 210}, 34, 1.5, 9.8),
    "c62s": ("flange code 62", {10: 420, 12: 420, 16: 420, 20: 420, 24: 420}, 38, 1.6, 12.5),
    "c629": ("flange code 62 90° elbow", {10: 420, 12: 420, 16: 420, 20: 420, 24: 420}, 52, 2.9, 21.0),
}
THREADS = {
    "jic": {4: "7/16-20", 6: "9/16-18", 8: "3/4-16", 10: "7/8-14", 12: "1-1/16-12", 16: "1-5/16-12"},
    "orf": {4: "9/16-18", 6: "11/16-16", 8: "13/16-16", 10: "1-14", 12: "1-3/16-12", 16: "1-7/16-12"},
}
SERIES_NAMES = {"braid": "B", "spiral": "S", "suction": "L"}
CRIMP_BAND_MM = 0.13


def hose_part(construction: str, dash: int) -> str:
    return f"H-{construction.replace('EN ', '').replace(' ', '-')}-{dash:02d}"


def end_part(series: str, style: str, dash: int) -> str:
    return f"E{SERIES_NAMES[series]}-{style.upper()}-{dash:02d}"


def ferrule_part(series: str, dash: int) -> str:
    return f"F{SERIES_NAMES[series]}-{dash:02d}"


def sleeve_part(dash: int) -> str:
    return f"SL-{dash:02d}"


def series_of(construction: str) -> str:
    """Which ends a hose takes: braid (one piece, no ferrule), spiral or suction (with a ferrule)."""
    return HOSES[construction][0]


def make_parts(rng: np.random.Generator) -> pd.DataFrame:
    """One row per part: every hose, and every end, ferrule and sleeve that may go on one."""
    parts = pd.DataFrame(_hoses() + _ends() + _ferrules() + _sleeves())
    costs = parts["unit_cost"] * rng.lognormal(0, 0.06, len(parts))
    lead_times = np.maximum(3, parts["lead_time_days"] * rng.lognormal(0, 0.25, len(parts))).round()
    spread = (lead_times * rng.uniform(0.15, 0.5, len(parts))).round()
    return parts.assign(unit_cost=costs.round(2), lead_time_days=lead_times, lead_time_sd_days=spread)


def _hoses() -> list[dict]:
    rows = []
    for construction, (series, ratings, bend, hottest, wall_mm, wall_share, cost) in HOSES.items():
        bends = BEND_RADIUS_SUCTION_MM if series == "suction" else BEND_RADIUS_MM
        plastic = construction == "100R7"
        for dash, rating in ratings.items():
            bore = dash_to_mm(dash)
            rows.append(
                {
                    "part": hose_part(construction, dash),
                    "kind": "bulk_hose",
                    "description": f"Hose {construction} dash {dash}",
                    "construction": construction,
                    "dash": dash,
                    "bore_mm": round(bore, 1),
                    "outside_diameter_mm": round(bore + 2 * (wall_mm + wall_share * bore), 1),
                    "material": "polyester elastomer" if plastic else "nitrile, synthetic rubber cover",
                    "conductive": "no" if plastic else "yes",
                    "rated_pressure_bar": rating,
                    "minimum_temperature_c": -40,
                    "maximum_temperature_c": hottest,
                    "minimum_bend_radius_mm": 5 * round(bends[dash] * bend / 5),
                    "unit": "metre",
                    "unit_cost": cost * (dash / 8) ** 1.25,
                    "lead_time_days": 35 if series == "spiral" and dash >= 16 else 14,
                    "pack_quantity": 20 if dash >= 16 else 40,
                    # Common practice, no source: rubber hose may lie four years before it is made up.
                    "shelf_life_days": np.nan if plastic else 1460,
                }
            )
    return rows


def _ends() -> list[dict]:
    rows = []
    for series in SERIES_NAMES:
        for style, (words, ratings, cutoff, cutoff_by_dash, cost) in END_STYLES.items():
            for dash in _dashes_of(series):
                if dash not in ratings:
                    continue
                rows.append(
                    {
                        "part": end_part(series, style, dash),
                        "kind": "hose_end",
                        "description": f"{words[0].upper()}{words[1:]} dash {dash} for {series} hose",
                        "dash": dash,
                        "end_style": words,
                        "thread": THREADS.get(style[:3], {}).get(dash),
                        "material": "steel, zinc-nickel",
                        "rated_pressure_bar": ratings[dash],
                        "cutoff_mm": round(cutoff + cutoff_by_dash * dash, 1),
                        "insertion_depth_mm": round(16 + 1.1 * dash, 1),
                        "unit": "each",
                        "unit_cost": cost * (dash / 8) ** 1.15 * (1.3 if series == "spiral" else 1),
                        "lead_time_days": 28 if style.startswith("c6") else 10,
                        "pack_quantity": 2 if dash >= 20 else 5,
                    }
                )
    return rows


def _ferrules() -> list[dict]:
    return [
        {
            "part": ferrule_part(series, dash),
            "kind": "ferrule",
            "description": f"Ferrule dash {dash} for {series} hose",
            "dash": dash,
            "material": "steel, zinc-nickel",
            "unit": "each",
            "unit_cost": 1.6 * (dash / 8) ** 1.1,
            "lead_time_days": 10,
            "pack_quantity": 10,
        }
        for series in ("spiral", "suction")
        for dash in _dashes_of(series)
    ]


def _sleeves() -> list[dict]:
    return [
        {
            "part": sleeve_part(dash),
            "kind": "sleeve",
            "description": f"Textile abrasion sleeve for dash {dash}",
            "dash": dash,
            "material": "nylon",
            "unit": "each",
            "unit_cost": 3.2 * (dash / 8) ** 0.7,
            "lead_time_days": 7,
            "pack_quantity": 10,
        }
        for dash in DASHES
    ]


def _dashes_of(series: str) -> list[int]:
    made = {dash for one, ratings, *_ in HOSES.values() if one == series for dash in ratings}
    return sorted(made)


def make_crimp_specs(parts: pd.DataFrame) -> pd.DataFrame:
    """One row per hose and end that fit each other, from an invented chart."""
    hoses = parts[parts["kind"] == "bulk_hose"].assign(
        series=lambda rows: rows["construction"].map(series_of)
    )
    letters = {letter: series for series, letter in SERIES_NAMES.items()}
    ends = parts[parts["kind"] == "hose_end"].assign(series=lambda rows: rows["part"].str[1].map(letters))
    pairs = hoses.merge(ends, on=["series", "dash"], suffixes=("", "_end"))
    ferrules = [
        None if series == "braid" else ferrule_part(series, int(dash))
        for series, dash in zip(pairs["series"], pairs["dash"], strict=True)
    ]
    return pd.DataFrame(
        {
            "hose_part": pairs["part"],
            "end_part": pairs["part_end"],
            "ferrule_part": pd.Series(ferrules, dtype=object),
            "crimp_diameter_mm": (pairs["outside_diameter_mm"] * 1.06 + 3.4).round(2),
            "crimp_over_mm": CRIMP_BAND_MM,
            "crimp_under_mm": CRIMP_BAND_MM,
            "die": "die " + (pairs["outside_diameter_mm"] // 2 * 2 + 2).astype(int).astype(str),
            "chart": "invented chart " + pairs["series"] + " rev 3",
        }
    )
