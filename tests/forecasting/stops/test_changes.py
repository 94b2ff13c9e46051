"""What is told of a plan that says otherwise than the last."""

from datetime import date

import pandas as pd

from forecasting.outputs import CHANGEOUTS, FORECASTS, KIT_LINES, KITS, MARGINS
from forecasting.stops.changes import tell_changes
from forecasting.tables import make_table

TODAY = date(2027, 2, 1)
NOT_WORTH_IT = "with the windows, the labour and the parts there are, changing it no longer pays"


def forecast(assembly="A-1", **more):
    usual = {
        "machine": "M-1",
        "position": "P-1",
        "population": "100R2 -6",
        "age_days": 900.0,
        "age_hours": 7_000.0,
        **{f"p_fail_{days}d": 0.1 for days in (30, 90, 180, 365)},
        "p_fail_365d_low": 0.05,
        "p_fail_365d_high": 0.2,
        "due_on": "2027-06-01",
        "due_reason": "economy",
    }
    return {"assembly": assembly, **usual, **more}


def margin(assembly="A-1", verdict="sound"):
    return {"assembly": assembly, "machine": "M-1", "position": "P-1", "verdict": verdict}


def changeout(assembly="A-1", starts_on="2027-06-05", *, special=False, **more):
    usual = {
        "changeout": f"M-1 {starts_on}" + (" special" if special else ""),
        "machine": "M-1",
        "position": "P-1",
        "planned_on": starts_on,
        "window_starts_on": None if special else starts_on,
        "special_stop": special,
        "due_reason": "economy",
        "reason": "It says so",
    }
    return {"assembly": assembly, **usual, **more}


def outputs(forecasts, margins=None, changeouts=(), *, parts_on=None):
    """What a plan says; what its stops lack is there on `parts_on`."""
    usual = {"purpose": "changeout", "site": "North", "ready": False}
    kits = [
        {"kit": f"K-{name} {needed_by}", "changeout": name, "needed_by": needed_by, **usual}
        for name, needed_by in sorted(
            {(one["changeout"], one["planned_on"]) for one in changeouts if parts_on}
        )
    ]
    usual = {"line": 1, "part": "E-6", "kind": "hose_end", "quantity": 2.0, "unit": "each", "short_by": 1.0}
    lines = [{"kit": one["kit"], **usual, "available_on": parts_on} for one in kits]
    margins = [margin(one["assembly"]) for one in forecasts] if margins is None else margins
    return {
        "forecasts": make_table(forecasts, FORECASTS),
        "margins": make_table(margins, MARGINS),
        "changeouts": make_table(list(changeouts), CHANGEOUTS),
        "kits": make_table(kits, KITS),
        "kit_lines": make_table(lines, KIT_LINES),
    }


def test_a_first_plan_changes_nothing():
    assert tell_changes(None, outputs([forecast()]), TODAY).empty


def test_the_same_plan_again_changes_nothing():
    plan = outputs([forecast(), forecast("A-2", due_on=None, due_reason="none")], changeouts=[changeout()])
    assert tell_changes(plan, plan, TODAY).empty


def test_a_due_date_moved_by_days_is_not_told_and_by_weeks_it_is():
    before = outputs([forecast(), forecast("A-2")])
    now = outputs([forecast(due_on="2027-06-06"), forecast("A-2", due_on="2027-04-20", p_fail_365d=0.31)])
    told = tell_changes(before, now, TODAY)
    assert told.to_dict("records") == [
        {
            "assembly": "A-2",
            "before": "due on 1 Jun 2027 (cost)",
            "now": "due on 20 Apr 2027 (cost)",
            "cause": "its chance of failing within a year rose from 10 % to 31 %",
        }
    ]


