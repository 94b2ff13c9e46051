"""Laylines of our own making: what can be read is read, and what cannot is never guessed."""

import csv
import datetime
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fleet.trade.designations import load_designations, one_construction
from fleet.trade.hose_sizes import load_hose_sizes
from fleet.trade.layline import read_layline


def rows_of(name: str) -> list[dict[str, str]]:
    with Path(__file__).with_name(name).open(encoding="utf-8") as file:
        return list(csv.DictReader(file))


READABLE, HOPELESS = rows_of("laylines.csv"), rows_of("hopeless_laylines.csv")


def number(text: str) -> float | None:
    return float(text) if text else None


def day(text: str) -> datetime.date | None:
    return datetime.date.fromisoformat(text) if text else None


@pytest.mark.parametrize("row", READABLE, ids=lambda row: row["layline"])
def test_a_plain_layline_is_understood(row):
    read = read_layline(row["layline"])
    assert "; ".join(read.constructions) == row["constructions"]
    told = "; ".join(one.name + (f":{one.edition}" if one.edition else "") for one in read.standards)
    assert told == row["standards"]
    assert read.dash == number(row["dash"])
    assert (read.bore_mm and round(read.bore_mm, 3)) == number(row["bore_mm"])
    pressure = read.pressure and round(read.pressure.pressure_bar, 1)
    assert pressure == number(row["pressure_bar"])
    assert (read.made and read.made.first_day) == day(row["made_from"])
    assert (read.made and read.made.last_day) == day(row["made_until"])
    assert "; ".join(read.not_understood) == row["not_understood"]


def test_there_are_laylines_over_every_construction_that_is_understood():
    assert len(READABLE) >= 60
    known = {one_construction(kind) for kind in load_designations()["type"]}
    shown = {one for row in READABLE for one in row["constructions"].split("; ")}
    assert known - shown == set()


@pytest.mark.parametrize("row", HOPELESS, ids=lambda row: row["layline"])
def test_a_hopeless_layline_is_refused_without_a_guess(row):
    read = read_layline(row["layline"])
    assert "; ".join(read.missing) == row["unread"]
    assert row["doubt"] in " ".join(read.doubts)


def test_there_are_at_least_twenty_hopeless_laylines():
    assert len(HOPELESS) >= 20


# Pieces that say all they say by themselves, in any order.
CONSTRUCTIONS = [
    "SAE 100R2AT",
    "EN 853 2SN",
    "DIN EN 857 2SC",
    "100 R1 AT",
    "ISO 18752-280-CC",
    "4SP",
    "ISO 3862 R15",
]
SIZES = ["-8", "DN12", '1/2"', "12.7 MM", "1-1/4 IN", "ID 3/4"]
PRESSURES = ["WP 275 BAR", "4,000 PSI", "27,5 MPa", "MAX W.P. 4000 psi", "27500 kPa"]
DATES = ["3Q19", "Q3/2019", "2019-W32", "WEEK 7 2020", "14.03.2019", "SEP 2020"]
OTHERS = ["BRAND-X", "771-08", "-40°C/+100°C", "BURST 16000 PSI", "MBR 130 MM", "MADE WELL"]


@st.composite
def shuffled_laylines(draw):
    pieces = [draw(st.sampled_from(one)) for one in (CONSTRUCTIONS, SIZES, PRESSURES, DATES, OTHERS)]
    return pieces, draw(st.permutations(pieces))


def meaning(text: str) -> tuple:
    read = read_layline(text)
    pressure = read.pressure and read.pressure.pressure_bar
    left = sorted(piece.upper() for piece in read.not_understood)
    return read.constructions, read.dash, read.bore_mm, pressure, read.made, left


@settings(deadline=None)
@given(shuffled_laylines(), st.sampled_from([" ", "  ", "\t", "\n", " / ", " - ", " * "]))
def test_order_spacing_and_case_do_not_change_what_is_read(lines, between):
    pieces, shuffled = lines
    expected = meaning(" ".join(pieces))
    assert None not in expected[:5]
    assert meaning(between.join(shuffled)) == expected
    assert meaning(between.join(shuffled).lower()) == expected
    assert meaning(between.join(shuffled).upper()) == expected


