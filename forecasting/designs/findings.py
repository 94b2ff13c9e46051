"""Findings about rows, each with what it calls for and its words, weighed into a verdict and its reasons."""

from collections.abc import Iterable, Sequence
from string import Formatter

import numpy as np
import pandas as pd

from ..units import STORED_UNITS, TOLD_DECIMALS, ReaderUnits, reader_unit, tell_numbers

Finding = tuple[str, pd.Series, str]  # verdict, where, and in words with the columns that fill them


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
        if called_for != verdicts[-1]:
            verdict[rows[verdict[rows] == passed]] = called_for
        reason[rows] += np.where(reason[rows] == "", "", "; ") + _told(cases, rows, words, units)
    return verdict, reason


def _told(cases: pd.DataFrame, rows: np.ndarray, words: str, units: ReaderUnits) -> np.ndarray:
    """`words` for each of the rows, with the values of the columns it names in braces, measures with unit."""
    told = np.full(len(rows), "", dtype=object)
    for text, column, _, _ in Formatter().parse(words):
        told += text if column is None else text + _shown(cases[column].to_numpy()[rows], column, units)
    return told


def _shown(values: np.ndarray, column: str, units: ReaderUnits) -> np.ndarray:
    """Texts as they are, numbers to a tenth, measures with their unit."""
    if values.dtype.kind != "f":
        return values
    unit = reader_unit(column, units)
    if unit is None:
        return tell_numbers(values)
    return tell_numbers(unit.from_stored(values), TOLD_DECIMALS[unit.suffix]) + f" {unit.symbol}"
