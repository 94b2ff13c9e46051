"""A fleet whose parts are 40 days away, and its changeouts planned by what of them is there and comes."""

from datetime import timedelta

import pandas as pd

from forecasting.policies import Settings
from forecasting.stops.changeouts import plan_changeouts
from forecasting.stops.due import find_due
from forecasting.stops.prospects import look_ahead
from forecasting.supply.kits import build_kits
from tests.forecasting.builders import (
    AS_OF,
    KnownLaw,
    a_window,
    build_fleet,
    hose,
    hose_end,
    limits_of,
    margins_of,
)

WINDOWS = (3, 10, 24, 45, 80)
LONG_LEAD = [hose(lead_time_days=40.0), hose_end(lead_time_days=40.0)]


def day(number):
    return pd.Timestamp(AS_OF + timedelta(days=int(number)))


def a_fleet(machine_count=1, position_count=1, *, days=WINDOWS, parts=LONG_LEAD, **more):
    """Machines with a window on each of `days` from today, their parts 40 days away."""
    windows = [
        a_window(f"M-{number}", str(day(start).date()), days=1)
        for number in range(1, machine_count + 1)
        for start in days
    ]
    return build_fleet(machine_count, position_count, **{"service_windows": windows, "parts": parts, **more})


def on_hand(part, quantity, *, piece="P1", **more):
    return {"part": part, "site": "North", "piece": piece, "on_hand": quantity, **more}


def on_order(part, quantity, due_in):
    return {
        "order": f"O-{part}",
        "part": part,
        "site": "North",
        "quantity": quantity,
        "expected_on": day(due_in).date(),
    }


def plan(tables, *, limits=None, verdicts=None, settings=None, law=None, announced=None, as_of=AS_OF):
    """The changeouts, the gap and the kit lines; every hose is overdue on cost where no law is given."""
    law, settings = law or KnownLaw(tables, scale_days=700.0, as_of=as_of), settings or Settings()
    margins = margins_of(tables, **(verdicts or {}))
    prospects = look_ahead(law, tables, settings)
    due = find_due(prospects, margins, limits_of(tables, **(limits or {})), tables["inspections"], as_of)
    changeouts, gap = plan_changeouts(due, prospects, tables, settings, as_of, announced)
    kits, lines = build_kits(changeouts, tables, settings, as_of, law)
    return changeouts, gap, lines.merge(kits[["kit", "machine", "needed_by"]], on="kit")


def days_of(changeouts):
    return (changeouts["planned_on"] - pd.Timestamp(AS_OF)).dt.days.tolist()


def is_in_time(changeouts, lines):
    """Whether every kit line is on hand or there by its changeout."""
    planned = changeouts[["machine", "position", "planned_on"]]
    needed = lines.merge(planned, on=["machine", "position"], how="left")["planned_on"]
    return ((lines["short_by"] == 0) | (lines["available_on"] <= needed)).all()
