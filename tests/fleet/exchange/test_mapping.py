"""A spreadsheet of a fleet kept by hand becomes a fleet folder, column by column; no database."""

import openpyxl
import pytest

from fleet.exchange.foreign import Table, read_table
from fleet.exchange.guessing import guess_targets
from fleet.exchange.mapping import (
    Match,
    Target,
    doubtful_days,
    doubtful_sizes,
    lacking,
    map_table,
    target_of,
    told_manners,
)
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
    made = map_table(table(*ROWS), of_header({"machines.site": "yard"}))
    files = made.files
    assert made.clashes == [] and made.without_design == {}
    assert made.lines == {"machines": [2], "positions": [2, 3], "installations": [2, 3], "sites": [2]}
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
    files = map_table(sheet, asked).files
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
    (clash,) = map_table(table(["EX-1", "yard"], ["EX-1", "pit"], header=["M", "S"]), asked).clashes
    assert (clash.key, clash.column, clash.one, clash.other, clash.line) == ("EX-1", "site", "yard", "pit", 3)


def days(*texts: str) -> Table:
    return table(*(["EX-1", text] for text in texts), header=["M", "D"])


READINGS = {"M": "meter_readings.machine", "D": "meter_readings.read_on"}


def test_a_day_that_may_be_two_days_is_asked_about():
    assert doubtful_days(days("03/04/2026", "04/04/2026"), match(**READINGS)) == ["03/04/2026"]


@pytest.mark.parametrize(("deciding", "told"), [("31/05/2026", "day first"), ("05/31/2026", "month first")])
def test_how_days_are_read_is_told_with_the_day_that_decides(deciding, told):
    sheet = days("03/04/2026", deciding)
    assert told_manners(sheet, match(**READINGS)) == {
        "D": f"Days are read {told}: {deciding} under D can be read no other way."
    }
    undecided = days("03/04/2026"), match(**READINGS)
    assert told_manners(*undecided) == {}
    chosen = days("03/04/2026"), match(day_order="day", **READINGS)
    assert told_manners(*chosen) == {"D": "Days are read day first, as was chosen."}


def test_days_of_both_orders_in_one_sheet_are_asked_about():
    sheet = days("03/04/2026", "31/05/2026", "05/31/2026")
    assert doubtful_days(sheet, match(**READINGS)) == ["03/04/2026"]


@pytest.mark.parametrize(("deciding", "read"), [("31/05/2026", "2026-04-03"), ("05/31/2026", "2026-03-04")])
def test_one_day_that_can_be_read_one_way_decides_for_all(deciding, read):
    sheet, asked = days("03/04/2026", deciding), match(day_order="day", **READINGS)
    assert doubtful_days(sheet, asked) == []
    assert map_table(sheet, asked).files["meter_readings"][1][1] == read


def test_a_number_with_another_unit_is_left_for_the_reader_to_refuse():
    asked = match(M="machines.machine", P="positions.working_pressure_psi", H="positions.position")
    made = map_table(table(["EX-1", "240 bar", "boom"], header=["M", "P", "H"]), asked)
    assert "240 bar" in made.files["positions"][1]


@pytest.mark.parametrize("blank", [" ", "\u00a0", "\u202f"])
def test_a_blank_may_stand_in_a_figure_whatever_its_width(blank):
    asked = match(M="machines.machine", B="positions.working_pressure_bar", P="positions.position")
    made = map_table(table(["EX-1", f"1{blank}200,50", "boom"], header=["M", "B", "P"]), asked)
    assert made.files["positions"][1] == ["EX-1", "boom", "1200.50"]
    (day,) = map_table(days(f"31.{blank}05.{blank}2026"), match(**READINGS)).files["meter_readings"][1:]
    assert day[:2] == ["EX-1", "2026-05-31"]
    assert dashes(f"1{blank}1/4") == ["20"]


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


DESIGN = {
    "M": "machines.machine",
    "P": "positions.position",
    "T": "parts.construction",
    "S": "parts.dash",
    "L": "designs.overall_length_mm",
    "A": "designs.end_a_part",
    "B": "designs.end_b_part",
}


def dashes(*sizes: str) -> list[str]:
    """The dash sizes that a column of sizes gives, in its order."""
    rows = [["EX-1", f"p{place}", "2SN", size, str(place), "E", "E"] for place, size in enumerate(sizes)]
    files = map_table(table(*rows, header=list(DESIGN)), match({"machines.site": "yard"}, **DESIGN)).files
    header, *parts = files["parts"]
    hoses = [dict(zip(header, part, strict=True)) for part in parts]
    return [hose["dash"] for hose in hoses if hose["kind"] == "bulk_hose"]


def test_sizes_in_inches_are_read_as_dash():
    """A dash counts sixteenths of an inch of bore."""
    assert dashes("1/2", "3/4", "1 1/4", "1", "2") == ["8", "12", "20", "16", "32"]
    assert dashes('1/4"', "3/8 in", "1-1/2", "½", "1¼", '5/8"') == ["4", "6", "24", "8", "20", "10"]
    assert dashes("0.5", "1,25", ".75") == ["8", "20", "12"]


