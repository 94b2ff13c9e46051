"""What a folder would change is told cell by cell, as people wrote it; no database."""

import pandas as pd

from fleet.exchange.assemblies import ASSEMBLIES
from fleet.exchange.cells import read_cells
from fleet.exchange.differences import Change, digest_of, list_differences
from fleet.exchange.findings import Findings
from fleet.exchange.merging import Fleet, merge_folder
from fleet.exchange.reading import read_rows
from fleet.exchange.schema import FILES
from fleet.exchange.tables import fit_table

MACHINES = [["machine", "site"], ["EX-1", "yard"]]
POSITIONS = [["machine", "position", "working_pressure_psi"], ["EX-1", "boom", "3500"], ["EX-1", "arm", ""]]
STAYS = [["assembly", "machine", "position", "installed_on"], ["A-1", "EX-1", "boom", "2024-03-01"]]
STANDS = {"machines": MACHINES, "positions": POSITIONS, "installations": STAYS}


def laid_over(standing: dict[str, pd.DataFrame], tables: dict[str, list[list[str]]]) -> Fleet:
    findings = Findings()
    folder = read_rows(tables, "{}", findings)
    incoming = {name: read_cells(sheet, findings) for name, sheet in folder.sheets.items()}
    assert not findings.listed()
    return merge_folder(standing, incoming, folder)


def empty_register() -> dict[str, pd.DataFrame]:
    return {
        file.name: fit_table(None, file).assign(id=0).astype({"id": "int64"}) for file in (*FILES, ASSEMBLIES)
    }


def register() -> dict[str, pd.DataFrame]:
    """A register in which STANDS was stored."""
    stored = laid_over(empty_register(), STANDS).tables
    return {name: rows.assign(id=range(1, len(rows) + 1)) for name, rows in stored.items()}


def test_a_folder_into_an_empty_register_is_all_new():
    counts = {
        one.file: (one.created, one.changed) for one in list_differences(laid_over(empty_register(), STANDS))
    }
    assert counts == {"machines": (1, 0), "positions": (2, 0), "installations": (1, 0)}


def test_a_changed_measure_is_told_in_the_unit_it_was_written_in():
    rows = [POSITIONS[0], ["EX-1", "boom", "4000"], ["EX-1", "arm", "3000"]]
    (positions,) = list_differences(laid_over(register(), {"positions": rows}))
    assert positions.first_changes == [
        Change("EX-1, arm", "working_pressure", "", "3000 psi"),
        Change("EX-1, boom", "working_pressure", "3500 psi", "4000 psi"),
    ]


def test_a_removal_shows_as_a_changed_installation():
    rows = [[*STAYS[0], "removed_on", "removal_cause"], [*STAYS[1], "2024-05-01", "failed"]]
    (stays,) = list_differences(laid_over(register(), {"installations": rows}))
    assert (stays.changed, stays.changes) == (1, 2)
    assert Change("A-1", "removed_on", "", "2024-05-01") in stays.first_changes


def test_only_the_first_rows_are_told_and_the_rest_counted():
    rows = [MACHINES[0], *([f"M-{number:02}", "yard"] for number in range(30))]
    (machines,) = list_differences(laid_over(register(), {"machines": rows}))
    assert machines.created == 30 and len(machines.first_created) == 20


def test_the_digest_hangs_on_no_order_of_rows_but_on_what_stood_before():
    rows = [POSITIONS[0], ["EX-1", "boom", "4000"], ["EX-1", "arm", "3000"]]
    digest = digest_of(laid_over(register(), {"positions": rows}))
    assert digest_of(laid_over(register(), {"positions": [rows[0], rows[2], rows[1]]})) == digest
    moved = register()
    moved["positions"]["circuit"] = pd.Series(["boom circuit", None], dtype="str")
    assert digest_of(laid_over(moved, {"positions": rows})) != digest
