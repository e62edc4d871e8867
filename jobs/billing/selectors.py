"""What pages read about invoices: a job's account, one invoice, the list with its ages."""

from __future__ import annotations

import datetime
import itertools
from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum
from typing import Any

from django.db.models import BigIntegerField, F, OuterRef, Q, QuerySet, Subquery, Sum, Value
from django.db.models.functions import Coalesce

from estimates.quotes.changes.contract import Stage
from estimates.quotes.changes.models import ChangeOrder
from estimates.quotes.changes.selectors import payments_of
from jobs.work.models import Job
from jobs.work.models import Stage as JobStage

from .models import Account, Invoice, InvoiceLine, Payment

# The bounds of the ages, in days past the due date.
AGES = (0, 30, 60, 90)


class State(Enum):
    """How an invoice stands."""

    OPEN = "open"
    PARTLY = "partly paid"
    PAID = "paid"
    OVERDUE = "overdue"
    CREDITED = "credited"
    TO_REFUND = "to be paid back"


@dataclass(frozen=True)
class Standing:
    """An invoice with what was paid and credited of it, on a day."""

    invoice: Invoice
    paid_cents: int
    credited_cents: int
    today: datetime.date

    @property
    def open_cents(self) -> int:
        """What is still to be paid; below nothing, to be paid back."""
        return self.invoice.payable_cents - self.credited_cents - self.paid_cents

    @property
    def days_late(self) -> int:
        return max(0, (self.today - self.invoice.due_on).days) if self.open_cents > 0 else 0

    @property
    def state(self) -> State:
        if self.open_cents < 0:
            return State.TO_REFUND
        if self.open_cents == 0:
            return State.CREDITED if self.credited_cents and not self.paid_cents else State.PAID
        if self.days_late:
            return State.OVERDUE
        return State.PARTLY if self.paid_cents else State.OPEN


def with_sums(found: QuerySet[Invoice]) -> Any:
    """Annotate invoices with ``paid``, ``credited`` (positive) and ``rest``, what is still to be paid."""
    whole = BigIntegerField()
    payments = Payment.objects.filter(invoice=OuterRef("pk"), superseded_by=None).order_by()
    paid = payments.values("invoice").annotate(total=Sum("amount_cents")).values("total")
    notes = Invoice.objects.filter(credits=OuterRef("pk")).order_by()
    credited = notes.values("credits").annotate(total=Sum(F("total_cents") - F("retained_cents")))
    zero = Value(0, output_field=whole)
    return found.annotate(
        paid=Coalesce(Subquery(paid, output_field=whole), zero),
        credited=-Coalesce(Subquery(credited.values("total"), output_field=whole), zero),
    ).annotate(rest=F("total_cents") - F("retained_cents") - F("credited") - F("paid"))


def standing(invoice: Any, today: datetime.date) -> Standing:
    """Return how an annotated *invoice* stands."""
    return Standing(invoice, int(invoice.paid), int(invoice.credited), today)


def standings_of(job: Job, today: datetime.date) -> list[Standing]:
    """Return a job's invoices and releases, the newest first; credit notes stand with their invoice."""
    found = with_sums(Invoice.objects.filter(job=job).defer("snapshot")).select_related("document", "credits")
    return [standing(one, today) for one in found.defer("snapshot", "document__snapshot").order_by("-number")]


@dataclass(frozen=True)
class Age:
    """Invoices by how late they are."""

    days: tuple[int, int | None]
    count: int
    cents: int


def open_invoices(*, text: str = "", show: str = "open") -> Any:
    """Return invoices for the list: ``open`` (to be paid, the oldest due first), ``overdue`` or ``all``."""
    found = with_sums(Invoice.objects.exclude(kind=Invoice.Kind.CREDIT)).select_related("job")
    if text:
        match = Q(customer_name__icontains=text) | Q(job__title__icontains=text)
        number = text.upper().removeprefix("INV-").removeprefix("REL-")
        is_number = number.isdecimal() and len(number) < 10
        found = found.filter(
            match | Q(number=int(number)) | Q(job__number=int(number)) if is_number else match
        )
    if show != "all":
        return found.exclude(rest=0).defer("snapshot").order_by("due_on", "number")
    return found.defer("snapshot").order_by("-number")


