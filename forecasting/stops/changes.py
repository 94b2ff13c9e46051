"""What a plan says otherwise than the last one, assembly by assembly, and what made it do so."""

from datetime import date

import numpy as np
import pandas as pd

from ..outputs import CHANGES
from ..tables import make_table
from ..units import decimals_apart, tell_numbers
from ..wording import gettext as _
from ..wording import gettext_noop, tell_days
from .decisions import tell_missed

TELLING_DAYS = 7  # a due date that moves less is not worth a word
TELLING_RATIO = 1.2  # a chance that rises or falls by less did not make a difference

DUE_IN_WORDS = {
    "unfit": gettext_noop("due on %(day)s (not fit for its position)"),
    "inspection": gettext_noop("due on %(day)s (its inspection says replace)"),
    "age_limit": gettext_noop("due on %(day)s (age limit)"),
    "hours_limit": gettext_noop("due on %(day)s (hours limit)"),
    "risk": gettext_noop("due on %(day)s (risk limit)"),
    "economy": gettext_noop("due on %(day)s (cost)"),
}
HELD_NOW = {
    "unfit": gettext_noop("it is now not fit for its position"),
    "inspection": gettext_noop("it is now held by its inspection, which says replace"),
    "age_limit": gettext_noop("it is now held by its age limit"),
    "hours_limit": gettext_noop("it is now held by its hours limit"),
    "risk": gettext_noop("it is now held by its risk limit"),
    "economy": gettext_noop("it is now held by cost"),
}
MARGIN_IN_WORDS = {
    "short": gettext_noop("margin short"),
    "thin": gettext_noop("margin thin"),
    "unknown": gettext_noop("margin unknown"),
    "sound": gettext_noop("margin sound"),
}
JUDGED_ANEW = {
    "short": gettext_noop("its margin was judged anew: short"),
    "thin": gettext_noop("its margin was judged anew: thin"),
    "unknown": gettext_noop("its margin was judged anew: unknown"),
    "sound": gettext_noop("its margin was judged anew: sound"),
}


def tell_changes(
    previous: dict[str, pd.DataFrame] | None,
    tables: dict[str, pd.DataFrame],
    as_of: date,
    decided: pd.DataFrame | None = None,
    previous_on: date | None = None,
    orders: pd.DataFrame | None = None,
) -> pd.DataFrame:
    """CHANGES between the OUTPUTS frames of the `previous` plan and those of this one, one row per assembly.

    Told are a verdict that changed, a reason to be due that changed, a due date moved by more than a week
    (what was overdue and still is has not moved), and a changeout that is new, dropped, or in another stop or
    on another day of it, save where the day moves on with the calendar as nothing says when its parts come.
    Of what the last plan did not know, and of what came off that it had not planned, nothing is told.

    `decided` is of `tell_decisions`: one made or withdrawn since `previous_on`, the day of the last plan,
    or one that can no longer be held, is the cause of another stop. A limit that is passed in a person's name
    is told with whatever else is. Without `orders` (`find_due_orders`) nothing is to come.
    """
    if previous is None:
        return make_table(None, CHANGES)
    both = _what_is_said(previous).merge(
        _what_is_said(tables), on="assembly", how="left", suffixes=("_before", "_now"), indicator=True
    )
    gone = both["_merge"].eq("left_only").to_numpy()
    both = _with_decisions(both, decided, previous_on)
    today = pd.Timestamp(as_of)
    told = {
        "verdict": _differs(both, "verdict") & ~gone,
        "due": (_differs(both, "due_reason") | _due_moved(both, today)) & ~gone,
        "changeout": _differs(both, "changeout") | _moved_inside(both, today),
    }
    if previous_on is not None:
        told["changeout"] &= ~_waits_for_an_order(both, tables, orders, today, previous_on)
    rows = np.flatnonzero(told["verdict"] | told["due"] | told["changeout"])
    parts = {name: changed[rows] for name, changed in told.items()}
    both, gone = both.iloc[rows].reset_index(drop=True), gone[rows]
    cause, weight = _causes(both, gone, parts["changeout"], today)
    changes = pd.DataFrame(
        {
            "assembly": both["assembly"],
            "before": _sentences(both, "before", parts, np.zeros(len(rows), bool)),
            "now": _sentences(both, "now", parts, gone),
            "cause": cause,
        }
    )
    return make_table(changes.iloc[np.argsort(weight, kind="stable")].reset_index(drop=True), CHANGES)


