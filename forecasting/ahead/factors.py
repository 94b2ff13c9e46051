"""What lies behind each assembly's chance, in words, as multiples of its population's ordinary failure rate.

The failure rate a day, half a month ahead, is a sum: wear, ageing and early failure. A factor's multiple is
what the whole rate is over what it would be with that factor at its ordinary value: the middle of the
population for pressure, heat, exposure, age and usage, one for luck, none for bench, lot and build. A
population with hardly another hose installed has no middle of its own: the fleet's stands in.
"""

from dataclasses import replace

import numpy as np
import pandas as pd

from ..life.laws import Laws
from ..life.life_model import LifeModel
from ..life.likelihood import Likelihood
from ..life.luck import Luck
from ..life.observations import Observations
from ..life.priors import EFFECTS, FAULTS
from ..life.rows import Rows
from ..outputs import FACTORS
from ..tables import make_table

DAYS_AHEAD = 15.0
TELLING = 1.02  # a factor nearer to 1 than this is not worth a word
FEW = 5  # installed; in a smaller population a hose is held against the fleet, not against itself
ORDINALS = {2: "second", 3: "third", 4: "fourth", 5: "fifth", 6: "sixth"}


def tell_factors(
    model: LifeModel, lives: pd.DataFrame, likelihood: Likelihood, seen: Observations
) -> pd.DataFrame:
    """FACTORS, one row per installed assembly and factor, heaviest first within an assembly."""
    here = lives["installed"].to_numpy(bool)
    installed = lives[here].reset_index(drop=True)
    if installed.empty:
        return make_table(None, FACTORS)
    rows = likelihood.rows.some(seen.row[here])
    luck = Luck.of(model.fit.theta, model.layout)
    own_luck = luck.values @ likelihood.posterior(model.fit.theta)[:, rows.place]
    rates = Rates(model, rows, installed, own_luck)
    told = [
        pd.DataFrame(
            {
                "assembly": installed["assembly"],
                "factor": words,
                "multiple": rates.whole / rate,
                "place": place,
            }
        )
        for place, (words, rate) in enumerate(rates.without(lives, here))
    ]
    told = pd.concat(told, ignore_index=True)
    told = told[told["factor"].notna() & ~told["multiple"].between(1 / TELLING, TELLING)]
    told = told.assign(
        weight=-np.log(told["multiple"]).abs(),
        row=pd.Index(installed["assembly"]).get_indexer(told["assembly"]),
    )
    return make_table(told.sort_values(["row", "weight", "place"], ignore_index=True), FACTORS)


class Rates:
    """Failure rates a day of installed assemblies by the fitted law: as they are, and without one thing."""

    def __init__(self, model: LifeModel, rows: Rows, installed: pd.DataFrame, luck: np.ndarray) -> None:
        self.model, self.rows, self.installed, self.luck = model, rows, installed, luck
        self.used = np.maximum(installed["hours_per_day"].to_numpy(), 0.01)
        self.hours = installed["age_hours"].to_numpy() + self.used * DAYS_AHEAD
        self.days = installed["age_days"].to_numpy() + DAYS_AHEAD
        self.whole = self.rate()

    def rate(self, rows: Rows | None = None, luck=None, hours=None, days=None, used=None) -> np.ndarray:
        rows = self.rows if rows is None else rows
        luck = self.luck if luck is None else luck
        hours, days = self.hours if hours is None else hours, self.days if days is None else days
        used = self.used if used is None else used
        laws = Laws.of(self.model.fit.theta, self.model.layout, rows)
        lasting = laws.lasting_rate(hours, days, used)
        return luck * lasting + used * laws.early_rate(hours)

    def without(self, lives: pd.DataFrame, here: np.ndarray):
        """(words, rate with the thing at its ordinary value) of each factor."""
        rows, installed = self.rows, self.installed

        by_population = pd.Series(rows.population).groupby(rows.population)
        alone = by_population.transform("size").to_numpy() < FEW

        def usual(values: np.ndarray) -> np.ndarray:
            middle = pd.Series(values).groupby(rows.population).transform("mean").to_numpy()
            return np.where(alone, values.mean(), middle)

        words = _stress_words(installed)
        for column, effect in enumerate(EFFECTS):
            stress = rows.stress.copy()
            stress[:, column] = usual(stress[:, column])
            heat = stress[:, column] if effect.column == "heat_10c" else rows.heat
            yield words[effect.column], self.rate(replace(rows, stress=stress, heat=heat))
        yield _luck_words(lives, here), self.rate(luck=1.0)
        no_crimper = replace(rows, crimper=np.full(len(rows), len(self.model.groups.crimpers)))
        yield "crimped by " + installed["crimped_by"], self.rate(no_crimper)
        no_lot = replace(rows, lot=np.full(len(rows), len(self.model.groups.lots)))
        yield "hose of lot " + installed["hose_lot"], self.rate(no_lot)
        for column, fault in enumerate(FAULTS):
            faults = rows.faults.copy()
            faults[:, column] = 0.0
            said = installed[fault.column].map({1.0: FAULT_WORDS[fault.column]})
            yield said, self.rate(replace(rows, faults=faults))
        at_usual_age = self.rate(hours=usual(self.hours), days=usual(self.days))
        feared_new = (self.hours < usual(self.hours)) & (self.whole > at_usual_age)
        yield _age_words(installed, feared_new), at_usual_age
        yield installed["hours_per_day"].map("works {:.1f} h a day".format), self.rate(used=usual(self.used))


