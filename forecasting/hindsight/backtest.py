"""The main job's forecasts replayed on past dates, beside two simpler ones, scored on what then happened."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
import pandas as pd

from ..ahead.forecasts import HORIZONS, Forecaster
from ..history import known_on
from ..inputs import INPUTS
from ..life.life_model import fit_life_model
from ..life.simple_models import age_only, one_life_table
from ..life.standing import Standing
from ..outputs import SCORES
from ..tables import check_table, make_table
from ..wording import gettext as _
from ..wording import gettext_noop, ngettext
from .calibration import BANDS, add_bands, band_rows, tell_bands
from .past_counts import look_back
from .scoring import Fates, chances_by_horizon, outcomes_after, score

SERVICE = "service"
SIMPLE_MODELS = {"age_only": age_only, "one_life_table": one_life_table}
CLOSER_THAN = {
    "age_only": gettext_noop(
        "Its chances were closer to what happened than a curve of age alone on %(closer)s of %(dates)s dates."
    ),
    "one_life_table": gettext_noop(
        "Its chances were closer to what happened than a plain life table of machine hours on %(closer)s of "
        "%(dates)s dates."
    ),
}
EVENT_DAYS = (
    ("installations", "installed_on"),
    ("installations", "removed_on"),
    ("meter_readings", "read_on"),
    ("inspections", "inspected_on"),
    ("builds", "built_on"),
)


@dataclass(frozen=True, slots=True)
class Replay:
    """`scores` is SCORES, `bands` BANDS of the service's forecasts; `passed_over` says what has no score."""

    scores: pd.DataFrame
    bands: pd.DataFrame
    passed_over: list[str]


@dataclass(frozen=True, slots=True)
class Forecast:
    """What was said on a past date: chances by model, rows in the order of `assemblies`, columns horizons.

    `swing` is the variance of the multiplier that all the service's hazards share.
    """

    assemblies: pd.Series
    chances: dict[str, pd.DataFrame]
    forecaster: Forecaster
    swing: float


def last_recorded_day(tables: dict[str, pd.DataFrame], today: date) -> date | None:
    """The last day, `today` at most, on which anything was recorded: until then assemblies were watched."""
    known = known_on(tables, today)
    days = pd.concat([known[name][column] for name, column in EVENT_DAYS])
    days = days[days <= pd.Timestamp(today)]
    return None if days.empty else days.max().date()


def past_days(first: date, every_days: int, until: date) -> Iterator[date]:
    """`first` and every so many days after it, as far as the shortest horizon is over by `until`."""
    while first + timedelta(days=HORIZONS[0]) <= until:
        yield first
        first += timedelta(days=every_days)