def ages(today: datetime.date) -> list[Age]:
    """Return what is open by age: not due yet, then by days past due; one query."""
    found = open_invoices().filter(rest__gt=0).values_list("due_on", "rest")
    between = ((low + 1, high) for low, high in itertools.pairwise(AGES))
    bounds: list[tuple[int | None, int | None]] = [(None, 0), *between, (AGES[-1] + 1, None)]
    sums = [[0, 0] for _ in bounds]
    for due_on, rest in found:
        late = (today - due_on).days
        at = next(at for at, (_low, high) in enumerate(bounds) if high is None or late <= high)
        sums[at][0] += 1
        sums[at][1] += int(rest)
    return [
        Age((low or 0, high), count, cents) for (low, high), (count, cents) in zip(bounds, sums, strict=True)
    ]


@dataclass(frozen=True)
class StageRow:
    """A payment of the contract: how much of it is invoiced, credits taken off, and what is left."""

    stage: Stage
    invoiced_cents: int

    @property
    def rest_cents(self) -> int:
        return self.stage.cents - self.invoiced_cents


@dataclass(frozen=True)
class Contract:
    """A job's contract for billing: its payments, and the sums that the invoices must reach."""

    rows: list[StageRow]
    total_cents: int
    tax_cents: int
    invoiced_cents: int
    invoiced_tax_cents: int
    retained_cents: int

    @property
    def rest_cents(self) -> int:
        """What is still to be invoiced; below nothing, to be credited since the contract got smaller."""
        return self.total_cents - self.invoiced_cents


def contract_of(job: Job) -> Contract:
    """Return the contract of *job* with what is invoiced of each payment; four queries."""
    quote = job.quote
    signed = ChangeOrder.objects.filter(quote=quote, status=ChangeOrder.Status.ACCEPTED)
    more = signed.aggregate(total=Sum("total_cents", default=0), tax=Sum("tax_cents", default=0))
    by_stage = InvoiceLine.objects.filter(invoice__job=job).order_by().values("stage_key")
    invoiced = {row["stage_key"]: int(row["c"]) for row in by_stage.annotate(c=Sum("cents"))}
    sums = Invoice.objects.filter(job=job).aggregate(
        total=Sum("total_cents", default=0),
        tax=Sum("tax_cents", default=0),
        retained=Sum("retained_cents", default=0),
    )
    stages = payments_of(quote)
    rows = [StageRow(stage, invoiced.pop(stage.key, 0)) for stage in stages]
    # What was invoiced of a payment that is gone (a deduction took it away) still counts.
    labels = (
        dict(InvoiceLine.objects.filter(invoice__job=job).values_list("stage_key", "label"))
        if invoiced
        else {}
    )
    rows += [StageRow(Stage(key, labels[key], 0), cents) for key, cents in invoiced.items() if cents]
    return Contract(
        rows=rows,
        total_cents=quote.total_cents + int(more["total"]),
        tax_cents=quote.tax_cents + int(more["tax"]),
        invoiced_cents=int(sums["total"]),
        invoiced_tax_cents=int(sums["tax"]),
        retained_cents=int(sums["retained"]),
    )


def overdue(today: datetime.date, limit: int = 8) -> list[Standing]:
    """Return the invoices past their date, the oldest first."""
    found = open_invoices().filter(rest__gt=0, due_on__lt=today)[:limit]
    return [standing(one, today) for one in found]


def ready_to_invoice(limit: int = 8) -> QuerySet[Account]:
    """Return jobs that want an invoice: signed and nothing invoiced yet, or complete and not all of it."""
    found = Account.objects.select_related("job").exclude(job__stage=JobStage.CANCELLED)
    price = F("job__ledger__price_cents")
    complete = Q(job__stage=JobStage.COMPLETE, invoiced_price_cents__lt=price)
    return found.filter(Q(invoiced_cents=0) | complete).order_by("job__number")[:limit]


def history_of(payments: Sequence[Payment]) -> list[Payment]:
    """Return payments that count and what they superseded, in the order they came."""
    return sorted(payments, key=lambda one: (one.received_on, one.pk))
