"""Crimps: bands that are wider than a chart gives."""

from forecasting.wording import gettext as _

from ..findings import Findings, Severity
from ..merging import Fleet
from ..numerals import shortest
from .places import Place, report

# Common practice, no source: crimp charts allow about a quarter of a millimetre either way at most.
WIDEST_BAND_MM = 0.25


def check_crimps(fleet: Fleet, findings: Findings) -> None:
    """Warnings for crimp bands over ±0.25 mm."""
    for column in ("crimp_over_mm", "crimp_under_mm"):
        _check_band(column, fleet, findings)


def _check_band(column: str, fleet: Fleet, findings: Findings) -> None:
    rows = fleet["crimp_specs"]
    report(
        findings,
        fleet,
        Severity.WARNING,
        "wide crimp band",
        rows[rows[column] > WIDEST_BAND_MM],
        [Place("crimp_specs", "file_line", column)],
        lambda row: (
            _("A crimp band of %(band)s mm is wider than the %(widest)s mm that charts give.")
            % {"band": shortest(round(getattr(row, column), 4)), "widest": WIDEST_BAND_MM},
            _("Look the band up in the chart."),
        ),
    )
