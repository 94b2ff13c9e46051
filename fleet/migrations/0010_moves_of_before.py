import re

from django.db import migrations

TOLD = re.compile(r"moved ([\d,.]+) to (.+)")  # as the history of a piece tells what was taken from it


def keep_moves(apps, schema_editor) -> None:
    """What was moved before moves were kept stands in histories alone. Run again, it keeps none twice."""
    moves = apps.get_model("fleet", "StockMove").objects
    if moves.exists():
        return  # since the first was kept every one is, a moment after its history
    sites = apps.get_model("fleet", "Site").objects
    site_of = {(one.organization_id, one.key): one.pk for one in sites.order_by("pk").iterator()}
    stands = set(site_of.values())
    known = set(apps.get_model("fleet", "Part").objects.order_by().values_list("pk", flat=True))
    records = apps.get_model("fleet", "HistoricalStockPiece").objects.order_by("history_id")
    for record in records.filter(history_change_reason__startswith="moved ").iterator():
        told = TOLD.fullmatch(record.history_change_reason)
        target = told and site_of.get((record.organization_id, told[2]))
        # A site or part that was deleted since has no moves either.
        if target and record.site_id in stands and record.part_id in known:
            moves.create(
                organization_id=record.organization_id,
                part_id=record.part_id,
                from_site_id=record.site_id,
                to_site_id=target,
                moved_at=record.history_date,
                quantity=float(told[1].replace(",", "")),
            )


class Migration(migrations.Migration):
    dependencies = [("fleet", "0009_stock_moves")]

    operations = [migrations.RunPython(keep_moves, migrations.RunPython.noop)]
