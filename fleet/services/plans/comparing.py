"""What if: the main job under other policies, from a file of them. Nothing of it is stored."""

import datetime
from collections.abc import Callable
from pathlib import Path

import pandas as pd
from django.utils import timezone
from django.utils.translation import gettext as _

from fleet.exchange.cells import read_cells
from fleet.exchange.findings import Findings
from fleet.exchange.merging import merge_folder
from fleet.exchange.reading import read_file
from fleet.exchange.rules import check_fleet
from fleet.frames.plans import previous_tables
from fleet.frames.register import chosen_age_rule, core_settings, core_tables, standing_tables
from fleet.frames.snapshots import one_snapshot
from fleet.models import Organization, Plan
from fleet.trade.age_rules import add_age_limit
from fleet.trade.ratings import load_ratings
from forecasting.comparison import USUAL_POLICIES, compare_what_if, tell_year
from forecasting.inputs import POLICIES
from forecasting.tables import make_table

from ..errors import FolderRefused
from .replanning import same_chance

Progress = Callable[[str], None]


def compare_policies(
    *,
    organization: Organization,
    policies_file: Path,
    as_of: datetime.date,
    today: datetime.date | None = None,
    progress: Progress = lambda step: None,
) -> pd.DataFrame:
    """COMPARISON of the plan for `as_of` with one under the policies of the file, which stand alone.

    The file is read as the fleet folder's `policies.csv`, by the same rules. What the organization set itself
    counts only in the plan that it is compared with; a published age rule that it chose stands behind both.

    Raises FolderRefused with every finding where one is an error, ForecastingError where the register's
    tables cannot be planned with.
    """
    progress(_("Reading the policies"))
    with one_snapshot():
        policies = read_policies(organization, policies_file, today or timezone.localdate())
        policies = add_age_limit(policies, chosen_age_rule(organization))
        tables = core_tables(organization)
        settings = core_settings(organization)
        previous = previous_tables(organization, as_of)
    return compare_what_if(tables, policies, settings, as_of, same_chance, previous, progress)


def read_policies(organization: Organization, path: Path, today: datetime.date) -> pd.DataFrame:
    """POLICIES of the file, judged beside the organization's register. Raises FolderRefused."""
    findings = Findings()
    read = read_file(path, POLICIES.name, findings)
    incoming = {name: read_cells(sheet, findings) for name, sheet in read.sheets.items()}
    standing = standing_tables(organization)
    without = standing | {POLICIES.name: standing[POLICIES.name].iloc[:0]}
    fleet = merge_folder(without, incoming, read)
    check_fleet(fleet, load_ratings(), today, findings)
    if findings.errors:
        raise FolderRefused(errors=findings.errors, findings=findings.listed())
    return make_table(fleet[POLICIES.name].sort_values("scope", ignore_index=True), POLICIES)


def long_run(plan: Plan) -> list[dict]:
    """What a year costs under the plan, run to failure and the best fixed age, as the plan's report has it.

    One dict a policy with the columns of comparison.csv, each None where not known; the value of stock under
    the other two only `compare_policies` reckons.
    """
    costs = plan.report.get("yearly_cost", {})
    return [
        tell_year(costs, policy, policy) | {"stock_value": costs.get(f"{policy}_stock_value")}
        for policy in USUAL_POLICIES
        if policy in costs
    ]


def value_curve(plan: Plan) -> list[dict]:
    """What all stock is worth at each service level (service_level, stock_value, fill_rate), levels rising.

    Empty where no part has a cost, or the plan was made before the curve was.
    """
    curve = plan.report.get("stock_value_by_service_level", [])
    return [row for row in curve if row["stock_value"] is not None]
