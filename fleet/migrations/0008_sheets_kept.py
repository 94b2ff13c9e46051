from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("fleet", "0007_invitations"),
    ]

    operations = [
        migrations.AddField(
            model_name="folderreading",
            name="made_of",
            field=models.JSONField(blank=True, default=dict),
        ),
        migrations.AddField(
            model_name="folderreading",
            name="sent_names",
            field=models.JSONField(blank=True, default=list),
        ),
        migrations.AddField(
            model_name="folderreading",
            name="sheet",
            field=models.FileField(blank=True, upload_to="folders/"),
        ),
    ]
