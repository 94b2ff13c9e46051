"""Whether failures come closer together, as the plan in force tells it: in words, figures beside them."""

from dataclasses import dataclass

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from fleet.models import Plan
from fleet.templatetags.measures import grouped

MODELS_SHOWN = 30
LEAST_P = 0.001


@dataclass(frozen=True, slots=True)
class Told:
    """Of the whole fleet (`model` empty) or of one machine model; `figures` are those of the report."""

    model: str
    sentence: str
    figures: dict


def told_trends(plan: Plan | None) -> dict:
    """Of the plan's report: `fleet`, the `models` with the most failures, and how many `more` there are.

    `fleet` is None where no machine was watched, or the plan is older than this question.
    """
    trends = plan.report.get("failure_trends", []) if plan else []
    if not trends:
        return {"fleet": None, "models": [], "more": 0}
    told = [Told(one["scope"].partition(":")[2], _sentence(one), one) for one in trends]
    models = sorted(told[1:], key=lambda one: -one.figures["failures"])
    return {"fleet": told[0], "models": models[:MODELS_SHOWN], "more": len(models[MODELS_SHOWN:])}


def _sentence(trend: dict) -> str:
    count = trend["failures"]
    if not count:
        return _("None has failed while it was watched.")
    if trend["why_none"] == "too_few_failures":
        told = ngettext(
            "No trend can be told from %(n)d failure.", "No trend can be told from %(n)d failures.", count
        )
        return told % {"n": count}
    if trend["why_none"] == "too_few_machines":
        return _("No trend can be told: the %(n)d failures befell too few machines.") % {"n": count}
    by_trend = {
        "closer": _("Failures come closer together (%(p)s)."),
        "apart": _("Failures come further apart (%(p)s)."),
        "none": _("No trend can be told from %(n)d failures (%(p)s)."),
    }
    return by_trend[trend["trend"]] % {"n": count, "p": _p_value(trend["p_value"])}


def _p_value(p: float) -> str:
    """p < 0.001, p = 0.023, p = 0.47."""
    return f"p < {grouped(LEAST_P, 3)}" if p < LEAST_P else f"p = {grouped(p, 3 if p < 0.1 else 2)}"