def test_sizes_in_dash_stay_so_and_are_no_inches():
    assert dashes("-08", "8", "16", "1") == ["8", "16", "1"]
    assert dashes("1/2", "-12", "-4") == ["8", "12", "4"]


def doubts(*sizes: str) -> list[str]:
    """What of the sizes of a column is in doubt, and why."""
    sheet = table(*(["2SN", size] for size in sizes), header=["T", "S"])
    return doubtful_sizes(sheet, match(T="parts.construction", S="parts.dash"))


@pytest.mark.parametrize("bare", ["4", "04", "8", "16"])
def test_a_bare_figure_beside_inches_that_may_be_a_dash_is_in_doubt(bare):
    assert doubts("1/2", bare) == [
        f"{bare} under S stands beside sizes in inches and may be a dash. Write inches as 1/4 or 4 in and a "
        "dash as -4, or give dash a column of its own."
    ]
    assert doubts(bare) == [], "a column of dashes is in no doubt"
    assert doubts("1/2", "4 in", "-4", "3", "¾") == [], "each of them is inches or dash for certain"


@pytest.mark.parametrize("size", ["12.5", "6,3", "31.5", "5 in", "4 1/2", "72", "-72"])
def test_a_size_that_no_hose_has_is_in_doubt(size):
    """Bores in mm are no inches: 12.5 would be dash 200."""
    assert doubts(size) == [
        f"{size} under S is no size of a hose: they end at 4 in, which is dash 64. A bore in mm is matched "
        "to parts.bore_mm."
    ]


def test_a_suction_hose_has_four_inches():
    assert dashes("4 in", '3 1/2"', "1/2") == ["64", "56", "8"] and dashes("64") == ["64"]


def test_how_sizes_in_inches_are_read_is_told():
    sheet = table(["EX-1", "boom", "2SN", "1/2", "900", "E", "E"], header=list(DESIGN))
    assert told_manners(sheet, match(**DESIGN)) == {"S": "Read in inches: 1/2 is dash 8."}


@pytest.mark.parametrize("word", ["not known", "Unknown", "n/a", "N.A.", "none", "-", "–", "?", "??"])
def test_a_word_for_not_known_makes_no_part_of_that_name(word):
    asked = match(
        {"machines.site": "yard", "designs.end_b_part": word},
        **{name: code for name, code in DESIGN.items() if name != "B"},
    )
    assert [one.code for one in lacking(asked)] == ["designs.end_b_part"]
    sheet = table(["EX-1", "boom", "2SN", "8", "900", word, "E"], header=list(DESIGN))
    made = map_table(sheet, match({"machines.site": "yard"}, **DESIGN))
    assert "parts" not in made.files and made.without_design == {2: ("EX-1", "boom")}


def test_a_cause_that_is_not_known_is_told_as_such():
    asked = match(
        {"machines.site": "yard"},
        M="machines.machine",
        P="positions.position",
        I="installations.installed_on",
        R="installations.removed_on",
        C="installations.removal_cause",
    )
    sheet = table(["EX-1", "boom", "2023-05-31", "2024-05-31", "Unknown"], header=["M", "P", "I", "R", "C"])
    assert "unknown" in map_table(sheet, asked).files["installations"][1]


@pytest.mark.parametrize("told", [["2SN", "8", "900", "", ""], [""] * 5])
@pytest.mark.parametrize("order", [1, -1])
def test_a_hose_without_a_design_gets_none_of_another_hose_of_its_place(told, order):
    columns = DESIGN | {"I": "installations.installed_on"}
    rows = [
        ["EX-1", "boom", "4SP", "8", "900", "E", "E", "2020-01-01"],
        ["EX-1", "boom", *told, "2023-01-01"],
    ]
    sheet = table(*rows[::order], header=list(columns))
    made = map_table(sheet, match({"machines.site": "yard"}, **columns))
    assert made.files["positions"][1:] == [["EX-1", "boom", ""]]
    designs = [row[3] for row in made.files["installations"][1:]]
    assert designs[::order] == ["4SP 8 E E 900", ""]
    assert made.without_design == {3 if order == 1 else 2: ("EX-1", "boom")}


def test_a_row_that_does_not_tell_all_of_its_design_goes_in_without_one():
    whole = ["EX-1", "boom", "2SN", "8", "900", "E", "E"]
    without_end = ["EX-1", "stick", "2SN", "8", "900", "", "E"]
    asked = match({"machines.site": "yard"}, **DESIGN)
    made = map_table(table(whole, without_end, header=list(DESIGN)), asked)
    assert made.without_design == {3: ("EX-1", "stick")}
    assert made.files["positions"] == [
        ["machine", "position", "design"],
        ["EX-1", "boom", "2SN 8 E E 900"],
        ["EX-1", "stick", ""],
    ]
    assert len(made.files["designs"]) == 2 and len(made.files["parts"]) == 3
