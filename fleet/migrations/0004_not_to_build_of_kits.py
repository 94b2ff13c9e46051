from django.db import migrations, models

WARNED = models.TextField(blank=True)


def tell_kits(apps, schema_editor) -> None:
    """What the changeouts of a plan in force warn of stands beside its kits too, not with the next plan only."""
    kits = apps.get_model("fleet", "KitRow").objects
    kit_lines = apps.get_model("fleet", "KitLine").objects
    cuts = apps.get_model("fleet", "CutLine").objects
    changes = apps.get_model("fleet", "ChangeoutLine").objects.exclude(not_to_build="")
    for change in changes.order_by("plan", "row").iterator():
        for kit in kits.filter(plan=change.plan_id, changeout=change.changeout, purpose="changeout"):
            own = {"plan": change.plan_id, "kit": kit.kit}
            lines = kit_lines.filter(**own, position=change.position)
            cuts.filter(**own, line__in=lines.values("line")).update(not_to_build=change.not_to_build)
            lines.update(not_to_build=change.not_to_build)
            told = f"{change.position}: {change.not_to_build}"
            if told not in kit.not_to_build:
                kit.not_to_build = f"{kit.not_to_build} {told}".strip()
                kit.save(update_fields=["not_to_build"])


class Migration(migrations.Migration):
    dependencies = [("fleet", "0003_not_to_build")]

    operations = [
        *(
            migrations.AddField(model_name=line, name="not_to_build", field=WARNED)
            for line in ("kitrow", "kitline", "cutline")
        ),
        migrations.RunPython(tell_kits, migrations.RunPython.noop),
    ]
