"""Texts of cells to values: each distinct text is read once, and each wrong one says what would be right."""

import datetime
import math
import re
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import partial

import numpy as np
import pandas as pd

from forecasting.units import Unit, stored_unit
from forecasting.wording import gettext as _

from .columns import Column, Kind
from .findings import Findings, Severity
from .names import Names, either
from .numerals import meant_number, read_number, rounded, shortest, tell_other_digits
from .reading import Cells, Sheet
from .tables import dtype_of

FIRST_DAY = datetime.date(1950, 1, 1)
LAST_DAY = datetime.date(2100, 12, 31)
MONEY_DECIMALS = 4
SPREADSHEET_ERRORS = {"#N/A", "#REF!", "#VALUE!", "#DIV/0!", "#NAME?", "#NUM!", "#NULL!"}
# No workbook takes one, nor does a database NUL; line ends and tabs are none of them.
_CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f]")
SPREADSHEET_BEGAN = datetime.date(1899, 12, 30)  # day 0 of a spreadsheet's dates

Fault = tuple[str, str]


@dataclass(slots=True)
class Read:
    """What the distinct texts of a column say: a value each (None: empty or wrong), and what is wrong.

    `doubts` are for warnings: the value stands, but not as it was written.
    """

    values: list = field(default_factory=list)
    faults: dict[int, Fault] = field(default_factory=dict)
    doubts: dict[int, Fault] = field(default_factory=dict)

    def fault(self, wrong: str, right: str, value: object = None) -> None:
        """Says that the next text is wrong; `value` is kept where others may refer to it."""
        self.faults[len(self.values)] = (wrong, right)
        self.values.append(value)


def read_cells(sheet: Sheet, findings: Findings) -> pd.DataFrame:
    """The sheet's rows in stored units: `file_line`, every column the file has, and measures as entered.

    Rows whose key is missing, wrong or taken by an earlier row are left out; wrong cells are empty. All of
    them are in `findings`.
    """
    made: dict[str, pd.Series] = {"file_line": pd.Series(sheet.lines, dtype="int64")}
    for stored_name, cells in sheet.cells.items():
        column = sheet.file.by_stored_name[stored_name]
        unit = _unit_of(column, cells.header)
        read = READERS[column.kind](column, unit, cells.texts)
        _report(sheet, cells, column, read, findings)
        values = _spread(read.values, cells.codes, dtype_of(column))
        made[stored_name] = values
        if unit is not None:
            entered, entered_unit = column.entered_names
            as_stored = unit is stored_unit(column.measure)
            made[stored_name] = unit.to_stored(values)
            other_unit = values.notna() & (not as_stored)
            made[entered] = values.where(other_unit)
            made[entered_unit] = pd.Series(unit.suffix, index=values.index, dtype="str").where(other_unit)
    frame = pd.DataFrame(made)
    for name in sheet.file.key:
        if name not in frame:
            frame[name] = pd.Series(None, index=frame.index, dtype=dtype_of(sheet.file.by_stored_name[name]))
    filled = [name for name in sheet.file.key if name not in sheet.file.may_be_empty]
    return _without_twins(frame[frame[filled].notna().all(axis=1)], sheet, findings)


def _unit_of(column: Column, header: str) -> Unit | None:
    """The unit that a measured column's header names."""
    return next((unit for unit in column.units.values() if header == _header(column, unit)), None)


def _header(column: Column, unit: Unit) -> str:
    return f"{column.name}_{unit.suffix}" if unit.suffix else column.name


def _spread(values: list, codes: np.ndarray, dtype: str) -> pd.Series:
    """The values of distinct texts as a column of rows."""
    if dtype == "float64":
        distinct = np.array([math.nan if value is None else value for value in values], dtype=float)
        return pd.Series(distinct[codes]) if len(codes) else pd.Series(distinct[:0])
    if dtype == "datetime64[s]":
        days = np.array([value or np.datetime64("NaT") for value in values], dtype="datetime64[s]")
        return pd.Series(days[codes]) if len(codes) else pd.Series(days[:0])
    return pd.Series(pd.array(values, dtype=dtype).take(codes))


def _report(sheet: Sheet, cells: Cells, column: Column, read: Read, findings: Findings) -> None:
    empty = {}
    if column.must_be_filled and column.stored_name not in sheet.file.may_be_empty:
        empty = {
            code: (_("The cell is empty."), _("Enter %(help)s.") % {"help": _(column.help)})
            for code, text in enumerate(cells.texts)
            if not text
        }
    for severity, rule, faults in (
        (Severity.ERROR, "cell", read.faults),
        (Severity.ERROR, "empty cell", empty),
        (Severity.WARNING, "cell", read.doubts),
    ):
        rows = np.flatnonzero(np.isin(cells.codes, list(faults))).tolist()
        findings.add(severity, rule, sheet.label, cells.header, rows, partial(_tell, sheet, cells, faults))


