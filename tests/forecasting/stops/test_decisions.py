"""What people decided about changeouts: held to, not held to, and told."""

from datetime import date

import numpy as np
import pandas as pd
import pytest

from forecasting.history import known_on
from forecasting.policies import Settings
from forecasting.stops.changeouts import plan_changeouts
from forecasting.stops.decisions import heed_decisions, tell_decisions
from forecasting.stops.due import find_due
from forecasting.stops.prospects import look_ahead
from tests.forecasting.builders import (
    AS_OF,
    KnownLaw,
    a_position,
    a_window,
    build_fleet,
    hose,
    hose_end,
    limits_of,
    margins_of,
)

MONTHLY = [a_window(starts_on=f"2027-{month:02d}-10") for month in range(1, 13)]
AGE = (AS_OF - date(2024, 1, 4)).days
WORKSHOP = Settings(horizon_days=365)


def a_decision(kind, day=None, assembly="M-1/P-1", **more):
    usual = {"decided_on": "2027-01-03", "decided_by": "A. Example", "reason": "the crane is away"}
    return {"assembly": assembly, "decision": kind, "day": day, **usual, **more}


def a_fleet(*decisions, **more):
    """One machine with a window a month; its hose reaches an age limit where `AGE` is given one."""
    return build_fleet(**{"service_windows": MONTHLY, "decisions": decisions, **more})


def plan(tables, *, law=None, limits=None, verdicts=None, announced=None, as_of=AS_OF):
    """The changeouts and what became of the decisions; hoses last for ever where no law is given."""
    tables = known_on(tables, as_of)
    law = law or KnownLaw(tables, scale_days=1e6, as_of=as_of)
    margins, limits = margins_of(tables, **(verdicts or {})), limits_of(tables, **(limits or {}))
    prospects = look_ahead(law, tables, WORKSHOP)
    due = find_due(prospects, margins, limits, tables["inspections"], as_of)
    changeouts, _ = plan_changeouts(due, prospects, tables, WORKSHOP, as_of, announced)
    heeded = heed_decisions(due, law.installed, tables, WORKSHOP.horizon_days, as_of)
    return changeouts, tell_decisions(heeded, changeouts, tables)


def days(changeouts):
    return changeouts["planned_on"].dt.strftime("%Y-%m-%d").tolist()


def worn(tables):
    """A law under which the hose is best changed in March: its best age is then reached."""
    return KnownLaw(tables, scale_days=2_050, shape=4.0)


def test_without_a_decision_the_hose_is_changed_where_that_costs_least():
    tables = a_fleet()
    changeouts, told = plan(tables, law=worn(tables))
    assert len(changeouts) == 1
    assert told.empty


def test_not_before_a_day_leaves_only_later_windows():
    tables = a_fleet(a_decision("not_before", "2027-08-01"))
    changeouts, told = plan(tables, law=worn(tables))
    assert days(changeouts) == ["2027-08-10"]
    assert "A. Example said on 3 Jan 2027: not before 1 Aug 2027" in changeouts["reason"].iloc[0]
    assert told[["why_not", "risk"]].to_numpy().tolist() == [["", ""]]


def test_not_after_a_day_is_a_limit():
    tables = a_fleet(a_decision("not_after", "2027-05-15"))
    changeouts, _ = plan(tables)
    assert changeouts["planned_on"].max() <= pd.Timestamp("2027-05-15")
    assert changeouts["special_stop"].tolist() == [False]
    assert changeouts["reason"].iloc[0].startswith("A. Example said on 3 Jan 2027: not after 15 May 2027")


def test_not_after_a_day_before_any_window_is_a_special_stop():
    changeouts, _ = plan(a_fleet(a_decision("not_after", "2027-01-08")))
    assert days(changeouts) == ["2027-01-08"]
    assert changeouts["special_stop"].all()


def test_a_day_that_has_passed_means_at_once():
    changeouts, _ = plan(a_fleet(a_decision("not_after", "2027-01-01", decided_on="2026-12-01")))
    assert days(changeouts) == [str(AS_OF)]


def test_a_kept_window_is_held_though_another_costs_less():
    tables = a_fleet(a_decision("keep", "2027-10-10"))
    changeouts, told = plan(tables, law=worn(tables))
    assert days(changeouts) == ["2027-10-10"]
    assert "A. Example chose on 3 Jan 2027 the stop of 10 Oct 2027" in changeouts["reason"].iloc[0]
    assert told["why_not"].tolist() == [""]


