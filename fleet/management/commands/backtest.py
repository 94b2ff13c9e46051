"""How right past forecasts were, by hand.

`manage.py backtest --organization NAME --from DATE --every DAYS [--out FOLDER]`
"""

import datetime
from pathlib import Path

from django.core.management.base import BaseCommand, CommandError
from django.utils.translation import gettext as _

from fleet.exchange.results import write_scores
from fleet.management.terminal import (
    NO_CHECKS,
    a_count,
    a_date,
    a_folder,
    organization_named,
    require_database,
    shown_progress,
    solver_kept_quiet,
    told_plainly,
)
from fleet.models import RunState
from fleet.services.plans.backtesting import request_backtest, run_backtest, scores_table


class Command(BaseCommand):
    help = "Replays the main job on past dates and scores what it said against what then happened."
    requires_system_checks = NO_CHECKS

    def add_arguments(self, parser) -> None:
        parser.add_argument("--organization", required=True, metavar="NAME")
        parser.add_argument(
            "--from", required=True, type=a_date, metavar="DATE", dest="from_day", help="the first past date"
        )
        parser.add_argument(
            "--every", required=True, type=a_count, metavar="DAYS", help="days from one past date to the next"
        )
        parser.add_argument("--out", type=a_folder, metavar="FOLDER", help="write scores.csv there too")

    def handle(
        self, *args, organization: str, from_day: datetime.date, every: int, out: Path | None, **options
    ) -> None:
        require_database()
        owner = organization_named(organization)
        progress = shown_progress()
        with told_plainly():
            asked = request_backtest(organization=owner, user=None, from_day=from_day, every_days=every)
            with solver_kept_quiet():
                made = run_backtest(asked.pk, progress=progress)
            if made.state != RunState.DONE:
                raise CommandError(made.failure)
            if out is not None:
                progress(_("Writing %(out)s") % {"out": out})
                write_scores(out, scores_table(made))
            if options["verbosity"] > 1 or not made.scores:  # an empty table alone would not say why
                self.stdout.write("\n".join([*made.words, *made.passed_over]))
