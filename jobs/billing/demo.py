"""The demonstration's change orders and invoices, in the states they can have. All of it is made up.

Through the services that the screens use, with moments counted from today.
"""

from __future__ import annotations

import datetime
import uuid
from collections.abc import Mapping

from django.utils import timezone

from contracting.staff.models import User
from estimates.quotes.changes import services as changes
from estimates.quotes.changes.models import ChangeLine, ChangeOrder
from jobs.work.demo import last_working_day
from jobs.work.models import Job, Stage

from . import selectors, services
from .models import Invoice


def load_changes_and_invoices(people: Mapping[str, User]) -> None:
    """Give the demonstration's jobs their change orders and invoices; no job of a stage, nothing for it."""
    by = people["office"]
    for job in Job.objects.select_related("quote", "site__customer").order_by("number"):
        match job.stage:
            case Stage.TILE:
                _changed(job, by)
            case Stage.MEMBRANE:
                _late(job, by)
            case Stage.PUNCH:
                _credited(job, by)
            case Stage.COMPLETE:
                _held_back(job, by)


def _changed(job: Job, by: User) -> None:
    """Deposit paid; one change signed and one that waits; a payment on the way invoiced and open."""
    _pay(_invoice(job, by, days_ago=18), by, days_ago=12)
    tile = next(one for one in job.quote.snapshot["work"]["materials"] if one["role"] == "tile")
    niche = ChangeLine(
        text="Recessed niche in the tub's back wall, waterproofed and tiled",
        step="tile",
        price_cents=38_500,
        minutes=210,
        material_key=tile["key"],
        material_name=tile["name"],
        pack_label=tile["pack"],
        packs_millionths=1_000_000,
        material_cents=4_900,
    )
    trim = ChangeLine(text="No metal trim at the window", step="tile", sign=-1, price_cents=4_500, minutes=20)
    reason = "Asked for at the first visit on site; the studs leave room for it."
    first = _order(job, by, "A niche in the tub wall", reason, [niche, trim], days=1, days_ago=4)
    changes.change_accept_on_paper(
        order=first, name=job.customer_name, signed_on=_day(3), by=by, at=_moment(3)
    )
    shelf = ChangeLine(
        text="Corner shelf of the floor's tile", step="tile", quantity_millionths=2_000_000, unit="pieces",
        price_cents=9_500, minutes=60, other_cents=3_000,
    )  # fmt: skip
    _order(job, by, "Two corner shelves", "Wanted since the niche is there.", [shelf], days=0, days_ago=1)


def _late(job: Job, by: User) -> None:
    """Ten per cent held back; the deposit partly paid and overdue."""
    services.terms_set(job=job, retainage_basis_points=1000, due_days=7)
    late = _invoice(job, by, days_ago=12)
    _pay(late, by, days_ago=6, cents=50_000)


def _credited(job: Job, by: User) -> None:
    """An invoice sent for the wrong payment, taken back, and the right one; a payment corrected."""
    _pay(_invoice(job, by, days_ago=40), by, days_ago=33)
    wrong = _invoice(job, by, days_ago=6)
    services.credit_issue(
        invoice=wrong,
        amount_cents=None,
        reason="Sent before the punch list was done.",
        by=by,
        key=uuid.uuid4(),
        at=_moment(5),
    )


def _held_back(job: Job, by: User) -> None:
    """All invoiced and paid but for what was held back, which is asked for."""
    services.terms_set(job=job, retainage_basis_points=500, due_days=14)
    _pay(_invoice(job, by, days_ago=60), by, days_ago=50)
    _pay(_invoice(job, by, days_ago=25), by, days_ago=15)
    services.retainage_release(job=job, by=by, key=uuid.uuid4(), at=_moment(2))


def _invoice(job: Job, by: User, *, days_ago: int) -> Invoice:
    """Invoice the first payment of the contract that is left."""
    row = next(row for row in selectors.contract_of(job).rows if row.rest_cents > 0)
    return services.invoice_issue(
        job=job, amounts={row.stage.key: row.rest_cents}, by=by, key=uuid.uuid4(), at=_moment(days_ago)
    )


def _pay(invoice: Invoice, by: User, *, days_ago: int, cents: int | None = None) -> None:
    services.payment_record(
        invoice=invoice,
        amount_cents=invoice.payable_cents if cents is None else min(cents, invoice.payable_cents),
        received_on=_day(days_ago),
        way="check",
        reference=f"No. {1000 + invoice.number % 1000}",
        by=by,
        key=uuid.uuid4(),
        at=_moment(days_ago),
    )


def _order(
    job: Job, by: User, title: str, reason: str, lines: list[ChangeLine], *, days: int, days_ago: int
) -> ChangeOrder:
    order = changes.change_start(quote=job.quote, title=title, reason=reason, by=by)
    values = {"title": title, "reason": reason, "work_days": days, "pay_when": "balance"}
    order = changes.change_save(order=order, revision=order.revision, values=values, lines=lines)
    return changes.change_issue(order=order, by=by, at=_moment(days_ago))


def _moment(days_ago: int) -> datetime.datetime:
    """Return a moment so many days ago, or on the last working day before it."""
    moment = timezone.localtime() - datetime.timedelta(days=days_ago)
    return datetime.datetime.combine(last_working_day(moment.date()), moment.timetz())


def _day(days_ago: int) -> datetime.date:
    return timezone.localdate(_moment(days_ago))