def test_a_hose_without_costs_is_held_in_its_kept_window():
    tables = a_fleet(
        a_decision("keep", "2027-10-10"),
        positions=[a_position("M-1", "P-1", planned_cost=None, failure_cost=None)],
        parts=[],
        designs=[],
    )
    changeouts, _ = plan(tables)
    assert days(changeouts) == ["2027-10-10"]


def test_a_kept_window_that_is_gone_is_told():
    tables = a_fleet(a_decision("keep", "2027-10-20"))
    changeouts, told = plan(tables, law=worn(tables))
    free, _ = plan(a_fleet(), law=worn(tables))
    assert days(changeouts) == days(free)
    assert told["why_not"].tolist() == ["that window is over or no longer there"]
    assert changeouts["reason"].iloc[0].endswith("that window is over or no longer there.")


def test_a_kept_window_without_labour_yields_and_says_so():
    full = a_window(starts_on="2027-10-10", labour_minutes=20.0)
    others = [one for one in MONTHLY if one["starts_on"] != full["starts_on"]]
    tables = a_fleet(a_decision("keep", "2027-10-10"), service_windows=[*others, full])
    changeouts, told = plan(tables, law=worn(tables))
    assert len(changeouts) == 1 and days(changeouts) != ["2027-10-10"]
    assert told["why_not"].tolist() == ["the labour of that window is not enough for it"]


@pytest.mark.parametrize(("kind", "day"), [("keep", "2027-01-10"), ("not_after", "2027-01-15")])
def test_what_people_decided_goes_without_parts_and_the_reason_says_that_the_kit_is_short(kind, day):
    parts = [hose(lead_time_days=40.0), hose_end(lead_time_days=40.0)]
    tables = a_fleet(a_decision(kind, day), parts=parts)
    changeouts, told = plan(tables)
    assert days(changeouts) == ["2027-01-10"]
    assert "3 Jan 2027" in changeouts["reason"].iloc[0]
    assert (
        changeouts["reason"]
        .iloc[0]
        .endswith(" Its kit is short: its parts would be there only on 13 Feb 2027.")
    )
    assert told["why_not"].tolist() == [""]


def test_a_window_that_comes_up_does_not_move_what_was_kept():
    tables = a_fleet(a_decision("keep", "2027-10-10"), service_windows=MONTHLY[9:])
    before, _ = plan(tables, law=worn(tables))
    more = a_fleet(a_decision("keep", "2027-10-10"))
    after, _ = plan(more, law=worn(more), announced=before)
    assert days(before) == days(after) == ["2027-10-10"]


def test_a_refused_changeout_is_not_planned_whatever_it_costs():
    tables = a_fleet(a_decision("refuse"))
    changeouts, told = plan(tables, law=worn(tables))
    assert changeouts.empty
    assert told["words"].tolist() == ["A. Example kept it in place on 3 Jan 2027: the crane is away"]


def test_a_limit_is_passed_only_in_a_persons_name_and_is_told():
    decision = a_decision("refuse")
    changeouts, told = plan(a_fleet(decision), verdicts={"M_1_P_1": "short"})
    assert changeouts.empty
    assert told["risk"].tolist() == ["it does not bear what its position asks of it"]


@pytest.mark.parametrize("missing", ["reason", "decided_by"])
def test_without_a_reason_or_a_name_no_limit_is_passed(missing):
    decision = a_decision("not_before", "2027-08-01", **{missing: None})
    changeouts, told = plan(a_fleet(decision), limits={"age_limit_days": AGE + 100})
    assert days(changeouts) == ["2027-04-10"]
    assert told["why_not"].iloc[0].startswith("its age limit is reached on 14 Apr 2027")
    assert told["risk"].tolist() == [""]


def test_past_a_limit_the_first_window_from_the_day_on_is_taken():
    decision = a_decision("not_before", "2027-08-01")
    changeouts, told = plan(a_fleet(decision), limits={"age_limit_days": AGE + 100})
    assert days(changeouts) == ["2027-08-10"]
    assert "Until then it stays past a limit" in changeouts["reason"].iloc[0]
    assert told["risk"].iloc[0] == "its age limit is reached on 14 Apr 2027"