def test_what_weighs_most_stands_first_and_a_small_move_says_by_how_much_the_chance_moved():
    before = outputs([forecast(), forecast("A-2"), forecast("A-3")], changeouts=[changeout("A-2")])
    now = outputs(
        [forecast(due_on="2027-08-20", p_fail_365d=0.105), forecast("A-3")],
        [margin("A-1"), margin("A-3", "short")],
    )
    told = tell_changes(before, now, TODAY)
    assert told["assembly"].tolist() == ["A-2", "A-3", "A-1"]
    assert told["cause"].tolist() == [
        "it has been taken off, or its machine was retired",
        "its margin was judged anew: short",
        "its usage, its limits or what it costs changed; its chance of failing within a year hardly did: "
        "10 % before, 10.5 % now",
    ]


def test_a_new_verdict_is_the_cause_of_what_follows_from_it():
    before = outputs([forecast()], changeouts=[changeout()])
    now = outputs(
        [forecast(due_on="2027-02-01", due_reason="unfit")],
        [margin(verdict="short")],
        [changeout(starts_on="2027-02-01", special=True)],
    )
    told = tell_changes(before, now, TODAY).iloc[0]
    assert told["before"] == "margin sound; due on 1 Jun 2027 (cost); changeout on 5 Jun 2027"
    assert told["now"] == (
        "margin short; due on 1 Feb 2027 (not fit for its position); special stop on 1 Feb 2027"
    )
    assert told["cause"] == "its margin was judged anew: short"


def test_a_new_inspection_is_named_as_the_cause():
    before = outputs([forecast(due_on=None, due_reason="none")])
    now = outputs([forecast(due_on="2027-02-01", due_reason="inspection")])
    told = tell_changes(before, now, TODAY).iloc[0]
    assert told["before"] == "not due"
    assert told["cause"] == "a new inspection says replace"


def test_a_new_limit_is_named_as_the_cause():
    before = outputs([forecast()])
    now = outputs([forecast(due_on="2027-03-01", due_reason="age_limit")])
    assert tell_changes(before, now, TODAY)["cause"].tolist() == ["it is now held by its age limit"]


def test_a_window_that_comes_in_time_ends_a_special_stop():
    before = outputs([forecast()], changeouts=[changeout(starts_on="2027-06-01", special=True)])
    now = outputs([forecast()], changeouts=[changeout(starts_on="2027-05-20")])
    told = tell_changes(before, now, TODAY).iloc[0]
    assert (told["before"], told["now"]) == ("special stop on 1 Jun 2027", "changeout on 20 May 2027")
    assert told["cause"] == "a window of its machine now comes in time"


def test_a_changeout_dropped_or_moved_is_told():
    before = outputs([forecast(), forecast("A-2")], changeouts=[changeout(), changeout("A-2")])
    now = outputs([forecast(), forecast("A-2")], changeouts=[changeout("A-2", starts_on="2027-07-05")])
    told = tell_changes(before, now, TODAY).set_index("assembly")
    assert told.loc["A-1", "now"] == "no changeout"
    assert told.loc["A-1", "cause"] == NOT_WORTH_IT
    assert told.loc["A-2", "cause"] == "the windows, the labour or the parts for its machine changed"


def test_what_is_overdue_names_no_cost_where_its_parts_move_its_stop():
    overdue, overdue_still = forecast(due_on="2027-01-20"), forecast(due_on="2027-02-01")
    soon, late = [changeout(starts_on="2027-02-05")], [changeout(starts_on="2027-03-05")]
    announced, moved = outputs([overdue], None, soon), outputs([overdue_still], None, late)
    waiting = outputs([overdue_still], None, late, parts_on="2027-02-08")
    causes = [
        tell_changes(before, now, TODAY)["cause"].item()
        for before, now in (
            (announced, waiting),
            (outputs([overdue], None, late, parts_on="2027-02-08"), outputs([overdue_still], None, soon)),
            (announced, moved),
        )
    ]
    assert causes == [
        "the parts of its stop are there only from 8 Feb 2027",
        "the parts of its stop are there sooner than the last plan reckoned",
        "the windows, the labour or the parts for its machine changed",
    ]


