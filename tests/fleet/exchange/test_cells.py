"""Cells to values: what is taken, what is refused, and what would be right instead."""

import numpy as np
import pandas as pd
import pytest

from fleet.exchange.cells import read_cells
from fleet.exchange.findings import Findings
from fleet.exchange.reading import Cells, Sheet
from fleet.exchange.schema import FILES_BY_NAME


def read_column(file: str, header: str, *texts: str) -> tuple[pd.DataFrame, list[str]]:
    """The rows of a file with keys of its own and one more column, and what is said of them."""
    schema = FILES_BY_NAME[file]
    lines = np.arange(2, 2 + len(texts))
    cells = {schema.by_header[header].stored_name: Cells(header, list(texts), np.arange(len(texts)))}
    for column in schema.columns:
        if column.key and column.stored_name not in cells:
            keys = [f"2024-01-{line:02}" if column.kind == "date" else f"key {line}" for line in lines]
            cells[column.stored_name] = Cells(column.name, keys, np.arange(len(texts)))
    findings = Findings()
    frame = read_cells(Sheet(schema, f"{file}.csv", lines, cells), findings)
    return frame, [f"{one.severity}: {one.wrong} {one.right}" for one in findings.listed()]


def test_every_pressure_is_stored_in_bar():
    # 3,500 psi = 241.3165 bar: NIST SP 811, appendix B.8.
    for header, text, bar in (
        ("working_pressure_bar", "241.5", 241.5),
        ("working_pressure_psi", "3500", 241.3165),
        ("working_pressure_mpa", "24.15", 241.5),
    ):
        frame, said = read_column("positions", header, text)
        assert said == []
        assert frame["working_pressure_bar"].tolist() == pytest.approx([bar], rel=1e-6)


@pytest.mark.parametrize(
    ("header", "text", "stored"),
    [
        ("overall_length_mm", "901.7", 901.7),
        ("overall_length_in", "35.5", 901.7),  # 1 in = 25.4 mm exactly
        ("overall_length_m", "0.9017", 901.7),
        ("overall_length_ft", "3", 914.4),
    ],
)
def test_every_length_of_hose_is_stored_in_millimetres(header, text, stored):
    frame, said = read_column("designs", header, text)
    assert said == []
    assert frame["overall_length_mm"].tolist() == pytest.approx([stored])


@pytest.mark.parametrize(
    ("file", "header", "text", "name", "stored"),
    [
        ("positions", "fluid_temperature_c", "71", "fluid_temperature_c", 71),
        ("positions", "fluid_temperature_f", "160", "fluid_temperature_c", 71.111111),
        ("positions", "fluid_temperature_f", "-40", "fluid_temperature_c", -40),
        ("crimp_specs", "crimp_diameter_mm", "21.2", "crimp_diameter_mm", 21.2),
        ("crimp_specs", "crimp_diameter_in", "0.835", "crimp_diameter_mm", 21.209),
        ("stock", "on_hand", "50", "on_hand", 50),
        ("stock", "on_hand_ft", "164", "on_hand", 49.9872),
    ],
)
def test_temperatures_lengths_and_stock_are_stored_in_their_units(file, header, text, name, stored):
    frame, said = read_column(file, header, text)
    assert said == []
    assert frame[name].tolist() == pytest.approx([stored])


def test_a_hundred_feet_are_to_the_last_digit_the_metres_that_an_export_may_write():
    frame, _ = read_column("stock", "on_hand_ft", "100")
    assert frame["on_hand"].tolist() == [30.48]


def test_a_measure_is_kept_as_it_was_entered_where_its_unit_is_another():
    psi, _ = read_column("positions", "working_pressure_psi", "3500", "")
    assert psi["working_pressure_entered"].tolist()[0] == 3500
    assert psi["working_pressure_entered_unit"].tolist()[0] == "psi"
    assert psi[["working_pressure_entered", "working_pressure_entered_unit"]].iloc[1].isna().all()
    bar, _ = read_column("positions", "working_pressure_bar", "241")
    assert bar[["working_pressure_entered", "working_pressure_entered_unit"]].isna().all(axis=None)