FAULT_WORDS = {
    "crimp_off": "crimped outside its specification",
    "insertion_unseen": "insertion not seen",
    "cleaning_skipped": "cleaning not recorded",
}


def _luck_words(lives: pd.DataFrame, here: np.ndarray) -> pd.Series:
    """How many hoses the position has had on record, in what time, and how many of them gave out."""
    place = [lives["machine"], lives["position"]]

    def of_position(values: pd.Series, how: str) -> pd.Series:
        return values.groupby(place).transform(how)[here].reset_index(drop=True)

    many = of_position(lives["assembly"], "size")
    ended = of_position(lives["removal_cause"].isin(["failed", "worn"]), "sum")
    since = of_position(lives["installed_on"], "min")
    time = _span_words((lives["ended_on"][here].reset_index(drop=True) - since).dt.days)
    counted = many.map(lambda number: ORDINALS.get(number, f"{number}th")) + " hose here in " + time
    gave_out = ended.map({0: "none", 1: "one"}).fillna(ended.astype("str")) + " failed or worn"
    return (counted + ", " + gave_out).where(many > 1, "no hose before it on record here, in " + time)


def _age_words(installed: pd.DataFrame, feared_new: np.ndarray) -> pd.Series:
    """How long each has run; of one whose rate is high for being young, that it is new."""
    ran = installed["age_hours"].map("has run {:,.0f} h in ".format) + _span_words(installed["age_days"])
    return ran.where(~feared_new, "still new, " + ran)


def _span_words(days: pd.Series) -> pd.Series:
    """Days in the largest unit that still tells them."""
    units = {"days": 1.0, "months": 365.25 / 12, "years": 365.25}
    in_unit = {
        unit: (days / length).map((("{:.1f} " if unit == "years" else "{:.0f} ") + unit).format)
        for unit, length in units.items()
    }
    return in_unit["years"].where(days >= 730, in_unit["months"].where(days >= 60, in_unit["days"]))


def _stress_words(lives: pd.DataFrame) -> dict[str, pd.Series]:
    """What each stress is called for each assembly, empty where it is not known or is the ordinary."""
    return {
        "log_pressure_ratio": (lives["pressure_ratio"] * 100).map(
            "runs at {:.0f} % of rating".format, na_action="ignore"
        ),
        "heat_10c": lives["temperature_c"].map("runs at {:.0f} °C".format, na_action="ignore"),
        "unsheltered": lives["sheltered"].map({1.0: "sheltered place"}),
        "abrasive": lives["abrasive"].map({1.0: "abrasive place"}),
        "hot": lives["hot"].map({1.0: "hot place"}),
        "flexing": lives["flexing"].map({1.0: "flexes"}),
        "bend_tightness": (1 / lives["bend_tightness"]).map(
            "bent to {:.1f} times its least radius".format, na_action="ignore"
        ),
        "log_velocity": lives["velocity_m_s"].map("flow at {:.1f} m/s".format, na_action="ignore"),
    }