def test_another_day_of_one_window_is_told_and_that_its_parts_come_then():
    first = outputs([forecast()], None, [changeout(starts_on="2027-02-05")])
    then = changeout(starts_on="2027-02-05", planned_on="2027-02-20")
    told = tell_changes(first, outputs([forecast()], None, [then], parts_on="2027-02-20"), TODAY)
    assert told["before"].tolist() == ["changeout on 5 Feb 2027"]
    assert told["now"].tolist() == ["changeout on 20 Feb 2027"]
    assert told["cause"].tolist() == ["the parts of its stop are there only from 20 Feb 2027"]


def test_what_may_be_done_at_once_in_an_open_window_has_not_moved_since_yesterday():
    yesterday, today = (
        outputs([forecast()], None, [changeout(starts_on="2027-01-20", planned_on=day)])
        for day in ("2027-01-31", "2027-02-01")
    )
    assert tell_changes(yesterday, today, TODAY).empty


ORDER = {"order": "O-1", "part": "E-6", "site": "North", "quantity": 2.0, "promised": True}


def waiting(day, *, parts_on=None):
    """A plan that changes it on that day of an open window, when its parts are there."""
    then = changeout(starts_on="2027-01-20", planned_on=day)
    return outputs([forecast()], None, [then], parts_on=parts_on or day)


def told_since_yesterday(before, now, *orders, promised=True):
    coming = pd.DataFrame([{**ORDER, "due_on": pd.Timestamp(day), "promised": promised} for day in orders])
    coming = coming.reindex(columns=[*ORDER, "due_on"]).astype({"due_on": "datetime64[s]", "promised": bool})
    return tell_changes(before, now, TODAY, None, date(2027, 1, 31), coming)


def test_a_day_that_moves_on_day_by_day_as_nobody_orders_its_parts_is_not_told():
    assert told_since_yesterday(waiting("2027-02-19"), waiting("2027-02-20")).empty
    assert told_since_yesterday(waiting("2027-02-19"), waiting("2027-02-20"), "2027-02-25").empty


def test_a_day_that_moves_on_with_an_order_that_is_overdue_or_names_no_day_is_not_told():
    moved = waiting("2027-02-19"), waiting("2027-02-20")
    assert told_since_yesterday(*moved, "2027-02-20", promised=False).empty


def test_a_day_that_moves_by_more_or_with_an_order_is_told():
    for before, now, orders in (
        (waiting("2027-02-19"), waiting("2027-02-21"), ()),
        (waiting("2027-02-21"), waiting("2027-02-20"), ()),
        (waiting("2027-02-19"), waiting("2027-02-20"), ("2027-02-20",)),
        (waiting("2027-02-19", parts_on="2027-02-12"), waiting("2027-02-20"), ()),
        (waiting("2027-02-19"), waiting("2027-02-20", parts_on="2027-02-12"), ()),
    ):
        assert told_since_yesterday(before, now, *orders)["assembly"].tolist() == ["A-1"]


def test_a_stop_that_moves_before_its_parts_matter_is_not_laid_to_them():
    before, now = outputs([forecast()], None, [changeout()]), [changeout(starts_on="2027-07-05")]
    told = tell_changes(before, outputs([forecast()], None, now, parts_on="2027-05-01"), TODAY)
    assert told["cause"].tolist() == ["the windows, the labour or the parts for its machine changed"]


def test_a_stop_that_a_limit_brings_forward_is_laid_to_the_limit_though_its_kit_is_short():
    before = outputs([forecast()], None, [changeout(starts_on="2027-03-05")])
    sooner = [changeout(starts_on="2027-02-05", special=True)]
    now = outputs([forecast(due_reason="risk", p_fail_365d=0.5)], None, sooner, parts_on="2027-04-10")
    assert tell_changes(before, now, TODAY)["cause"].tolist() == [
        "its chance of failing within a year rose from 10 % to 50 %"
    ]


def test_a_kit_that_stays_short_is_no_cause_of_a_new_limit():
    before = outputs([forecast()], None, [changeout()], parts_on="2027-06-20")
    now = outputs([forecast(due_reason="age_limit")], None, [changeout()], parts_on="2027-06-20")
    assert tell_changes(before, now, TODAY)["cause"].tolist() == ["it is now held by its age limit"]


