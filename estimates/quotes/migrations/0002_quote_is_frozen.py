"""An issued quote is frozen: the database itself refuses to change what it says.

On SQLite a later migration that alters ``quotes_quote`` makes the table anew and loses its trigger; such a
migration ends with :func:`create_trigger` (a test fails where it was forgotten).
"""

from django.db import migrations
from django.db.backends.base.schema import BaseDatabaseSchemaEditor

FROZEN = (
    "estimate_id", "site_id", "number", "revision", "title", "customer_name", "site_name", "currency",
    "price_cents", "tax_cents", "total_cents", "cost_cents", "issued_at", "issued_by_id", "valid_until",
    "estimate_revision", "snapshot", "sha256",
)
MESSAGE = "an issued quote is frozen"


def create_trigger(apps: object, schema_editor: BaseDatabaseSchemaEditor) -> None:
    drop_trigger(apps, schema_editor)
    if schema_editor.connection.vendor == "sqlite":
        changed = " OR ".join(f"NEW.{name} IS NOT OLD.{name}" for name in FROZEN)
        schema_editor.execute(
            f"CREATE TRIGGER quote_is_frozen BEFORE UPDATE ON quotes_quote WHEN {changed} "
            f"BEGIN SELECT RAISE(ABORT, '{MESSAGE}'); END"
        )
    elif schema_editor.connection.vendor == "postgresql":
        changed = " OR ".join(f"NEW.{name} IS DISTINCT FROM OLD.{name}" for name in FROZEN)
        schema_editor.execute(
            "CREATE FUNCTION quote_is_frozen() RETURNS trigger LANGUAGE plpgsql AS "
            f"$$ BEGIN RAISE EXCEPTION '{MESSAGE}' USING ERRCODE = 'integrity_constraint_violation'; END $$"
        )
        schema_editor.execute(
            f"CREATE TRIGGER quote_is_frozen BEFORE UPDATE ON quotes_quote FOR EACH ROW WHEN ({changed}) "
            "EXECUTE FUNCTION quote_is_frozen()"
        )


def drop_trigger(apps: object, schema_editor: BaseDatabaseSchemaEditor) -> None:
    if schema_editor.connection.vendor == "sqlite":
        schema_editor.execute("DROP TRIGGER IF EXISTS quote_is_frozen")
    elif schema_editor.connection.vendor == "postgresql":
        schema_editor.execute("DROP TRIGGER IF EXISTS quote_is_frozen ON quotes_quote")
        schema_editor.execute("DROP FUNCTION IF EXISTS quote_is_frozen()")


class Migration(migrations.Migration):
    dependencies = [("quotes", "0001_initial")]

    operations = [migrations.RunPython(create_trigger, drop_trigger)]