def _tell(sheet: Sheet, cells: Cells, faults: dict[int, Fault], row: int) -> tuple[int, str, str, str]:
    wrong, right = faults[cells.codes[row]]
    return int(sheet.lines[row]), cells[row], wrong, right


def _without_twins(frame: pd.DataFrame, sheet: Sheet, findings: Findings) -> pd.DataFrame:
    """The rows of which no earlier row has the key."""
    key = list(sheet.file.key)
    twin = frame.duplicated(key)
    if twin.any():
        firsts = frame.groupby(key, dropna=False)["file_line"].transform("first")

        def tell(row: int) -> tuple[int, str, str, str]:
            line = int(frame["file_line"].iat[row])
            shown = ", ".join(sheet.text(line, name) for name in key if sheet.text(line, name))
            wrong = _("%(shown)s stands in row %(row)s already.") % {"shown": shown, "row": firsts.iat[row]}
            return line, sheet.text(line, key[-1]), wrong, _("Keep one row for it.")

        findings.add(
            Severity.ERROR,
            "key twice",
            sheet.label,
            sheet.header(key[-1]),
            np.flatnonzero(twin).tolist(),
            tell,
        )
    return frame[~twin].reset_index(drop=True)


def _read_texts(column: Column, unit: Unit | None, texts: list[str]) -> Read:
    read = Read()
    for text in texts:
        if len(text) > (column.longest or len(text)):
            wrong = _("The text has %(count)s characters.") % {"count": len(text)}
            read.fault(wrong, _("Enter at most %(longest)s.") % {"longest": column.longest}, text)
        elif (sign := _CONTROL.search(text)) is not None:
            told = {"code": f"U+{ord(sign[0]):04X}"}
            read.fault(_("The text holds the control character %(code)s.") % told, _("Remove it."), text)
        elif text in SPREADSHEET_ERRORS:
            read.fault(
                _("%(text)s is what a spreadsheet shows where a formula fails.") % {"text": text},
                _("Mend the formula, or empty the cell."),
                text,
            )
        else:
            read.values.append(text.replace("\r\n", "\n").replace("\r", "\n") or None)
    return read


def _read_choices(column: Column, unit: Unit | None, texts: list[str]) -> Read:
    read = Read()
    several = column.kind is Kind.CHOICES
    names = Names(column.choices)
    for text in texts:
        given = [one.strip() for one in text.split("+")] if several and text else [text]
        strange = next((one for one in given if one not in column.choices), "")
        if not text:
            read.values.append(None)
        elif all(one in column.choices for one in given):
            # The schema's order, so that hot+abrasive and abrasive+hot are one value.
            read.values.append("+".join(one for one in column.choices if one in given))
        else:
            read.fault(
                _("%(value)s is no %(column)s.") % {"value": strange or text, "column": column.name},
                names.suggest(strange, column.name),
            )
    return read


def _read_yes_no(column: Column, unit: Unit | None, texts: list[str]) -> Read:
    read = Read()
    for text in texts:
        if text in ("", "yes", "no"):
            read.values.append({"yes": True, "no": False}.get(text))
        else:
            read.fault(_("%(text)s is neither yes nor no.") % {"text": text}, _("Enter yes or no."))
    return read


def _read_dates(column: Column, unit: Unit | None, texts: list[str]) -> Read:
    read = Read()
    for text in texts:
        day = _read_day(text)
        if not text:
            read.values.append(None)
        elif day is None:
            read.fault(
                tell_other_digits(text) or _("%(text)s is no day of the calendar.") % {"text": text},
                _meant_day(text),
            )
        elif not FIRST_DAY <= day <= LAST_DAY:
            read.fault(
                _("%(text)s cannot be.") % {"text": text},
                _("Enter a day from %(first)s to %(last)s.") % {"first": FIRST_DAY, "last": LAST_DAY},
            )
        else:
            read.values.append(day)
    return read


def _read_day(text: str) -> datetime.date | None:
    if not re.fullmatch(r"\d{4}-\d{2}-\d{2}", text, re.ASCII):
        return None
    try:
        return datetime.date.fromisoformat(text)
    except ValueError:
        return None


