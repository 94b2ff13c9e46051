"""What if, asked on a page: the question is kept, reckoned as a job, and its answer stands beside it."""

import csv
import datetime
import tempfile
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager
from datetime import timedelta
from io import StringIO
from pathlib import Path

import numpy as np
import pandas as pd
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext_lazy

from fleet.exchange.cells import FIRST_DAY, LAST_DAY
from fleet.exchange.numerals import shortest
from fleet.models import Organization, Policy, RunState, User, WhatIf
from forecasting.errors import ForecastingError

from ..errors import DayOutOfReach, FolderRefused, Overtaken
from ..runs import claim_run, end_run, is_made, making, show_progress
from ..signing import hold_organization
from .comparing import compare_policies, read_policies

WAITED_FOR = timedelta(minutes=30)  # behind other jobs, until it is begun
STOPPED = gettext_lazy("Stopped before it was done. Nothing was changed by it.")
ALL = "all"
COLUMNS = (
    "age_limit_days",
    "hours_limit",
    "risk_limit",
    "risk_horizon_days",
    "surge_allowance_percent",
    "thin_margin_percent",
    "service_level",
)

Progress = Callable[[str], None]


class WhatIfRuns(Overtaken):
    """Another question of this organization is being reckoned."""

    code = "what_if_runs"
    message = gettext_lazy(
        "Another comparison for %(organization)s is being made. Wait for it to finish, then ask again."
    )


def own_policies(
    organization: Organization, for_all: Mapping[str, float | None], narrower: bool = True
) -> str:
    """The organization's policies as policies.csv holds them, `for_all` (by column) for the widest scope.

    Without `narrower`, those of narrower scopes are left out.
    """
    rows: list[Mapping] = [{"scope": ALL, **for_all}]
    if narrower:
        own = Policy.objects.of(organization).exclude(scope=ALL).order_by("scope")
        rows += own.values("scope", *COLUMNS)
    return written_policies(rows)


def written_policies(rows: Iterable[Mapping]) -> str:
    """The rows (scope, and of COLUMNS what is set) as the text of a policies.csv."""
    out = StringIO(newline="")
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(["scope", *COLUMNS])
    for row in rows:
        writer.writerow([row["scope"], *(_written(row.get(column)) for column in COLUMNS)])
    return out.getvalue()


def limits_for_all(policies: str) -> dict[str, float]:
    """What a policies.csv that `written_policies` wrote sets for all, by column; what it leaves open is not
    there."""
    rows = csv.DictReader(StringIO(policies, newline=""))
    told = next((row for row in rows if row["scope"] == ALL), {})
    return {column: float(told[column]) for column in COLUMNS if told.get(column)}


def _written(value: float | None) -> str:
    return "" if value is None else shortest(value)


@transaction.atomic(durable=True)
def request_what_if(
    *, organization: Organization, user: User | None, policies: str, as_of: datetime.date
) -> WhatIf:
    """The question; an adapter hands its number to `run_what_if`. `policies` is the text of a policies.csv.

    Raises FolderRefused with every finding where the policies are wrong, WhatIfRuns where another is being
    reckoned, DayOutOfReach where no row of a register can bear on the day.
    """
    if not FIRST_DAY <= as_of <= LAST_DAY:
        raise DayOutOfReach(day=as_of, first=FIRST_DAY, last=LAST_DAY)
    hold_organization(organization)
    if is_made(WhatIf, organization, WAITED_FOR):
        raise WhatIfRuns(organization=organization)
    with _as_file(policies) as path:
        read_policies(organization, path, timezone.localdate())
    asked = WhatIf(organization=organization, requested_by=user, policies=policies, as_of=as_of)
    asked.full_clean()
    asked.save()
    return asked


def run_what_if(what_if_id: int, *, progress: Progress = lambda step: None) -> WhatIf:
    """The question of that number with its answer. One that was begun before is left as it is.

    Raises FolderRefused where the register moved so that the policies no longer fit it, ForecastingError
    where its tables cannot be planned with; each is also stored as its failure.
    """
    asked = claim_run(WhatIf, what_if_id)
    if asked is None:
        return WhatIf.objects.select_related("organization").get(pk=what_if_id)

    def say(step: str) -> None:
        show_progress(asked, step)
        progress(step)

    refusals = (FolderRefused, ForecastingError)
    with making(asked, name=f"what if {asked.pk}", refusals=refusals, stopped=str(STOPPED)):
        with _as_file(asked.policies) as path:
            comparison = compare_policies(
                organization=asked.organization, policies_file=path, as_of=asked.as_of, progress=say
            )
        end_run(asked, state=RunState.DONE, comparison=_rows(comparison))
    asked.refresh_from_db()
    return asked


def newest_what_if(organization: Organization) -> WhatIf | None:
    """The question that was asked last, or None."""
    return WhatIf.objects.of(organization).order_by("-requested_at", "-pk").first()


def _rows(comparison: pd.DataFrame) -> list[dict]:
    return comparison.astype(object).replace({np.nan: None}).to_dict("records")


@contextmanager
def _as_file(text: str) -> Iterator[Path]:
    """The text as a file called policies.csv, for as long as it lasts."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "policies.csv"
        path.write_text(text, encoding="utf-8")
        yield path
