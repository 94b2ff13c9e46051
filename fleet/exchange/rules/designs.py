"""Designs: the right kind of part at each place, ends that fit the hose, a hose that has a length left."""

import pandas as pd

from forecasting.wording import gettext as _
from forecasting.wording import gettext_noop

from ..findings import Findings, Severity
from ..merging import Fleet
from ..numerals import rounded
from .places import Place, report

KIND_NAMES = {
    "bulk_hose": gettext_noop("bulk hose"),
    "hose_end": gettext_noop("a hose end"),
    "ferrule": gettext_noop("a ferrule"),
    "sleeve": gettext_noop("a sleeve"),
    "adapter": gettext_noop("an adapter"),
    "assembly": gettext_noop("an assembly"),
}
# What may stand in each column that names a part.
KINDS = (
    ("designs", "hose_part", ("bulk_hose",)),
    ("designs", "end_a_part", ("hose_end",)),
    ("designs", "end_b_part", ("hose_end",)),
    ("design_parts", "part", ("ferrule", "sleeve", "adapter")),
    ("crimp_specs", "hose_part", ("bulk_hose",)),
    ("crimp_specs", "end_part", ("hose_end",)),
    ("crimp_specs", "ferrule_part", ("ferrule",)),
)
# Which end must have the dash of which hose.
FITS = (
    ("designs", "hose_part", "end_a_part"),
    ("designs", "hose_part", "end_b_part"),
    ("crimp_specs", "hose_part", "end_part"),
)


def check_designs(fleet: Fleet, findings: Findings) -> None:
    """Errors for designs that cannot be made."""
    for file, column, kinds in KINDS:
        _check_kind(file, column, kinds, fleet, findings)
    for file, hose, end in FITS:
        _check_dash(file, hose, end, fleet, findings)
    _check_lengths(fleet, findings)


def with_part(rows: pd.DataFrame, column: str, parts: pd.DataFrame, *wanted: str) -> pd.DataFrame:
    """`rows` with the wanted columns of the part in `column`, and its line, each as `{column}_{name}`."""
    names = ["part", "file_line", *wanted]
    named = parts[names].rename(columns={name: f"{column}_{name}" for name in names})
    return rows.merge(named, how="left", left_on=column, right_on=f"{column}_part")


def _check_kind(file: str, column: str, kinds: tuple[str, ...], fleet: Fleet, findings: Findings) -> None:
    rows = with_part(fleet[file], column, fleet["parts"], "kind")
    kind = rows[f"{column}_kind"]
    *most, last = (_(KIND_NAMES[one]) for one in kinds)
    right = _("%(most)s or %(last)s") % {"most": ", ".join(most), "last": last} if most else last
    report(
        findings,
        fleet,
        Severity.ERROR,
        "wrong kind",
        rows[kind.notna() & ~kind.isin(kinds)],
        [Place(file, "file_line", column), Place("parts", f"{column}_file_line", "kind")],
        lambda row: (
            _("%(part)s is %(kind)s, not %(right)s.")
            % {
                "part": getattr(row, column),
                "kind": _(KIND_NAMES[getattr(row, f"{column}_kind")]),
                "right": right,
            },
            _("Name %(right)s there, or mend the part's kind.") % {"right": right},
        ),
    )


def _check_dash(file: str, hose: str, end: str, fleet: Fleet, findings: Findings) -> None:
    rows = with_part(fleet[file], hose, fleet["parts"], "dash")
    rows = with_part(rows, end, fleet["parts"], "dash")
    hose_dash, end_dash = rows[f"{hose}_dash"], rows[f"{end}_dash"]
    report(
        findings,
        fleet,
        Severity.ERROR,
        "end does not fit",
        rows[hose_dash.notna() & end_dash.notna() & (hose_dash != end_dash)],
        [
            Place(file, "file_line", end),
            Place("parts", f"{end}_file_line", "dash"),
            Place("parts", f"{hose}_file_line", "dash"),
        ],
        lambda row: (
            _("%(end)s is dash %(end_dash)s and does not fit %(hose)s, dash %(hose_dash)s.")
            % {
                "end": getattr(row, end),
                "end_dash": f"{getattr(row, f'{end}_dash'):g}",
                "hose": getattr(row, hose),
                "hose_dash": f"{getattr(row, f'{hose}_dash'):g}",
            },
            _("Name an end of dash %(dash)s; the size of its other side is its connection_dash.")
            % {"dash": f"{getattr(row, f'{hose}_dash'):g}"},
        ),
    )


def _check_lengths(fleet: Fleet, findings: Findings) -> None:
    rows = with_part(fleet["designs"], "end_a_part", fleet["parts"], "cutoff_mm")
    rows = with_part(rows, "end_b_part", fleet["parts"], "cutoff_mm")
    cutoffs = rows["end_a_part_cutoff_mm"].fillna(0) + rows["end_b_part_cutoff_mm"].fillna(0)
    rows = rows.assign(cutoffs_mm=cutoffs)
    report(
        findings,
        fleet,
        Severity.ERROR,
        "nothing left to cut",
        rows[cutoffs >= rows["overall_length_mm"]],
        [
            Place("designs", "file_line", "overall_length_mm"),
            Place("parts", "end_a_part_file_line", "cutoff_mm"),
            Place("parts", "end_b_part_file_line", "cutoff_mm"),
        ],
        lambda row: (
            _(
                "The cut-offs of %(end_a_part)s and %(end_b_part)s make %(cutoffs_mm)s mm "
                "of %(overall_length_mm)s mm over all: no hose is left between them."
            )
            % {
                "end_a_part": row.end_a_part,
                "end_b_part": row.end_b_part,
                "cutoffs_mm": rounded(row.cutoffs_mm),
                "overall_length_mm": f"{row.overall_length_mm:g}",
            },
            _("Mend the length or the cut-offs."),
        ),
    )
