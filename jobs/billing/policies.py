"""Getting invoices and payments: the office and the owner have the right to them."""

from __future__ import annotations

from typing import Any

from django.http import Http404

from contracting.staff.models import User
from jobs.work.models import Job
from jobs.work.policies import job_for

from .models import Invoice, Payment
from .selectors import with_sums


def billed_job_for(user: User, pk: int) -> Job:
    """Return the job; Http404 without the right to its money."""
    if not user.sees_money:
        raise Http404
    return job_for(user, pk)


def invoice_for(user: User, pk: int) -> Any:
    """Return the invoice with its sums, job and document; Http404 as above."""
    found = with_sums(Invoice.objects.filter(pk=pk)).select_related(
        "job__site__customer", "job__quote", "document", "credits", "issued_by"
    )
    found = found.defer("document__snapshot", "job__quote__snapshot", "credits__snapshot")
    invoice = found.first() if user.sees_money else None
    if invoice is None:
        raise Http404
    return invoice


def payment_for(user: User, invoice: int, pk: int) -> Payment:
    """Return a payment of an invoice that counts; Http404 as above, or when it was corrected already."""
    found = Payment.objects.filter(pk=pk, invoice=invoice, superseded_by=None)
    payment = found.select_related("invoice").first() if user.sees_money else None
    if payment is None:
        raise Http404
    return payment
