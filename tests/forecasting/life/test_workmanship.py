"""What a build's record says against it."""

import numpy as np
import pytest

from forecasting.life.workmanship import build_faults
from forecasting.units import MEASURES
from tests.forecasting.builders import build_tables, one_design


def a_build(assembly: str = "A-1", **more) -> dict:
    return {"assembly": assembly, "design": "D-1", "built_on": "2024-01-04", **more}


def readings(assembly: str, end: str, *diameters_mm: float) -> list[dict]:
    return [
        {"assembly": assembly, "end": end, "number": number, "diameter_mm": diameter}
        for number, diameter in enumerate(diameters_mm, start=1)
    ]


def faults_of(crimps: list[dict], specs: list[dict], builds: list[dict] | None = None, **more) -> dict:
    tables = build_tables(
        builds=builds or [a_build()], crimp_readings=crimps, crimp_specs=specs, **{**one_design(), **more}
    )
    return build_faults(tables).set_index("assembly").loc["A-1"].to_dict()


SPEC = {"hose_part": "H-6", "end_part": "E-6", "crimp_diameter_mm": 20.0}
BAND = {"crimp_over_mm": 0.1, "crimp_under_mm": 0.2}


@pytest.mark.parametrize(("diameter_mm", "off"), [(20.05, 0.0), (20.15, 1.0), (19.85, 0.0), (19.75, 1.0)])
def test_a_crimp_outside_its_band_is_off(diameter_mm, off):
    assert faults_of(readings("A-1", "a", diameter_mm), [SPEC | BAND])["crimp_off"] == off


def test_the_mean_of_the_readings_counts():
    assert faults_of(readings("A-1", "a", 20.2, 19.9), [SPEC | BAND])["crimp_off"] == 0.0


def test_either_end_makes_a_build_off():
    crimps = readings("A-1", "a", 20.0) + readings("A-1", "b", 20.5)
    assert faults_of(crimps, [SPEC | BAND])["crimp_off"] == 1.0


def test_a_specification_without_a_band_is_taken_to_have_the_usual_one():
    assert faults_of(readings("A-1", "a", 20.2), [SPEC])["crimp_off"] == 0.0
    assert faults_of(readings("A-1", "a", 20.3), [SPEC])["crimp_off"] == 1.0


def test_a_specification_for_another_ferrule_does_not_hold():
    specs = [
        SPEC | BAND | {"ferrule_part": "F-1", "crimp_diameter_mm": 25.0},
        SPEC | BAND | {"ferrule_part": "F-2"},
    ]
    used = [{"design": "D-1", "place": "a", "part": "F-2", "quantity": 1.0}]
    assert faults_of(readings("A-1", "a", 20.0), specs, design_parts=used)["crimp_off"] == 0.0


def test_what_was_not_recorded_is_not_known():
    told = faults_of([], [SPEC | BAND])
    assert np.isnan(list(told.values())).all()
    assert np.isnan(faults_of(readings("A-1", "a", 20.5), [])["crimp_off"])


def test_an_insertion_recorded_as_not_seen_and_no_cleaning_are_faults():
    told = faults_of([], [], [a_build(insertion_a_seen=True, insertion_b_seen=False, cleanings_before=0.0)])
    assert (told["insertion_unseen"], told["cleaning_skipped"]) == (1.0, 1.0)
    told = faults_of([], [], [a_build(insertion_a_seen=True, cleanings_before=0.0, cleanings_after=2.0)])
    assert (told["insertion_unseen"], told["cleaning_skipped"]) == (0.0, 0.0)


@pytest.mark.parametrize(("diameter_in", "off"), [(0.834, 0.0), (0.829, 1.0), (0.841, 1.0)])
def test_a_crimp_of_0834_in_passes_a_target_of_0835_in_within_the_charts_band(diameter_in, off):
    # Common practice, no source: a chart's usual band is 0.005 in either way.
    inch = MEASURES["length"]["in"].to_stored
    spec = SPEC | {
        "crimp_diameter_mm": inch(0.835),
        "crimp_over_mm": inch(0.005),
        "crimp_under_mm": inch(0.005),
    }
    assert faults_of(readings("A-1", "a", inch(diameter_in)), [spec])["crimp_off"] == off