def test_a_hose_that_came_off_as_planned_is_told_and_one_that_was_not_planned_is_not():
    before = outputs([forecast(), forecast("A-2")], changeouts=[changeout()])
    told = tell_changes(before, outputs([]), TODAY)
    assert told[["assembly", "now", "cause"]].to_numpy().tolist() == [
        ["A-1", "not installed", "it has been taken off, or its machine was retired"]
    ]


def test_what_was_overdue_and_still_is_says_nothing_new_but_its_missed_stop():
    before = outputs(
        [forecast(due_on="2027-01-04", due_reason="unfit")],
        changeouts=[changeout(starts_on="2027-01-04", special=True)],
    )
    now = outputs(
        [forecast(due_on="2027-02-01", due_reason="unfit")],
        changeouts=[changeout(starts_on="2027-02-01", special=True)],
    )
    told = tell_changes(before, now, TODAY).iloc[0]
    assert told["before"] == "special stop on 4 Jan 2027"
    assert told["now"] == "special stop on 1 Feb 2027"
    assert told["cause"] == "the day of its stop has passed and it is still installed"


def test_an_assembly_the_last_plan_did_not_know_is_no_change():
    told = tell_changes(outputs([forecast()]), outputs([forecast(), forecast("A-2")]), TODAY)
    assert isinstance(told, pd.DataFrame)
    assert told.empty


def decided(words, *, since="2027-01-20", stands=True, why_not="", risk=""):
    row = {"assembly": "A-1", "stands": stands, "words": words, "why_not": why_not, "risk": risk}
    return pd.DataFrame([row]).assign(since=pd.to_datetime([since]).astype("datetime64[s]"))


LAST_PLAN = date(2027, 1, 10)
PLANNED, DROPPED = outputs([forecast()], changeouts=[changeout()]), outputs([forecast()])


def test_a_decision_since_the_last_plan_is_the_cause_of_another_stop():
    told = tell_changes(PLANNED, DROPPED, TODAY, decided("A. Example kept it in place"), LAST_PLAN)
    assert told["cause"].tolist() == ["A. Example kept it in place"]


def test_a_decision_since_the_last_plan_is_the_cause_of_another_day_of_its_window():
    later = outputs([forecast()], None, [changeout(planned_on="2027-06-20")])
    told = tell_changes(PLANNED, later, TODAY, decided("A. Example put it off"), LAST_PLAN)
    assert told["cause"].tolist() == ["A. Example put it off"]


def test_a_decision_that_was_withdrawn_is_the_cause():
    words = "a decision was withdrawn on 20 Jan 2027"
    told = tell_changes(DROPPED, PLANNED, TODAY, decided(words, stands=False), LAST_PLAN)
    assert told["cause"].tolist() == [words]


def test_a_decision_older_than_the_last_plan_changed_nothing_since():
    old = decided("A. Example kept it in place", since="2026-12-01")
    told = tell_changes(PLANNED, DROPPED, TODAY, old, LAST_PLAN)
    assert told["cause"].tolist() == [NOT_WORTH_IT]


def test_a_decision_that_can_no_longer_be_held_is_told_however_old():
    old = decided("A. Example kept the stop", since="2026-12-01", why_not="that window is over")
    told = tell_changes(PLANNED, DROPPED, TODAY, old, LAST_PLAN)
    assert told["cause"].tolist() == [
        "A. Example kept the stop, which the plan does not hold to: that window is over"
    ]


def test_a_limit_passed_in_a_persons_name_is_never_told_without_that_name():
    kept = decided("A. Example kept it in place", since="2026-12-01", risk="its last inspection says replace")
    worse = outputs([forecast(due_reason="inspection", due_on="2027-02-01")])
    told = tell_changes(DROPPED, worse, TODAY, kept, LAST_PLAN)
    assert told["cause"].tolist() == [
        "a new inspection says replace; A. Example kept it in place, past a limit: "
        "its last inspection says replace"
    ]
