"""The log's new columns, and orders and stock, only grow too; see ``0003_log_only_grows``.

On SQLite ``0005`` has made two of the tables anew and lost their triggers.
"""

from importlib import import_module

from django.db import migrations
from django.db.backends.base.schema import BaseDatabaseSchemaEditor

first = import_module("jobs.work.migrations.0003_log_only_grows")
COMMON, MESSAGE = first.COMMON, first.MESSAGE
FROZEN = {
    **first.FROZEN,
    "work_progressentry": (
        *first.FROZEN["work_progressentry"], "quantity_thousandths", "of_thousandths", "unit",
    ),
    "work_daynote": (*first.FROZEN["work_daynote"], "cause", "low_tenths", "high_tenths"),
    "work_supplyentry": (
        *COMMON, "kind", "material_key", "material_name", "packs_millionths", "reference", "expected_on",
    ),
}


def create_triggers(apps: object, schema_editor: BaseDatabaseSchemaEditor) -> None:
    vendor = schema_editor.connection.vendor
    unlike = {"sqlite": "IS NOT", "postgresql": "IS DISTINCT FROM"}[vendor]
    drop_triggers(apps, schema_editor)
    for table, names in FROZEN.items():
        changed = " OR ".join(f'NEW."{name}" {unlike} OLD."{name}"' for name in names)
        if vendor == "sqlite":
            schema_editor.execute(
                f"CREATE TRIGGER {table}_only_grows BEFORE UPDATE ON {table} WHEN {changed} "
                f"BEGIN SELECT RAISE(ABORT, '{MESSAGE}'); END"
            )
        else:
            schema_editor.execute(
                f"CREATE TRIGGER {table}_only_grows BEFORE UPDATE ON {table} FOR EACH ROW WHEN ({changed}) "
                "EXECUTE FUNCTION log_entry_only_grows()"
            )


def drop_triggers(apps: object, schema_editor: BaseDatabaseSchemaEditor) -> None:
    is_postgres = schema_editor.connection.vendor == "postgresql"
    for table in FROZEN:
        where = f" ON {table}" if is_postgres else ""
        schema_editor.execute(f"DROP TRIGGER IF EXISTS {table}_only_grows{where}")


class Migration(migrations.Migration):
    dependencies = [("work", "0005_supplies_and_quantities")]

    operations = [migrations.RunPython(create_triggers, drop_triggers)]
