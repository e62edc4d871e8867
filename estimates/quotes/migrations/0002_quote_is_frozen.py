"""An issued quote is frozen: the database itself refuses to change what it says."""

from django.db import migrations

from contracting.kept_rows import KeptRows, Trigger, changed

FROZEN = (
    "estimate_id", "site_id", "number", "revision", "title", "customer_name", "site_name", "currency",
    "price_cents", "tax_cents", "total_cents", "cost_cents", "issued_at", "issued_by_id", "valid_until",
    "estimate_revision", "snapshot", "sha256",
)
KEPT = KeptRows(
    "quote_is_frozen",
    "an issued quote is frozen",
    (Trigger("quote_is_frozen", "UPDATE", "quotes_quote", changed(FROZEN)),),
)


class Migration(migrations.Migration):
    dependencies = [("quotes", "0001_initial")]

    operations = [KEPT.operation()]