def _what_is_said(tables: dict[str, pd.DataFrame]) -> pd.DataFrame:
    """What one plan says of each installed assembly, one row each."""
    said = tables["forecasts"][["assembly", "p_fail_365d", "due_on", "due_reason"]]
    said = said.merge(tables["margins"][["assembly", "verdict", "margin_percent"]], on="assembly", how="left")
    planned = tables["changeouts"][
        ["assembly", "changeout", "planned_on", "window_starts_on", "special_stop"]
    ]
    parts_on = _lacks(tables).groupby(["changeout", "needed_by"])["available_on"].max().rename("parts_on")
    said = said.merge(planned, on="assembly", how="left")
    return said.merge(parts_on, left_on=["changeout", "planned_on"], right_index=True, how="left")


def _lacks(tables: dict[str, pd.DataFrame]) -> pd.DataFrame:
    """The kit lines that are short, with the changeout, day and site of their kits."""
    short = tables["kit_lines"].loc[tables["kit_lines"]["short_by"] > 0, ["kit", "part", "available_on"]]
    return short.merge(tables["kits"][["kit", "changeout", "needed_by", "site"]], on="kit")


def _with_decisions(
    both: pd.DataFrame, decided: pd.DataFrame | None, previous_on: date | None
) -> pd.DataFrame:
    """`both` with what was decided of each assembly: decision (words; empty: none), newly (bool) and risk."""
    if decided is None or decided.empty:
        return both.assign(decision="", newly=False, risk="")
    newly = decided["stands"] & (decided["why_not"] != "")
    newly |= True if previous_on is None else decided["since"] >= pd.Timestamp(previous_on)
    past_a_limit = _("%(decision)s, past a limit: %(risk)s")
    both_told = list(decided[["words", "why_not", "risk"]].itertuples(index=False, name=None))
    words = [tell_missed(said, why_not) if why_not else said for said, why_not, _risk in both_told]
    risk = [past_a_limit % {"decision": said, "risk": one} if one else "" for said, _why, one in both_told]
    known = pd.DataFrame(
        {"assembly": decided["assembly"], "decision": words, "newly": newly.astype(bool), "risk": risk}
    )
    both = both.merge(known, on="assembly", how="left")
    return both.fillna({"decision": "", "risk": "", "newly": False}).astype({"newly": bool})


def _due_moved(both: pd.DataFrame, today: pd.Timestamp) -> np.ndarray:
    """Whose due date moved so far that it is told; what was overdue and still is has not moved."""
    overdue = ((both["due_on_before"] <= today) & (both["due_on_now"] <= today)).to_numpy(bool)
    moved_days = (both["due_on_now"] - both["due_on_before"]).dt.days.abs().to_numpy(float)
    return (moved_days > TELLING_DAYS) & ~overdue


def _moved_inside(both: pd.DataFrame, today: pd.Timestamp) -> np.ndarray:
    """What is planned for another day, of its window too; a day that is past is as good as today."""
    before, now = both["planned_on_before"], both["planned_on_now"]
    return (before.notna() & now.notna() & (before.clip(lower=today) != now)).to_numpy(bool)


def _waits_for_an_order(
    both: pd.DataFrame,
    tables: dict[str, pd.DataFrame],
    orders: pd.DataFrame | None,
    today: pd.Timestamp,
    previous_on: date,
) -> np.ndarray:
    """What goes on another day of its stop only as its parts come later by the days since the last plan: no
    order is out for them, or one that is overdue or names no day. It would be told anew each day."""
    before, now = both["planned_on_before"], both["planned_on_now"]
    waits = (now - before == today - pd.Timestamp(previous_on)) & (before >= today)
    waits &= (both["parts_on_before"] == before) & (both["parts_on_now"] == now)
    waits &= ~_differs(both, "changeout")
    if orders is not None:
        lacks = _lacks(tables).query("available_on == needed_by")
        coming = pd.MultiIndex.from_frame(orders.loc[orders["promised"], ["part", "site", "due_on"]])
        ordered = lacks[pd.MultiIndex.from_frame(lacks[["part", "site", "needed_by"]]).isin(coming)]
        stop_days = pd.MultiIndex.from_frame(both[["changeout_now", "planned_on_now"]])
        waits &= ~stop_days.isin(pd.MultiIndex.from_frame(ordered[["changeout", "needed_by"]]))
    return waits.to_numpy(bool)


def _differs(both: pd.DataFrame, column: str) -> np.ndarray:
    before, now = both[f"{column}_before"].fillna(""), both[f"{column}_now"].fillna("")
    return (before != now).to_numpy(bool)


