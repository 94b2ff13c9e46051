from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("fleet", "0012_runs_of_an_organization")]

    operations = [
        migrations.AddIndex(
            model_name="transferline",
            index=models.Index(fields=["plan", "part", "to_site"], name="transfer_by_part"),
        ),
    ]
