"""An issued change order is frozen and its signature kept: the database itself refuses to change them.

On SQLite a later migration that alters one of these tables makes it anew and loses its triggers; such a
migration ends with :func:`create_triggers` (a test fails where it was forgotten).
"""

from django.db import migrations
from django.db.backends.base.schema import BaseDatabaseSchemaEditor

# The table, the columns that stay, and whether a row is still free to change.
FROZEN = {
    "quotes_changeorder": (
        "key",
        "quote_id",
        "sequence",
        "revision",
        "replaces_id",
        "base_id",
        "title",
        "reason",
        "work_days",
        "pay_when",
        "currency",
        "price_cents",
        "tax_cents",
        "total_cents",
        "cost_cents",
        "issued_by_id",
        "issued_at",
        "valid_until",
        "measured",
        "snapshot",
        "sha256",
    ),
    "quotes_changeacceptance": (
        "order_id",
        "link_id",
        "name",
        "kind",
        "drawing",
        "consent_version",
        "consent_text",
        "at",
        "paper_sha256",
        "file_sha256",
        "agent",
        "staff_id",
    ),
    "quotes_changevisit": ("link_id", "at", "what", "agent"),
}
FREE = {"quotes_changeorder": "OLD.status <> 'draft' AND "}
# A draft may be thrown away, what was issued may not.
KEPT = {"quotes_changeorder": "OLD.status <> 'draft'", "quotes_changeacceptance": "1 = 1"}
MESSAGE = "an issued change order is kept as it is"


def create_triggers(apps: object, schema_editor: BaseDatabaseSchemaEditor) -> None:
    drop_triggers(apps, schema_editor)
    vendor = schema_editor.connection.vendor
    if vendor == "postgresql":
        schema_editor.execute(
            "CREATE FUNCTION change_order_is_kept() RETURNS trigger LANGUAGE plpgsql AS "
            f"$$ BEGIN RAISE EXCEPTION '{MESSAGE}' USING ERRCODE = 'integrity_constraint_violation'; END $$"
        )
    for table, names in FROZEN.items():
        _create(schema_editor, f"{table}_is_kept", "UPDATE", table, _changed(vendor, table, names))
    for table, when in KEPT.items():
        _create(schema_editor, f"{table}_no_delete", "DELETE", table, when)


def _changed(vendor: str, table: str, names: tuple[str, ...]) -> str:
    differs = "IS NOT" if vendor == "sqlite" else "IS DISTINCT FROM"
    return (
        FREE.get(table, "")
        + "("
        + " OR ".join(f'NEW."{name}" {differs} OLD."{name}"' for name in names)
        + ")"
    )


def _create(schema_editor: BaseDatabaseSchemaEditor, name: str, act: str, table: str, when: str) -> None:
    if schema_editor.connection.vendor == "sqlite":
        schema_editor.execute(
            f"CREATE TRIGGER {name} BEFORE {act} ON {table} WHEN {when} "
            f"BEGIN SELECT RAISE(ABORT, '{MESSAGE}'); END"
        )
    elif schema_editor.connection.vendor == "postgresql":
        schema_editor.execute(
            f"CREATE TRIGGER {name} BEFORE {act} ON {table} FOR EACH ROW WHEN ({when}) "
            "EXECUTE FUNCTION change_order_is_kept()"
        )


def drop_triggers(apps: object, schema_editor: BaseDatabaseSchemaEditor) -> None:
    vendor = schema_editor.connection.vendor
    names = [(f"{table}_is_kept", table) for table in FROZEN] + [
        (f"{table}_no_delete", table) for table in KEPT
    ]
    for name, table in names:
        if vendor == "sqlite":
            schema_editor.execute(f"DROP TRIGGER IF EXISTS {name}")
        elif vendor == "postgresql":
            schema_editor.execute(f"DROP TRIGGER IF EXISTS {name} ON {table}")
    if vendor == "postgresql":
        schema_editor.execute("DROP FUNCTION IF EXISTS change_order_is_kept()")


class Migration(migrations.Migration):
    dependencies = [("quotes", "0006_change_orders")]

    operations = [migrations.RunPython(create_triggers, drop_triggers)]
