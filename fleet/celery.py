"""The Celery application: `celery -A fleet worker`."""

import os

from celery import Celery
from celery.signals import worker_init

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "fleet.settings")

app = Celery("fleet")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks(["fleet"], related_name="jobs")


@worker_init.connect
def refuse_known_secret(**kwargs) -> None:
    from fleet.settings import require_own_secret

    require_own_secret()
