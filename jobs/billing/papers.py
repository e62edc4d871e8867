"""An invoice, a credit note or a release as a document: what is frozen, and what its template is given."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from django.utils.translation import gettext as _

from contracting.documents import registry
from contracting.staff.selectors import company_profile
from estimates.quotes.changes.models import ChangeOrder
from estimates.quotes.snapshot import company_part, customer_part, site_part

from .models import Invoice

if TYPE_CHECKING:
    from .selectors import Contract
    from .services import Part

KIND = "invoice"
FORMAT = 1


def snapshot_of(invoice: Invoice, parts: Sequence[Part], contract: Contract) -> dict[str, Any]:
    """Return everything the pages show; *contract* is as it stood before this invoice."""
    job = invoice.job
    frozen = job.quote.snapshot["paper"]
    signed = ChangeOrder.objects.filter(quote=job.quote_id, status=ChangeOrder.Status.ACCEPTED)
    changes = signed.select_related("quote").defer("snapshot", "measured", "quote__snapshot")
    credits = invoice.credits
    return {
        "format": FORMAT,
        "language": job.site.customer.language,
        "time_zone": job.site.time_zone,
        "paper": frozen.get("paper", "A4"),
        "company": company_part(company_profile()),
        "customer": customer_part(job.site),
        "site": site_part(job.site),
        "currency": invoice.currency,
        "kind": str(invoice.kind),
        "number": str(invoice),
        "job": {"number": job.number, "title": job.title},
        "quote": f"{job.quote.number} r{job.quote.revision}",
        "changes": [
            {"number": f"CO-{one.sequence}", "title": one.title, "cents": one.total_cents}
            for one in changes.order_by("sequence")
        ],
        "issued_on": invoice.issued_on.isoformat(),
        "due_on": invoice.due_on.isoformat(),
        "credits": str(credits) if credits else "",
        "reason": invoice.reason,
        "lines": [{"label": dict(part.label), "cents": part.cents} for part in parts],
        "price_cents": invoice.price_cents,
        "tax_cents": invoice.tax_cents,
        "tax_base": frozen.get("tax_base", "none"),
        "total_cents": invoice.total_cents,
        "retained_cents": invoice.retained_cents,
        "payable_cents": invoice.payable_cents,
        "quoted_cents": job.quote.total_cents,
        "contract_cents": contract.total_cents,
        "before_cents": contract.invoiced_cents,
        "invoiced_cents": contract.invoiced_cents + invoice.total_cents,
        "rest_cents": contract.rest_cents - invoice.total_cents,
        "held_cents": contract.retained_cents + invoice.retained_cents,
    }


def subject(snapshot: Mapping[str, Any]) -> str:
    """Return what the progress page calls it; no money."""
    words = {"invoice": _("Invoice %(number)s"), "credit": _("Credit note %(number)s")}
    return words.get(snapshot["kind"], _("Release of retainage %(number)s")) % snapshot


def context(snapshot: Mapping[str, Any]) -> dict[str, Any]:
    """Return the snapshot; everything on the pages stands in it."""
    return dict(snapshot)


def register() -> None:
    """Make the kind known to the documents app."""
    registry.register(
        KIND,
        template="billing/invoice_paper.html",
        context=context,
        filename=lambda snapshot: f"{snapshot['number']}.pdf",
    )