@pytest.mark.parametrize(
    ("file", "header", "text", "said"),
    [
        (
            "positions",
            "working_pressure_bar",
            "3500",
            "3500 is above 1,000 bar. Enter bar, not psi (3500 psi = 241 bar).",
        ),
        (
            "positions",
            "working_pressure_mpa",
            "250",
            "250 is above 100 MPa. Enter MPa, not bar (250 bar = 25 MPa).",
        ),
        (
            "positions",
            "working_pressure_psi",
            "20000",
            "20000 is above 14,504 psi. Enter 14,504 psi at most.",
        ),
        ("designs", "overall_length_m", "1200", "1200 is above 100 m. Enter m, not mm (1200 mm = 1.2 m)."),
        ("positions", "working_pressure_bar", "-5", "-5 is below 0 bar. Enter 0 bar or more."),
        ("parts", "rated_pressure_bar", "0", "0 is not above 0 bar. Enter more than 0."),
        ("machines", "hours_per_day", "25", "25 is above 24. Enter 24 at most."),
        ("policies", "risk_limit", "5", "5 is above 1. Enter 1 at most."),
        ("policies", "service_level", "1", "1 is above 0.9999. Enter 0.9999 at most."),
        ("open_orders", "quantity", "1e300", "1e300 is above 10,000,000. Enter 10,000,000 at most."),
        (
            "machines",
            "hours_per_day",
            "9,5",
            "9,5 is not a plain number. Enter digits and a point, such as 9.5.",
        ),
        (
            "positions",
            "failure_cost",
            "1,900.25",
            "1,900.25 is not a plain number. Enter digits and a point, such as 1900.25.",
        ),
        (
            "positions",
            "failure_cost",
            "nan",
            "nan is not a plain number. Enter digits and a point, such as 12.5.",
        ),
        (
            "positions",
            "failure_cost",
            "1e999",
            "1e999 is not a plain number. Enter digits and a point, such as 12.5.",
        ),
        (
            "positions",
            "planned_cost",
            "120€",
            "120€ is not a plain number. Enter digits and a point, such as 120.",
        ),
        (
            "positions",
            "planned_cost",
            "１２．５",
            "１２．５ has other digits than 0 to 9. Enter digits and a point, such as 12.5.",
        ),
        (
            "parts",
            "dash",
            "١٢",
            "١٢ has other digits than 0 to 9. Enter digits and a point, such as 12.",
        ),
        (
            "machines",
            "retired_on",
            "２０２３-０１-３１",
            "２０２３-０１-３１ has other digits than 0 to 9. Enter 2023-01-31.",
        ),
        (
            "positions",
            "planned_cost",
            "1 200",
            "1 200 is not a plain number. Enter digits and a point, such as 1200.",
        ),
        ("builds", "cleanings_before", "1.5", "1.5 is not a whole number. Enter 1 or 2."),
        ("machines", "retired_on", "31.12.2023", "31.12.2023 is no day of the calendar. Enter 2023-12-31."),
        (
            "machines",
            "retired_on",
            "03/04/2023",
            "03/04/2023 is no day of the calendar. Enter 2023-03-04 or 2023-04-03.",
        ),
        (
            "machines",
            "retired_on",
            "2023-02-30",
            "2023-02-30 is no day of the calendar. Enter year-month-day, such as 2024-03-31.",
        ),
        (
            "machines",
            "retired_on",
            "0202-01-01",
            "0202-01-01 cannot be. Enter a day from 1950-01-01 to 2100-12-31.",
        ),
        ("parts", "kind", "hoseend", "hoseend is no kind. Did you mean hose_end?"),
        (
            "positions",
            "line",
            "drain",
            "drain is no line. Enter one of line: pressure, return, suction.",
        ),
        ("positions", "exposure", "hot+abrasve", "abrasve is no exposure. Did you mean abrasive?"),
        ("positions", "critical", "Yes", "Yes is neither yes nor no. Enter yes or no."),
        ("sites", "site", "x" * 81, "The text has 81 characters. Enter at most 80."),
        ("sites", "name", "a\x00b", "The text holds the control character U+0000. Remove it."),
        ("machines", "model", "a\x07b", "The text holds the control character U+0007. Remove it."),
        (
            "builds",
            "hose_lot",
            "#N/A",
            "#N/A is what a spreadsheet shows where a formula fails. Mend the formula, or empty the cell.",
        ),
        (
            "machines",
            "retired_on",
            "44958",
            "44958 is no day of the calendar. Enter 2023-02-01 where it is a spreadsheet's number of a day.",
        ),
        ("machines", "retired_on", "2023-31-01", "2023-31-01 is no day of the calendar. Enter 2023-01-31."),
    ],
)
def test_a_wrong_cell_is_told_with_what_would_be_right(file, header, text, said):
    _, all_said = read_column(file, header, text)
    assert all_said == [f"error: {said}"]


def test_money_is_kept_to_four_decimals_and_more_are_told():
    frame, said = read_column("parts", "unit_cost", "7.85", "0.123456")
    assert frame["unit_cost"].tolist() == [7.85, 0.1235]
    assert said == ["warning: 0.123456 has more than 4 decimals. It is kept as 0.1235."]


def test_plain_numbers_are_read_however_a_spreadsheet_writes_them():
    frame, said = read_column("machines", "hours_per_day", "9.5", "9.50", ".5", "1E+01", "+3", "7.")
    assert said == []
    assert frame["hours_per_day"].tolist() == [9.5, 9.5, 0.5, 10, 3, 7]


def test_several_exposures_are_one_value_in_any_order():
    frame, said = read_column("positions", "exposure", "hot+abrasive", "abrasive + hot", "abrasive")
    assert said == []
    assert frame["exposure"].tolist() == ["abrasive+hot", "abrasive+hot", "abrasive"]


def test_line_ends_within_a_text_are_one_kind():
    frame, _ = read_column("sites", "name", "two\r\nlines", "two\rlines")
    assert frame["name"].tolist() == ["two\nlines", "two\nlines"]


def test_a_key_that_may_be_empty_is_a_key_of_its_own():
    frame, said = read_column("stock", "piece", "", "R-1")
    assert said == []
    assert frame["piece"].isna().tolist() == [True, False]
