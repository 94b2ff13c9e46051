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
from ..wording import gettext as _
from ..wording import gettext_noop, ngettext

DAYS_AHEAD = 15.0
TELLING = 1.02  # a factor nearer to 1 than this is not worth a word
FEW = 5  # installed; in a smaller population a hose is held against the fleet, not against itself
NTH_HOSE = {
    2: gettext_noop("second hose here in %(time)s"),
    3: gettext_noop("third hose here in %(time)s"),
    4: gettext_noop("fourth hose here in %(time)s"),
    5: gettext_noop("fifth hose here in %(time)s"),
    6: gettext_noop("sixth hose here in %(time)s"),
}


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
        yield _of_names(_("crimped by %(name)s"), installed["crimped_by"]), self.rate(no_crimper)
        no_lot = replace(rows, lot=np.full(len(rows), len(self.model.groups.lots)))
        yield _of_names(_("hose of lot %(name)s"), installed["hose_lot"]), self.rate(no_lot)
        for column, fault in enumerate(FAULTS):
            faults = rows.faults.copy()
            faults[:, column] = 0.0
            said = installed[fault.column].map({1.0: _(FAULT_WORDS[fault.column])})
            yield said, self.rate(replace(rows, faults=faults))
        at_usual_age = self.rate(hours=usual(self.hours), days=usual(self.days))
        feared_new = (self.hours < usual(self.hours)) & (self.whole > at_usual_age)
        yield _age_words(installed, feared_new), at_usual_age
        works = _of_numbers(_("works %(n)s h a day"), installed["hours_per_day"], ".1f")
        yield works, self.rate(used=usual(self.used))


FAULT_WORDS = {
    "crimp_off": gettext_noop("crimped outside its specification"),
    "insertion_unseen": gettext_noop("insertion not seen"),
    "cleaning_skipped": gettext_noop("cleaning not recorded"),
}


def _of_names(form: str, names: pd.Series) -> pd.Series:
    """`form` with each name, empty where there is none."""
    return names.map({name: form % {"name": name} for name in names.dropna().unique()})


def _of_numbers(form: str, values: pd.Series, spec: str) -> pd.Series:
    """`form` with each number, empty where there is none."""
    return values.map(lambda value: form % {"n": format(value, spec)}, na_action="ignore")


def _luck_words(lives: pd.DataFrame, here: np.ndarray) -> pd.Series:
    """How many hoses the position has had on record, in what time, and how many of them gave out."""
    place = [lives["machine"], lives["position"]]

    def of_position(values: pd.Series, how: str) -> pd.Series:
        return values.groupby(place).transform(how)[here].reset_index(drop=True)

    many = of_position(lives["assembly"], "size")
    ended = of_position(lives["removal_cause"].isin(["failed", "worn"]), "sum")
    since = of_position(lives["installed_on"], "min")
    time = _span_words((lives["ended_on"][here].reset_index(drop=True) - since).dt.days)
    hose = {number: _nth_hose(number) for number in many.unique()}
    gave_out = {number: _gave_out(number) for number in ended.unique().tolist()}
    told = [
        hose[number] % {"n": number, "time": since} + (f", {gave_out[lost]}" if number > 1 else "")
        for number, since, lost in zip(many, time, ended, strict=True)
    ]
    return pd.Series(told, index=many.index, dtype="str")


def _nth_hose(number: int) -> str:
    if number == 1:
        return _("no hose before it on record here, in %(time)s")
    if number in NTH_HOSE:
        return _(NTH_HOSE[number])
    return _("%(n)sth hose here in %(time)s")


def _gave_out(number: int) -> str:
    if number == 0:
        return _("none failed or worn")
    if number == 1:
        return _("one failed or worn")
    return ngettext("%(n)s failed or worn", "%(n)s failed or worn", number) % {"n": number}


def _age_words(installed: pd.DataFrame, feared_new: np.ndarray) -> pd.Series:
    """How long each has run; of one whose rate is high for being young, that it is new."""
    ran, new = _("has run %(hours)s h in %(time)s"), _("still new, has run %(hours)s h in %(time)s")
    times = zip(installed["age_hours"], _span_words(installed["age_days"]), feared_new, strict=True)
    told = [
        (new if feared else ran) % {"hours": f"{hours:,.0f}", "time": time} for hours, time, feared in times
    ]
    return pd.Series(told, index=installed.index, dtype="str")


def _span_words(days: pd.Series) -> pd.Series:
    """Days in the largest unit that still tells them."""
    return days.map({one: _tell_span(one) for one in days.unique()})


def _tell_span(days: float) -> str:
    if days >= 730:
        return _("%(n)s years") % {"n": f"{days / 365.25:.1f}"}
    if days >= 60:
        months = round(days / (365.25 / 12))
        return ngettext("%(n)s month", "%(n)s months", months) % {"n": months}
    return ngettext("%(n)s day", "%(n)s days", round(days)) % {"n": round(days)}


def _stress_words(lives: pd.DataFrame) -> dict[str, pd.Series]:
    """What each stress is called for each assembly, empty where it is not known or is the ordinary."""
    return {
        "log_pressure_ratio": _of_numbers(
            _("runs at %(n)s %% of rating"), lives["pressure_ratio"] * 100, ".0f"
        ),
        "heat_10c": _of_numbers(_("runs at about %(n)s °C"), lives["temperature_c"], ".0f"),
        "unsheltered": lives["sheltered"].map({1.0: _("sheltered place")}),
        "abrasive": lives["abrasive"].map({1.0: _("abrasive place")}),
        "hot": lives["hot"].map({1.0: _("hot place")}),
        "flexing": lives["flexing"].map({1.0: _("flexes")}),
        "bend_tightness": _of_numbers(
            _("bent to %(n)s times its least radius"), 1 / lives["bend_tightness"], ".1f"
        ),
        "log_velocity": _of_numbers(_("flow at %(n)s m/s"), lives["velocity_m_s"], ".1f"),
    }
