from typing import cast

from django.apps import AppConfig
from django.utils import translation

from forecasting import wording


class FleetConfig(AppConfig):
    name = "fleet"
    verbose_name = "Fleet hoses"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        from . import checks  # noqa: F401  registers the deployment checks

        # What knows no Django tells its sentences in the language that a page, job or command has active.
        wording.set_translator(cast(wording.Translator, translation))
