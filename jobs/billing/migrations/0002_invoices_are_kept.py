"""Invoices, their lines and payments are only added: the database itself refuses to change them.

On SQLite a later migration that alters one of these tables makes it anew and loses its triggers; such a
migration ends with :func:`create_triggers` (a test fails where it was forgotten).
"""

from django.db import migrations
from django.db.backends.base.schema import BaseDatabaseSchemaEditor

FROZEN = {
    "billing_invoice": (
        "key", "job_id", "kind", "number", "credits_id", "reason", "customer_name", "currency", "issued_on",
        "issued_at", "issued_by_id", "due_on", "price_cents", "tax_cents", "total_cents", "retained_cents",
        "snapshot", "sha256",
    ),
    "billing_invoiceline": ("invoice_id", "position", "stage_key", "label", "cents"),
    "billing_payment": (
        "key", "invoice_id", "received_on", "way", "amount_cents", "reference", "by_id", "at",
        "supersedes_id",
    ),
}
MESSAGE = "what was invoiced or paid is kept as it is"


def create_triggers(apps: object, schema_editor: BaseDatabaseSchemaEditor) -> None:
    drop_triggers(apps, schema_editor)
    vendor = schema_editor.connection.vendor
    if vendor == "postgresql":
        schema_editor.execute(
            "CREATE FUNCTION billing_is_kept() RETURNS trigger LANGUAGE plpgsql AS "
            f"$$ BEGIN RAISE EXCEPTION '{MESSAGE}' USING ERRCODE = 'integrity_constraint_violation'; END $$"
        )
    for table, names in FROZEN.items():
        differs = "IS NOT" if vendor == "sqlite" else "IS DISTINCT FROM"
        changed = " OR ".join(f'NEW."{name}" {differs} OLD."{name}"' for name in names)
        if vendor == "sqlite":
            stop = f"BEGIN SELECT RAISE(ABORT, '{MESSAGE}'); END"
            schema_editor.execute(f"CREATE TRIGGER {table}_is_kept BEFORE UPDATE ON {table} WHEN {changed} {stop}")
            schema_editor.execute(f"CREATE TRIGGER {table}_no_delete BEFORE DELETE ON {table} {stop}")
        elif vendor == "postgresql":
            stop = "EXECUTE FUNCTION billing_is_kept()"
            schema_editor.execute(
                f"CREATE TRIGGER {table}_is_kept BEFORE UPDATE ON {table} FOR EACH ROW WHEN ({changed}) {stop}"
            )
            schema_editor.execute(
                f"CREATE TRIGGER {table}_no_delete BEFORE DELETE ON {table} FOR EACH ROW {stop}"
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
        schema_editor.execute("DROP FUNCTION IF EXISTS billing_is_kept()")


def open_accounts(apps, schema_editor: BaseDatabaseSchemaEditor) -> None:
    """Open an account for every job there is, so that lists need not ask whether there is one."""
    account, job = apps.get_model("billing", "Account"), apps.get_model("work", "Job")
    known = set(account.objects.values_list("job_id", flat=True))
    account.objects.bulk_create(
        (account(job_id=pk) for pk in job.objects.values_list("pk", flat=True) if pk not in known),
        batch_size=1000,
    )


class Migration(migrations.Migration):
    dependencies = [("billing", "0001_initial")]

    operations = [
        migrations.RunPython(open_accounts, migrations.RunPython.noop),
        migrations.RunPython(create_triggers, drop_triggers),
    ]
