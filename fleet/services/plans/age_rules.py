"""Which published age rule applies for an organization: none until somebody chooses one by its name."""

from django.db import transaction
from django.utils.translation import gettext_lazy

from fleet.models import ChosenAgeRule, Organization, User
from fleet.trade.age_rules import age_rule_named, load_age_rules

from ..errors import ServiceError
from ..signing import hold_organization


class NoSuchAgeRule(ServiceError):
    """No published age rule is known by that name."""

    code = "no_such_age_rule"
    message = gettext_lazy("There is no age rule %(rule)s. Choose one of: %(rules)s.")


@transaction.atomic
def choose_age_rule(*, organization: Organization, user: User | None, rule: str) -> ChosenAgeRule:
    """The organization's age rule from now on, in the place of one chosen before.

    The next plan heeds it, where the organization set no limit itself. Raises NoSuchAgeRule.
    """
    if age_rule_named(rule) is None:
        raise NoSuchAgeRule(rule=rule, rules=", ".join(one.name for one in load_age_rules()))
    hold_organization(organization)
    chosen = ChosenAgeRule.objects.of(organization).first() or ChosenAgeRule(organization=organization)
    if chosen.rule != rule:
        chosen.rule = rule
        vars(chosen)["_history_user"] = user  # the history's own place for who did it
        chosen.save()
    return chosen


@transaction.atomic
def drop_age_rule(*, organization: Organization, user: User | None) -> None:
    """Lets no published age rule apply any longer; the organization's own limits stay as they are."""
    for chosen in ChosenAgeRule.objects.of(organization).select_for_update():
        vars(chosen)["_history_user"] = user  # the history's own place for who did it
        chosen.delete()
