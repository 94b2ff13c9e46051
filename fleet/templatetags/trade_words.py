"""Codes of the files out in the words of the trade, the cautions, and small drawings beside a number."""

from django.template import Library
from django.utils.html import format_html
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from fleet.trade.cautions import AT_A_BURST, AT_THE_BENCH, AT_THE_MACHINE

register = Library()

WORDS = {
    "verdict": {
        "short": _("over its rating"),
        "thin": _("thin margin"),
        "sound": _("sound"),
        "unknown": _("cannot be judged"),
    },
    "due_reason": {
        "unfit": _("not fit for its place"),
        "inspection": _("inspection found it"),
        "age_limit": _("age limit"),
        "hours_limit": _("hours limit"),
        "risk": _("risk limit"),
        "economy": _("cheaper than to wait"),
        "none": _("nothing calls for it"),
    },
    "removal_cause": {
        "failed": _("failed in service"),
        "worn": _("found worn"),
        "planned": _("planned changeout"),
        "damaged": _("damaged from outside"),
        "machine_retired": _("machine retired"),
        "unknown": _("cause not known"),
    },
    "grade": {"fit": _("fit"), "watch": _("to be watched"), "replace": _("to be replaced")},
    "suspect": {
        "crimped_by": _("crimped by"),
        "hose_lot": _("hose lot"),
        "lot": _("lot"),
        "gauge": _("gauge"),
        "die": _("die"),
        "part": _("part"),
        "design": _("design"),
        "machine": _("machine"),
        "position": _("position"),
        "machine_model": _("machine model"),
    },
    "kind": {
        "bulk_hose": _("hose"),
        "hose_end": _("end"),
        "ferrule": _("ferrule"),
        "sleeve": _("sleeve"),
        "adapter": _("adapter"),
        "assembly": _("bought assembly"),
    },
    "line": {"pressure": _("pressure line"), "return": _("return line"), "suction": _("suction line")},
    "policy": {
        "plan": _("This plan"),
        "run_to_failure": _("Run to failure"),
        "best_fixed_age": _("Best fixed age"),
        "what_if": _("With the limits asked for"),
    },
    "decision": {
        "keep": _("kept in this stop"),
        "not_before": _("not before a day"),
        "not_after": _("not after a day"),
        "refuse": _("not to be changed"),
    },
    "purpose": {"changeout": _("for a changeout"), "standby": _("standby")},
    "scope": {
        "all": _("all sites"),
        "site": _("site"),
        "population": _("hoses of"),
        "construction": _("construction"),
    },
    "likeness": {
        "certain": _("certain"),
        "could_be": _("could be"),
        "looks_alike": _("looks like it"),
    },
    "measured": {
        "diameter": _("diameter"),
        "pitch": _("pitch"),
        "seat": _("seat"),
        "tube": _("tube"),
        "bolts_long_mm": _("bolts, the long way"),
        "bolts_short_mm": _("bolts, the short way"),
        "head_mm": _("head"),
        "head_thickness_mm": _("thickness of the head"),
    },
    "counts_basis": {
        "past_dates": _(
            "How wide the ranges are follows from how far past counts came out from what was expected."
        ),
        "bootstrap": _(
            "Few hoses have failed yet, so past counts cannot tell how far off these may be. The ranges show "
            "what so few failures leave open about how soon such hoses fail."
        ),
        "parameter_draws": _(
            "Past counts tell too little yet. The ranges show what is still open about how soon such hoses "
            "fail, and how many hours the machines will run."
        ),
    },
    "gap": {
        "working_pressure_bar": _("working pressure"),
        "peak_pressure_bar": _("peak pressure"),
        "design": _("design"),
        "rated_pressure_bar": _("rated pressure"),
        "construction": _("construction"),
        "maximum_temperature_c": _("heat limit"),
        "minimum_bend_radius_mm": _("tightest bend"),
        "cutoff_mm": _("cut-off"),
        "hours": _("hour meter"),
        "built_on": _("day it was crimped"),
        "removal_cause": _("why it came off"),
        "failure_cost": _("cost of a failure"),
        "planned_cost": _("cost of a changeout"),
        "unit_cost": _("cost of one"),
    },
    "gap_why": {
        "working_pressure_bar": _(
            "The hose there cannot be judged. What counts is the pressure that the system works at in this "
            "place, without surges; in a suction line the most that stands in it."
        ),
        "peak_pressure_bar": _(
            "The hose there is judged by the working pressure and what is added to it for surges. What "
            "counts is the highest pressure in this place, surges included."
        ),
        "design": _("The hose there cannot be judged before it is known what belongs there."),
        "rated_pressure_bar": _(
            "No hose with this part can be judged before it is known what the part bears."
        ),
        "construction": _("Whether this hose is made for suction lines is told by its construction."),
        "maximum_temperature_c": _("It lies where it is hot, and how hot it may be nobody has said."),
        "minimum_bend_radius_mm": _("It lies in a bend, and how tightly it may be bent nobody has said."),
        "cutoff_mm": _(
            "No hose can be cut for this end before it is known what it adds to the length. Until then hose "
            "is kept for it by the overall length."
        ),
        "hours": _("How long its hoses run a day is assumed. A reading makes their forecasts better."),
        "built_on": _("A hose ages from the day it was crimped. Until that is known, its age is in doubt."),
        "removal_cause": _("Whether it failed or came off sound tells how long such hoses last."),
        "failure_cost": _(
            "At which age it is best changed hangs on it, and the fleet's usual cost stands in."
        ),
        "planned_cost": _(
            "At which age it is best changed hangs on it, and the fleet's usual cost stands in."
        ),
        "unit_cost": _("The age at which hoses with it are best changed hangs on it."),
    },
    "severity": {"error": _("error"), "warning": _("warning")},
    "state": {
        "requested": _("waiting for its turn"),
        "running": _("running"),
        "to_match": _("its columns are to be matched"),
        "looked_at": _("looked at, waits for your word"),
        "left": _("left, nothing stored"),
        "done": _("done"),
        "refused": _("refused"),
        "failed": _("did not finish"),
    },
}