def _sentences(both: pd.DataFrame, when: str, told: dict[str, np.ndarray], gone: np.ndarray) -> list[str]:
    """What one plan says of what is told, in words."""
    verdict = both[f"verdict_{when}"].map(_asked(MARGIN_IN_WORDS)).fillna(_("margin not judged"))
    due_on, planned_on = (tell_days(both[f"{name}_{when}"]) for name in ("due_on", "planned_on"))
    due_form = both[f"due_reason_{when}"].map(_asked(DUE_IN_WORDS)).fillna(_("due on %(day)s"))
    not_due = _("not due")
    due = [form % {"day": day} if day else not_due for form, day in zip(due_form, due_on, strict=True)]
    special = both[f"special_stop_{when}"].astype("boolean").fillna(False).to_numpy(bool)
    stop = np.where(special, _("special stop on %(day)s"), _("changeout on %(day)s"))
    no_changeout, not_installed = _("no changeout"), _("not installed")
    changeout = [
        form % {"day": day} if day else no_changeout for form, day in zip(stop, planned_on, strict=True)
    ]
    columns = {"verdict": verdict, "due": due, "changeout": changeout}
    return [
        not_installed if away else "; ".join(words[row] for name, words in columns.items() if told[name][row])
        for row, away in enumerate(gone)
    ]


def _causes(
    both: pd.DataFrame, gone: np.ndarray, moved: np.ndarray, today: pd.Timestamp
) -> tuple[list[str], np.ndarray]:
    """The first of the causes that holds for each row, the heaviest first, and its place among them.

    `moved`: its changeout is another, or on another day.
    """
    before, now = both["due_reason_before"], both["due_reason_now"]
    chance_before, chance_now = both["p_fail_365d_before"], both["p_fail_365d_now"]
    ratio = (chance_now / chance_before.where(chance_before > 0)).to_numpy(float)
    rose = _("its chance of failing within a year rose from %(before)s to %(now)s")
    fell = _("its chance of failing within a year fell from %(before)s to %(now)s")
    hardly = _(
        "its usage, its limits or what it costs changed; its chance of failing within a year hardly did: "
        "%(before)s before, %(now)s now"
    )
    moves = (ratio >= TELLING_RATIO) | (ratio <= 1 / TELLING_RATIO)
    told = np.where(moves, np.where(ratio > 1, rose, fell), hardly)
    percent = [100 * one.fillna(0.0).to_numpy(float) for one in (chance_before, chance_now)]
    decimals = decimals_apart(percent, 1)
    chances = [
        form % {"before": f"{old} %", "now": f"{new} %"}
        for form, old, new in zip(told, *(tell_numbers(one, decimals) for one in percent), strict=True)
    ]
    limits = now.map(_asked(HELD_NOW)).fillna(_("it is now held by no limit"))
    same_due = (before == now).to_numpy(bool)
    judged_anew = both["verdict_now"].map(_asked(JUDGED_ANEW)).fillna(_("margin not judged"))
    by_person = both["newly"].to_numpy(bool) & moved
    later = (both["planned_on_now"] > both["planned_on_before"]).to_numpy(bool)
    sooner = (both["planned_on_now"] < both["planned_on_before"]).to_numpy(bool)
    decision = both["risk"].where(both["risk"] != "", both["decision"])
    waits = _("the parts of its stop are there only from %(day)s")
    only_then = [waits % {"day": day} for day in tell_days(both["parts_on_now"])]
    causes = [
        (gone, _("it has been taken off, or its machine was retired")),
        (by_person, decision.to_numpy(object)),
        (_differs(both, "verdict"), judged_anew.to_numpy(object)),
        (
            ((now == "inspection") & (before != "inspection")).to_numpy(bool),
            _("a new inspection says replace"),
        ),
        (
            ((before == "inspection") & (now != "inspection")).to_numpy(bool),
            _("a new inspection no longer says replace"),
        ),
        (
            (both["planned_on_before"] < today).to_numpy(bool),
            _("the day of its stop has passed and it is still installed"),
        ),
        (later & (both["parts_on_now"] > both["planned_on_before"]).to_numpy(bool), only_then),
        (moves, chances),
        (~same_due, limits.to_numpy(object)),
        (
            sooner & (both["parts_on_before"] > both["planned_on_now"]).to_numpy(bool),
            _("the parts of its stop are there sooner than the last plan reckoned"),
        ),
        (_due_moved(both, today), chances),
        (
            both["special_stop_before"].astype("boolean").fillna(False).to_numpy(bool)
            & both["window_starts_on_now"].notna(),
            _("a window of its machine now comes in time"),
        ),
        (both["changeout_now"].notna(), _("the windows, the labour or the parts for its machine changed")),
    ]
    not_worth_it = _("with the windows, the labour and the parts there are, changing it no longer pays")
    found = np.full(len(both), not_worth_it, dtype=object)
    weight = np.full(len(both), len(causes))
    for place, (holds, words) in reversed(list(enumerate(causes))):
        found, weight = np.where(holds, words, found), np.where(holds, place, weight)
    also = ~by_person & ~gone & (both["risk"] != "").to_numpy(bool)
    return list(np.where(also, found + "; " + both["risk"].to_numpy(object), found)), weight


def _asked(words: dict[str, str]) -> dict[str, str]:
    return {code: _(told) for code, told in words.items()}
