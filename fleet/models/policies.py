"""The limits and levels an organization set itself, for all its hoses or for some, or took from a rule."""

from django.db import models
from django.db.models import Q

from .organizations import Owned


class Policy(Owned):
    """Limits for the positions or parts in `scope`; an empty column leaves the wider scope's value."""

    scope = models.CharField(max_length=200)
    age_limit_days = models.FloatField(null=True, blank=True)
    hours_limit = models.FloatField(null=True, blank=True)
    risk_limit = models.FloatField(null=True, blank=True)
    risk_horizon_days = models.FloatField(null=True, blank=True)
    surge_allowance_percent = models.FloatField(null=True, blank=True)
    thin_margin_percent = models.FloatField(null=True, blank=True)
    service_level = models.FloatField(null=True, blank=True)

    class Meta:
        ordering = ["scope"]
        verbose_name_plural = "policies"
        constraints = [
            models.UniqueConstraint(fields=["organization", "scope"], name="policy_unique_scope"),
            models.CheckConstraint(
                condition=Q(risk_limit__gte=0) & Q(risk_limit__lte=1), name="policy_risk_is_a_chance"
            ),
            models.CheckConstraint(
                condition=Q(service_level__gte=0) & Q(service_level__lt=1),
                name="policy_service_level_below_one",
            ),
        ]

    def __str__(self) -> str:
        return self.scope


class ChosenAgeRule(Owned):
    """The published age rule, by its name in `fleet.trade.age_rules`, that an organization chose.

    No row of `policies.csv`: it is not the organization's own limit, and stands behind every one of these.
    """

    rule = models.CharField(max_length=100)

    class Meta:
        ordering = ["organization"]
        constraints = [models.UniqueConstraint(fields=["organization"], name="one_age_rule_each")]

    def __str__(self) -> str:
        return self.rule
