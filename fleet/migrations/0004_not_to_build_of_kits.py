from collections import defaultdict

from django.db import migrations, models

WARNED = models.TextField(blank=True)


def tell_kits(apps, schema_editor) -> None:
    """What the changeouts of a plan of before warn of stands beside its kits too, not with the next plan only."""
    kits = apps.get_model("fleet", "KitRow").objects
    kit_lines = apps.get_model("fleet", "KitLine").objects
    cuts = apps.get_model("fleet", "CutLine").objects
    changes = (
        apps.get_model("fleet", "ChangeoutLine").objects.exclude(not_to_build="").order_by("plan", "row")
    )
    warnings: dict[tuple[int, str], dict[str, str]] = defaultdict(dict)
    for plan, changeout, position, warning in changes.values_list(
        "plan", "changeout", "position", "not_to_build"
    ):
        warnings[plan, changeout][position] = warning
    for (plan, changeout), by_position in warnings.items():
        for kit in kits.filter(plan=plan, changeout=changeout, purpose="changeout"):
            own = {"plan": plan, "kit": kit.kit}
            for position, warning in by_position.items():
                lines = kit_lines.filter(**own, position=position)
                cuts.filter(**own, line__in=lines.values("line")).update(not_to_build=warning)
                lines.update(not_to_build=warning)
            kit.not_to_build = " ".join(f"{position}: {told}" for position, told in by_position.items())
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
