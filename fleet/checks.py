"""Deployment checks of our own, each with an id, the fault and what to do."""

from django.conf import settings
from django.core.checks import Error, Tags, register


@register(Tags.security, deploy=True)
def check_secret_key(app_configs, **kwargs):
    """fleet.E001: a secret that everybody knows signs nothing."""
    if settings.SECRET_KEY != settings.KNOWN_SECRET_KEY:
        return []
    return [
        Error(
            "SECRET_KEY is the one that stands in the source.",
            hint="Set the environment variable SECRET_KEY to 50 or more random characters.",
            id="fleet.E001",
        )
    ]
