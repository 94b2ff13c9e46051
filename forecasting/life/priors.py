"""What the model believes before it has seen a failure: wide, so that the fleet's own history soon leads.

No authoritative shape of hydraulic hose is published; each value is common practice, no source, unless it
says otherwise, and is an assumption that the reports show as one (`basis`).
"""

from dataclasses import dataclass

import numpy as np

from ..wording import gettext_noop as _
from .hazards import AT_LIFE
from .parameters import Layout

YEAR_DAYS = 365.25
NO_SOURCE = _("common practice, no source")


@dataclass(frozen=True, slots=True)
class Prior:
    """A normal belief about one parameter, in the parameter's own scale, in words and with its source."""

    mean: float
    sd: float
    words: str
    source: str = NO_SOURCE


@dataclass(frozen=True, slots=True)
class EffectPrior:
    """Belief about one effect that never helps a hose: `usual` is its median, `spread` the sd of its log.

    Of wear: log life is less by effect · covariate. Of the build: the log odds of an early failure are more.
    `words` name the hose whose covariate is `step` more than an ordinary one's.
    """

    column: str
    usual: float
    words: str
    step: float = 1.0
    spread: float = 1.0
    source: str = NO_SOURCE


# Half of hoses worn out by 10,000 h; as the life `a` of the model, at shape 2.
_MEDIAN_HOURS, _SHAPE = 10_000.0, 2.0
_LIFE_HOURS = _MEDIAN_HOURS * (AT_LIFE / np.log(2)) ** (1 / _SHAPE)

PRIORS: dict[str, Prior] = {
    "log_life": Prior(
        np.log(_LIFE_HOURS), 1.3, _("half of hoses worn out by 10,000 h, give or take a factor 4")
    ),
    "log_shape": Prior(
        np.log(_SHAPE), 0.35, _("wear on machine hours: shape 2, nine in ten from 1.1 to 3.6")
    ),
    "log_bend": Prior(np.log(0.15), 1.0, _("hoses of one kind in one place differ a little in strength")),
    "log_age_life": Prior(
        np.log(9 * YEAR_DAYS),
        0.5,
        _("a quarter of hoses too old by 9 years, from 4 to 20"),
        _("common practice (makers ask for replacement after 6 to 10 years), no source"),
    ),
    "log_age_shape": Prior(
        np.log(4.0), 0.25, _("hardening and cracks by the calendar: shape 4, from 2.7 to 6")
    ),
    "early": Prior(-3.5, 1.0, _("3 % of assemblies fail early, from 0.6 to 14 %")),
    "log_early_hours": Prior(np.log(400.0), 0.7, _("an early failure comes after 400 h on average")),
    "log_luck_sd": Prior(np.log(0.5), 0.7, _("positions alike on paper differ in failure rate by some 50 %")),
    "lemon_odds": Prior(-3.2, 0.8, _("4 % of positions kill hoses, from 1 to 13 %")),
    "log_lemon": Prior(np.log(4.0), 0.6, _("such a position fails 5 times as often, from 3 to 12")),
    "log_removals_before": Prior(
        0.0,
        0.4,
        _("before the register began, hoses came off unfailed as often as since, give or take a half"),
    ),
}

# Pressure: impulse tests fall with about the 11th power of pressure in cycles (computed from SAE J1927's two
# points), yet field life is far from all impulse: 1.5, wide. Heat: "each 10 °C halves life" is asserted in
# the trade, without data, of heat above the rating: a fifth of that inside it.
EFFECTS: tuple[EffectPrior, ...] = (
    EffectPrior(
        "log_pressure_ratio",
        1.5,
        _("run at twice the share of its rating"),
        step=np.log(2),
        source=_("common practice; less than the impulse tests of SAE J1927"),
    ),
    EffectPrior("heat_10c", 0.12, _("run 10 °C hotter")),
    EffectPrior("unsheltered", 0.15, _("in a place that nothing shelters")),
    EffectPrior("abrasive", 0.2, _("in an abrasive place")),
    EffectPrior("hot", 0.2, _("in a hot place")),
    EffectPrior("flexing", 0.2, _("that flexes")),
    EffectPrior("bend_tightness", 0.2, _("bent to its least radius instead of twice that"), step=0.5),
    EffectPrior("log_velocity", 0.1, _("with a flow twice as fast"), step=np.log(2)),
)
AGE_HEAT = EffectPrior("heat_10c", 0.03, _("ageing 10 °C hotter"))
FAULTS: tuple[EffectPrior, ...] = (
    EffectPrior("crimp_off", 0.7, _("crimped outside its specification")),
    EffectPrior("insertion_unseen", 0.5, _("whose insertion was not seen")),
    EffectPrior("cleaning_skipped", 0.3, _("whose cleaning was not recorded")),
)
ENOUGH_KNOWN = 20  # lives that must carry bend, velocity or a build's record before it is used at all


@dataclass(frozen=True, slots=True)
class SpreadPrior:
    """How far groups lie from each other before their own failures speak; counts like `weight` groups.

    Of logs: of life, of shape, of the odds of an early failure.
    """

    sd: float
    least: float
    words: str
    weight: float = 1.0


SPREADS: dict[str, SpreadPrior] = {
    "population_life": SpreadPrior(0.3, 0.05, _("lives of constructions and sizes differ by some 30 %")),
    "population_shape": SpreadPrior(0.15, 0.03, _("their shapes by 15 %")),
    "crimper": SpreadPrior(0.5, 0.1, _("odds of early failure differ between benches by a factor 1.6")),
    "lot": SpreadPrior(0.4, 0.1, _("and between lots by a factor 1.5")),
}


@dataclass(frozen=True)
class Belief:
    """A normal belief about each parameter of a layout."""

    mean: np.ndarray
    sd: np.ndarray

    @classmethod
    def of(cls, layout: Layout, spreads: dict[str, float]) -> "Belief":
        mean, sd = np.zeros(layout.size), np.ones(layout.size)
        for name, prior in PRIORS.items():
            if name in layout.blocks:
                mean[layout.blocks[name]], sd[layout.blocks[name]] = prior.mean, prior.sd
        of_effects = {"effects": EFFECTS, "log_age_heat": (AGE_HEAT,), "early_faults": FAULTS}
        for name, effects in of_effects.items():
            if name in layout.blocks:
                mean[layout.blocks[name]] = np.log([effect.usual for effect in effects])
                sd[layout.blocks[name]] = [effect.spread for effect in effects]
        for name, spread in spreads.items():
            if name in layout.blocks:
                sd[layout.blocks[name]] = spread
        return cls(mean, sd)

    def value(self, theta: np.ndarray) -> float:
        return -0.5 * float(np.sum(((theta - self.mean) / self.sd) ** 2))

    def gradient(self, theta: np.ndarray) -> np.ndarray:
        return -(theta - self.mean) / self.sd**2
