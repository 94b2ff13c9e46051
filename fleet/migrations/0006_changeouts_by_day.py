from django.db import migrations


class Migration(migrations.Migration):
    dependencies = [("fleet", "0005_changeouts_due_first")]

    operations = [
        migrations.RemoveIndex("changeoutline", "changeout_due_first"),
        migrations.RemoveField("changeoutline", "due_now"),
    ]
