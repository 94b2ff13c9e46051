"""What was known on a day: the register without everything that is dated later.

Reading, inspection, build, removal, decision: each counts from its own day on. What carries no date (parts,
designs, positions, policies, stock) and what is dated ahead on purpose (windows, labour, open orders) stays.
"""

import datetime

import pandas as pd

TOLD_BY_REMOVAL = ("removed_on", "removed_hours", "removal_cause", "failure_mode")


def known_on(tables: dict[str, pd.DataFrame], as_of: datetime.date) -> dict[str, pd.DataFrame]:
    """The tables as they would have stood on `as_of`, that day included.

    An assembly installed later is not there, nor are its inspections; one removed later is still in its
    place; a machine retired later still works; one commissioned later is not there with its positions and
    windows, unless something was already recorded of it. A retired machine waits for no parts, though its
    kit be begun. Rows dated later change nothing of the outcome.
    """
    day = pd.Timestamp(as_of)
    known = dict(tables)

    installations = _until(tables["installations"], "installed_on", day)
    still_in_place = installations["removed_on"] > day
    known["installations"] = installations.assign(
        **{name: installations[name].mask(still_in_place) for name in TOLD_BY_REMOVAL}
    )
    known["meter_readings"] = _until(tables["meter_readings"], "read_on", day)
    known["builds"] = _until(tables["builds"], "built_on", day)
    known["crimp_readings"] = _where(
        tables["crimp_readings"], tables["crimp_readings"]["assembly"].isin(known["builds"]["assembly"])
    )
    inspections = _until(tables["inspections"], "inspected_on", day)
    known["inspections"] = _where(inspections, inspections["assembly"].isin(installations["assembly"]))

    decisions = _until(tables["decisions"], "decided_on", day)
    withdrawn_on = decisions["withdrawn_on"]
    known["decisions"] = decisions.assign(withdrawn_on=withdrawn_on.mask(withdrawn_on > day))

    machines = tables["machines"]
    recorded = pd.concat([installations["machine"], known["meter_readings"]["machine"]])
    not_there = (machines["commissioned_on"] > day) & ~machines["machine"].isin(recorded)
    for name in ("machines", "positions", "service_windows"):
        absent = tables[name]["machine"].isin(machines["machine"][not_there])
        known[name] = _where(tables[name], ~absent)
    dates = known["machines"][["commissioned_on", "retired_on"]]
    machines = known["machines"] = known["machines"].assign(**dates.mask(dates > day))
    waiting = tables["waiting_builds"]
    retired = machines["machine"][machines["retired_on"].notna()]
    known["waiting_builds"] = _where(waiting, ~waiting["machine"].isin(retired))
    return known


def _until(frame: pd.DataFrame, column: str, day: pd.Timestamp) -> pd.DataFrame:
    return _where(frame, ~(frame[column] > day))


def _where(frame: pd.DataFrame, rows: pd.Series) -> pd.DataFrame:
    return frame[rows].reset_index(drop=True)
