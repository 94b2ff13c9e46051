"""What is in place of a design is counted for the page of each part: 100,000 rows else."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("fleet", "0013_limits_of_past_plans"),
    ]

    operations = [
        migrations.AddIndex(
            model_name="assembly",
            index=models.Index(
                condition=models.Q(("position__isnull", False), ("removed_on", None)),
                fields=["organization", "design"],
                name="assembly_design_in_place",
            ),
        ),
    ]
