"""What people decided about changeouts, and what of it a plan can hold to.

A decision stands until it is withdrawn. It may go past a limit only where the position is not critical and a
reason and a name stand for it: the service advises, a competent person decides and is named. What cannot be
held is told with the reason.
"""

from dataclasses import dataclass
from datetime import date

import numpy as np
import pandas as pd

from ..wording import gettext as _
from ..wording import gettext_noop, tell_days
from .due import days_after
from .windows import first_windows, open_windows

LIMIT_IN_WORDS = {
    "unfit": gettext_noop("it does not bear what its position asks of it"),
    "inspection": gettext_noop("its last inspection says replace"),
    "age_limit": gettext_noop("its age limit is reached on %(limit)s"),
    "hours_limit": gettext_noop("its hours limit is reached about %(limit)s"),
    "risk": gettext_noop("its chance of failing passes the limit on %(limit)s"),
    "economy": gettext_noop("it is due on %(limit)s"),
}
REACHED_IN_WORDS = LIMIT_IN_WORDS | {  # by now: since when, nobody reckoned
    "age_limit": gettext_noop("it has reached its age limit"),
    "hours_limit": gettext_noop("it has reached its hours limit"),
    "risk": gettext_noop("its chance of failing is over the limit"),
    "economy": gettext_noop("it is due already"),
}
IN_WORDS = {
    "keep": gettext_noop("%(who)s chose on %(decided)s the stop of %(day)s"),
    "not_before": gettext_noop("%(who)s said on %(decided)s: not before %(day)s"),
    "not_after": gettext_noop("%(who)s said on %(decided)s: not after %(day)s"),
    "refuse": gettext_noop("%(who)s kept it in place on %(decided)s"),
}


@dataclass(frozen=True, slots=True)
class Heeded:
    """What the decisions that stand ask of n installed assemblies, in the order of `due`.

    due       that of `find_due`, with the `due_on` and `limit_on` that the decisions leave
    earliest  (n,) the first day after the as-of date on which each may be changed; inf: it stays
    kept_on   (n,) datetime64[s], when the window began in which it is to be changed; NaT: any
    standing  one row per decision that stands: row (among the n), assembly, machine, decision, day, words,
              why_not (empty where it is held to), risk (the limit that it goes past, in words; else empty),
              window_starts_on (of the window that is kept)
    """

    due: pd.DataFrame
    earliest: np.ndarray
    kept_on: np.ndarray
    standing: pd.DataFrame


def heed_decisions(
    due: pd.DataFrame,
    installed: pd.DataFrame,
    tables: dict[str, pd.DataFrame],
    horizon_days: float,
    as_of: date,
) -> Heeded:
    """What stands in `tables["decisions"]`, as far as it can be held to.

    `installed` names each assembly's machine and position, row by row with `due`. A decision about what is
    no longer installed is moot.
    """
    standing = _find_standing(due, installed, tables)
    row = standing["row"].to_numpy(int)
    is_kind = {kind: (standing["decision"] == kind).to_numpy(bool) for kind in IN_WORDS}
    windows = open_windows(tables["service_windows"], standing["machine"], horizon_days, as_of)
    kept = _kept_windows(standing, windows)
    day, until = _days(standing["day"], as_of), _days(due["limit_on"], as_of)
    until = np.where(np.isnan(until), np.inf, until)
    limit, kept_day = until[row], kept["day"].to_numpy(float)

    reached = np.select(
        [is_kind["keep"], is_kind["not_before"], is_kind["refuse"] & (limit <= horizon_days)],
        [kept_day, day, np.inf],
        -np.inf,
    )
    passes = reached > limit
    limits = _limits_in_words(due, row, as_of)
    named = (standing["reason"].notna() & standing["decided_by"].notna()).to_numpy(bool)
    standing["why_not"] = np.select(
        [
            is_kind["keep"] & np.isnan(kept_day),
            passes & standing["critical"].to_numpy(bool),
            passes & ~named,
        ],
        [
            _("that window is over or no longer there"),
            _each(_("%(limit)s, and a critical position is not left beyond that"), limits),
            _each(_("%(limit)s, and to go past that takes a reason and a name"), limits),
        ],
        "",
    )
    held = (standing["why_not"] == "").to_numpy(bool)
    standing["risk"] = np.where(held & passes, limits, "")
    standing["window_starts_on"] = kept["window_starts_on"].where(held)

    # Past a limit the first window after it is taken, or else a special stop on the very day.
    first = first_windows(standing["machine"], day, windows)
    put_off = np.where(np.isnan(first), day, first)
    leaves = np.select(
        [
            ~held,
            is_kind["not_after"],
            is_kind["not_before"] & passes,
            is_kind["keep"] & passes,
            is_kind["refuse"],
        ],
        [limit, np.minimum(limit, np.maximum(day, 0.0)), put_off, kept_day, np.inf],
        limit,
    )
    until[row] = leaves
    earliest = np.zeros(len(due))
    earliest[row] = np.select([held & is_kind["not_before"], held & is_kind["refuse"]], [day, np.inf], 0.0)
    kept_on = np.full(len(due), np.datetime64("NaT"), "datetime64[s]")
    kept_on[row] = standing["window_starts_on"].to_numpy("datetime64[s]")

    wished = np.maximum(_days(due["due_on"], as_of), earliest)  # NaN stays
    changed = due.assign(due_on=days_after(as_of, wished), limit_on=days_after(as_of, until))
    return Heeded(changed, earliest, kept_on, standing)


