"""One mistake a test in what happened and when, in an otherwise sound fleet: the whole sentence."""

import pytest

from .reports import read_files, told, with_mistake

# (file, line as a spreadsheet counts, {column: what is entered}), and all that the reading then says.
MISTAKES = {
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
}


@pytest.mark.parametrize("name", MISTAKES)
def test_a_mistake_is_told_with_its_place_and_what_would_be_right(tmp_path, name):
    file, line, cells, expected = MISTAKES[name]
    assert told(read_files(tmp_path, with_mistake(file, line, cells))) == expected


def test_nobody_in_particular_accepts_what_goes_onto_a_critical_position(tmp_path):
    files = with_mistake("builds", 2, {"built_by": ""})
    files["installations"][1]["crimped_by"] = ""
    assert told(read_files(tmp_path, files)) == [
        "error: builds.csv, row 2, built_by: A-2 was accepted for EX-01 boom left, which is critical, "
        "by nobody named. Enter who built and accepted it, or leave accepted empty.",
    ]
