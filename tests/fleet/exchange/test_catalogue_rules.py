"""One mistake a test in what is named, drawn and set, in an otherwise sound fleet: the whole sentence."""

import pytest

from tests.fleet.builders import fleet_files

from .reports import read_files, told, with_mistake

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
    "successor of another kind": (
        "parts",
        2,
        {"superseded_by": "E-JIC-06"},
        [
            "warning: parts.csv, row 2, superseded_by: H-2SN-06 is bulk hose, and E-JIC-06, which is to take "
            "its place, is a hose end: it stands in for nothing. Name a part of the same kind, or mend the "
            "kind.",
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
    "failure of millions cheaper than a planned changeout of as many": (
        "positions",
        2,
        {"failure_cost": "2000000", "planned_cost": "2000001"},
        [
            "warning: positions.csv, row 2, failure_cost: A failure at EX-01 boom left costs 2000000, "
            "less than a planned changeout, 2000001. Enter what one failure costs in all, the new "
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
    "setting beyond all measure": (
        "settings",
        2,
        {"name": "holding_rate_per_year", "value": "20"},
        [
            "error: settings.csv, row 2, value: 20 is above 10, the most that holding_rate_per_year may be. "
            "Enter 10 at most.",
        ],
    ),
    "standby budget of a large fleet in a currency with large figures": (
        "settings",
        2,
        {"name": "standby_budget", "value": "50000000000"},
        [],
    ),
    "scope of what is not critical": (
        "policies",
        3,
        {"scope": "critical:no"},
        ["error: policies.csv, row 3, scope: critical:no is no scope. Did you mean critical:yes?"],
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


@pytest.mark.parametrize("name", MISTAKES)
def test_a_mistake_is_told_with_its_place_and_what_would_be_right(tmp_path, name):
    file, line, cells, expected = MISTAKES[name]
    assert told(read_files(tmp_path, with_mistake(file, line, cells))) == expected


def test_a_sound_folder_has_no_findings(tmp_path):
    assert told(read_files(tmp_path, fleet_files())) == []


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
