"""Photos only grow: the database itself refuses to change or remove a photo, or what was said of it.

On SQLite a later migration that alters one of these tables makes the table anew and loses its triggers;
such a migration ends with :func:`create_triggers` (a test fails where it was forgotten).
"""

from django.db import migrations
from django.db.backends.base.schema import BaseDatabaseSchemaEditor

TABLES = ("photos_photo", "photos_description", "photos_withdrawal")
MESSAGE = "a photo is never changed, only described anew or withdrawn"


def create_triggers(apps: object, schema_editor: BaseDatabaseSchemaEditor) -> None:
    drop_triggers(apps, schema_editor)
    vendor = schema_editor.connection.vendor
    if vendor == "postgresql":
        schema_editor.execute(
            "CREATE FUNCTION photo_only_grows() RETURNS trigger LANGUAGE plpgsql AS "
            f"$$ BEGIN RAISE EXCEPTION '{MESSAGE}' USING ERRCODE = 'integrity_constraint_violation'; END $$"
        )
    for table in TABLES:
        for act in ("UPDATE", "DELETE"):
            name = f"{table}_no_{act.lower()}"
            if vendor == "sqlite":
                schema_editor.execute(
                    f"CREATE TRIGGER {name} BEFORE {act} ON {table} "
                    f"BEGIN SELECT RAISE(ABORT, '{MESSAGE}'); END"
                )
            elif vendor == "postgresql":
                schema_editor.execute(
                    f"CREATE TRIGGER {name} BEFORE {act} ON {table} FOR EACH ROW "
                    "EXECUTE FUNCTION photo_only_grows()"
                )


def drop_triggers(apps: object, schema_editor: BaseDatabaseSchemaEditor) -> None:
    vendor = schema_editor.connection.vendor
    for table in TABLES:
        for act in ("update", "delete"):
            if vendor == "sqlite":
                schema_editor.execute(f"DROP TRIGGER IF EXISTS {table}_no_{act}")
            elif vendor == "postgresql":
                schema_editor.execute(f"DROP TRIGGER IF EXISTS {table}_no_{act} ON {table}")
    if vendor == "postgresql":
        schema_editor.execute("DROP FUNCTION IF EXISTS photo_only_grows()")


class Migration(migrations.Migration):
    dependencies = [("photos", "0001_initial")]

    operations = [migrations.RunPython(create_triggers, drop_triggers)]
