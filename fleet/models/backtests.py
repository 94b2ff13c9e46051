"""Backtests: the main job's forecasts replayed on past dates, and how right they were."""

import datetime
from typing import ClassVar

from django.core.validators import MinValueValidator
from django.db import models

from .organizations import Organization, OwnedQuerySet
from .runs import Run, RunState


class BacktestQuerySet(OwnedQuerySet):
    def newest(self, organization: Organization, as_of: datetime.date | None = None):
        """The organization's newest finished backtest, or None.

        With `as_of`, none that looked at a later day: a plan of a past day may not know how it went on.
        """
        done = self.of(organization).filter(state=RunState.DONE)
        if as_of is not None:
            done = done.filter(until__lte=as_of)
        return done.order_by("-finished_at", "-pk").first()


class Backtest(Run):
    """One replay: `scores` holds the rows of scores.csv, `words` the same for a planner, a line each; `bands`
    what failed of each band of chances, one object a row."""

    from_day = models.DateField(help_text="the first past date")
    every_days = models.PositiveIntegerField(
        validators=[MinValueValidator(1)], help_text="days from one past date to the next"
    )
    until = models.DateField(null=True, blank=True, help_text="the last day that was looked at")
    version = models.CharField(max_length=40, blank=True)
    scores = models.JSONField(default=list, blank=True)
    words = models.JSONField(default=list, blank=True)
    bands = models.JSONField(default=list, blank=True)
    passed_over = models.JSONField(default=list, blank=True)

    objects: ClassVar = BacktestQuerySet.as_manager()

    class Meta(Run.Meta):
        indexes = [models.Index(fields=["organization", "state", "-finished_at"], name="backtest_newest")]

    def __str__(self) -> str:
        return f"backtest {self.pk} of {self.organization} from {self.from_day} ({self.state})"

    @property
    def report(self) -> dict:
        """What report.json says of it."""
        return {
            "from": self.from_day.isoformat(),
            "every_days": self.every_days,
            "until": self.until.isoformat() if self.until else None,
            "rows": self.scores,
            "in_words": self.words,
            "passed_over": self.passed_over,
        }
