import django.db.models.deletion
from django.db import migrations, models


def of(noun: str) -> models.ForeignKey:
    return models.ForeignKey(
        on_delete=django.db.models.deletion.CASCADE, related_name="+", to=f"fleet.{noun}"
    )


class Migration(migrations.Migration):
    dependencies = [("fleet", "0008_sheets_kept")]

    operations = [
        migrations.CreateModel(
            name="StockMove",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("organization", of("organization")),
                ("part", of("part")),
                ("from_site", of("site")),
                ("to_site", of("site")),
                ("quantity", models.FloatField()),
                ("moved_at", models.DateTimeField()),
            ],
            options={"ordering": ["moved_at", "pk"]},
        ),
    ]
