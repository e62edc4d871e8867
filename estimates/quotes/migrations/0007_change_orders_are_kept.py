"""An issued change order is frozen and its signature kept: the database itself refuses to change them."""

from django.db import migrations

from contracting.kept_rows import KeptRows, Trigger, changed

FROZEN = {
    "quotes_changeorder": (
        "key", "quote_id", "sequence", "revision", "replaces_id", "base_id", "title", "reason",
        "work_days", "pay_when", "currency", "price_cents", "tax_cents", "total_cents", "cost_cents",
        "issued_by_id", "issued_at", "valid_until", "measured", "snapshot", "sha256",
    ),
    "quotes_changeacceptance": (
        "order_id", "link_id", "name", "kind", "drawing", "consent_version", "consent_text", "at",
        "paper_sha256", "file_sha256", "agent", "staff_id",
    ),
    "quotes_changevisit": ("link_id", "at", "what", "agent"),
}
# A draft may be changed or thrown away, what was issued may not.
ISSUED = "OLD.status <> 'draft'"
ORDER = "quotes_changeorder"
KEPT = KeptRows(
    "change_order_is_kept",
    "an issued change order is kept as it is",
    (
        *(
            Trigger(
                f"{table}_is_kept",
                "UPDATE",
                table,
                f"{ISSUED} AND ({changed(names)})" if table == ORDER else changed(names),
            )
            for table, names in FROZEN.items()
        ),
        Trigger(f"{ORDER}_no_delete", "DELETE", ORDER, ISSUED),
        Trigger("quotes_changeacceptance_no_delete", "DELETE", "quotes_changeacceptance"),
    ),
)


class Migration(migrations.Migration):
    dependencies = [("quotes", "0006_change_orders")]

    operations = [KEPT.operation()]
