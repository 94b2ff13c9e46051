"""`manage.py invent_fleet FOLDER --machines N --seed S`: writes an invented fleet of any size."""

import numpy as np
from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone
from django.utils.translation import gettext as _

from fleet.exchange.inventing import invent_fleet, write_fleet
from fleet.management.terminal import a_count, a_date, a_folder, shown_progress, told_plainly


class Command(BaseCommand):
    help = "Writes an invented fleet as a fleet folder. The same options write the same fleet."
    requires_system_checks = []  # it writes files and needs neither database nor pages

    def add_arguments(self, parser) -> None:
        parser.add_argument(
            "folder", type=a_folder, help="where to write; files of the same names are replaced"
        )
        parser.add_argument("--machines", type=a_count, required=True, help="how many machines")
        parser.add_argument("--seed", type=int, required=True, help="which of the many fleets of that size")
        parser.add_argument("--years", type=float, default=5, help="years of register (default 5)")
        parser.add_argument("--until", type=a_date, metavar="DATE", help="last day known (default today)")

    def handle(self, *, folder, machines, seed, years, until, verbosity, **options) -> None:
        if seed < 0:
            raise CommandError(_("seed must be 0 or more"))
        progress = shown_progress()
        with told_plainly(_("Stopped.")):
            progress(_("Living the fleet through"))
            try:
                fleet = invent_fleet(
                    machines=machines,
                    rng=np.random.default_rng(seed),
                    until=until or timezone.localdate(),
                    years=years,
                )
            except ValueError as error:
                raise CommandError(str(error)) from error
            progress(_("Writing %(folder)s") % {"folder": folder})
            write_fleet(fleet, folder)
        if verbosity == 0:
            return
        in_place = int(fleet.files["installations"]["removed_on"].isna().sum())
        self.stdout.write(
            _("%(machines)s machines, %(in_place)s assemblies in place, written to %(folder)s")
            % {"machines": f"{machines:,}", "in_place": f"{in_place:,}", "folder": folder}
        )
        self.stdout.write(_("Crimps poorly: %(poor_benches)s") % {"poor_benches": _named(fleet.poor_benches)})
        self.stdout.write(_("Bad hose: %(bad_lots)s") % {"bad_lots": _named(fleet.bad_lots)})


def _named(names: tuple[str, ...], most: int = 10) -> str:
    more = _(" and %(n)s more") % {"n": len(names) - most} if len(names) > most else ""
    return ", ".join(names[:most]) + more
