"""What a fleet folder may look like, and what reading says of one that does not."""

import zipfile

import openpyxl
import pytest

from fleet.exchange import sources
from tests.fleet.builders import fleet_files, headers, write_fleet_folder

from .reports import read, read_files, told

SITES = "site,name\nNorth pit,Workshop\n"


def read_text(folder, text, name="sites.csv"):
    folder.mkdir(exist_ok=True)
    (folder / name).write_bytes(text if isinstance(text, bytes) else text.encode())
    return told(read(folder))


def test_a_sound_folder_has_no_findings(tmp_path):
    assert told(read_files(tmp_path, fleet_files())) == []


def test_an_empty_folder_is_told(tmp_path):
    assert told(read(tmp_path)) == [
        f"error: {tmp_path.name}: {tmp_path.name} holds no files. "
        "Put the CSV files of a fleet folder into it."
    ]


def test_a_folder_that_is_not_there_is_told(tmp_path):
    missing = tmp_path / "fleat"
    assert told(read(missing)) == [
        f"error: fleat: {missing} does not exist. Name a folder of CSV files, a zip of them or an .xlsx."
    ]


def test_readmes_and_what_systems_leave_are_passed_over(tmp_path):
    for name in ("README.md", ".DS_Store", "Thumbs.db", "~$fleet.xlsx"):
        (tmp_path / name).write_text("nothing of the fleet")
    assert read_text(tmp_path, SITES) == []


@pytest.mark.parametrize(
    ("name", "nearest"),
    [("machine.csv", "machines"), ("Sites.csv", "sites"), ("meterreadings.csv", "meter_readings")],
)
def test_an_unknown_file_is_told_with_the_nearest_right_name(tmp_path, name, nearest):
    assert read_text(tmp_path, SITES, name) == [
        f"error: {name}: {name} is not a file of a fleet folder. Did you mean {nearest}.csv?"
    ]


def test_what_names_the_rows_of_a_misnamed_file_is_not_told_besides(tmp_path):
    write_fleet_folder(tmp_path, fleet_files())
    (tmp_path / "parts.csv").rename(tmp_path / "Part.csv")
    assert told(read(tmp_path)) == [
        "error: Part.csv: Part.csv is not a file of a fleet folder. Did you mean parts.csv?"
    ]


def test_a_folder_within_and_a_file_of_another_kind_are_told(tmp_path):
    (tmp_path / "sites").mkdir()
    (tmp_path / "machines.ods").write_text("")
    assert told(read(tmp_path)) == [
        "error: machines.ods: machines.ods is not a file of a fleet folder. Did you mean machines.csv?",
        "error: sites: sites is not a file of a fleet folder. Did you mean sites.csv?",
    ]


def test_a_misspelt_column_is_told_with_the_nearest_right_name(tmp_path):
    assert read_text(tmp_path, "site,nmae\nNorth pit,Workshop\n") == [
        "error: sites.csv, row 1, nmae: sites has no column nmae. Did you mean name?"
    ]


def test_a_measure_without_its_unit_is_told_which_units_there_are(tmp_path):
    assert read_text(tmp_path, "part,kind,rated_pressure\nH,bulk_hose,330\n", "parts.csv") == [
        "error: parts.csv, row 1, rated_pressure: parts has no column rated_pressure. "
        "Enter rated_pressure_bar or rated_pressure_psi or rated_pressure_mpa."
    ]


def test_two_units_for_one_column_are_told(tmp_path):
    text = "part,kind,rated_pressure_bar,rated_pressure_psi\nH,bulk_hose,330,4800\n"
    assert read_text(tmp_path, text, "parts.csv") == [
        "error: parts.csv, row 1, rated_pressure_psi: rated_pressure_bar and rated_pressure_psi are one "
        "column in two units. Keep one of them."
    ]


def test_a_column_twice_is_told(tmp_path):
    assert read_text(tmp_path, "site,name,name\nNorth pit,a,b\n") == [
        "error: sites.csv, row 1, name: name stands twice. Keep one of them."
    ]


def test_a_missing_column_is_told_once_and_not_again_for_every_row(tmp_path):
    write_fleet_folder(tmp_path, {"sites": fleet_files()["sites"]})
    assert read_text(tmp_path, "machine,model\nEX-01,excavator\nEX-02,excavator\n", "machines.csv") == [
        "error: machines.csv, row 1, site: machines must have a column site. Add it."
    ]