def tell_decisions(heeded: Heeded, changeouts: pd.DataFrame, tables: dict[str, pd.DataFrame]) -> pd.DataFrame:
    """What became of each decision of the tables under the plan's `changeouts`, one row per assembly.

    Columns: assembly, stands (else it was withdrawn), since (when it was made or withdrawn), words, why_not
    (empty where it is held to) and risk (the limit that it goes past; else empty).
    """
    told = miss_crowded(heeded.standing, changeouts).assign(stands=True)
    told["since"] = told["decided_on"]
    past = tables["decisions"]
    past = past[past["withdrawn_on"].notna() & ~past["assembly"].isin(told["assembly"])]
    past = past[past["assembly"].isin(heeded.due["assembly"])].sort_values("withdrawn_on", kind="stable")
    past = past.drop_duplicates("assembly", keep="last")
    past = past.assign(stands=False, since=past["withdrawn_on"], why_not="", risk="")
    withdrawn = _("a decision was withdrawn on %(day)s")
    words = [withdrawn % {"day": day} for day in tell_days(past["withdrawn_on"])]
    past["words"] = pd.Series(words, index=past.index, dtype="str")
    columns = ["assembly", "stands", "since", "words", "why_not", "risk"]
    return pd.concat([told[columns], past[columns]], ignore_index=True)


def name_decisions(changed: pd.DataFrame, standing: pd.DataFrame) -> pd.Series:
    """The reasons of the rows of `changed` with the decision that bears on each named.

    `changed` has the columns of CHANGEOUTS but the reason, and what it is made of: because, then, lacks.
    """
    lacks = (" " + changed["lacks"]).where(changed["lacks"] != "", "")
    reasons = changed["because"] + "; " + changed["then"] + lacks
    line_of = pd.Series(changed.index, index=changed["assembly"])
    for one in standing[standing["assembly"].isin(line_of.index)].to_dict("records"):
        line = line_of[one["assembly"]]
        row = changed.loc[line].to_dict()
        if one["why_not"]:
            missed = _("The plan does not hold to that: %(why_not)s.") % {"why_not": one["why_not"]}
            reasons[line] = f"{reasons[line]} {_capital(one['words'])}. {missed}"
        elif one["decision"] != "not_before" and row["due_reason"] == "none":  # cost was not asked
            reasons[line] = _capital(one["words"]) + _then(one, row) + lacks[line]
        else:
            reasons[line] = f"{row['because']}; {one['words']}{_then(one, row)}{lacks[line]}"
    return reasons


def _then(one: dict, row: dict) -> str:
    """What follows in the reason of a changeout after the decision that it holds to."""
    told = "." if one["decision"] == "keep" else f"; {_why_then(one, row)}"
    past = _("Until then it stays past a limit: %(risk)s.") % {"risk": one["risk"]}
    return f"{told} {past}" if one["risk"] else told


def _why_then(one: dict, row: dict) -> str:
    """Why in that stop, where a decision names the first or the last day."""
    if one["decision"] == "not_after":
        least = _("of this machine's windows by then this one costs least.")
        return row["then"] if row["special_stop"] else least
    if row["special_stop"]:
        return _("no window of this machine comes in time after that: a special stop.")
    if one["risk"]:
        return _("this is the first window from then on.")
    if pd.isna(row["expected_cost_now"]):
        return row["then"]
    return _("of this machine's windows from then on this one costs least.")


