"""Invoicing a job and recording what came. Each call is one act of a person and one transaction."""

from __future__ import annotations

import datetime
import hashlib
import uuid
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any
from zoneinfo import ZoneInfo

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import F, Sum
from django.utils import timezone
from django.utils.translation import gettext as _

from contracting.documents.models import Audience, DocumentRequest
from contracting.documents.services import canonical_json, document_request
from contracting.keys import key_used, sent_before
from contracting.money import money_text
from contracting.staff.models import User
from estimates.quotes.estimate_services import number_next
from jobs.work.models import Job

from . import papers, selectors, shares
from .models import Account, Invoice, InvoiceLine, Payment
from .selectors import Contract

Kind = Invoice.Kind


@dataclass(frozen=True)
class Part:
    """A payment of the contract on an invoice: *cents* with sales tax, negative when it is credited."""

    stage_key: str
    label: Mapping[str, Any]
    cents: int


def account_of_new_job(*, job: Job, by: User) -> Account:
    """Open the account of a job that has just been made; once."""
    return account_of(job)


def account_of(job: Job) -> Account:
    """Return the account of *job*, opened at the first call."""
    return Account.objects.get_or_create(job=job)[0]


@transaction.atomic
def terms_set(*, job: Job, retainage_basis_points: int, due_days: int) -> Account:
    """Set how much is held back until the end, and how many days there are to pay; for invoices to come."""
    account = account_of(job)
    account.retainage_basis_points, account.due_days = retainage_basis_points, due_days
    account.full_clean(exclude=["job"])
    account.save(update_fields=["retainage_basis_points", "due_days"])
    return account


@transaction.atomic
def invoice_issue(
    *,
    job: Job,
    amounts: Mapping[str, int],
    by: User,
    key: uuid.UUID,
    issued_on: datetime.date | None = None,
    due_on: datetime.date | None = None,
    at: datetime.datetime | None = None,
) -> Invoice:
    """Issue an invoice for parts of the contract's payments; the same *key* again returns the same one.

    Args:
        amounts: whole cents with sales tax by the key of a payment.

    Raises:
        ValidationError: nothing is asked for, more than is left of a payment or of the contract, or a day
            that cannot be.
    """
    account = _held(job)
    known = sent_before(Invoice, key, job_id=job.pk, kind=Kind.INVOICE)
    if known is not None:
        asked = {stage: cents for stage, cents in amounts.items() if cents}
        if dict(known.lines.order_by().values_list("stage_key", "cents")) != asked:
            raise key_used()
        return known
    contract = selectors.contract_of(job)
    parts = _parts(contract, amounts)
    total = sum(part.cents for part in parts)
    if total > contract.rest_cents:
        raise ValidationError(
            _("Read %(asked)s: only %(rest)s of the contract is left to invoice.")
            % {
                "asked": money_text(total, job.quote.currency),
                "rest": money_text(contract.rest_cents, job.quote.currency),
            }
        )
    tax = shares.tax_of_part(
        contract_cents=contract.total_cents,
        contract_tax_cents=contract.tax_cents,
        invoiced_cents=contract.invoiced_cents,
        invoiced_tax_cents=contract.invoiced_tax_cents,
        part_cents=total,
    )
    retained = shares.held_back(part_cents=total, basis_points=account.retainage_basis_points)
    return _issue(
        job, Kind.INVOICE, parts, (total - tax, tax, retained), contract, by=by, key=key, at=at,
        issued_on=issued_on, due_on=due_on, days=account.due_days,
    )  # fmt: skip


@transaction.atomic
def retainage_release(*, job: Job, by: User, key: uuid.UUID, at: datetime.datetime | None = None) -> Invoice:
    """Ask for all that is still held back; the same *key* again returns the same release.

    Raises:
        ValidationError: nothing is held back.
    """
    account = _held(job)
    known = sent_before(Invoice, key, job_id=job.pk, kind=Kind.RELEASE)
    if known is not None:
        return known
    contract = selectors.contract_of(job)
    if contract.retained_cents <= 0:
        raise ValidationError(_("Nothing is held back on this job."))
    return _issue(
        job, Kind.RELEASE, [], (0, 0, -contract.retained_cents), contract, by=by, key=key, at=at,
        days=account.due_days,
    )  # fmt: skip


