"""The limit of each hose is kept with its forecast, so that a decision past it is told at once."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("fleet", "0011_lists_of_large_fleets"),
    ]

    operations = [
        migrations.AddField(
            model_name="forecastline",
            name="limit_on",
            field=models.DateField(null=True),
        ),
        migrations.AddField(
            model_name="forecastline",
            name="limit_reason",
            field=models.CharField(blank=True, default="", max_length=12),
        ),
    ]