def test_a_file_whose_keys_cannot_be_read_leaves_no_key_unknown(tmp_path):
    files = fleet_files()
    for row in files["sites"]:
        row["sitte"] = row.pop("site")
    assert told(read_files(tmp_path, files)) == [
        "error: sites.csv, row 1, site: sites must have a column site. Add it.",
        "error: sites.csv, row 1, sitte: sites has no column sitte. Did you mean site?",
    ]


def test_a_row_with_a_cell_too_few_or_too_many_is_told(tmp_path):
    assert read_text(tmp_path, "site,name\nNorth pit\nSouth pit,Hut,spare\nEast pit,Barn,\n") == [
        "error: sites.csv, row 2: The row has 1 cells, the header 2. Give each column its cell.",
        "error: sites.csv, row 3: The row has 3 cells, the header 2. Give each column its cell.",
    ]


def test_an_empty_cell_where_one_must_be_filled_is_told(tmp_path):
    assert read_text(tmp_path, "site,name\n,Workshop\n") == [
        "error: sites.csv, row 2, site: The cell is empty. Enter the site's short name."
    ]


def test_a_column_that_holds_cells_but_has_no_name_is_told(tmp_path):
    assert read_text(tmp_path, "site,,name\nNorth pit,x,Workshop\n") == [
        "error: sites.csv, row 1: A column holds cells but has no name. Name it or empty it."
    ]


@pytest.mark.parametrize(
    "name", ["North pit\u200b", "\ufeffNorth pit", "North pit\u00a0", "\u200eNorth pit \u200f"]
)
def test_what_nobody_sees_around_a_text_is_no_part_of_it(tmp_path, name):
    files = fleet_files()
    files["machines"][0]["site"] = name
    assert told(read_files(tmp_path, files)) == []


@pytest.mark.parametrize("header", ["site\u200b", "\ufeffsite", "\u00a0site "])
def test_what_nobody_sees_around_a_header_is_no_part_of_it(tmp_path, header):
    assert read_text(tmp_path, SITES.replace("site", header)) == []


def test_an_accent_is_one_sign_however_it_is_put_together(tmp_path):
    files = fleet_files()
    files["sites"].append({"site": "Br\u00fccke"})
    files["machines"][0]["site"] = "Bru\u0308cke"
    assert told(read_files(tmp_path, files)) == []


def test_half_an_end_is_questioned_and_half_a_metre_is_not(tmp_path):
    files = fleet_files()
    hose, end = (
        next(part["part"] for part in files["parts"] if part["kind"] == kind)
        for kind in ("bulk_hose", "hose_end")
    )
    files["stock"] = [
        {"part": part, "site": "North pit", "piece": "new", "on_hand": "123456.5"} for part in (hose, end)
    ]
    assert told(read_files(tmp_path, files)) == [
        f"warning: stock.csv, row 3, on_hand: {end} is counted, and 123456.5 is not a whole number. "
        "Enter how many pieces there are, or metre as the unit of the part."
    ]


def test_lines_count_as_a_spreadsheet_counts_them(tmp_path):
    """A blank row is a row, and a cell of two lines is one row."""
    text = 'site,register_began_on,name\nA,,"two\nlines"\n\n,,\nB,2022-13-01,\n'
    assert read_text(tmp_path, text) == [
        "error: sites.csv, row 5, register_began_on: 2022-13-01 is no day of the calendar. Enter 2022-01-13."
    ]


def test_a_byte_order_mark_and_windows_line_ends_are_read(tmp_path):
    assert read_text(tmp_path, b"\xef\xbb\xbf" + SITES.replace("\n", "\r\n").encode()) == []


def test_another_encoding_is_told_with_its_line(tmp_path):
    assert read_text(tmp_path, "site,name\nNord,Grube\nSüd,Grube\n".encode("latin-1")) == [
        "error: sites.csv, row 3: The byte 0xfc is not UTF-8. Save the file as CSV in UTF-8."
    ]
    assert read_text(tmp_path, SITES.encode("utf-16")) == [
        "error: sites.csv, row 1: The file is UTF-16. Save it as CSV in UTF-8."
    ]


def test_semicolons_are_told(tmp_path):
    assert read_text(tmp_path, "site;name\nNorth pit;Workshop\n") == [
        "error: sites.csv, row 1: The columns are separated by semicolons. "
        "Save the file with commas between them."
    ]


