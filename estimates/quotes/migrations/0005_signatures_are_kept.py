"""A customer's signature and the visits of a link are never changed: the database itself refuses."""

from django.db import migrations

from contracting.kept_rows import KeptRows, Trigger, changed

FROZEN = {
    "quotes_acceptance": (
        "quote_id", "link_id", "name", "kind", "drawing", "consent_version", "consent_text", "at",
        "paper_sha256", "file_sha256", "agent", "staff_id",
    ),
    # The colleague of a visit may leave the company.
    "quotes_linkvisit": ("link_id", "at", "what", "agent"),
}
KEPT = KeptRows(
    "signature_is_kept",
    "what was signed is kept as it is",
    (
        *(Trigger(f"{table}_is_kept", "UPDATE", table, changed(names)) for table, names in FROZEN.items()),
        Trigger("quotes_acceptance_no_delete", "DELETE", "quotes_acceptance"),
    ),
)


class Migration(migrations.Migration):
    dependencies = [("quotes", "0004_private_links")]

    operations = [KEPT.operation()]