def miss_crowded(standing: pd.DataFrame, changeouts: pd.DataFrame) -> pd.DataFrame:
    """`standing` as a plan leaves it: a window that was to be kept had not the labour for it.

    Parts are never the cause: what is kept is given its parts first, and goes with its kit short.
    """
    kept = standing[["assembly", "window_starts_on"]].dropna()
    done = kept.merge(changeouts[["assembly", "window_starts_on"]])["assembly"]
    missed = standing["window_starts_on"].notna() & ~standing["assembly"].isin(done)
    why_not = standing["why_not"].mask(missed, _("the labour of that window is not enough for it"))
    return standing.assign(why_not=why_not, risk=standing["risk"].mask(missed, ""))


def _find_standing(
    due: pd.DataFrame, installed: pd.DataFrame, tables: dict[str, pd.DataFrame]
) -> pd.DataFrame:
    """The decisions that stand about what is installed, by row of `due`, with their words and `critical`."""
    decisions = tables["decisions"]
    standing = decisions[decisions["withdrawn_on"].isna()].drop_duplicates("assembly", keep="last")
    here = installed[["machine", "position"]].assign(
        assembly=due["assembly"].to_numpy(), row=np.arange(len(due))
    )
    standing = standing.merge(here, on="assembly")
    critical = tables["positions"][["machine", "position", "critical"]]
    standing = standing.merge(critical, on=["machine", "position"], how="left")
    standing = standing.sort_values("row", kind="stable", ignore_index=True)
    standing["critical"] = standing["critical"].fillna(False).astype(bool)
    why = (": " + standing["reason"]).fillna("")
    told = zip(
        standing["decision"],
        standing["decided_by"].fillna(_("somebody")),
        tell_days(standing["day"]),
        tell_days(standing["decided_on"]),
        why,
        strict=True,
    )
    words = [
        _(IN_WORDS[kind]) % {"who": who, "day": day, "decided": decided} + why
        for kind, who, day, decided, why in told
    ]
    return standing.assign(words=pd.Series(words, index=standing.index, dtype="str"))


def _kept_windows(standing: pd.DataFrame, windows: pd.DataFrame) -> pd.DataFrame:
    """The window that each `standing` decision keeps, row by row: day, window_starts_on; empty where none."""
    kept = standing[standing["decision"] == "keep"]
    pairs = kept[["machine", "day"]].rename(columns={"day": "kept"}).reset_index(names="line")
    pairs = pairs.merge(windows, on="machine")
    inside = pairs["kept"].between(pairs["window_starts_on"], pairs["window_ends_on"])
    found = pairs[inside].drop_duplicates("line").set_index("line")[["day", "window_starts_on"]]
    return found.reindex(standing.index)


def _limits_in_words(due: pd.DataFrame, row: np.ndarray, as_of: date) -> np.ndarray:
    limit_on = due["limit_on"].iloc[row]
    reached = limit_on <= pd.Timestamp(as_of)
    limits = zip(due["limit_reason"].iloc[row], tell_days(limit_on), reached, strict=True)
    return np.array([tell_limit(why, limit, reached=now) for why, limit, now in limits], dtype=object)


def tell_limit(reason: str, limit: str, *, reached: bool) -> str:
    """The limit in words, which comes on the day `limit` or is `reached` already; empty where none holds."""
    words = REACHED_IN_WORDS if reached else LIMIT_IN_WORDS
    return _(words[reason]) % {"limit": limit} if reason in words else ""


def tell_missed(words: str, why_not: str) -> str:
    """A decision in words, and why a plan does not hold to it."""
    return _("%(decision)s, which the plan does not hold to: %(why_not)s") % {
        "decision": words,
        "why_not": why_not,
    }


def _each(form: str, limits: np.ndarray) -> np.ndarray:
    return np.array([form % {"limit": limit} for limit in limits], dtype=object)


def _days(dates: pd.Series, as_of: date) -> np.ndarray:
    return (dates - pd.Timestamp(as_of)).dt.days.to_numpy(float)


def _capital(sentence: str) -> str:
    return sentence[:1].upper() + sentence[1:]
