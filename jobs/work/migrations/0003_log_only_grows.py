"""The daily log only grows: the database itself refuses to change what an entry says.

Rate and cost of hours are derived and may be worked out again. On SQLite a later migration that alters one
of these tables makes the table anew and loses its trigger; such a migration ends with
:func:`create_triggers` (a test fails where it was forgotten).
"""

from django.db import migrations
from django.db.backends.base.schema import BaseDatabaseSchemaEditor

COMMON = ("key", "job_id", "day", "note", "by_id", "at", "supersedes_id")
FROZEN = {
    "work_hoursentry": (*COMMON, "person_id", "step", "minutes"),
    "work_deliveryentry": (
        *COMMON, "step", "material_key", "material_name", "pack_label", "packs_millionths", "lot_numbers",
        "cost_cents", "is_cost_confirmed",
    ),
    "work_costentry": (*COMMON, "step", "what", "amount_cents"),
    "work_progressentry": (*COMMON, "step", "done_basis_points"),
    "work_daynote": (*COMMON, "kind", "text", "minutes"),
}
MESSAGE = "an entry of the daily log is never changed, only superseded"


def create_triggers(apps: object, schema_editor: BaseDatabaseSchemaEditor) -> None:
    drop_triggers(apps, schema_editor)
    vendor = schema_editor.connection.vendor
    if vendor == "postgresql":
        schema_editor.execute(
            "CREATE FUNCTION log_entry_only_grows() RETURNS trigger LANGUAGE plpgsql AS "
            f"$$ BEGIN RAISE EXCEPTION '{MESSAGE}' USING ERRCODE = 'integrity_constraint_violation'; END $$"
        )
    for table, names in FROZEN.items():
        if vendor == "sqlite":
            changed = " OR ".join(f'NEW."{name}" IS NOT OLD."{name}"' for name in names)
            schema_editor.execute(
                f"CREATE TRIGGER {table}_only_grows BEFORE UPDATE ON {table} WHEN {changed} "
                f"BEGIN SELECT RAISE(ABORT, '{MESSAGE}'); END"
            )
        elif vendor == "postgresql":
            changed = " OR ".join(f'NEW."{name}" IS DISTINCT FROM OLD."{name}"' for name in names)
            schema_editor.execute(
                f"CREATE TRIGGER {table}_only_grows BEFORE UPDATE ON {table} FOR EACH ROW WHEN ({changed}) "
                "EXECUTE FUNCTION log_entry_only_grows()"
            )


def drop_triggers(apps: object, schema_editor: BaseDatabaseSchemaEditor) -> None:
    vendor = schema_editor.connection.vendor
    for table in FROZEN:
        if vendor == "sqlite":
            schema_editor.execute(f"DROP TRIGGER IF EXISTS {table}_only_grows")
        elif vendor == "postgresql":
            schema_editor.execute(f"DROP TRIGGER IF EXISTS {table}_only_grows ON {table}")
    if vendor == "postgresql":
        schema_editor.execute("DROP FUNCTION IF EXISTS log_entry_only_grows()")


class Migration(migrations.Migration):
    dependencies = [("work", "0002_daily_log")]

    operations = [migrations.RunPython(create_triggers, drop_triggers)]
