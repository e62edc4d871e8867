"""Warranty records only grow, at the end of their chain: the database itself sees to it.

On SQLite a later migration that alters the table makes it anew and loses its triggers; such a migration ends
with :func:`create_triggers` (a test fails where it was forgotten).
"""

from django.db import migrations
from django.db.backends.base.schema import BaseDatabaseSchemaEditor

TABLE = "warranty_warrantyrecord"
UNCHANGED = "a warranty record is never changed or removed, only superseded"
AT_THE_END = "a warranty record is added at the end of its chain, and never dated back"
# Of the row to be added: its place, what it follows, and its date.
OUT_OF_PLACE = (
    f"NEW.sequence <> (SELECT COALESCE(MAX(sequence), 0) + 1 FROM {TABLE}) "
    f"OR NEW.previous_sha256 <> COALESCE((SELECT sha256 FROM {TABLE} ORDER BY sequence DESC LIMIT 1), '') "
    f"OR NEW.issued_at < (SELECT MAX(issued_at) FROM {TABLE})"
)


def create_triggers(apps: object, schema_editor: BaseDatabaseSchemaEditor) -> None:
    drop_triggers(apps, schema_editor)
    if schema_editor.connection.vendor == "sqlite":
        for act in ("UPDATE", "DELETE"):
            schema_editor.execute(
                f"CREATE TRIGGER {TABLE}_no_{act.lower()} BEFORE {act} ON {TABLE} "
                f"BEGIN SELECT RAISE(ABORT, '{UNCHANGED}'); END"
            )
        schema_editor.execute(
            f"CREATE TRIGGER {TABLE}_at_the_end BEFORE INSERT ON {TABLE} WHEN {OUT_OF_PLACE} "
            f"BEGIN SELECT RAISE(ABORT, '{AT_THE_END}'); END"
        )
    elif schema_editor.connection.vendor == "postgresql":
        refuse = "RAISE EXCEPTION '{}' USING ERRCODE = 'integrity_constraint_violation';"
        schema_editor.execute(
            "CREATE FUNCTION warranty_record_unchanged() RETURNS trigger LANGUAGE plpgsql AS "
            f"$$ BEGIN {refuse.format(UNCHANGED)} END $$"
        )
        schema_editor.execute(
            "CREATE FUNCTION warranty_record_at_the_end() RETURNS trigger LANGUAGE plpgsql AS "
            f"$$ BEGIN IF {OUT_OF_PLACE} THEN {refuse.format(AT_THE_END)} END IF; RETURN NEW; END $$"
        )
        for act in ("UPDATE", "DELETE"):
            schema_editor.execute(
                f"CREATE TRIGGER {TABLE}_no_{act.lower()} BEFORE {act} ON {TABLE} FOR EACH ROW "
                "EXECUTE FUNCTION warranty_record_unchanged()"
            )
        schema_editor.execute(
            f"CREATE TRIGGER {TABLE}_at_the_end BEFORE INSERT ON {TABLE} FOR EACH ROW "
            "EXECUTE FUNCTION warranty_record_at_the_end()"
        )


def drop_triggers(apps: object, schema_editor: BaseDatabaseSchemaEditor) -> None:
    vendor = schema_editor.connection.vendor
    for name in ("no_update", "no_delete", "at_the_end"):
        if vendor == "sqlite":
            schema_editor.execute(f"DROP TRIGGER IF EXISTS {TABLE}_{name}")
        elif vendor == "postgresql":
            schema_editor.execute(f"DROP TRIGGER IF EXISTS {TABLE}_{name} ON {TABLE}")
    if vendor == "postgresql":
        schema_editor.execute("DROP FUNCTION IF EXISTS warranty_record_unchanged()")
        schema_editor.execute("DROP FUNCTION IF EXISTS warranty_record_at_the_end()")


class Migration(migrations.Migration):
    dependencies = [("warranty", "0001_initial")]

    operations = [migrations.RunPython(create_triggers, drop_triggers)]
