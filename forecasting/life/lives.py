"""Lives of hose assemblies on two clocks: from when each was watched, until when, and how it ended.

A life enters when someone began to watch it (delayed entry) and leaves when it failed, was found worn, or
was lost from sight (right-censored). Hours count from installation, days from the building of the assembly.
"""

from datetime import date as day

import numpy as np
import pandas as pd

from ..designs.constructions import normal_construction
from ..designs.margins import VELOCITY_FACTOR
from ..hours.usage import Usage
from ..tables import date, make_table, number, table, text, yes_no
from ..units import dash_to_mm
from .workmanship import build_faults

EXPOSURES = ("sheltered", "abrasive", "hot", "flexing")
UNKNOWN = "unknown"
LEAST_DAYS = 0.5  # dates are whole days: what began and ended on one day lasted half of it on average
LEAST_HOURS = 0.1  # a hose that failed while its machine's meter stood still
AROUND_END_DAYS = 30  # over which a machine's work about the end is taken, where it has worked so long
OF_MACHINE = ("machine", "site", "machine_model", "commissioned_on", "retired_on")
FIRST_FILL_DAYS = 31  # a hose fitted later than this after commissioning took another's place

LIVES = table(
    "lives",
    "one row per assembly ever installed",
    ("assembly",),
    text("assembly"),
    text("machine", may_be_empty=False),
    text("position", may_be_empty=False),
    text("site"),
    text("machine_model"),
    text("design"),
    text("hose_part"),
    text("end_a_part"),
    text("end_b_part"),
    text("construction", may_be_empty=False),
    text("population", "construction and dash", may_be_empty=False),
    text("crimped_by"),
    text("hose_lot"),
    date("installed_on", may_be_empty=False),
    date("ended_on", "removed or its machine's last day, else the as-of date", may_be_empty=False),
    text("end", "failed, worn or watched", may_be_empty=False),
    text(
        "removal_cause", "as recorded, else unknown, or that its machine was retired; empty: in its position"
    ),
    yes_no("installed", "still in its position", may_be_empty=False),
    number("entry_days", "age when the watching began", "d", may_be_empty=False),
    number("exit_days", "age when the watching ended", "d", may_be_empty=False),
    number("entry_hours", "run when the watching began", "h", may_be_empty=False),
    number("exit_hours", "run when the watching ended", "h", may_be_empty=False),
    number("age_days", "as the calendar says, not less than 0", "d", may_be_empty=False),
    number("age_hours", "as the meter says, not less than 0", "h", may_be_empty=False),
    yes_no("found", "in its position before anyone watched", may_be_empty=False),
    yes_no("with_machine", "came with the machine", may_be_empty=False),
    number("place_days", "machine's age at the installation; empty: not known", "d"),
    number("place_hours", "machine's hours from commissioning to the installation", "h"),
    number("end_hours_per_day", "of the machine about the end", "h/d", may_be_empty=False),
    number("hours_per_day", "of the machine, to come", "h/d", may_be_empty=False),
    number("hours_per_day_sd", "how well that is known", "h/d", may_be_empty=False),
    number("hours_per_day_noise", "of single quarters about it", "h/d", may_be_empty=False),
    number("hours_per_day_drift", "how far it wanders in a quarter", "h/d", may_be_empty=False),
    number("pressure_ratio", "demanded ÷ rated"),
    number("temperature_c", "of the fluid, reckoned from that around it where only that is known", "°C"),
    number("bend_tightness", "least bend radius of the hose ÷ that of the position"),
    number("velocity_m_s", "of the fluid", "m/s"),
    *(
        number(name, "1 where the position is so exposed, 0 where not, empty: not known")
        for name in EXPOSURES
    ),
    number(
        "crimp_off", "1 where an end was crimped outside its specification, 0 inside, empty: not measured"
    ),
    number("insertion_unseen", "1 where an insertion was recorded as not seen"),
    number("cleaning_skipped", "1 where no cleaning is recorded of a build that records them"),
)