def test_past_a_limit_and_the_last_window_it_is_a_special_stop_on_the_day():
    tables = a_fleet(a_decision("not_before", "2027-03-01"), service_windows=MONTHLY[:2])
    changeouts, _ = plan(tables, limits={"age_limit_days": AGE + 10})
    assert days(changeouts) == ["2027-03-01"]
    assert changeouts["special_stop"].all()


def test_a_limit_after_the_day_still_holds():
    decision = a_decision("not_before", "2027-04-12")
    changeouts, told = plan(a_fleet(decision), limits={"age_limit_days": AGE + 120})
    assert days(changeouts) == ["2027-05-04"]  # the windows from 12 April to its limit: none
    assert told[["why_not", "risk"]].to_numpy().tolist() == [["", ""]]


@pytest.mark.parametrize(
    "decision",
    [a_decision("refuse"), a_decision("not_before", "2027-08-01"), a_decision("keep", "2027-08-10")],
)
def test_a_critical_position_is_not_left_past_its_limit_whoever_says_so(decision):
    tables = a_fleet(decision, positions=[a_position("M-1", "P-1", critical=True)])
    changeouts, told = plan(tables, limits={"age_limit_days": AGE + 100})
    assert days(changeouts) == ["2027-04-10"]
    assert told["why_not"].tolist() == [
        "its age limit is reached on 14 Apr 2027, and a critical position is not left beyond that"
    ]
    assert "does not hold to that" in changeouts["reason"].iloc[0]


def test_a_critical_position_may_be_put_off_until_its_due_date():
    tables = a_fleet(
        a_decision("not_before", "2027-03-01"), positions=[a_position("M-1", "P-1", critical=True)]
    )
    changeouts, told = plan(tables, limits={"age_limit_days": AGE + 100})
    assert changeouts["planned_on"].between("2027-03-01", "2027-04-14").all()
    assert told["why_not"].tolist() == [""]


def test_a_withdrawn_decision_is_not_held_to_but_was_until_then():
    withdrawn = a_decision("refuse", decided_on="2026-12-01", withdrawn_on="2026-12-20")
    tables = a_fleet(withdrawn)
    now, told = plan(tables, law=worn(tables))
    then, _ = plan(tables, as_of=date(2026, 12, 10), law=KnownLaw(tables, scale_days=2_050, shape=4.0))
    assert len(now) == 1
    assert then.empty
    assert told["words"].tolist() == ["a decision was withdrawn on 20 Dec 2026"]


def test_a_decision_made_later_is_not_known():
    tables = a_fleet(a_decision("refuse", decided_on="2027-01-05"))
    changeouts, told = plan(tables, law=worn(tables))
    assert len(changeouts) == 1
    assert told.empty


def test_a_decision_about_what_came_off_is_moot():
    tables = a_fleet(a_decision("refuse", assembly="gone long ago"))
    changeouts, told = plan(tables, law=worn(tables))
    assert len(changeouts) == 1
    assert told.empty


@pytest.mark.parametrize("seed", range(4))
def test_a_decision_bears_on_its_own_hose_and_no_other_machine(seed):
    rng = np.random.default_rng(seed)
    windows = [a_window(f"M-{m}", f"2027-{month:02d}-1{m}") for m in (1, 2, 3) for month in range(1, 13)]
    positions = [
        a_position(f"M-{m}", f"P-{p}", failure_cost=float(rng.integers(600, 4_000)))
        for m in (1, 2, 3)
        for p in (1, 2, 3, 4)
    ]
    decisions = [
        a_decision("not_before", "2027-06-01", "M-1/P-1"),
        a_decision("refuse", None, "M-1/P-2"),
        a_decision("not_after", "2027-09-01", "M-1/P-3"),
    ]
    free = build_fleet(3, 4, service_windows=windows, positions=positions)
    held = build_fleet(3, 4, service_windows=windows, positions=positions, decisions=decisions)
    law = KnownLaw(free, scale_days=1_900, shape=3.0)
    usual, decided = plan(free, law=law)[0], plan(held, law=law)[0]
    others = ["M-2", "M-3"]
    pd.testing.assert_frame_equal(
        usual[usual["machine"].isin(others)].reset_index(drop=True),
        decided[decided["machine"].isin(others)].reset_index(drop=True),
    )
    mine = decided.set_index("assembly")["planned_on"]
    assert "M-1/P-2" not in mine
    assert mine.get("M-1/P-1", pd.Timestamp.max) >= pd.Timestamp("2027-06-01")
    assert mine["M-1/P-3"] <= pd.Timestamp("2027-09-01")
