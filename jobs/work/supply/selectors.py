"""What the page of the purchase list reads: each line with what is in stock, ordered and received."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

from django.db.models import QuerySet
from django.http import Http404

from estimates.quotes.changes.selectors import changed_work, work_in_force
from estimates.quotes.pricing import STEP_OF_ROLE

from ..daily.listeners import Planned, purchase_list
from ..models import DeliveryEntry, Job, SupplyEntry, SupplyKind

MILLION = 10**6


@dataclass(frozen=True)
class Described:
    """What a material of the list is: where it is bought and what the job needs of it."""

    supplier: str = ""
    code: str = ""
    quantity: str = ""
    unit: str = ""


@dataclass
class Line:
    """One material of the list. Packs are millionths; *deliveries* are those that count, the newest first."""

    planned: Planned
    described: Described
    stock: SupplyEntry | None = None
    orders: list[SupplyEntry] = field(default_factory=list)
    deliveries: list[DeliveryEntry] = field(default_factory=list)

    @property
    def in_stock(self) -> int:
        return self.stock.packs_millionths if self.stock else 0

    @property
    def to_buy(self) -> int:
        return max(self.planned.packs_millionths - self.in_stock, 0)

    @property
    def ordered(self) -> int:
        return sum(order.packs_millionths for order in self.orders)

    @property
    def came(self) -> int:
        return sum(max(one.packs_millionths, 0) for one in self.deliveries)

    @property
    def returned(self) -> int:
        return -sum(min(one.packs_millionths, 0) for one in self.deliveries)

    @property
    def received(self) -> int:
        return self.came - self.returned

    @property
    def to_order(self) -> int:
        """What nobody has ordered and what has not come without an order."""
        return max(self.to_buy - max(self.ordered, self.received), 0)

    @property
    def to_come(self) -> int:
        """What is bought or ordered and not here; sent back counts as not here."""
        return max(max(self.to_buy, self.ordered) - self.received, 0)

    @property
    def over(self) -> int:
        """What came beyond what was to be bought and beyond what was ordered."""
        return max(self.received - max(self.to_buy, self.ordered), 0)

    @property
    def expected_on(self) -> Any:
        """The next day an order is expected, while something is to come."""
        days = [order.expected_on for order in self.orders if order.expected_on]
        return min(days) if days and self.to_come else None

    @property
    def lots(self) -> str:
        """Every lot number that came, once, in the order of coming."""
        found = [lot.strip() for one in reversed(self.deliveries) for lot in one.lot_numbers.split(",")]
        return ", ".join(dict.fromkeys(lot for lot in found if lot))

    @property
    def unconfirmed(self) -> list[DeliveryEntry]:
        """The deliveries whose invoice is not entered yet."""
        return [one for one in self.deliveries if not one.is_cost_confirmed]


@dataclass(frozen=True)
class Supplier:
    """The lines of one supplier."""

    name: str
    lines: list[Line]

    @property
    def to_order(self) -> list[Line]:
        return [line for line in self.lines if line.to_order]


def customer_supplies(job: Job) -> list[Planned]:
    """Return what the customer supplies, so that it can be received and its lots logged."""
    work = work_in_force(job.quote)
    return [
        Planned(
            one["key"],
            one["name"],
            one["pack"],
            STEP_OF_ROLE.get(one.get("role", ""), "tile"),
            int(Decimal(one["packs"]) * MILLION),
            0,
            is_customers=True,
        )
        for one in work.get("materials", ())
        if one.get("customer_supplied") and Decimal(one["packs"]) > 0
    ]


def lines_of(job: Job) -> list[Line]:
    """Return the purchase list of *job* with all that happened to it; two queries beside the list's own."""
    lines = {one.key: Line(one, Described()) for one in purchase_list(job)}
    for key, described in _descriptions(job).items():
        if key in lines:
            lines[key].described = described
    for entry in supplies_of(job):
        line = lines.get(entry.material_key)
        if line is not None and entry.kind == SupplyKind.STOCK:
            line.stock = entry
        elif line is not None:
            line.orders.append(entry)
    for delivery in deliveries_of(job):
        if delivery.material_key in lines:
            lines[delivery.material_key].deliveries.append(delivery)
    return list(lines.values())


def by_supplier(lines: Iterable[Line]) -> list[Supplier]:
    """Return what is bought, by supplier; materials of no known supplier come last."""
    found: dict[str, list[Line]] = {}
    for line in lines:
        if not line.planned.is_customers:
            found.setdefault(line.described.supplier, []).append(line)
    return [Supplier(name, found[name]) for name in sorted(found, key=lambda name: (not name, name))]


def customers_lines(lines: Iterable[Line]) -> list[Line]:
    """Return what the customer supplies."""
    return [line for line in lines if line.planned.is_customers]


def supplies_of(job: Job) -> QuerySet[SupplyEntry]:
    """Return the orders and stock that count, in the order they were written."""
    rows = SupplyEntry.objects.filter(job=job, superseded_by=None).exclude(packs_millionths=0)
    return rows.select_related("by").order_by("pk")


def deliveries_of(job: Job) -> QuerySet[DeliveryEntry]:
    """Return the deliveries that count, the newest first."""
    rows = DeliveryEntry.objects.filter(job=job, superseded_by=None).exclude(packs_millionths=0)
    return rows.select_related("by").order_by("-day", "-pk")


def not_on_the_list(job: Job, lines: Sequence[Line]) -> list[DeliveryEntry]:
    """Return what came without being on the list, callbacks apart."""
    keys = {line.planned.key for line in lines}
    rows = [one for one in deliveries_of(job) if one.material_key not in keys]
    return [one for one in rows if one.step != "callback"]


def from_the_shelf(work: Mapping[str, Any]) -> list[Mapping[str, str]]:
    """Return the offcuts that the cut plan takes from the shelf: what of, and where each lies."""
    return list((work.get("stock") or {}).values())


def _descriptions(job: Job) -> dict[str, Described]:
    """Return what the quote says of its materials; what a signed change measured again goes before it."""
    works = (job.quote.snapshot.get("work") or {}, changed_work(job.quote).whole or {})
    return {
        one["key"]: Described(
            one.get("supplier", ""), one.get("code", ""), one.get("quantity", ""), one.get("unit", "")
        )
        for work in works
        for one in work.get("materials", ())
    }


def order_of(job: Job, pk: int) -> SupplyEntry:
    """Return an order of *job* that counts; Http404 when there is none."""
    order = supplies_of(job).filter(pk=pk, kind=SupplyKind.ORDER).select_related("job__site").first()
    if order is None:
        raise Http404
    return order
