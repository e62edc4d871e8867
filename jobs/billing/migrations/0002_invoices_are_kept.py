"""Invoices, their lines and payments are only added: the database itself refuses to change them."""

from django.db import migrations

from contracting.kept_rows import KeptRows, Trigger, changed

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
KEPT = KeptRows(
    "billing_is_kept",
    "what was invoiced or paid is kept as it is",
    (
        *(Trigger(f"{table}_is_kept", "UPDATE", table, changed(names)) for table, names in FROZEN.items()),
        *(Trigger(f"{table}_no_delete", "DELETE", table) for table in FROZEN),
    ),
)


def open_accounts(apps, schema_editor) -> None:
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
        KEPT.operation(),
    ]
