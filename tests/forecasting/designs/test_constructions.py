import pandas as pd
import pytest

from forecasting.designs.constructions import bore_mm, normal_construction, stands_suction
from forecasting.units import dash_to_mm
from tests.forecasting.builders import build_tables, hose


def test_every_spelling_of_a_designation_is_one():
    spellings = {
        "100R2": [
            "SAE 100R2AT",
            "100 R2",
            "SAE J517 100R2",
            " sae  100r2 ats",
            "SAE J517 type R2",
            "R2AT",
            "100R2-08",
        ],
        "100R16": ["100R16", "SAE 100 R16", "SAE J517:2020 100R16"],
        "EN 853 2SN": ["2SN", "EN 853 2SN", "DIN EN 853-2SN", "EN 853:2015 2SN", "2SN DN 12", "EN853 2SN"],
        "EN 856 4SP": ["4SP", "EN 856/4SP", "DIN EN 856 4SP"],
        "EN 856 R12": ["EN 856 R12", "en 856-R12"],
        "EN 857 2SC": ["2SC", "EN 857 2SC"],
        "EN 854 R6": ["EN 854 R6"],
        "ISO 18752 280 CC": [
            "ISO 18752 CC 280",
            "ISO 18752-280 CC",
            "ISO 18752:2014 280CC",
            "ISO 18752/280/CC",
        ],
        "ISO 18752 420": ["ISO 18752 class 420"],
    }
    for normal, written in spellings.items():
        assert normal_construction(pd.Series(written)).tolist() == [normal] * len(written)


def test_a_number_of_two_figures_is_not_its_first():
    assert normal_construction(pd.Series(["100R1", "100R12", "100R15"])).tolist() == [
        "100R1",
        "100R12",
        "100R15",
    ]


def test_of_two_designations_on_one_hose_the_first_stands():
    assert normal_construction(pd.Series(["SAE 100R2AT / EN 853 2SN"])).tolist() == ["100R2"]


def test_what_is_not_known_stays_as_it_is_and_missing_stays_missing():
    text = pd.Series([" Blue  wash hose ", None, "EN 857 2SN", "100R2X"], index=[3, 1, 2, 0], dtype="str")
    normal = normal_construction(text)
    assert normal.index.tolist() == [3, 1, 2, 0]
    assert normal.fillna("-").tolist() == ["Blue wash hose", "-", "EN 857 2SN", "100R2X"]


def test_normal_spelling_is_its_own_normal_spelling():
    once = normal_construction(pd.Series(["SAE 100R2AT", "2SN", "ISO 18752 CC 280", "odd"]))
    assert normal_construction(once).tolist() == once.tolist()


def test_three_eighths_hose_is_dash_six():
    assert dash_to_mm(6) == pytest.approx(3 / 8 * 25.4)  # common practice, no source


def test_a_bore_is_the_dash_in_sixteenths_except_where_the_standard_counts_the_tube():
    parts = build_tables(
        parts=[
            hose("H1", construction="100R2", dash=8),
            hose("H2", construction="SAE 100R5", dash=8),
            hose("H3", construction="100R14", dash=8),
            hose("H4", construction="100R2", dash=8, bore_mm=12.3),
        ]
    )["parts"]
    # 13/32 in: common practice, no source
    assert bore_mm(parts).fillna(0).tolist() == [pytest.approx(12.7), pytest.approx(10.31875), 0, 12.3]


def test_a_helix_is_meant_for_suction_and_textile_falls_in():
    # common practice, no source
    hoses = pd.Series(
        ["SAE 100R4", "suction hose, wire helix", "100R6", "3TE", "100R2", "odd", None], dtype="str"
    )
    assert stands_suction(hoses).tolist() == [*["meant"] * 2, *["falls_in"] * 2, *["not_stated"] * 3]
