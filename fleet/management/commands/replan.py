"""The main job, by hand: `manage.py replan --organization NAME [--as-of DATE] [--out FOLDER]`.

With `--what-if POLICIES.csv` it stores nothing and compares.
"""

import datetime
from collections.abc import Callable
from pathlib import Path

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone
from django.utils.translation import gettext as _

from fleet.exchange.results import write_comparison, write_results
from fleet.frames.plans import plan_tables
from fleet.management.findings import findings_lines
from fleet.management.terminal import (
    NO_CHECKS,
    a_date,
    a_folder,
    organization_named,
    require_database,
    shown_progress,
    solver_kept_quiet,
    told_plainly,
)
from fleet.models import Organization, RunState
from fleet.services.errors import FolderRefused
from fleet.services.plans.comparing import compare_policies
from fleet.services.plans.replanning import request_plan, run_plan


class Command(BaseCommand):
    help = "Makes a new plan: margins, lifetimes, forecasts, changeouts, kits and stock."
    requires_system_checks = NO_CHECKS

    def add_arguments(self, parser) -> None:
        parser.add_argument("--organization", required=True, metavar="NAME")
        parser.add_argument(
            "--as-of", type=a_date, metavar="DATE", help="plan as on that day (default: today)"
        )
        parser.add_argument("--out", type=a_folder, metavar="FOLDER", help="write the plan's files there too")
        parser.add_argument(
            "--what-if",
            type=Path,
            metavar="POLICIES.csv",
            help="store nothing; compare with a plan under these policies, in the form of policies.csv",
        )

    def handle(
        self,
        *args,
        organization: str,
        as_of: datetime.date | None,
        out: Path | None,
        what_if: Path | None,
        **options,
    ) -> None:
        require_database()
        owner = organization_named(organization)
        progress = shown_progress()
        if what_if is not None:
            self._compare(owner, what_if, as_of or timezone.localdate(), out, progress)
            return
        with told_plainly():
            plan = request_plan(
                organization=owner, user=None, as_of=as_of or timezone.localdate(), any_day=True
            )
            with solver_kept_quiet():
                plan = run_plan(plan.pk, progress=progress)
            if plan.state != RunState.DONE:
                raise CommandError(plan.failure)
            if out is not None:
                progress(_("Writing %(out)s") % {"out": out})
                write_results(out, plan_tables(plan), plan.report)

    def _compare(
        self,
        owner: Organization,
        policies: Path,
        as_of: datetime.date,
        out: Path | None,
        progress: Callable[[str], None],
    ) -> None:
        with told_plainly(_("Stopped; nothing was stored.")):
            try:
                with solver_kept_quiet():
                    comparison = compare_policies(
                        organization=owner, policies_file=policies, as_of=as_of, progress=progress
                    )
            except FolderRefused as refusal:
                for line in findings_lines(refusal.findings, _("mend these first")):
                    self.stderr.write(line)
                raise
            if out is not None:
                progress(_("Writing %(out)s") % {"out": out})
                write_comparison(out, comparison)
        self.stdout.write(
            comparison.to_string(index=False, float_format="{:,.2f}".format, na_rep=_("not known"))
        )
