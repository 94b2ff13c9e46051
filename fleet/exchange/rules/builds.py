"""Builds: who stands for what was accepted."""

from forecasting.wording import gettext as _

from ..findings import Findings, Severity
from ..merging import Fleet
from .places import Place, report


def check_builds(fleet: Fleet, findings: Findings) -> None:
    """Errors for assemblies accepted for a critical position by nobody in particular."""
    builds = fleet["builds"][["assembly", "built_by", "accepted", "file_line"]]
    stays = fleet["installations"][["assembly", "machine", "position", "crimped_by"]]
    places = fleet["positions"][["machine", "position", "critical"]]
    rows = builds.merge(stays, on="assembly").merge(places, on=["machine", "position"])
    yes = rows["accepted"].fillna(False).astype(bool) & rows["critical"].fillna(False).astype(bool)
    report(
        findings,
        fleet,
        Severity.ERROR,
        "accepted by nobody",
        rows[yes & rows["built_by"].isna() & rows["crimped_by"].isna()],
        [Place("builds", "file_line", "built_by")],
        lambda row: (
            _("%(assembly)s was accepted for %(machine)s %(position)s, which is critical, by nobody named.")
            % {"assembly": row.assembly, "machine": row.machine, "position": row.position},
            _("Enter who built and accepted it, or leave accepted empty."),
        ),
    )
