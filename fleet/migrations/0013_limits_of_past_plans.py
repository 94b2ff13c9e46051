"""What past plans said of limits: a due date that cost cannot outweigh is one. Later limits they do not tell.

Going back loses nothing: the due dates still stand.
"""

from django.db import migrations
from django.db.models import F

LIMITS = ("unfit", "inspection", "age_limit", "hours_limit", "risk")


def tell_limits(apps, schema_editor) -> None:
    lines = apps.get_model("fleet", "ForecastLine").objects.filter(due_reason__in=LIMITS, limit_reason="")
    lines.update(limit_on=F("due_on"), limit_reason=F("due_reason"))


class Migration(migrations.Migration):
    dependencies = [
        ("fleet", "0012_limits_of_forecasts"),
    ]

    operations = [migrations.RunPython(tell_limits, migrations.RunPython.noop)]
