"""One mistake a test, in an otherwise sound fleet: the whole sentence, with its file and line."""

import pytest

from tests.fleet.builders import Files, fleet_files

from .reports import read_files, told

# (file, line as a spreadsheet counts, {column: what is entered}), and all that the reading then says.
MISTAKES = {
    "unknown key": (
        "machines",
        3,
        {"site": "Nort pit"},
        [
            "error: machines.csv, row 3, site: Nort pit is not in sites. Did you mean North pit?",
        ],
    ),
    "unknown position of a known machine": (
        "installations",
        2,
        {"position": "boom lefft"},
        [
            "error: installations.csv, row 2, position: EX-01 has no position boom lefft. Did you "
            "mean boom left?",
        ],
    ),
    "unknown machine is told once": (
        "installations",
        2,
        {"machine": "EX-99"},
        [
            "error: installations.csv, row 2, machine: EX-99 is not in machines. Did you mean EX-01?",
        ],
    ),
    "unknown part": (
        "designs",
        2,
        {"end_a_part": "E-JIC-6"},
        [
            "error: designs.csv, row 2, end_a_part: E-JIC-6 is not in parts. Did you mean E-JIC-06?",
        ],
    ),
    "key twice": (
        "sites",
        3,
        {"site": "North pit"},
        [
            "error: sites.csv, row 3, site: North pit stands in row 2 already. Keep one row for it.",
        ],
    ),
    "retired before commissioned": (
        "machines",
        2,
        {"retired_on": "2019-01-01"},
        [
            "error: machines.csv, row 2, retired_on: retired_on 2019-01-01 is before commissioned_on "
            "2020-05-01. Enter 2020-05-01 or later, or mend commissioned_on.",
            "warning: installations.csv, row 2, installed_on: A-1 went onto EX-01 on 2022-03-01, "
            "after the machine was retired on 2019-01-01. Mend installed_on or retired_on.",
            "warning: installations.csv, row 3, installed_on: A-2 went onto EX-01 on 2023-05-04, "
            "after the machine was retired on 2019-01-01. Mend installed_on or retired_on.",
            "warning: installations.csv, row 4, installed_on: A-3 went onto EX-01 on 2021-06-01, "
            "after the machine was retired on 2019-01-01. Mend installed_on or retired_on.",
        ],
    ),
    "removed before installed": (
        "installations",
        2,
        {"removed_on": "2022-02-28"},
        [
            "error: installations.csv, row 2, removed_on: removed_on 2022-02-28 is before "
            "installed_on 2022-03-01. Enter 2022-03-01 or later, or mend installed_on.",
        ],
    ),
    "built after installed": (
        "installations",
        2,
        {"built_on": "2022-03-02"},
        [
            "error: installations.csv, row 2, installed_on: installed_on 2022-03-01 is before "
            "built_on 2022-03-02. Enter 2022-03-02 or later, or mend built_on.",
        ],
    ),
    "hose made after built": (
        "installations",
        2,
        {"hose_made_on": "2022-02-21"},
        [
            "error: installations.csv, row 2, built_on: built_on 2022-02-20 is before hose_made_on "
            "2022-02-21. Enter 2022-02-21 or later, or mend hose_made_on.",
        ],
    ),
    "build after installed": (
        "builds",
        2,
        {"built_on": "2023-05-05"},
        [
            "error: builds.csv, row 2, built_on: builds.csv says built_on 2023-05-05 of A-2, "
            "installations.csv says built_on 2023-04-30. Both must say the same: mend the one that "
            "is wrong.",
        ],
    ),
    "window ends before it starts": (
        "service_windows",
        2,
        {"ends_on": "2024-02-29"},
        [
            "error: service_windows.csv, row 2, ends_on: ends_on 2024-02-29 is before starts_on "
            "2024-03-01. Enter 2024-03-01 or later, or mend starts_on.",
        ],
    ),
    "labour ends before it starts": (
        "site_labour",
        2,
        {"ends_on": "2024-02-29"},
        [
            "error: site_labour.csv, row 2, ends_on: ends_on 2024-02-29 is before starts_on "
            "2024-03-01. Enter 2024-03-01 or later, or mend starts_on.",
        ],
    ),
    "reading to come": (
        "meter_readings",
        6,
        {"read_on": "2024-02-10", "hours": "5500"},
        [
            "warning: meter_readings.csv, row 6, read_on: 2024-02-10 is after today, 2024-02-01. "
            "Until that day it counts as not yet happened.",
        ],
    ),
    "slip of the year": (
        "meter_readings",
        6,
        {"read_on": "2042-01-10"},
        [
            "error: meter_readings.csv, row 6, read_on: 2042-01-10 is after today, 2024-02-01. Enter "
            "the day on which it happened.",
            "warning: machines.csv, row 2, machine: The meter of EX-01 was last read on 2024-01-10, "
            "over a year before 2042-01-10, the last day the register tells of. Read the meter, or "
            "enter its last day in the column retired_on if the machine is gone.",
            "warning: meter_readings.csv, row 6, read_on: Nobody read the meter of WL-02 for 6798 "
            "days, from 2023-06-01 to 2042-01-10. Enter a reading between them if there is one.",
        ],
    ),
    "inspected before built": (
        "inspections",
        2,
        {"inspected_on": "2023-01-01"},
        [
            "error: inspections.csv, row 2, inspected_on: A-2 was built on 2023-04-30, after this "
            "inspection. Enter 2023-04-30 or later.",
        ],
    ),
    "inspected before installed": (
        "inspections",
        2,
        {"inspected_on": "2023-05-02"},
        [
            "warning: inspections.csv, row 2, inspected_on: A-2 was not installed on that day. Look "
            "up the day or the assembly.",
        ],
    ),
    "two at once": (
        "installations",
        3,
        {"installed_on": "2023-05-03"},
        [
            "error: installations.csv, row 3, installed_on: A-2 went onto EX-01 boom left on "
            "2023-05-03 while A-1, installed on 2022-03-01, was there until 2023-05-04. Enter when "
            "A-1 came off, or mend the position or a day.",
        ],
    ),
    "two at once, both still there": (
        "installations",
        4,
        {"position": "boom left"},
        [
            "error: installations.csv, row 2, installed_on: A-1 went onto EX-01 boom left on "
            "2022-03-01 while A-3, installed on 2021-06-01, was there. Enter when A-3 came off, or "
            "mend the position or a day.",
            "error: installations.csv, row 3, installed_on: A-2 went onto EX-01 boom left on "
            "2023-05-04 while A-3, installed on 2021-06-01, was there. Enter when A-3 came off, or "
            "mend the position or a day.",
        ],
    ),
    "cause without removal": (
        "installations",
        3,
        {"removal_cause": "worn"},
        [
            "error: installations.csv, row 3, removal_cause: A-2 has a removal_cause but no "
            "removed_on. Enter the day it came off, or empty the cell.",
        ],
    ),
    "removal without cause": (
        "installations",
        2,
        {"removal_cause": ""},
        [
            "warning: installations.csv, row 2, removal_cause: A-1 was removed without a cause. "
            "Enter failed, worn, planned, damaged, machine_retired, unknown; without one it counts "
            "as unknown.",
        ],
    ),
    "installed before commissioning": (
        "installations",
        4,
        {"installed_on": "2020-04-30"},
        [
            "warning: installations.csv, row 4, installed_on: A-3 went onto EX-01 on 2020-04-30, "
            "before the machine was commissioned on 2020-05-01. Mend installed_on or commissioned_on.",
        ],
    ),
    "installed after retirement": (
        "machines",
        2,
        {"retired_on": "2023-05-01"},
        [
            "warning: installations.csv, row 3, installed_on: A-2 went onto EX-01 on 2023-05-04, "
            "after the machine was retired on 2023-05-01. Mend installed_on or retired_on.",
        ],
    ),
    "files disagree on the lot": (
        "builds",
        2,
        {"hose_lot": "L-9"},
        [
            "error: builds.csv, row 2, hose_lot: builds.csv says hose_lot L-9 of A-2, "
            "installations.csv says hose_lot L-8. Both must say the same: mend the one that is wrong.",
        ],
    ),
    "files disagree on the design": (
        "builds",
        2,
        {"design": "D-200"},
        [
            "error: builds.csv, row 2, design: builds.csv says design D-200 of A-2, "
            "installations.csv says design D-100. Both must say the same: mend the one that is wrong.",
        ],
    ),
    "files disagree on who crimped": (
        "installations",
        3,
        {"crimped_by": "bench 3"},
        [
            "error: builds.csv, row 2, built_by: builds.csv says built_by bench 2 of A-2, "
            "installations.csv says crimped_by bench 3. Both must say the same: mend the one that is "
            "wrong.",
        ],
    ),
    "hours backward": (
        "meter_readings",
        3,
        {"hours": "5199"},
        [
            "error: meter_readings.csv, row 3, hours: The meter of EX-01 showed 5200 h on 2023-01-10 "
            "and 5199 h on 2023-07-10. Mend the hours, or enter yes in the column meter_replaced where "
            "a new meter starts.",
        ],
    ),
    "new meter not said": (
        "meter_readings",
        4,
        {"meter_replaced": ""},
        [
            "error: meter_readings.csv, row 4, hours: The meter of EX-01 showed 6600.5 h on "
            "2023-07-10 and 12 h on 2024-01-10. Mend the hours, or enter yes in the column "
            "meter_replaced where a new meter starts.",
        ],
    ),
    "over 24 hours a day": (
        "meter_readings",
        3,
        {"hours": "9600"},
        [
            "error: meter_readings.csv, row 3, hours: EX-01 cannot have run 4,400 h in the 181 days "
            "from 2023-01-10 to 2023-07-10. A day has 24 hours: enter 9544 at most, or mend the "
            "reading before.",
        ],
    ),
    "hours backward within a stay": (
        "installations",
        2,
        {"removed_hours": "2899"},
        [
            "error: installations.csv, row 2, removed_hours: The meter of EX-01 showed 2900 h when "
            "A-1 went on and 2899 h when it came off. Mend the hours, or enter the reading at which "
            "a new meter starts, with yes in the column meter_replaced.",
        ],
    ),
    "over 24 hours a day within a stay": (
        "installations",
        2,
        {"removed_hours": "99000"},
        [
            "error: installations.csv, row 2, removed_hours: EX-01 cannot have run 96,100 h in the "
            "429 days that A-1 was on it. A day has 24 hours: mend installed_hours, removed_hours or "
            "the days.",
        ],
    ),
    "nobody read for a year": (
        "meter_readings",
        5,
        {"read_on": "2022-06-01"},
        [
            "warning: meter_readings.csv, row 6, read_on: Nobody read the meter of WL-02 for 588 "
            "days, from 2022-06-01 to 2024-01-10. Enter a reading between them if there is one.",
        ],
    ),
    "end does not fit the hose": (
        "parts",
        3,
        {"dash": "8"},
        [
            "error: crimp_specs.csv, row 2, end_part: E-JIC-06 is dash 8 and does not fit H-2SN-06, "
            "dash 6. Name an end of dash 6; the size of its other side is its connection_dash.",
            "error: designs.csv, row 2, end_a_part: E-JIC-06 is dash 8 and does not fit H-2SN-06, "
            "dash 6. Name an end of dash 6; the size of its other side is its connection_dash.",
            "error: designs.csv, row 2, end_b_part: E-JIC-06 is dash 8 and does not fit H-2SN-06, "
            "dash 6. Name an end of dash 6; the size of its other side is its connection_dash.",
            "error: designs.csv, row 3, end_a_part: E-JIC-06 is dash 8 and does not fit H-2SN-06, "
            "dash 6. Name an end of dash 6; the size of its other side is its connection_dash.",
            "error: designs.csv, row 3, end_b_part: E-JIC-06 is dash 8 and does not fit H-2SN-06, "
            "dash 6. Name an end of dash 6; the size of its other side is its connection_dash.",
        ],
    ),
    "hose where an end belongs": (
        "designs",
        3,
        {"end_b_part": "H-2SN-06"},
        [
            "error: designs.csv, row 3, end_b_part: H-2SN-06 is bulk hose, not a hose end. Name a "
            "hose end there, or mend the part's kind.",
        ],
    ),
    "end where a ferrule belongs": (
        "design_parts",
        2,
        {"part": "E-JIC-06"},
        [
            "error: design_parts.csv, row 2, part: E-JIC-06 is a hose end, not a ferrule, a sleeve "
            "or an adapter. Name a ferrule, a sleeve or an adapter there, or mend the part's kind.",
        ],
    ),
    "cut-offs longer than the assembly": (
        "designs",
        2,
        {"overall_length_in": "3.5"},
        [
            "error: designs.csv, row 2, overall_length_in: The cut-offs of E-JIC-06 and E-JIC-06 "
            "make 88.9 mm of 88.9 mm over all: no hose is left between them. Mend the length or the "
            "cut-offs.",
        ],
    ),
    "hose by the piece": (
        "parts",
        2,
        {"unit": "each"},
        [
            "error: parts.csv, row 2, unit: H-2SN-06 is bulk hose, which is counted in metres. Enter metre.",
        ],
    ),
    "temperatures crossed": (
        "parts",
        2,
        {"minimum_temperature_c": "120"},
        [
            "error: parts.csv, row 2, minimum_temperature_c: The lowest temperature of H-2SN-06, 120 "
            "°C, is above its highest, 100 °C. Mend the one that is wrong.",
        ],
    ),
    "successors in a circle": (
        "parts",
        6,
        {"superseded_by": "S-06"},
        [
            "error: parts.csv, row 5, superseded_by: The parts that take the place of S-06 lead in a "
            "circle. Leave the cell empty for the part that is bought now.",
            "error: parts.csv, row 6, superseded_by: The parts that take the place of S-06N lead in "
            "a circle. Leave the cell empty for the part that is bought now.",
        ],
    ),
    "psi in a bar column": (
        "parts",
        2,
        {"rated_pressure_psi": "480"},
        [
            "warning: parts.csv, row 2, rated_pressure_psi: 33.1 bar is less than a third of the 330 "
            "bar that EN 853 2SN dash 6 is commonly rated at. Look whether the column's unit is the "
            "right one.",
        ],
    ),
    "band of a caliper, not of a chart": (
        "crimp_specs",
        2,
        {"crimp_over_in": "0.012"},
        [
            "warning: crimp_specs.csv, row 2, crimp_over_in: A crimp band of 0.3048 mm is wider than "
            "the 0.25 mm that charts give. Look the band up in the chart.",
        ],
    ),
    "failure cheaper than a planned changeout": (
        "positions",
        2,
        {"failure_cost": "100"},
        [
            "warning: positions.csv, row 2, failure_cost: A failure at EX-01 boom left costs 100, "
            "less than a planned changeout, 120. Enter what one failure costs in all, the new "
            "assembly and the standstill included.",
        ],
    ),
    "peak below working pressure": (
        "positions",
        2,
        {"peak_pressure_psi": "3400"},
        [
            "warning: positions.csv, row 2, peak_pressure_psi: The peak pressure at EX-01 boom left "
            "is below its working pressure. Enter the highest pressure, surges included.",
        ],
    ),
    "unknown setting": (
        "settings",
        2,
        {"name": "curency"},
        [
            "error: settings.csv, row 2, name: curency is no setting. Did you mean currency?",
        ],
    ),
    "setting without sense": (
        "settings",
        3,
        {"value": "psig"},
        [
            "error: settings.csv, row 3, value: psig is no pressure_unit. Enter bar or psi or mpa.",
        ],
    ),
    "scope that is none": (
        "policies",
        3,
        {"scope": "postion:EX-01/boom left"},
        [
            "error: policies.csv, row 3, scope: postion:EX-01/boom left is no scope. Did you mean "
            "position:EX-01/boom left?",
        ],
    ),
    "scope that names nothing": (
        "policies",
        3,
        {"scope": "position:EX-01/boom"},
        [
            "error: policies.csv, row 3, scope: No position is named EX-01/boom. Did you mean "
            "position:EX-01/boom left?",
        ],
    ),
}