@settings(deadline=None)
@given(st.text(max_size=120))
def test_no_text_is_too_strange_to_be_read(text):
    read = read_layline(text)
    assert read.dash is None or read.dash in set(load_hose_sizes()["dash"])
    assert read.pressure is None or 1 <= read.pressure.pressure_bar <= 1000


def test_a_quarter_is_a_span_and_not_a_day():
    made = read_layline("EN 853 2SN DN12 3Q19").made
    assert (made.first_day, made.last_day) == (datetime.date(2019, 7, 1), datetime.date(2019, 9, 30))


def test_a_week_is_that_of_iso_8601():
    # ISO 8601: week 1 of 2021 begins on Monday 4 January; 2020 has 53 weeks.
    assert read_layline("2021-W01").made.first_day == datetime.date(2021, 1, 4)
    assert read_layline("2020-W53").made.last_day == datetime.date(2021, 1, 3)
    assert read_layline("2021-W53").made is None


def test_a_date_to_come_rules_a_reading_out():
    line, today = "EN 853 2SN DN12 32/19", datetime.date(2026, 11, 25)
    assert read_layline(line).made is None and len(read_layline(line).may_be_made) == 2
    assert read_layline(line, today=today).made.says == "week 32 of 2019"
    assert read_layline("EN 853 2SN 3Q31", today=today).not_understood == ("3Q31",)


def test_a_rating_of_an_older_edition_is_told_as_that():
    # SAE J517 before 2006 gave -6 R2 4000 psi, from memory
    (doubt,) = read_layline("SAE 100R2AT -6 4000 PSI").doubts
    assert "rating of an older edition of the standard: before 2006" in doubt


def test_a_rating_unlike_the_tables_is_shown_beside_theirs():
    read = read_layline("100R17-8 275 BAR")
    assert read.pressure.pressure_bar == 275
    assert [(one.pressure_bar, one.mark) for one in read.tabulated] == [(210, "memory")]
    assert "differs from the table, which gives 210 bar (current, memory)" in read.doubts[0]


def test_a_rating_that_is_not_printed_is_not_taken_from_the_table():
    read = read_layline("EN 853 2SN DN12")
    assert read.pressure is None and read.tabulated[0].pressure_bar == 275


def test_a_dash_of_100r5_counts_the_tube_and_not_the_bore():
    # common practice, no source: 100R5-8 has a bore of 13/32 in
    assert read_layline("100R5-8").bore_mm == pytest.approx(25.4 * 13 / 32)
    assert read_layline("100R5 13/32").dash == 8
    assert read_layline("100R14-8").bore_mm is None


def test_the_pressure_is_kept_as_it_was_printed():
    assert read_layline("2SN -8 WP 27,5 MPa / 4000 PSI").pressure.printed == "27,5 MPa / 4000 PSI"


def test_every_row_of_the_tables_says_where_it_is_from():
    for table in (load_designations(), load_hose_sizes()):
        assert table["mark"].isin(["found", "memory", "practice"]).all()
        assert table["source"].str.len().gt(0).all()
        assert (table["source"].str.contains("from memory") == (table["mark"] == "memory")).all()


def test_a_type_of_a_european_standard_is_spelled_as_the_register_spells_it():
    table = load_designations()
    european = table[table["standard"].str.startswith("EN")]
    for standard, kind in zip(european["standard"], european["type"], strict=True):
        assert one_construction(f"{standard} {kind}") == f"{standard} {kind}"


@pytest.mark.parametrize(
    "other", ["TP", "T.P.", "PROOF TEST", "TESTED TO", "PRÜFDRUCK", "PEAK", "IMPULSE", "PB", "BURST PRESS."]
)
def test_a_pressure_of_another_kind_is_not_taken_for_the_working_pressure(other):
    read = read_layline(f"EN 853 2SN DN12 {other} 550 BAR")
    assert (read.pressure, f"{other} 550 BAR" in read.not_understood) == (None, True)
    assert read_layline(f"EN 853 2SN DN12 275 BAR {other} 550 BAR").pressure.pressure_bar == 275
