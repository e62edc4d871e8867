"""Invoices of a really signed job."""

import datetime
import uuid
from typing import Any

from contracting.staff.models import User
from jobs.billing import selectors, services
from jobs.billing.models import Invoice, Payment
from jobs.work.models import Job
from tests.contracting.factories import UserFactory
from tests.estimates.quotes.changes.factories import job_of_lines, today

__all__ = ["job_of_lines"]


def job(**values: Any) -> Job:
    """A job for 324.68 with 8.25 % of sales tax on all of it and a deposit of 30 %, signed three days ago."""
    given = {"tax_base": "everything", "tax_basis_points": 825, "deposit_basis_points": 3000} | values
    return job_of_lines(**given)


def invoice(
    made: Job | None = None, *, amounts: dict[str, int] | None = None, by: User | None = None, **values: Any
) -> Invoice:
    """An invoice for the first payment that is left, issued today."""
    made = made or job()
    if amounts is None:
        row = next(row for row in selectors.contract_of(made).rows if row.rest_cents > 0)
        amounts = {row.stage.key: row.rest_cents}
    given = {"key": uuid.uuid4(), "by": by or UserFactory.create()} | values
    return services.invoice_issue(job=made, amounts=amounts, **given)


def pay(invoice: Invoice, cents: int, **values: Any) -> Payment:
    given: dict[str, Any] = {
        "received_on": today(),
        "way": "check",
        "reference": "No. 1042",
        "by": UserFactory.create(),
        "key": uuid.uuid4(),
    }
    return services.payment_record(invoice=invoice, amount_cents=cents, **(given | values))


def credit(invoice: Invoice, cents: int | None = None, **values: Any) -> Invoice:
    given: dict[str, Any] = {"reason": "Wrong payment.", "by": UserFactory.create(), "key": uuid.uuid4()}
    return services.credit_issue(invoice=invoice, amount_cents=cents, **(given | values))


def days_ago(days: int) -> datetime.date:
    return today() - datetime.timedelta(days=days)
