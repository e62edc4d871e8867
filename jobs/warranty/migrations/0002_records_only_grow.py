"""Warranty records only grow, at the end of their chain: the database itself sees to it."""

from django.db import migrations
from django.db.backends.base.schema import BaseDatabaseSchemaEditor

from contracting.kept_rows import KeptRows, whole_rows

TABLE = "warranty_warrantyrecord"
KEPT = KeptRows(
    "warranty_record_unchanged",
    "a warranty record is never changed or removed, only superseded",
    whole_rows(TABLE),
)
AT_THE_END = "a warranty record is added at the end of its chain, and never dated back"
# Of the row to be added: its place, what it follows, and its date.
OUT_OF_PLACE = (
    f"NEW.sequence <> (SELECT COALESCE(MAX(sequence), 0) + 1 FROM {TABLE}) "
    f"OR NEW.previous_sha256 <> COALESCE((SELECT sha256 FROM {TABLE} ORDER BY sequence DESC LIMIT 1), '') "
    f"OR NEW.issued_at < (SELECT MAX(issued_at) FROM {TABLE})"
)


def create_end(apps: object, schema_editor: BaseDatabaseSchemaEditor) -> None:
    """Refuse a row out of place; it needs a look at the others, so PostgreSQL asks in the function itself."""
    drop_end(apps, schema_editor)
    if schema_editor.connection.vendor == "sqlite":
        schema_editor.execute(
            f"CREATE TRIGGER {TABLE}_at_the_end BEFORE INSERT ON {TABLE} WHEN {OUT_OF_PLACE} "
            f"BEGIN SELECT RAISE(ABORT, '{AT_THE_END}'); END"
        )
    elif schema_editor.connection.vendor == "postgresql":
        schema_editor.execute(
            "CREATE FUNCTION warranty_record_at_the_end() RETURNS trigger LANGUAGE plpgsql AS "
            f"$$ BEGIN IF {OUT_OF_PLACE} THEN RAISE EXCEPTION '{AT_THE_END}' "
            "USING ERRCODE = 'integrity_constraint_violation'; END IF; RETURN NEW; END $$"
        )
        schema_editor.execute(
            f"CREATE TRIGGER {TABLE}_at_the_end BEFORE INSERT ON {TABLE} FOR EACH ROW "
            "EXECUTE FUNCTION warranty_record_at_the_end()"
        )


def drop_end(apps: object, schema_editor: BaseDatabaseSchemaEditor) -> None:
    is_postgres = schema_editor.connection.vendor == "postgresql"
    schema_editor.execute(f"DROP TRIGGER IF EXISTS {TABLE}_at_the_end{f' ON {TABLE}' * is_postgres}")
    if is_postgres:
        schema_editor.execute("DROP FUNCTION IF EXISTS warranty_record_at_the_end()")


class Migration(migrations.Migration):
    dependencies = [("warranty", "0001_initial")]

    operations = [KEPT.operation(), migrations.RunPython(create_end, drop_end)]