def test_an_open_quote_is_told(tmp_path):
    assert read_text(tmp_path, 'site,name\nNorth pit,"Workshop\n') == [
        "error: sites.csv, row 2: The quotes cannot be read: unexpected end of data. "
        "Close each quoted cell with a quote and double the quotes inside it."
    ]


def test_an_empty_file_is_told(tmp_path):
    assert read_text(tmp_path, "") == [
        "error: sites.csv, row 1: The file has no header row. Begin it with site."
    ]


def test_a_zip_is_read_like_a_folder(tmp_path):
    folder = write_fleet_folder(tmp_path / "fleet", fleet_files() | {"sites": [{"site": "South pit"}]})
    archive = tmp_path / "fleet.zip"
    with zipfile.ZipFile(archive, "w") as out:
        for file in folder.iterdir():
            out.write(file, f"fleet/{file.name}")
    assert told(read(archive)) == told(read(folder)) != []


def test_a_damaged_zip_is_told(tmp_path):
    archive = tmp_path / "fleet.zip"
    with zipfile.ZipFile(archive, "w") as out:
        out.writestr("sites.csv", SITES)
    archive.write_bytes(archive.read_bytes().replace(b"Workshop", b"Workshed"))
    assert told(read(archive)) == [
        "error: sites.csv: It cannot be unpacked: Bad CRC-32 for file 'sites.csv'. "
        "Pack the folder anew, without a password."
    ]


def zipped(path, names, text=SITES):
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as out:
        for name in names:
            out.writestr(name, text)
    return path


def test_an_archive_that_unpacks_to_more_than_any_fleet_is_refused_unread(tmp_path, monkeypatch):
    archive = zipped(tmp_path / "fleet.zip", ["sites.csv"], text=SITES + "a,b\n" * 2_000_000)
    monkeypatch.setattr(sources, "MOST_UNPACKED_BYTES", 4 * 1024**2)
    assert told(read(archive)) == [
        "error: fleet.zip: fleet.zip unpacks to 8 MB, and 4 MB are read. "
        "Send a fleet folder and nothing else, a large one as a zip of CSV files."
    ]


def test_a_workbook_that_unpacks_to_more_than_any_fleet_is_refused_unread(tmp_path, monkeypatch):
    write_workbook(tmp_path / "fleet.xlsx", fleet_files())
    monkeypatch.setattr(sources, "MOST_UNPACKED_BYTES", 10_000)
    (refusal,) = told(read(tmp_path / "fleet.xlsx"))
    assert "fleet.xlsx unpacks to" in refusal


def test_an_archive_of_many_files_is_refused(tmp_path):
    archive = zipped(tmp_path / "fleet.zip", [f"{number}.csv" for number in range(1_001)])
    assert told(read(archive)) == [
        "error: fleet.zip: fleet.zip holds 1,001 files, and 1,000 are read. "
        "Send a fleet folder and nothing else."
    ]


def test_no_file_is_unpacked_further_than_the_archive_says(tmp_path):
    """Its directory may lie, so as to pass; then it is taken at its word."""
    archive = zipped(tmp_path / "fleet.zip", ["sites.csv"], text=SITES + "a,b\n" * 2_000_000)
    size = len(SITES) + 8_000_000
    packed = archive.read_bytes()
    archive.write_bytes(packed.replace(size.to_bytes(4, "little"), len(SITES).to_bytes(4, "little")))
    assert told(read(archive)) == [
        "error: sites.csv: It cannot be unpacked: Bad CRC-32 for file 'sites.csv'. "
        "Pack the folder anew, without a password."
    ]


@pytest.mark.parametrize("place", [0.3, 0.5, 0.7])
def test_an_archive_that_breaks_off_or_is_damaged_within_is_told(tmp_path, place):
    rows = "".join(f"Pit {number},Workshop {number**3}\n" for number in range(50_000))
    archive = zipped(tmp_path / "fleet.zip", ["sites.csv"], text="site,name\n" + rows)
    packed = bytearray(archive.read_bytes())
    at = int(len(packed) * place)
    packed[at : at + 20] = b"\xff" * 20
    archive.write_bytes(packed)
    (refusal,) = told(read(archive))
    assert "It cannot be unpacked" in refusal


def write_workbook(path, files):
    """The files as sheets, numbers and days as a spreadsheet keeps them."""
    workbook = openpyxl.Workbook()
    for name, rows in files.items():
        sheet = workbook.create_sheet(name)
        sheet.append(headers(rows))
        for row in rows:
            sheet.append([as_spreadsheet(row.get(column, "")) for column in headers(rows)])
    workbook.save(path)


