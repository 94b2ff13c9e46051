"""Findings about rows, each with what it calls for and its words, weighed into a verdict and its reasons."""

import re
from collections.abc import Iterable, Sequence

import numpy as np
import pandas as pd

from ..units import STORED_UNITS, TOLD_DECIMALS, ReaderUnits, Unit, decimals_apart, reader_unit, tell_numbers

Finding = tuple[str, pd.Series, str]  # verdict, where, and in words with the columns that fill them
_PLACE = re.compile(r"%\((\w+)\)s")


def weigh_findings(
    cases: pd.DataFrame,
    findings: Iterable[Finding],
    verdicts: Sequence[str],
    passed: str,
    units: ReaderUnits = STORED_UNITS,
) -> tuple[np.ndarray, np.ndarray]:
    """For each case its verdict and its reasons in one text, gravest first.

    `verdicts` stand gravest first; the last of them is a remark, which changes no verdict. `passed` is the
    verdict of a case of which nothing else was found. Measures are told in `units`.
    """
    verdict = np.full(len(cases), passed, dtype=object)
    reason = np.full(len(cases), "", dtype=object)
    for called_for, where, words in sorted(findings, key=lambda found: verdicts.index(found[0])):
        rows = np.flatnonzero(where)
        if not len(rows):  # as most are: telling them costs as much where there is nothing to tell
            continue
        if called_for != verdicts[-1]:
            verdict[rows[verdict[rows] == passed]] = called_for
        reason[rows] += np.where(reason[rows] == "", "", "; ") + _told(cases, rows, words, units)
    return verdict, reason


def _told(cases: pd.DataFrame, rows: np.ndarray, words: str, units: ReaderUnits) -> np.ndarray:
    """`words % row` for each of the rows, as told in `units`: by columns, since rows may be a million."""
    pieces = _PLACE.split(words)
    shown = _shown({column: cases[column].to_numpy()[rows] for column in pieces[1::2]}, units)
    told = np.full(len(rows), "", dtype=object)
    for number, piece in enumerate(pieces):
        told += shown[piece] if number % 2 == 1 else piece.replace("%%", "%")
    return told


def _shown(columns: dict[str, np.ndarray], units: ReaderUnits) -> dict[str, np.ndarray]:
    """Texts as they are, numbers to a tenth, measures with their unit; finer where two would read alike."""
    shown = dict(columns)
    by_unit: dict[Unit | None, dict[str, np.ndarray]] = {}
    for column, values in columns.items():
        if values.dtype.kind == "f":
            unit = reader_unit(column, units)
            by_unit.setdefault(unit, {})[column] = unit.from_stored(values) if unit else values
    for unit, measures in by_unit.items():
        decimals = decimals_apart(list(measures.values()), TOLD_DECIMALS[unit.suffix] if unit else 1)
        for column, values in measures.items():
            shown[column] = tell_numbers(values, decimals) + (f" {unit.symbol}" if unit else "")
    return shown
