from django.db import migrations, models


def tell_due(apps, schema_editor) -> None:
    """What is due by the day of a plan of before stands with its stops now, not with the next plan only."""
    lines = apps.get_model("fleet", "ChangeoutLine").objects
    for plan in apps.get_model("fleet", "Plan").objects.filter(pk__in=lines.values("plan")):
        of_plan = lines.filter(plan=plan)
        stops = of_plan.filter(due_on__lte=plan.as_of).values("changeout")
        of_plan.filter(changeout__in=stops).update(due_now=True)


class Migration(migrations.Migration):
    dependencies = [("fleet", "0004_not_to_build_of_kits")]

    operations = [
        migrations.AddField("changeoutline", "due_now", models.BooleanField(default=False)),
        migrations.RunPython(tell_due, migrations.RunPython.noop),
        migrations.AddIndex(
            "changeoutline", models.Index(fields=["plan", "-due_now", "row"], name="changeout_due_first")
        ),
    ]
