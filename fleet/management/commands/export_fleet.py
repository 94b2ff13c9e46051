"""Files back out: `manage.py export_fleet FOLDER --organization NAME`."""

from pathlib import Path

from django.core.management.base import BaseCommand
from django.utils.translation import gettext as _

from fleet.management.terminal import NO_CHECKS, a_folder, organization_named, require_database, told_plainly
from fleet.services.folders.exporting import export_fleet


class Command(BaseCommand):
    help = "Writes the register as a fleet folder that import_fleet takes."
    requires_system_checks = NO_CHECKS

    def add_arguments(self, parser) -> None:
        parser.add_argument(
            "folder", type=a_folder, help="a new or empty folder, or one of an earlier export"
        )
        parser.add_argument("--organization", required=True, metavar="NAME", help="whose fleet it is")

    def handle(self, *, folder: Path, organization: str, **options) -> None:
        require_database()
        owner = organization_named(organization)
        with told_plainly(_("Stopped; what stood in the folder stands.")):
            written = export_fleet(organization=owner, folder=folder)
        self.stdout.write(
            _("%(count)s files written to %(folder)s.") % {"count": len(written), "folder": folder}
        )
