"""Why the plan in force leaves a hose in place, and what that costs a year, from what the plan stored."""

from dataclasses import dataclass

from django.utils.translation import gettext as _

from forecasting.stops.changeouts import DUE_IN_WORDS, REACHED_IN_WORDS
from forecasting.wording import tell_day

from .weighing import Scales

YEAR_DAYS = 365


@dataclass(frozen=True, slots=True)
class Stay:
    """Why no stop changes a hose, and what one of its failures costs times the chance of it within a year.

    `low` and `high` are that at the ends of the chance's interval (four times in five); money, all three None
    where nobody entered what a failure costs.
    """

    why: str
    cost_a_year: float | None
    low: float | None
    high: float | None


def tell_stay(scales: Scales) -> Stay | None:
    """Why it stays, or None: the plan in force changes it, or does not speak of it."""
    if scales.forecast is None or scales.outlook is None or scales.changeout is not None:
        return None
    chances = scales.outlook.chance(YEAR_DAYS)
    failure_cost = scales.position.failure_cost
    if chances is None or failure_cost is None:
        return Stay(_why(scales), None, None, None)
    chance, low, high = chances
    cost = float(failure_cost)
    return Stay(_why(scales), chance * cost, low * cost, high * cost)


def _why(scales: Scales) -> str:
    line = scales.forecast
    if line.due_on is None:
        return _(
            "No limit holds it, and changing it pays on no day ahead, as far as it is known what a changeout "
            "and a failure of it cost."
        )
    reached = scales.plan is not None and line.due_on <= scales.plan.as_of
    words = REACHED_IN_WORDS if reached else DUE_IN_WORDS
    told = {
        "because": _(words[line.due_reason]) % {"due": tell_day(line.due_on)},
        "until": tell_day(scales.looks_to),
    }
    if line.due_on > scales.looks_to:
        return _("%(because)s; the plan looks ahead to %(until)s only.") % told
    if line.due_reason == "economy" and line.limit_reason != "economy":
        return (
            _("%(because)s, yet no stop that its machine can have by %(until)s saves what it costs itself.")
            % told
        )
    return _("%(because)s; it stays by a decision that stood when the plan was made.") % told