def with_mistake(file: str, line: int, cells: dict[str, str]) -> Files:
    files = fleet_files()
    rows = files[file]
    if line - 2 == len(rows):
        rows.append({})
    rows[line - 2] |= cells
    return files


@pytest.mark.parametrize("name", MISTAKES)
def test_a_mistake_is_told_with_its_place_and_what_would_be_right(tmp_path, name):
    file, line, cells, expected = MISTAKES[name]
    assert told(read_files(tmp_path, with_mistake(file, line, cells))) == expected


def test_a_sound_folder_has_no_findings(tmp_path):
    assert told(read_files(tmp_path, fleet_files())) == []


def test_nobody_in_particular_accepts_what_goes_onto_a_critical_position(tmp_path):
    files = with_mistake("builds", 2, {"built_by": ""})
    files["installations"][1]["crimped_by"] = ""
    assert told(read_files(tmp_path, files)) == [
        "error: builds.csv, row 2, built_by: A-2 was accepted for EX-01 boom left, which is critical, "
        "by nobody named. Enter who built and accepted it, or leave accepted empty.",
    ]


def test_a_key_of_a_file_that_was_not_sent_is_looked_for_in_the_register(tmp_path):
    reading = {"machine": "XX-99", "read_on": "2024-01-10", "hours": "12"}
    (finding,) = told(read_files(tmp_path / "alone", {"meter_readings": [reading]}))
    assert finding.endswith(
        "XX-99 is not in machines. There are none yet: enter the register's machines first."
    )
    files = with_mistake("meter_readings", 3, {"machine": "XX-99"})
    assert any(
        "Enter one of those in machines.csv: EX-01" in one for one in told(read_files(tmp_path, files))
    )
