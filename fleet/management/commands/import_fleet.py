"""Files in: `manage.py import_fleet FOLDER --organization NAME [--findings FILE]`."""

from pathlib import Path

from django.core.management.base import BaseCommand
from django.utils.translation import gettext as _

from fleet.exchange.findings import Finding, findings_csv
from fleet.management.findings import findings_lines
from fleet.management.terminal import NO_CHECKS, require_database, shown_progress, told_plainly
from fleet.services.errors import FolderRefused
from fleet.services.folders.importing import Outcome, import_fleet


class Command(BaseCommand):
    help = "Reads a fleet folder into the register, whole or not at all."
    requires_system_checks = NO_CHECKS

    def add_arguments(self, parser) -> None:
        parser.add_argument("folder", type=Path, help="a folder of CSV files, a zip of them, or an .xlsx")
        parser.add_argument(
            "--organization", required=True, metavar="NAME", help="whose fleet it is; made where it is new"
        )
        parser.add_argument("--findings", type=Path, metavar="FILE", help="write what was found as CSV")

    def handle(self, *, folder: Path, organization: str, findings: Path | None, **options) -> None:
        require_database()
        with told_plainly(_("Stopped; nothing was stored.")):
            if findings is not None:
                _require_writable(findings)
            try:
                outcome = import_fleet(
                    folder=folder, organization_name=organization, progress=shown_progress()
                )
            except FolderRefused as refusal:
                self._tell(refusal.findings, findings)
                raise
            self._tell(outcome.findings, findings)
        self.stdout.write(_summary(outcome))

    def _tell(self, findings: list[Finding], file: Path | None) -> None:
        if file is not None:
            file.write_text(findings_csv(findings), encoding="utf-8")
        for line in findings_lines(findings, _("see %(file)s") % {"file": file or "--findings FILE"}):
            self.stderr.write(line)


def _require_writable(file: Path) -> None:
    """Raises OSError now, not when all is stored. Leaves nothing: it may stand in the folder to be read."""
    is_new = not file.exists()
    file.open("a").close()
    if is_new:
        file.unlink()


def _summary(outcome: Outcome) -> str:
    """What the reading did, file by file."""
    if outcome.changed_nothing:
        rows = sum(sum(counts.values()) for counts in outcome.counts.values())
        return _("Nothing changed: the register of %(organization)s held all %(rows)s rows already.") % {
            "organization": outcome.organization,
            "rows": f"{rows:,}",
        }
    lines = [_("Read into the register of %(organization)s:") % {"organization": outcome.organization}]
    for name, counts in outcome.counts.items():
        told = ", ".join(f"{rows:,} {state}" for state, rows in counts.items() if rows) or _("no rows")
        lines.append(f"  {name}: {told}")
    return "\n".join(lines)
