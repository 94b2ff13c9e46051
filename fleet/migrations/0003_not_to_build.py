from django.db import migrations, models

WARNING = "Do not build "  # as the plans of before began it, at the end of the reason


def tell_apart(apps, schema_editor) -> None:
    """The warning of a plan in force stands in its reason alone until the next plan."""
    lines = apps.get_model("fleet", "ChangeoutLine").objects.filter(reason__contains=WARNING)
    for line in lines.iterator():
        line.not_to_build = WARNING + line.reason.partition(WARNING)[2]
        line.save(update_fields=["not_to_build"])


class Migration(migrations.Migration):
    dependencies = [("fleet", "0002_one_assembly_in_a_position")]

    operations = [
        migrations.AddField(
            model_name="changeoutline", name="not_to_build", field=models.TextField(blank=True)
        ),
        migrations.RunPython(tell_apart, migrations.RunPython.noop),
    ]