def replay(
    tables: dict[str, pd.DataFrame],
    origins: list[date],
    until: date,
    begin_chance: Callable[[], np.random.Generator],
    progress: Callable[[str], None] = lambda step: None,
) -> Replay:
    """What would have been said on each of `origins`, held against what happened until `until`.

    `begin_chance` gives what the main job uses, so that the forecasts are that job's own. A
    horizon that is not over by `until` has no score. Raises BadTable where a table is not as declared.
    """
    tables = {name: check_table(tables[name], table) for name, table in INPUTS.items()}
    progress(_("Reading what happened"))
    happened = Standing.on(tables, until).lives
    scored: list[dict] = []
    bands: list[pd.DataFrame] = []
    passed_over: list[str] = []
    for number, origin in enumerate(origins, start=1):
        progress(
            _("Forecasting as of %(origin)s (%(number)s of %(origins)s)")
            % {"origin": origin, "number": number, "origins": len(origins)}
        )
        outcomes = outcomes_after(happened, pd.Timestamp(origin))
        said = None if outcomes.empty else forecast_on(tables, origin, begin_chance())
        if said is not None:
            # Of what was fitted after its machine's last day a forecast says nothing.
            outcomes = outcomes[outcomes["assembly"].isin(said.assemblies)].reset_index(drop=True)
        if said is None or outcomes.empty:
            told = _("%(origin)s: no assembly was installed and watched on that day.")
            passed_over.append(told % {"origin": origin})
            continue
        rows = pd.Index(said.assemblies).get_indexer(outcomes["assembly"])
        for horizon in HORIZONS:
            if origin + timedelta(days=horizon) > until:
                passed_over.append(
                    _("%(origin)s: %(days)s days from then are not over by %(until)s.")
                    % {"origin": origin, "days": horizon, "until": until}
                )
                continue
            for model, chances in said.chances.items():
                draws = said.forecaster.chance_draws(float(horizon), said.forecaster.draws)[:, rows]
                uncertain = (draws, said.swing) if model == SERVICE else ()
                figures = score(chances.iloc[rows], outcomes, horizon, *uncertain)
                scored.append({"as_of": origin, "horizon_days": horizon, "model": model, **figures})
            fates = Fates.within(outcomes, horizon)
            chance = said.chances[SERVICE][horizon].to_numpy()[rows]
            bands.append(band_rows(chance, fates.failed, fates.weights, horizon))
    return Replay(make_table(scored, SCORES), make_table(add_bands(bands), BANDS), passed_over)


def forecast_on(tables: dict[str, pd.DataFrame], as_of: date, rng: np.random.Generator) -> Forecast:
    """What the main job says on `as_of`, and the simple models of the same lives; nothing later is seen."""
    standing = Standing.on(tables, as_of)
    lives = standing.lives
    model = fit_life_model(lives, rng)
    forecaster = Forecaster(model, lives)
    past = look_back(standing.tables, lives, model, as_of)
    assemblies = forecaster.installed["assembly"]
    chances = {SERVICE: chances_by_horizon(forecaster.table(), HORIZONS)}
    for name, simple in SIMPLE_MODELS.items():
        told = simple(lives, HORIZONS).set_index("assembly").loc[assemblies]
        chances[name] = chances_by_horizon(told.reset_index(drop=True), HORIZONS)
    return Forecast(assemblies, chances, forecaster, past.variances.get("all", 0.0))


def tell_scores(made: Replay) -> list[str]:
    """In a planner's words: how many failures came of how many expected, and of each band of chances."""
    told = []
    for horizon, rows in made.scores.groupby("horizon_days"):
        own = rows[rows["model"] == SERVICE]
        came = ngettext(
            "Within %(days)s days of %(dates)s past date: %(expected)s failures expected while the hoses "
            "were watched, %(observed)s came.",
            "Within %(days)s days of %(dates)s past dates: %(expected)s failures expected while the hoses "
            "were watched, %(observed)s came.",
            len(own),
        ) % {
            "days": horizon,
            "dates": len(own),
            "expected": f"{own['expected'].sum():,.1f}",
            "observed": f"{own['observed'].sum():,}",
        }
        held = ((own["observed"] >= own["low_80"]) & (own["observed"] <= own["high_80"])).sum()
        held_to = _("The 80 %% interval held %(held)s of %(dates)s times.") % {
            "held": held,
            "dates": len(own),
        }
        told.append(f"{came} {held_to}")
        told.extend(_beside(own, rows[rows["model"] == name], name) for name in SIMPLE_MODELS)
    if not made.bands.empty:
        longest = int(made.bands["horizon_days"].max())
        told.append(
            _("Chances of failing within %(days)s days, each assembly counted at every past date:")
            % {"days": longest}
        )
        told.extend(tell_bands(made.bands, longest))
    return told


def _beside(own: pd.DataFrame, other: pd.DataFrame, name: str) -> str:
    both = own.merge(other, on="as_of", suffixes=("", "_other"))
    closer = int((both["log_loss"] < both["log_loss_other"]).sum())
    return _(CLOSER_THAN[name]) % {"closer": closer, "dates": len(both)}