def build_lives(
    tables: dict[str, pd.DataFrame], usage: Usage, margins: pd.DataFrame, as_of: day
) -> pd.DataFrame:
    """LIVES, one row per installation in the order of `tables["installations"]`.

    `tables` are those known on `as_of`; `margins` judges every assembly, past ones too. A life that ended
    before its site's register began stands with nothing watched (entry = exit, `watched`). What was on a
    machine on its last day went with it: it is watched no longer, and is installed no more. Where it was
    taken off later as failed or worn, it was so by then.
    """
    installations = tables["installations"]
    today = pd.Timestamp(as_of)
    lives = _with_what_is_known_of_it(installations, tables, margins, usage)
    removed_on = lives["removed_on"].where(lives["removed_on"] <= today)
    on_its_last_day = (removed_on > lives["retired_on"]) & (lives["installed_on"] <= lives["retired_on"])
    went_with_it = (lives["retired_on"] <= today) & (removed_on.isna() | on_its_last_day)
    wore_out = removed_on.notna() & lives["removal_cause"].isin(["failed", "worn"])
    lives["removal_cause"] = lives["removal_cause"].mask(went_with_it & ~wore_out, "machine_retired")
    removed_on = removed_on.mask(went_with_it, lives[["retired_on", "installed_on"]].max(axis=1))
    lives["ended_on"] = removed_on.fillna(today).astype("datetime64[s]")
    lives["installed"] = removed_on.isna().astype("boolean")

    began_on, read_off = watching_began(lives, tables)
    watched_from = lives["installed_on"].where(~(began_on > lives["installed_on"]), began_on)
    watched_from = watched_from.where(watched_from <= lives["ended_on"], lives["ended_on"])
    # The removal off which it is read that watching began came then by no chance, and tells nothing else.
    unseen = (began_on > lives["ended_on"]) | (
        read_off & removed_on.notna() & (began_on == lives["ended_on"])
    )
    lives["end"] = lives["removal_cause"].where(wore_out & ~unseen, "watched").astype("str")

    born_on = lives["built_on"].fillna(lives["installed_on"])
    born_on = born_on.where(born_on <= lives["installed_on"], lives["installed_on"])
    start_hours = usage.hours_at(lives["machine"], lives["installed_on"])
    lives["age_days"] = _days(lives["ended_on"] - born_on)
    lives["entry_days"] = _days(watched_from - born_on)
    lives["age_hours"] = np.maximum(usage.hours_at(lives["machine"], lives["ended_on"]) - start_hours, 0.0)
    lives["entry_hours"] = np.maximum(usage.hours_at(lives["machine"], watched_from) - start_hours, 0.0)
    lives["found"] = ((watched_from > lives["installed_on"]) & ~unseen).astype("boolean")
    _add_place(lives, usage)
    least_hours = np.maximum(LEAST_DAYS * lives["hours_per_day"], LEAST_HOURS)
    lives["exit_days"] = lives["age_days"].clip(lower=lives["entry_days"] + LEAST_DAYS)
    lives["exit_hours"] = lives["age_hours"].clip(lower=lives["entry_hours"] + least_hours)
    for clock in ("days", "hours"):
        lives.loc[unseen, f"entry_{clock}"] = lives.loc[unseen, f"exit_{clock}"]
    cause = lives["removal_cause"].fillna(UNKNOWN).where(removed_on.notna())
    return make_table(lives.assign(removal_cause=cause), LIVES)


def _add_place(lives: pd.DataFrame, usage: Usage) -> None:
    """How old the machine was when each hose came into its position, and how it ran about the end."""
    machine, commissioned_on = lives["machine"], lives["commissioned_on"]
    known = commissioned_on.notna() & (commissioned_on <= lives["installed_on"])
    began_on = commissioned_on.where(known, lives["installed_on"])
    hours = usage.hours_at(machine, lives["installed_on"]) - usage.hours_at(machine, began_on)
    lives["place_days"] = _days(lives["installed_on"] - began_on).where(known)
    lives["place_hours"] = pd.Series(np.maximum(hours, 0.0), lives.index).where(known)
    early = commissioned_on.notna() & (
        lives["installed_on"] <= commissioned_on + pd.Timedelta(days=FIRST_FILL_DAYS)
    )
    lives["with_machine"] = early.astype("boolean")
    ended_on, day = lives["ended_on"], pd.Timedelta(days=1)
    since = np.maximum(ended_on - AROUND_END_DAYS * day, np.minimum(_machine_began(lives), ended_on - day))
    run = usage.hours_at(machine, ended_on) - usage.hours_at(machine, since)
    lives["end_hours_per_day"] = np.maximum(run, 0.0) / ((ended_on - since) / day)


def _machine_began(lives: pd.DataFrame) -> pd.Series:
    """The day on which each life's machine was commissioned, else had its first hose."""
    return lives["commissioned_on"].fillna(lives.groupby("machine")["installed_on"].transform("min"))