def as_spreadsheet(text):
    for kind in (int, float):
        try:
            return kind(text)
        except ValueError:
            continue
    if text.count("-") == 2 and text[:4].isdigit():
        return openpyxl.utils.datetime.from_ISO8601(text)
    return text or None


def test_a_workbook_is_read_like_a_folder(tmp_path):
    files = fleet_files()
    write_workbook(tmp_path / "fleet.xlsx", files)
    assert told(read(tmp_path / "fleet.xlsx")) == []
    files["machines"][1]["site"] = "Nort pit"
    write_workbook(tmp_path / "fleet.xlsx", files)
    assert told(read(tmp_path)) == [
        "error: fleet.xlsx sheet machines, row 3, site: Nort pit is not in sites. Did you mean North pit?"
    ]


def test_a_table_in_a_workbook_and_beside_it_is_told(tmp_path):
    write_workbook(tmp_path / "fleet.xlsx", {"sites": fleet_files()["sites"]})
    assert read_text(tmp_path, SITES) == [
        "error: sites.csv: sites stands in fleet.xlsx sheet sites too. Keep one of them."
    ]


def test_a_formula_that_nobody_worked_out_is_told_and_not_taken_for_an_empty_cell(tmp_path):
    workbook = openpyxl.Workbook()
    sheet = workbook.active
    sheet.title = "sites"
    sheet.append(["site", "name"])
    sheet.append(["North pit", "=UPPER(A2)"])
    workbook.save(tmp_path / "fleet.xlsx")
    assert told(read(tmp_path)) == [
        "error: fleet.xlsx sheet sites, row 2: The formula =UPPER(A2) has no result. "
        "Open the workbook in a spreadsheet and save it."
    ]


@pytest.mark.parametrize("part", ["xl/worksheets/sheet2.xml", "xl/workbook.xml", "xl/styles.xml"])
def test_a_workbook_that_breaks_off_within_is_told(tmp_path, part):
    write_workbook(tmp_path / "whole.xlsx", fleet_files())
    damaged = tmp_path / "fleet.xlsx"
    with zipfile.ZipFile(tmp_path / "whole.xlsx") as whole, zipfile.ZipFile(damaged, "w") as out:
        for name in whole.namelist():
            text = whole.read(name)
            out.writestr(name, text[: len(text) // 2] if name == part else text)
    said = told(read(damaged))
    assert any("fleet.xlsx is not a workbook that can be read: " in one for one in said)
    assert all("Save it anew as .xlsx." in one or " is not in " in one for one in said)


def test_a_zip_that_was_cut_off_is_told(tmp_path):
    archive = zipped(tmp_path / "fleet.zip", ["sites.csv"])
    archive.write_bytes(archive.read_bytes()[:-40])
    assert told(read(archive)) == [
        "error: fleet.zip: It cannot be unpacked: File is not a zip file. "
        "Pack the folder anew, without a password."
    ]


def test_two_files_of_one_name_in_a_zip_are_told_apart(tmp_path):
    archive = zipped(tmp_path / "fleet.zip", ["old/sites.csv", "new/sites.csv"])
    assert told(read(archive)) == [
        "error: new/sites.csv: sites stands in old/sites.csv too. Keep one of them."
    ]


@pytest.mark.parametrize("stands", ["a folder", "a link to nothing"])
def test_what_is_called_as_a_file_and_is_none_is_told(tmp_path, stands):
    if stands == "a folder":
        (tmp_path / "sites.csv").mkdir()
    else:
        (tmp_path / "sites.csv").symlink_to(tmp_path / "nowhere")
    assert told(read(tmp_path)) == [
        "error: sites.csv: sites.csv is no file, or leads to none. Put the file itself there."
    ]


@pytest.mark.parametrize("encoding", ["utf-16", "utf-16-le", "utf-16-be"])
def test_utf_16_is_told_with_or_without_its_mark(tmp_path, encoding):
    assert read_text(tmp_path, SITES.encode(encoding)) == [
        "error: sites.csv, row 1: The file is UTF-16. Save it as CSV in UTF-8."
    ]


def test_a_file_that_only_calls_itself_a_workbook_is_told(tmp_path):
    (tmp_path / "fleet.xlsx").write_text("site,name")
    assert told(read(tmp_path / "fleet.xlsx")) == [
        "error: fleet.xlsx: fleet.xlsx is not a workbook that can be read: File is not a zip file. "
        "Save it anew as .xlsx."
    ]
