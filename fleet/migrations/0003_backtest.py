"""Holds replays of past forecasts and how right they were."""

import django.core.validators
import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("fleet", "0002_one_assembly_in_a_position"),
    ]

    operations = [
        migrations.CreateModel(
            name="Backtest",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "state",
                    models.CharField(
                        choices=[
                            ("requested", "Requested"),
                            ("running", "Running"),
                            ("done", "Done"),
                            ("failed", "Failed"),
                        ],
                        default="requested",
                        max_length=10,
                    ),
                ),
                ("from_day", models.DateField(help_text="the first past date")),
                (
                    "every_days",
                    models.PositiveIntegerField(
                        help_text="days from one past date to the next",
                        validators=[django.core.validators.MinValueValidator(1)],
                    ),
                ),
                (
                    "until",
                    models.DateField(blank=True, help_text="the last day that was looked at", null=True),
                ),
                ("requested_at", models.DateTimeField(auto_now_add=True)),
                ("started_at", models.DateTimeField(blank=True, null=True)),
                (
                    "seen_at",
                    models.DateTimeField(
                        blank=True, help_text="last sign of life of a running job", null=True
                    ),
                ),
                ("finished_at", models.DateTimeField(blank=True, null=True)),
                ("progress", models.CharField(blank=True, max_length=200)),
                ("failure", models.TextField(blank=True)),
                ("version", models.CharField(blank=True, max_length=40)),
                ("scores", models.JSONField(blank=True, default=list)),
                ("words", models.JSONField(blank=True, default=list)),
                ("passed_over", models.JSONField(blank=True, default=list)),
                (
                    "organization",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="backtests",
                        to="fleet.organization",
                    ),
                ),
                (
                    "requested_by",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "ordering": ["-requested_at", "-pk"],
                "indexes": [
                    models.Index(fields=["organization", "state", "-finished_at"], name="backtest_newest")
                ],
            },
        ),
    ]
