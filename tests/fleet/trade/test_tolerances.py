"""Length and angle tolerances as the named standards have them."""

import pandas as pd
import pytest

from fleet.trade.tolerances import (
    ANGLES_FILE,
    LENGTHS_FILE,
    angle_tolerance,
    assembly_tolerance,
    cut_tolerance,
)


@pytest.mark.parametrize(
    ("length", "bore", "over", "under", "mark"),
    [
        # DIN 20066 as a trade data sheet quotes it; the two marked memory are from memory.
        (630, 25.4, 7, 3, "found"), (631, 12.7, 12, 4, "found"), (1250, 9.5, 12, 4, "found"),
        (2500, 25.4, 20, 6, "found"), (600, 31.8, 12, 4, "found"), (1000, 50.8, 20, 6, "found"),
        (2000, 38.1, 25, 6, "found"), (600, 63.5, 25, 6, "found"), (1000, 63.5, 25, 6, "memory"),
        (4000, 12.7, 60, 20, "found"), (10_000, 63.5, 300, 100, "found"),
    ],
)  # fmt: skip
def test_an_assembly_may_be_off_by_din_20066(length, bore, over, under, mark):
    told = assembly_tolerance(length, bore)
    assert (told.over_mm, told.under_mm, told.mark) == (pytest.approx(over), pytest.approx(under), mark)


def test_without_a_bore_no_length_tolerance_is_guessed():
    assert assembly_tolerance(1000, None) is None


@pytest.mark.parametrize(
    ("inches", "either_way"),
    # Rubber industry's IP-2 (2003), cut hose, in inches.
    [(12, 1 / 8), (12.1, 3 / 16), (24, 3 / 16), (36, 1 / 4), (48, 3 / 8), (72, 1 / 2), (100, 1.0)],
)
def test_a_cut_may_be_off_by_ip_2(inches, either_way):
    told = cut_tolerance(inches * 25.4)
    assert told.over_mm == told.under_mm == pytest.approx(either_way * 25.4)


def test_the_angle_may_be_off_three_degrees_up_to_610_mm_and_five_above():
    # US MIL-DTL-83796/5, which cites SAE J517
    assert [angle_tolerance(length).either_way_deg for length in (300, 610, 611)] == [3, 3, 5]


@pytest.mark.parametrize("file", [LENGTHS_FILE, ANGLES_FILE])
def test_every_value_has_a_source_and_a_mark(file):
    rows = pd.read_csv(file)
    assert rows["source"].str.len().min() > 10
    assert set(rows["mark"]) <= {"found", "memory"}
    from_memory = rows["mark"] == "memory"
    assert (rows["source"].str.contains("from memory") == from_memory).all()