@transaction.atomic
def credit_issue(
    *,
    invoice: Invoice,
    amount_cents: int | None,
    reason: str,
    by: User,
    key: uuid.UUID,
    at: datetime.datetime | None = None,
) -> Invoice:
    """Take an invoice back by a credit note, in whole (*amount_cents* None) or in part.

    The tax of what stays invoiced is that of its part of the contract; a credit note for all that is left of
    an invoice takes back the very tax that it carried. Retainage goes back by its share.

    Raises:
        ValidationError: no reason, not an invoice, or more than is left of it.
    """
    job = Job.objects.select_related("quote", "site__customer").get(pk=invoice.job_id)
    _held(job)
    amounts = {} if amount_cents is None else {"total_cents": -amount_cents}
    known = sent_before(
        Invoice, key, credits_id=invoice.pk, kind=Kind.CREDIT, reason=reason.strip()[:300], **amounts
    )
    if known is not None:
        return known
    if not reason.strip():
        raise ValidationError({"reason": _("Say why it is credited; the customer reads it.")})
    if invoice.kind != Kind.INVOICE:
        raise ValidationError(_("Only an invoice is credited."))
    left = _left(invoice)
    amount = left["total"] if amount_cents is None else amount_cents
    if not 0 < amount <= left["total"]:
        raise ValidationError(
            {
                "amount": _("Read %(asked)s: expected more than nothing, up to %(rest)s.")
                % {
                    "asked": money_text(amount, invoice.currency),
                    "rest": money_text(left["total"], invoice.currency),
                }
            }
        )
    contract = selectors.contract_of(job)
    tax = left["tax"] if amount == left["total"] else _tax_back(contract, amount, left["tax"])
    retained = shares.share_of(whole_cents=left["retained"], part_cents=amount, of_cents=left["total"])
    # What was held back may have been asked for already; then it is paid, and comes back with the rest.
    retained = min(retained, contract.retained_cents)
    parts = [Part(part.stage_key, part.label, -part.cents) for part in _credited(invoice, amount)]
    return _issue(
        job, Kind.CREDIT, parts, (tax - amount, -tax, -retained), contract, by=by, key=key,
        at=at, credits=invoice, reason=reason.strip()[:300],
    )  # fmt: skip


@transaction.atomic
def payment_record(
    *,
    invoice: Invoice,
    amount_cents: int,
    received_on: datetime.date,
    way: str,
    reference: str,
    by: User,
    key: uuid.UUID,
    supersedes: Payment | None = None,
    at: datetime.datetime | None = None,
) -> Payment:
    """Record money that came for an invoice (negative: paid back); the same *key* again records nothing.

    Args:
        supersedes: the payment this one corrects; 0 strikes it out.

    Raises:
        ValidationError: more than is open, a day before the issue or to come, or it was corrected already.
    """
    at = at or timezone.now()
    job = Job.objects.select_related("quote", "site__customer").get(pk=invoice.job_id)
    _held(job)
    known = sent_before(
        Payment,
        key,
        invoice_id=invoice.pk,
        amount_cents=amount_cents,
        received_on=received_on,
        way=way,
        reference=reference.strip()[:120],
        supersedes_id=supersedes.pk if supersedes else None,
    )
    if known is not None:
        return known
    if supersedes is not None and Payment.objects.filter(supersedes=supersedes).exists():
        raise ValidationError(_("This payment was corrected already; look again."))
    today = at.astimezone(ZoneInfo(job.site.time_zone)).date()
    if not invoice.issued_on <= received_on <= today:
        raise ValidationError(
            {
                "received_on": _("Read %(day)s: expected a day from the issue (%(issued)s) to today.")
                % {"day": received_on.isoformat(), "issued": invoice.issued_on.isoformat()}
            }
        )
    _check_amount(invoice, amount_cents, supersedes)
    payment = Payment(
        key=key,
        invoice=invoice,
        received_on=received_on,
        way=way,
        amount_cents=amount_cents,
        reference=reference.strip()[:120],
        by=by,
        at=at,
        supersedes=supersedes,
    )
    payment.full_clean(exclude=["invoice"])
    payment.save(force_insert=True)
    totals_refresh(job)
    return payment


@transaction.atomic
def paper_again(*, invoice: Invoice, by: User) -> DocumentRequest:
    """Ask for the paper of an invoice whose document is gone; the same snapshot gives the same pages."""
    document = _paper(invoice.snapshot, by)
    Invoice.objects.filter(pk=invoice.pk).update(document=document)
    return document


def totals_refresh(job: Job) -> None:
    """Add the account's totals up again from its invoices and payments."""
    sums = Invoice.objects.filter(job=job).aggregate(
        total=Sum("total_cents", default=0),
        price=Sum("price_cents", default=0),
        retained=Sum("retained_cents", default=0),
    )
    paid = Payment.objects.filter(invoice__job=job, superseded_by=None)
    Account.objects.filter(job=job).update(
        invoiced_cents=sums["total"],
        invoiced_price_cents=sums["price"],
        retained_cents=sums["retained"],
        received_cents=paid.aggregate(sum=Sum("amount_cents", default=0))["sum"],
    )


def _held(job: Job) -> Account:
    """Hold the account's row till the transaction ends: invoices of one job are issued in turn."""
    account_of(job)
    # The update changes nothing; it is the lock, alike on SQLite and PostgreSQL.
    Account.objects.filter(job=job).update(due_days=F("due_days"))
    return Account.objects.get(job=job)


def _parts(contract: Contract, amounts: Mapping[str, int]) -> list[Part]:
    rows = {row.stage.key: row for row in contract.rows}
    wanted = {key: cents for key, cents in amounts.items() if cents}
    if not wanted:
        raise ValidationError(_("Say what is invoiced: choose a payment of the contract."))
    parts = []
    for key, cents in wanted.items():
        row = rows.get(key)
        if row is None or not 0 < cents <= row.rest_cents:
            raise ValidationError({key: _("More than is left of this payment.")})
        parts.append(Part(key, row.stage.due, cents))
    order = list(rows)
    return sorted(parts, key=lambda part: order.index(part.stage_key))


