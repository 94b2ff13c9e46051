"""What the pages of a plan ask of 10,000 and more of its lines: the first of a list, and those of one stop."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("fleet", "0014_designs_in_place"),
    ]

    operations = [
        migrations.AddIndex(
            model_name="changeoutline",
            index=models.Index(fields=["plan", "changeout"], name="changeout_by_name"),
        ),
        migrations.AddIndex(
            model_name="gapline",
            index=models.Index(fields=["plan", "row"], name="gap_by_row"),
        ),
        migrations.AddIndex(
            model_name="stockadviceline",
            index=models.Index(
                condition=models.Q(("order_now__gt", 0)), fields=["plan", "row"], name="stock_advice_to_order"
            ),
        ),
    ]
