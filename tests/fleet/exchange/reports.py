"""What reading a folder says, without a database: the rules asked of an empty register and the folder."""

import datetime
from pathlib import Path

from fleet.exchange.assemblies import ASSEMBLIES
from fleet.exchange.cells import read_cells
from fleet.exchange.findings import Finding, Findings
from fleet.exchange.merging import merge_folder
from fleet.exchange.reading import read_folder
from fleet.exchange.rules import check_fleet
from fleet.exchange.schema import FILES
from fleet.exchange.tables import fit_table
from fleet.trade.ratings import load_ratings
from tests.fleet.builders import Files, fleet_files, write_fleet_folder

TODAY = datetime.date(2024, 2, 1)


def read(folder: Path, today: datetime.date = TODAY) -> list[Finding]:
    """The findings of reading what stands at `folder` into an empty register."""
    findings = Findings()
    found = read_folder(folder, findings)
    incoming = {name: read_cells(sheet, findings) for name, sheet in found.sheets.items()}
    empty = {
        file.name: fit_table(None, file).assign(id=0).astype({"id": "int64"}) for file in (*FILES, ASSEMBLIES)
    }
    fleet = merge_folder(empty, incoming, found)
    check_fleet(fleet, load_ratings(), today, findings)
    return findings.listed()


def read_files(folder: Path, files: Files) -> list[Finding]:
    """The findings of reading the files from a folder of their own."""
    return read(write_fleet_folder(folder, files))


def told(findings: list[Finding]) -> list[str]:
    """Each finding as one line: its severity, its place and what is wrong and right."""
    return [f"{finding.severity}: {finding}" for finding in findings]


def with_mistake(file: str, line: int, cells: dict[str, str]) -> Files:
    """The sound fleet with those cells of one row, which `line` counts as a spreadsheet does."""
    files = fleet_files()
    rows = files[file]
    if line - 2 == len(rows):
        rows.append({})
    rows[line - 2] |= cells
    return files
