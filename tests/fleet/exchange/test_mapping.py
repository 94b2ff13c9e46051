"""A spreadsheet of a fleet kept by hand becomes a fleet folder, column by column; no database."""

import openpyxl
import pytest

from fleet.exchange.foreign import Table, read_table
from fleet.exchange.guessing import guess_targets
from fleet.exchange.mapping import Match, Target, doubtful_days, lacking, map_table, target_of
from tests.fleet.exchange.reports import read_files

METRIC = {"pressure": "bar", "length": "mm", "temperature": "c"}
HEADER = ["Machine no.", "Hose position", "Fitted", "Size", "Pressure (psi)"]
ROWS = [
    ["EX-1", "boom left", "31.05.2023", "-8", "3,500"],
    ["EX-1", "boom right", "2024-02-01", "-08", "3500"],
]


def table(*rows: list[str], header: list[str] = HEADER) -> Table:
    return Table("fleet", ["fleet"], header, [*rows], 2)


def match(constants: dict[str, str] | None = None, day_order: str = "", **columns: str) -> Match:
    """A match of columns named after what they hold, `machine="machines.machine"`."""
    targets = {header: target for header, code in columns.items() if (target := target_of(code))}
    return Match(targets, constants or {}, day_order)


def of_header(constants: dict[str, str] | None = None) -> Match:
    return Match(guess_targets(HEADER, METRIC), constants or {})


def test_the_headers_of_a_hand_kept_sheet_are_guessed_with_their_units():
    assert guess_targets(HEADER, METRIC) == {
        "Machine no.": Target("machines", "machine"),
        "Hose position": Target("positions", "position"),
        "Fitted": Target("installations", "installed_on"),
        "Pressure (psi)": Target("positions", "working_pressure_psi"),
    }


def test_a_size_is_guessed_where_a_design_can_hold_it():
    guessed = guess_targets(["Hose", "Size", "Length mm", "End A", "End B"], METRIC)
    assert guessed["Size"] == Target("parts", "dash")
    assert guessed["Length mm"] == Target("designs", "overall_length_mm")


def test_what_must_stand_and_no_column_gives_is_asked_for():
    assert [one.code for one in lacking(of_header())] == ["machines.site"]
    assert lacking(of_header({"machines.site": "yard"})) == []


def test_one_sheet_feeds_machines_positions_and_installations(tmp_path):
    files, clashes = map_table(table(*ROWS), of_header({"machines.site": "yard"}))
    assert clashes == []
    assert files["sites"] == [["site"], ["yard"]]
    assert files["machines"] == [["machine", "site"], ["EX-1", "yard"]]
    assert files["positions"][1:] == [["EX-1", "boom left", "3500"], ["EX-1", "boom right", "3500"]]
    assert files["installations"][1] == [
        "EX-1 boom left 2023-05-31", "EX-1", "boom left", "2023-05-31",
    ]  # fmt: skip
    rows = {name: [dict(zip(rows[0], row, strict=True)) for row in rows[1:]] for name, rows in files.items()}
    assert [one for one in read_files(tmp_path, rows) if one.severity == "error"] == []


def test_designs_and_their_parts_come_out_of_the_same_rows():
    asked = match(
        {"machines.site": "yard", "designs.end_b_part": "JIC-08"},
        M="machines.machine",
        P="positions.position",
        T="parts.construction",
        S="parts.dash",
        L="designs.overall_length_in",
        A="designs.end_a_part",
    )
    sheet = table(["EX-1", "boom", "2SN", "-08", "36", "ORFS-08"], header=["M", "P", "T", "S", "L", "A"])
    assert lacking(asked) == []
    files, _ = map_table(sheet, asked)
    assert files["designs"][1] == ["2SN 8 ORFS-08 JIC-08 36", "2SN 8", "ORFS-08", "JIC-08", "36"]
    assert files["positions"][1] == ["EX-1", "boom", "2SN 8 ORFS-08 JIC-08 36"]
    assert files["parts"] == [
        ["part", "kind", "construction", "dash"],
        ["2SN 8", "bulk_hose", "2SN", "8"],
        ["ORFS-08", "hose_end", "", ""],
        ["JIC-08", "hose_end", "", ""],
    ]


def test_rows_that_say_different_things_of_one_machine_are_told():
    asked = match(M="machines.machine", S="machines.site")
    _, (clash,) = map_table(table(["EX-1", "yard"], ["EX-1", "pit"], header=["M", "S"]), asked)
    assert (clash.key, clash.column, clash.one, clash.other, clash.line) == ("EX-1", "site", "yard", "pit", 3)


def days(*texts: str) -> Table:
    return table(*(["EX-1", text] for text in texts), header=["M", "D"])


READINGS = {"M": "meter_readings.machine", "D": "meter_readings.read_on"}


def test_a_day_that_may_be_two_days_is_asked_about():
    assert doubtful_days(days("03/04/2026", "04/04/2026"), match(**READINGS)) == ["03/04/2026"]


@pytest.mark.parametrize(("deciding", "read"), [("31/05/2026", "2026-04-03"), ("05/31/2026", "2026-03-04")])
def test_one_day_that_can_be_read_one_way_decides_for_all(deciding, read):
    sheet, asked = days("03/04/2026", deciding), match(day_order="day", **READINGS)
    assert doubtful_days(sheet, asked) == []
    assert map_table(sheet, asked)[0]["meter_readings"][1][1] == read


def test_a_number_with_another_unit_is_left_for_the_reader_to_refuse():
    asked = match(M="machines.machine", P="positions.working_pressure_psi", H="positions.position")
    files, _ = map_table(table(["EX-1", "240 bar", "boom"], header=["M", "P", "H"]), asked)
    assert "240 bar" in files["positions"][1]


def test_a_header_may_stand_below_a_title_and_cells_be_parted_by_semicolons(tmp_path):
    path = tmp_path / "hoses.csv"
    path.write_text("Our hoses;;\n\nMachine;Fitted;Bar\nEX-1;31.05.2026;12,5\n", encoding="utf-8")
    read = read_table(path)
    assert (read.header, read.rows, read.first_line) == (
        ["Machine", "Fitted", "Bar"],
        [["EX-1", "31.05.2026", "12,5"]],
        4,
    )


def test_a_workbook_names_its_sheets_and_gives_the_one_asked_for(tmp_path):
    book = openpyxl.Workbook()
    book.active.append(["Machine", "Site"])
    book.create_sheet("Hours").append(["Machine", "Day", "Hours"])
    book.save(tmp_path / "fleet.xlsx")
    read = read_table(tmp_path / "fleet.xlsx", "Hours")
    assert (read.titles, read.header) == (["Sheet", "Hours"], ["Machine", "Day", "Hours"])
