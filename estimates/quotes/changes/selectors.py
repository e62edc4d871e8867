"""What pages and other apps read about change orders."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from typing import Any

from django.db.models import QuerySet

from ..models import Quote
from . import contract
from .contract import Stage
from .models import ChangeOrder
from .snapshot import change_stage

Status = ChangeOrder.Status


def orders_of(quote: Quote) -> list[ChangeOrder]:
    """Return the change orders of a quote, drafts last, without snapshots."""
    found = ChangeOrder.objects.filter(quote=quote).select_related("quote", "replaces__quote")
    found = found.defer("snapshot", "measured", "quote__snapshot", "replaces__snapshot")
    return sorted(found, key=lambda one: (one.sequence is None, one.sequence or 0, one.pk))


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


def work_in_force(quote: Quote) -> dict[str, Any]:
    """Return the work part of a signed *quote* as it is built now; no money.

    That of the last signed change with measured rooms, else the quote's own; {} where it froze none. Lines
    that a change adds by hand stand in :func:`changed_work`.
    """
    found: dict[str, Any] = changed_work(quote).whole or quote.snapshot.get("work") or {}
    return found


def works_of(quote: Quote) -> list[tuple[datetime.datetime | None, dict[str, Any]]]:
    """Return every work part that *quote* was built by, the one in force last, each with since when.

    The quote's own comes first, since ever (None).
    """
    signed = ChangeOrder.objects.filter(quote=quote, status=Status.ACCEPTED).exclude(measured={})
    later = [
        (one.recorded_at, one.snapshot["work"]["whole"])
        for one in signed.defer("measured").order_by("recorded_at", "pk")
    ]
    return [(None, quote.snapshot.get("work") or {}), *later]


def orders_answered(*, since: datetime.date, limit: int) -> QuerySet[ChangeOrder]:
    """Return the change orders that customers signed or declined from *since* on, the latest answer first."""
    found = ChangeOrder.objects.filter(status__in=(Status.ACCEPTED, Status.DECLINED), answered_on__gte=since)
    found = found.select_related("quote").defer("snapshot", "measured", "quote__snapshot")
    return found.order_by("-answered_on", "-pk")[:limit]


def orders_waiting(limit: int = 8) -> QuerySet[ChangeOrder]:
    """Return the change orders that wait for the customer, the first to run out first."""
    found = ChangeOrder.objects.filter(status=Status.ISSUED).select_related("quote")
    return found.defer("snapshot", "measured", "quote__snapshot").order_by("valid_until", "pk")[:limit]
