"""Holds in the database that two stays in one position never overlap.

A stay lasts from `installed_on` to `removed_on`, the last day not included: the next assembly may enter on
the day the last one leaves. PostgreSQL has an exclusion constraint for it; the position is written as a
range of one whole number, so that no extension is needed. SQLite has triggers. SQLite loses a table's
triggers when a later migration rebuilds the table: such a migration must end by calling `guard` again,
and `test_stays_in_one_position_never_overlap` fails where it does not.
"""

from django.db import migrations

OVERLAP = """
CREATE TRIGGER assembly_stays_apart_{when} BEFORE {when} ON fleet_assembly
WHEN NEW.position_id IS NOT NULL AND EXISTS (
    SELECT 1 FROM fleet_assembly AS other
    WHERE other.position_id = NEW.position_id
      AND other.id IS NOT NEW.id
      AND other.installed_on < COALESCE(NEW.removed_on, '9999-12-31')
      AND NEW.installed_on < COALESCE(other.removed_on, '9999-12-31')
      AND other.installed_on <> COALESCE(other.removed_on, '9999-12-31')
      AND NEW.installed_on <> COALESCE(NEW.removed_on, '9999-12-31')
)
BEGIN SELECT RAISE(ABORT, 'assembly_stays_apart'); END
"""


def guard(apps, schema_editor) -> None:
    if schema_editor.connection.vendor == "sqlite":
        for when in ("INSERT", "UPDATE"):
            schema_editor.execute(f"DROP TRIGGER IF EXISTS assembly_stays_apart_{when}")
            schema_editor.execute(OVERLAP.format(when=when))
        return
    schema_editor.execute(
        "ALTER TABLE fleet_assembly ADD CONSTRAINT assembly_stays_apart EXCLUDE USING gist ("
        "int8range(position_id, position_id, '[]') WITH &&, daterange(installed_on, removed_on, '[)') WITH &&"
        ") WHERE (position_id IS NOT NULL)"
    )


def unguard(apps, schema_editor) -> None:
    if schema_editor.connection.vendor == "sqlite":
        for when in ("INSERT", "UPDATE"):
            schema_editor.execute(f"DROP TRIGGER assembly_stays_apart_{when}")
        return
    schema_editor.execute("ALTER TABLE fleet_assembly DROP CONSTRAINT assembly_stays_apart")


class Migration(migrations.Migration):
    dependencies = [("fleet", "0001_tables")]
    operations = [migrations.RunPython(guard, unguard)]
