"""What a decision costs against the plan, in words."""

from django.template import Library
from django.utils.translation import gettext

from .measures import money, not_known

register = Library()

NOTHING = 0.5  # of the currency: below it nobody would decide by it


@register.filter
def dearer(by: float | None, units) -> str:
    """How much more or less than as planned: 120 EUR more, 20 EUR less, the same."""
    if by is None:
        return not_known()
    if abs(by) < NOTHING:
        return gettext("the same")
    told = {"sum": money(abs(by), units)}
    return (gettext("%(sum)s more") if by > 0 else gettext("%(sum)s less")) % told