def _left(invoice: Invoice) -> dict[str, int]:
    """Return what of an invoice is not credited yet."""
    gone = Invoice.objects.filter(credits=invoice).aggregate(
        total=Sum("total_cents", default=0),
        tax=Sum("tax_cents", default=0),
        retained=Sum("retained_cents", default=0),
    )
    return {
        "total": invoice.total_cents + int(gone["total"]),
        "tax": invoice.tax_cents + int(gone["tax"]),
        "retained": invoice.retained_cents + int(gone["retained"]),
    }


def _tax_back(contract: Contract, amount: int, most: int) -> int:
    """Return the tax in *amount* of a contract that is taken back: at least nothing, at most *most* or it."""
    tax = shares.tax_of_part(
        contract_cents=contract.total_cents,
        contract_tax_cents=contract.tax_cents,
        invoiced_cents=contract.invoiced_cents,
        invoiced_tax_cents=contract.invoiced_tax_cents,
        part_cents=-amount,
    )
    return max(0, min(-tax, most, amount))


def _credited(invoice: Invoice, amount: int) -> list[Part]:
    """Return the invoice's payments that *amount* takes back, the last first, as positive parts."""
    gone = InvoiceLine.objects.filter(invoice__credits=invoice).order_by().values("stage_key")
    taken = {row["stage_key"]: int(row["c"]) for row in gone.annotate(c=Sum("cents"))}
    parts = []
    for line in invoice.lines.order_by("-position"):
        cents = min(amount, line.cents + taken.get(line.stage_key, 0))
        if cents > 0:
            parts.append(Part(line.stage_key, line.label, cents))
            amount -= cents
    return parts[::-1]


def _check_amount(invoice: Invoice, amount_cents: int, supersedes: Payment | None) -> None:
    now: Any = selectors.with_sums(Invoice.objects.filter(pk=invoice.pk)).get()
    rest = int(now.rest) + (supersedes.amount_cents if supersedes else 0)
    if supersedes is None and amount_cents == 0:
        raise ValidationError({"amount": _("Say how much came.")})
    # What was recorded too large is corrected downwards, also where a credit note has come since.
    old = supersedes.amount_cents if supersedes else 0
    low, high = min(rest, 0, old), max(rest, 0, old)
    if not low <= amount_cents <= high:
        if rest >= 0:
            sentence = _("Read %(asked)s: %(rest)s is open on this invoice.")
        else:
            sentence = _("Read %(asked)s: nothing is open; %(rest)s is to be paid back.")
        raise ValidationError(
            {
                "amount": sentence
                % {
                    "asked": money_text(amount_cents, invoice.currency),
                    "rest": money_text(abs(rest), invoice.currency),
                }
            }
        )


def _issue(
    job: Job,
    kind: Invoice.Kind,
    parts: Sequence[Part],
    money: tuple[int, int, int],
    contract: Contract,
    *,
    by: User,
    key: uuid.UUID,
    at: datetime.datetime | None,
    issued_on: datetime.date | None = None,
    due_on: datetime.date | None = None,
    days: int = 0,
    credits: Invoice | None = None,
    reason: str = "",
) -> Invoice:
    """Number, freeze and store; *money*: price, tax and retained cents, signed."""
    at = at or timezone.now()
    today = at.astimezone(ZoneInfo(job.site.time_zone)).date()
    day = issued_on or today
    due = due_on or day + datetime.timedelta(days=days)
    if day > today:
        raise ValidationError({"issued_on": _("An invoice is not issued on a day to come.")})
    if due < day:
        raise ValidationError({"due_on": _("It cannot be due before it is issued.")})
    price, tax, retained = money
    invoice = Invoice(
        key=key, job=job, kind=kind, number=number_next("invoice"), credits=credits, reason=reason,
        customer_name=job.customer_name, currency=job.quote.currency, issued_on=day, issued_at=at,
        issued_by=by, due_on=due, price_cents=price, tax_cents=tax, total_cents=price + tax,
        retained_cents=retained,
    )  # fmt: skip
    snapshot = papers.snapshot_of(invoice, parts, contract)
    invoice.snapshot = snapshot
    invoice.sha256 = hashlib.sha256(canonical_json(snapshot).encode()).hexdigest()
    invoice.document = _paper(snapshot, by)
    invoice.full_clean(exclude=["job", "credits", "document"])
    invoice.save(force_insert=True)
    InvoiceLine.objects.bulk_create(
        InvoiceLine(
            invoice=invoice, position=position, stage_key=part.stage_key, label=part.label, cents=part.cents
        )
        for position, part in enumerate(parts, 1)
    )
    totals_refresh(job)
    return invoice


def _paper(snapshot: dict[str, Any], by: User) -> DocumentRequest:
    return document_request(
        kind=papers.KIND,
        snapshot=snapshot,
        subject=papers.subject(snapshot),
        audience=Audience.CUSTOMER,
        by=by,
    )