@register.filter
def words(code: str, vocabulary: str):
    """The code in words; a code without words of its own stands as it is."""
    return WORDS[vocabulary].get(code, code) if code else gettext("not known")


@register.filter
def described(kind: str, description: str | None) -> str:
    """What kind of part it is, and its description where that does not begin with the kind anyway."""
    if not description:
        return str(kind)
    told = str(description)
    return told if told.casefold().startswith(str(kind).casefold()) else f"{kind}: {told}"


@register.filter
def scope_words(scope: str) -> str:
    """A scope of the failures ahead in words: `site:NORTH` is `site NORTH`."""
    kind, colon, name = scope.partition(":")
    return f"{words(kind, 'scope')} {name}" if colon else str(words(kind, "scope"))


@register.filter
def factor_words(multiple: float) -> str:
    """How a factor moves the ordinary failure rate, in words."""
    if 0.95 <= multiple <= 1.05:
        return gettext("changes little")
    if multiple > 1:
        return gettext("raises it %(times)s times") % {"times": f"{multiple:.1f}"}
    return gettext("lowers it to %(percent)d %%") % {"percent": round(multiple * 100)}


@register.inclusion_tag("includes/cautions.html")
def cautions(place: str):
    """The cautions that stand where a page leads to work with the hands: at a `machine`, at the `bench`, or
    after a `burst`, where they are unfolded on a phone too."""
    told = {"machine": AT_THE_MACHINE, "bench": AT_THE_BENCH, "burst": AT_A_BURST}
    return {"place": place, "cautions": told[place]}


STRIP_WIDTH, RATED_AT = 72, 48  # the drawing's width, and where on it the rating stands


@register.simple_tag
def margin_strip(rated_bar: float | None, demanded_bar: float | None):
    """The demanded pressure as a bar against a tick at the rating: past the tick is over the rating."""
    if not rated_bar or demanded_bar is None:
        return ""
    reach = min(demanded_bar / rated_bar * RATED_AT, STRIP_WIDTH)
    return format_html(
        '<svg class="strip" width="{0}" height="10" viewBox="0 0 {0} 10" aria-hidden="true">'
        '<rect class="strip-reach" x="0" y="3" width="{1}" height="4"/>'
        '<path class="strip-rated" d="M{2} 0V10"/></svg>',
        STRIP_WIDTH,
        f"{reach:.1f}",
        RATED_AT,
    )