def _meant_day(text: str) -> str:
    """What would be right: the day meant, where it can be told."""
    if re.fullmatch(r"\d{5}", text):
        counted = SPREADSHEET_BEGAN + datetime.timedelta(days=int(text))
        if FIRST_DAY <= counted <= LAST_DAY:
            return _("Enter %(day)s where it is a spreadsheet's number of a day.") % {"day": counted}
    parts = [int(part) for part in re.findall(r"\d+", text)[:3]]
    # Year first, day first, month first; year, day, month only where no other makes a day.
    for orders in (((0, 1, 2), (2, 1, 0), (2, 0, 1)), ((0, 2, 1),)):
        days = {
            day
            for order in orders
            if len(parts) == 3 and (day := _day_of(*(parts[place] for place in order))) is not None
        }
        if days:
            return _("Enter %(days)s.") % {"days": either(str(day) for day in sorted(days))}
    return _("Enter year-month-day, such as 2024-03-31.")


def _day_of(year: int, month: int, day: int) -> datetime.date | None:
    try:
        return datetime.date(year, month, day) if year >= FIRST_DAY.year else None
    except ValueError:
        return None


def _read_numbers(column: Column, unit: Unit | None, texts: list[str]) -> Read:
    read = Read()
    for text in texts:
        if not text:
            read.values.append(None)
            continue
        value = read_number(text)
        if value is None:
            meant = meant_number(text)
            read.fault(
                tell_other_digits(text) or _("%(text)s is not a plain number.") % {"text": text},
                _("Enter digits and a point, such as %(value)s.") % {"value": meant or "12.5"},
            )
        elif column.kind is Kind.WHOLE and value != int(value):
            read.fault(
                _("%(text)s is not a whole number.") % {"text": text},
                _("Enter %(below)s or %(above)s.") % {"below": math.floor(value), "above": math.ceil(value)},
            )
        elif (fault := _out_of_bounds(column, unit, text, value)) is not None:
            read.fault(*fault)
        elif column.kind is Kind.MONEY and round(value, MONEY_DECIMALS) != value:
            kept = round(value, MONEY_DECIMALS)
            read.doubts[len(read.values)] = (
                _("%(text)s has more than %(most)s decimals.") % {"text": text, "most": MONEY_DECIMALS},
                _("It is kept as %(kept)s.") % {"kept": shortest(kept)},
            )
            read.values.append(kept)
        else:
            read.values.append(value + 0.0)
    return read


def _out_of_bounds(column: Column, unit: Unit | None, text: str, value: float) -> Fault | None:
    stored = unit.to_stored(value) if unit else value
    symbol = f" {unit.symbol}" if unit else ""
    if column.most is not None and stored > column.most:
        most = unit.from_stored(column.most) if unit else column.most
        return _("%(text)s is above %(most)s%(symbol)s.") % {
            "text": text,
            "most": _bound(most),
            "symbol": symbol,
        }, _other_unit(column, unit, text, value) or (
            _("Enter %(most)s%(symbol)s at most.") % {"most": _bound(most), "symbol": symbol}
        )
    if column.least is not None and stored < column.least:
        least = unit.from_stored(column.least) if unit else column.least
        return _("%(text)s is below %(least)s%(symbol)s.") % {
            "text": text,
            "least": _bound(least),
            "symbol": symbol,
        }, _("Enter %(least)s%(symbol)s or more.") % {"least": _bound(least), "symbol": symbol}
    if column.positive and stored <= 0:
        return _("%(text)s is not above 0%(symbol)s.") % {"text": text, "symbol": symbol}, _(
            "Enter more than 0."
        )
    return None


def _bound(value: float) -> str:
    """A bound for a sentence: not rounded to what lies beyond it, as three figures would a level of .9999."""
    return rounded(value) if abs(value) >= 100 else f"{value:.6g}"


def _other_unit(column: Column, unit: Unit | None, text: str, value: float) -> str:
    """The unit in which a value too great for its column's unit would have been right."""
    for other in column.units.values():
        stored = other.to_stored(value)
        least, most = column.least or 0.0, column.most or math.inf
        if unit is not None and other is not unit and least <= stored <= most:
            there = rounded(unit.from_stored(stored))
            return _("Enter %(symbol)s, not %(other)s (%(text)s %(other)s = %(there)s %(symbol)s).") % {
                "symbol": unit.symbol,
                "other": other.symbol,
                "text": text,
                "there": there,
            }
    return ""


READERS: dict[Kind, Callable[[Column, Unit | None, list[str]], Read]] = {
    Kind.TEXT: _read_texts,
    Kind.CHOICE: _read_choices,
    Kind.CHOICES: _read_choices,
    Kind.YES_NO: _read_yes_no,
    Kind.DATE: _read_dates,
    Kind.NUMBER: _read_numbers,
    Kind.WHOLE: _read_numbers,
    Kind.MONEY: _read_numbers,
    Kind.MEASURE: _read_numbers,
}
