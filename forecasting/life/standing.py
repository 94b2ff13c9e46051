"""What stood on a day: the register as known then, and what is read off it before any law is fitted."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date

import pandas as pd

from ..designs.margins import judge_margins
from ..history import known_on
from ..hours.usage import Usage, fit_usage
from ..policies import position_limits
from ..wording import gettext as _
from .lives import build_lives


@dataclass(frozen=True, slots=True)
class Standing:
    """Of one day: `tables` known by then, hours run, limits, margins, and LIVES of all ever installed.

    `judged` is MARGINS of every assembly, past ones too; `limits` has one row per position.
    """

    tables: dict[str, pd.DataFrame]
    usage: Usage
    limits: pd.DataFrame
    judged: pd.DataFrame
    lives: pd.DataFrame

    @classmethod
    def on(
        cls,
        tables: dict[str, pd.DataFrame],
        as_of: date,
        progress: Callable[[str], None] = lambda step: None,
    ) -> "Standing":
        """What the register's `tables` say of `as_of`; nothing dated later is seen."""
        known = known_on(tables, as_of)
        installations = known["installations"]
        progress(_("Reading the hour meters"))
        usage = fit_usage(known["machines"], known["meter_readings"], installations, as_of)
        progress(_("Judging pressure margins"))
        limits = position_limits(known)
        judged = judge_margins(installations, known, limits)
        return cls(known, usage, limits, judged, build_lives(known, usage, judged, as_of))

    @property
    def margins(self) -> pd.DataFrame:
        """MARGINS of the assemblies that are installed."""
        return self.judged[self.lives["installed"].to_numpy(bool)].reset_index(drop=True)

    @property
    def places_without_hose(self) -> pd.DataFrame:
        """Each machine and position, of machines at work, whose hose came off and got no successor.

        What was emptied last stands first.
        """
        last = self.tables["installations"].sort_values("removed_on", ascending=False, na_position="first")
        last = last.drop_duplicates(["machine", "position"])
        machines = self.tables["machines"]
        at_work = last["machine"].isin(machines.loc[machines["retired_on"].isna(), "machine"])
        empty = last[at_work & last["removed_on"].notna() & last["position"].notna()]
        return empty[["machine", "position"]].reset_index(drop=True)
