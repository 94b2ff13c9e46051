"""Plans between the database and the tables of `forecasting.outputs`."""

import itertools
from datetime import date

import pandas as pd

from fleet.models import LINES, Organization, Plan, RunState
from forecasting.outputs import OUTPUTS
from forecasting.tables import Column, make_table

from .rows import insert_rows


def store_plan_lines(plan: Plan, tables: dict[str, pd.DataFrame]) -> None:
    """Writes every line of the plan. The caller holds the transaction that also publishes it."""
    for name, model in LINES.items():
        names = ["plan", "row", *OUTPUTS[name].names]
        fields = [model._meta.get_field(one).column for one in names]
        values = (_stored(tables[name][column.name], column) for column in OUTPUTS[name].columns)
        rows = zip(itertools.repeat(plan.pk, len(tables[name])), itertools.count(1), *values, strict=False)
        insert_rows(model._meta.db_table, fields, rows)


def plan_tables(plan: Plan) -> dict[str, pd.DataFrame]:
    """The stored lines of a plan, one frame per OUTPUTS name."""
    tables = {}
    for name, model in LINES.items():
        names = OUTPUTS[name].names
        rows = list(model._default_manager.filter(plan=plan).order_by("row").values_list(*names))
        columns = zip(*rows, strict=True) if rows else itertools.repeat(())
        data = {
            one: pd.Series(list(values), dtype=object) for one, values in zip(names, columns, strict=False)
        }
        tables[name] = make_table(data, OUTPUTS[name])
    return tables


def previous_tables(organization: Organization, as_of: date) -> dict[str, pd.DataFrame] | None:
    """The tables of the newest plan that speaks of a day before `as_of`, or None.

    Not the plan in force: a plan for a past day must come out the same whenever it is made, so it may know
    neither later plans nor an earlier run for the same day.
    """
    plan = previous_plan(organization, as_of)
    return plan_tables(plan) if plan else None


def previous_plan(organization: Organization, as_of: date) -> Plan | None:
    """The newest plan that speaks of a day before `as_of`, or None."""
    return (
        Plan.objects.of(organization)
        .filter(state=RunState.DONE, as_of__lt=as_of)
        .order_by("-as_of", "-finished_at", "-pk")
        .first()
    )


def _stored(values: pd.Series, column: Column) -> list:
    """The values as the database takes them: a text that is not known is empty, all else NULL."""
    if column.kind == "date":
        values = values.dt.date
    values = values.astype(object)
    return values.where(values.notna(), "" if column.kind == "text" else None).tolist()
