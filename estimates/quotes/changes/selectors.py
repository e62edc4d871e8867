"""What pages and other apps read about change orders."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from typing import Any

from django.db.models import Count, Max, Q, QuerySet
from django.utils import timezone

from contracting.staff.models import User

from ..models import Quote
from ..signing.selectors import BUSY_FROM, BUSY_WITHIN, SHOWN_VISITS, State
from . import contract, signing
from .contract import Stage
from .models import ChangeAcceptance, ChangeLink, ChangeOrder, ChangeVisit
from .snapshot import change_stage

Status = ChangeOrder.Status


def orders_of(quote: Quote) -> list[ChangeOrder]:
    """Return the change orders of a quote, drafts last, without snapshots."""
    found = ChangeOrder.objects.filter(quote=quote).select_related("quote", "replaces__quote")
    found = found.defer("snapshot", "measured", "quote__snapshot", "replaces__snapshot")
    return sorted(found, key=lambda one: (one.sequence is None, one.sequence or 0, one.pk))


def visible_to(orders: list[ChangeOrder], user: User) -> list[ChangeOrder]:
    """Return what of *orders* a person sees: the office all, installers the signed ones."""
    return orders if user.sees_money else [one for one in orders if one.status == Status.ACCEPTED]


@dataclass(frozen=True)
class ContractSum:
    """What a signed quote comes to with its signed changes, and what still waits for a signature."""

    quoted_cents: int
    changed_cents: int
    waiting_cents: int
    changed_count: int
    waiting_count: int
    currency: str

    @property
    def total_cents(self) -> int:
        return self.quoted_cents + self.changed_cents


def contract_sum(quote: Quote, orders: list[ChangeOrder]) -> ContractSum:
    """Return the contract sum of *quote*, tax included, from its *orders*."""
    signed = [one.total_cents for one in orders if one.status == Status.ACCEPTED]
    waiting = [one.total_cents for one in orders if one.status == Status.ISSUED]
    return ContractSum(
        quote.total_cents, sum(signed), sum(waiting), len(signed), len(waiting), quote.currency
    )


def payments_of(quote: Quote) -> list[Stage]:
    """Return the payments of the contract as it stands, in order; they sum to the contract sum."""
    signed = ChangeOrder.objects.filter(quote=quote, status=Status.ACCEPTED).defer("snapshot", "measured")
    changes = [
        (one.pay_when, change_stage(one, one.total_cents, one.number))
        for one in signed.select_related("quote").order_by("recorded_at", "pk")
    ]
    return contract.schedule(contract.stages_of(quote.snapshot["paper"]), changes)


@dataclass(frozen=True)
class ChangedWork:
    """What the signed changes of a quote do to the work: no money.

    *whole*: the work part of the last one with measured rooms, the job as it is built now; None without.
    """

    changes: list[dict[str, Any]]
    whole: dict[str, Any] | None


def changed_work(quote: Quote) -> ChangedWork:
    """Return what the signed changes do to the work, in the order of their signatures; one query."""
    signed = ChangeOrder.objects.filter(quote=quote, status=Status.ACCEPTED)
    changes, whole = [], None
    for one in signed.defer("measured").order_by("recorded_at", "pk"):
        work = dict(one.snapshot["work"])
        whole = work.pop("whole") or whole
        number = {"number": f"CO-{one.sequence}", "signed_on": str(one.answered_on)}
        changes.append(work | number)
    return ChangedWork(changes, whole)


def orders_waiting(limit: int = 8) -> QuerySet[ChangeOrder]:
    """Return the change orders that wait for the customer, the first to run out first."""
    found = ChangeOrder.objects.filter(status=Status.ISSUED).select_related("quote")
    return found.defer("snapshot", "measured", "quote__snapshot").order_by("valid_until", "pk")[:limit]


_ANSWERED = {
    Status.ACCEPTED: State.ACCEPTED,
    Status.DECLINED: State.DECLINED,
    Status.SUPERSEDED: State.SUPERSEDED,
    Status.WITHDRAWN: State.WITHDRAWN,
}


def state_of(link: ChangeLink, at: datetime.datetime) -> State:
    """Return what *link* is good for; a revoked or ended one says no more, whatever became of the change."""
    if link.revoked_at is not None:
        return State.REVOKED
    if link.expires_at <= at:
        return State.EXPIRED
    status = Status(link.order.status)
    if status == Status.ISSUED and signing.is_past(link.order, at):
        return State.EXPIRED
    return _ANSWERED.get(status, State.OPEN)


def is_busy(link: ChangeLink, at: datetime.datetime) -> bool:
    """Whether the link has been opened far more often just now than a person would."""
    lately = ChangeVisit.objects.filter(link=link, at__gt=at - BUSY_WITHIN)
    return lately[BUSY_FROM : BUSY_FROM + 1].exists()


def acceptance_of(order: ChangeOrder) -> ChangeAcceptance | None:
    """Return the electronic signature under *order*, with its PDF's state."""
    found = ChangeAcceptance.objects.select_related("document", "staff").defer("document__snapshot")
    return found.filter(order=order).first()


@dataclass(frozen=True)
class SentLink:
    """A link as the office sees it."""

    link: ChangeLink
    state: State
    visit_count: int
    last_visit_at: datetime.datetime | None


@dataclass(frozen=True)
class Signing:
    """What the office sees of a change order's way to its signature."""

    acceptance: ChangeAcceptance | None
    links: list[SentLink]
    visits: list[ChangeVisit]
    can_send: bool


def signing_of(order: ChangeOrder) -> Signing:
    """Return the signature, the links and the latest visits; visits of colleagues are not counted."""
    now = timezone.now()
    customers = Q(visits__staff=None)
    found = (
        ChangeLink.objects.filter(order=order)
        .select_related("made_by")
        .annotate(count=Count("visits", filter=customers), last=Max("visits__at", filter=customers))
        .order_by("-pk")
    )
    links = []
    for link in found:
        link.order = order
        links.append(SentLink(link, state_of(link, now), link.count, link.last))
    visits = ChangeVisit.objects.filter(link__order=order).select_related("staff").order_by("-pk")
    return Signing(
        acceptance=acceptance_of(order) if order.status == Status.ACCEPTED else None,
        links=links,
        visits=list(visits[:SHOWN_VISITS]) if links else [],
        can_send=order.is_open and not signing.is_past(order, now),
    )