def watching_began(lives: pd.DataFrame, tables: dict[str, pd.DataFrame]) -> tuple[pd.Series, pd.Series]:
    """The first day from which each life's site recorded every removal, NaT where it always did, and whether
    that is read off the record.

    `register_began_on` where given. Else the record itself tells: a hose that is the first known in its
    position, yet was fitted well after its machine went to work, took the place of one whose removal nobody
    wrote down. A site without such a hose is complete from its first day; at any other, watching begins
    after the first removal on record, or, where there is none, after the last such hose was fitted. That
    errs to the short side: a quiet time that was watched is lost, none is invented.
    """
    site = lives["site"].fillna(UNKNOWN)
    stated_by_site = tables["sites"].set_index("site")["register_began_on"]
    stated = stated_by_site.reindex(site).set_axis(lives.index)
    first_in_position = ~lives.sort_values("installed_on", kind="stable").duplicated(["machine", "position"])
    successor_of_unknown = first_in_position.reindex(lives.index) & (
        lives["installed_on"] - _machine_began(lives) > pd.Timedelta(days=FIRST_FILL_DAYS)
    )
    last_unknown = lives["installed_on"].where(successor_of_unknown).groupby(site).transform("max")
    first_removal = lives["removed_on"].groupby(site).transform("min")
    read_off = first_removal.fillna(last_unknown).where(last_unknown.notna())
    return stated.fillna(read_off).astype("datetime64[s]"), stated.isna() & read_off.notna()


def _with_what_is_known_of_it(
    installations: pd.DataFrame, tables: dict[str, pd.DataFrame], margins: pd.DataFrame, usage: Usage
) -> pd.DataFrame:
    """Each installation with its position, machine, hose, build, pressure ratio and usage; order kept."""
    positions = tables["positions"].rename(columns={"design": "usual_design"})
    machines = tables["machines"].rename(columns={"model": "machine_model"})
    builds = tables["builds"].rename(columns={"hose_lot": "lot_built", "built_on": "day_built"})
    hoses = tables["parts"].rename(columns={"part": "hose_part", "construction": "designation"})
    lives = (
        installations.merge(positions, on=["machine", "position"], how="left")
        .merge(machines[[*OF_MACHINE]], on="machine", how="left")
        .merge(builds[["assembly", "built_by", "lot_built", "day_built"]], on="assembly", how="left")
        .merge(build_faults(tables), on="assembly", how="left")
        .merge(usage.rates.drop(columns="basis"), on="machine", how="left")
        .merge(
            margins[["assembly", "rated_pressure_bar", "demanded_pressure_bar"]], on="assembly", how="left"
        )
    )
    lives["design"] = lives["design"].fillna(lives["usual_design"])
    lives = lives.merge(
        tables["designs"][["design", "hose_part", "end_a_part", "end_b_part"]], on="design", how="left"
    ).merge(
        hoses[["hose_part", "designation", "dash", "bore_mm", "minimum_bend_radius_mm"]],
        on="hose_part",
        how="left",
    )
    lives["crimped_by"] = lives["crimped_by"].fillna(lives["built_by"])
    lives["hose_lot"] = lives["hose_lot"].fillna(lives["lot_built"])
    lives["built_on"] = lives["built_on"].fillna(lives["day_built"])

    lives["construction"] = normal_construction(lives["designation"]).fillna(UNKNOWN)
    dash = lives["dash"].map("/-{:g}".format, na_action="ignore")
    lives["population"] = (lives["construction"] + dash).fillna(lives["construction"])

    rated = lives["rated_pressure_bar"].where(lives["rated_pressure_bar"] > 0)
    ratio = lives["demanded_pressure_bar"] / rated
    lives["pressure_ratio"] = ratio.where(ratio > 0)
    lives["bend_tightness"] = lives["minimum_bend_radius_mm"] / lives["bend_radius_mm"]
    bore_mm = lives["bore_mm"].fillna(dash_to_mm(lives["dash"]))
    lives["velocity_m_s"] = VELOCITY_FACTOR * lives["flow_lpm"] / bore_mm**2
    for name in ("bend_tightness", "velocity_m_s"):
        lives[name] = lives[name].where((lives[name] > 0) & np.isfinite(lives[name]))
    lives["temperature_c"] = _fluid_temperature(lives["fluid_temperature_c"], lives["ambient_temperature_c"])
    stated = lives["exposure"].fillna("")
    for name in EXPOSURES:
        named = stated.str.contains(name, regex=False).astype("float64")
        lives[name] = named.where(stated != "")
    return lives


def _fluid_temperature(fluid: pd.Series, around: pd.Series) -> pd.Series:
    """The fluid's; where only that around it is known, so much more as fluids of this fleet commonly have.

    Taken as it is, 14 °C around a hose would count as a hose that runs cold beside all whose fluid is known.
    """
    rise = (fluid - around).median()
    if np.isnan(rise):
        rise = np.nan_to_num(fluid.median() - around.median())
    return fluid.fillna(around + rise)


def _days(span: pd.Series) -> pd.Series:
    return (span / pd.Timedelta(days=1)).clip(lower=0.0)
