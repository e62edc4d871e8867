"""A customer's signature and the visits of a link are never changed: the database itself refuses.

On SQLite a later migration that alters one of these tables makes it anew and loses its triggers; such a
migration ends with :func:`create_triggers` (a test fails where it was forgotten).
"""

from django.db import migrations
from django.db.backends.base.schema import BaseDatabaseSchemaEditor

FROZEN = {
    "quotes_acceptance": (
        "quote_id", "link_id", "name", "kind", "drawing", "consent_version", "consent_text", "at",
        "paper_sha256", "file_sha256", "agent", "staff_id",
    ),
    # The colleague of a visit may leave the company.
    "quotes_linkvisit": ("link_id", "at", "what", "agent"),
}
MESSAGE = "what was signed is kept as it is"


def create_triggers(apps: object, schema_editor: BaseDatabaseSchemaEditor) -> None:
    drop_triggers(apps, schema_editor)
    vendor = schema_editor.connection.vendor
    if vendor == "postgresql":
        schema_editor.execute(
            "CREATE FUNCTION signature_is_kept() RETURNS trigger LANGUAGE plpgsql AS "
            f"$$ BEGIN RAISE EXCEPTION '{MESSAGE}' USING ERRCODE = 'integrity_constraint_violation'; END $$"
        )
    for table, names in FROZEN.items():
        if vendor == "sqlite":
            changed = " OR ".join(f'NEW."{name}" IS NOT OLD."{name}"' for name in names)
            schema_editor.execute(
                f"CREATE TRIGGER {table}_is_kept BEFORE UPDATE ON {table} WHEN {changed} "
                f"BEGIN SELECT RAISE(ABORT, '{MESSAGE}'); END"
            )
        elif vendor == "postgresql":
            changed = " OR ".join(f'NEW."{name}" IS DISTINCT FROM OLD."{name}"' for name in names)
            schema_editor.execute(
                f"CREATE TRIGGER {table}_is_kept BEFORE UPDATE ON {table} FOR EACH ROW WHEN ({changed}) "
                "EXECUTE FUNCTION signature_is_kept()"
            )
    if vendor == "sqlite":
        schema_editor.execute(
            "CREATE TRIGGER quotes_acceptance_no_delete BEFORE DELETE ON quotes_acceptance "
            f"BEGIN SELECT RAISE(ABORT, '{MESSAGE}'); END"
        )
    elif vendor == "postgresql":
        schema_editor.execute(
            "CREATE TRIGGER quotes_acceptance_no_delete BEFORE DELETE ON quotes_acceptance FOR EACH ROW "
            "EXECUTE FUNCTION signature_is_kept()"
        )


def drop_triggers(apps: object, schema_editor: BaseDatabaseSchemaEditor) -> None:
    vendor = schema_editor.connection.vendor
    for table in FROZEN:
        for name in (f"{table}_is_kept", f"{table}_no_delete"):
            if vendor == "sqlite":
                schema_editor.execute(f"DROP TRIGGER IF EXISTS {name}")
            elif vendor == "postgresql":
                schema_editor.execute(f"DROP TRIGGER IF EXISTS {name} ON {table}")
    if vendor == "postgresql":
        schema_editor.execute("DROP FUNCTION IF EXISTS signature_is_kept()")


class Migration(migrations.Migration):
    dependencies = [("quotes", "0004_private_links")]

    operations = [migrations.RunPython(create_triggers, drop_triggers)]
