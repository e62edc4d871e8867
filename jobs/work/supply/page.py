"""What the purchase list's page shows: every line with its forms, by supplier."""

from __future__ import annotations

import uuid
from dataclasses import dataclass
from typing import Any

from django import forms as django_forms

from contracting.staff.models import User

from .. import papers
from ..models import Job
from . import forms, selectors
from .selectors import Line, Supplier

MILLION = selectors.MILLION


@dataclass
class LineForms:
    """A line and what can be done with it."""

    line: Line
    receive: forms.ReceiveForm
    stock: forms.StockForm | None
    order: forms.OrderForm | None
    invoices: list[tuple[Any, forms.InvoiceForm]]

    @property
    def strike_key(self) -> uuid.UUID:
        """A key for taking one order back; every reading makes another."""
        return uuid.uuid4()

    @property
    def is_refused(self) -> bool:
        """Whether one of the forms was sent and refused: then it stands open."""
        return any(form is not None and form.errors for form in (self.stock, self.order)) or bool(
            self.receive.errors
        )


@dataclass
class SupplierForms:
    """A supplier's lines, and the form that orders what is left of them."""

    supplier: Supplier
    lines: list[LineForms]
    order_rest: forms.OrderRestForm | None


def purchases_page(job: Job, user: User, given: dict[str, django_forms.Form]) -> dict[str, Any]:
    """Return the list of *job*; orders and invoices only where *user* sees money.

    *given*: a form that was sent and refused, by the name of its act.
    """
    work = papers.work_of(job)
    lines = selectors.lines_of(job)
    return {
        "job": job,
        "suppliers": [_supplier(one, user, given) for one in selectors.by_supplier(lines)],
        "customers": [_line(one, user, given) for one in selectors.customers_lines(lines)],
        "others": selectors.not_on_the_list(job, lines),
        "shelf": selectors.from_the_shelf(work),
        "to_come": sum(1 for one in lines if one.to_come),
        "to_order": sum(1 for one in lines if one.to_order and not one.planned.is_customers),
        "count": len(lines),
        "refused": next((form for form in given.values() if form.errors), None),
    }


def _supplier(supplier: Supplier, user: User, given: dict[str, django_forms.Form]) -> SupplierForms:
    rest = None
    if user.sees_money and supplier.to_order:
        rest = _given(given, "order_rest", "supplier", supplier.name) or forms.OrderRestForm(
            initial={"supplier": supplier.name}, auto_id=False
        )
    return SupplierForms(supplier, [_line(line, user, given) for line in supplier.lines], rest)


def _line(line: Line, user: User, given: dict[str, django_forms.Form]) -> LineForms:
    key = line.planned.key
    receive = forms.ReceiveForm(
        auto_id=f"receive-{key}-%s",
        initial={"material_key": key, "packs_millionths": line.to_come or MILLION},
    )
    stock = order = None
    if not line.planned.is_customers:
        stock = forms.StockForm(
            auto_id=f"stock-{key}-%s",
            initial={"material_key": key, "packs_millionths": line.in_stock or MILLION},
        )
    if user.sees_money and not line.planned.is_customers:
        order = forms.OrderForm(
            auto_id=f"order-{key}-%s",
            initial={"material_key": key, "packs_millionths": line.to_order or MILLION},
        )
    return LineForms(
        line,
        _given(given, "receive", "material_key", key) or receive,
        _given(given, "stock", "material_key", key) or stock,
        _given(given, "order", "material_key", key) or order,
        _invoices(line, given) if user.sees_money else [],
    )


def _invoices(line: Line, given: dict[str, django_forms.Form]) -> list[tuple[Any, forms.InvoiceForm]]:
    return [
        (
            delivery,
            _given(given, "invoice", "delivery", str(delivery.pk))
            or forms.InvoiceForm(auto_id=f"invoice-{delivery.pk}-%s", initial={"delivery": delivery.pk}),
        )
        for delivery in line.unconfirmed
    ]


def _given(given: dict[str, django_forms.Form], act: str, name: str, value: str) -> Any:
    """Return the refused form of *act* if it was sent for this very line, supplier or delivery."""
    form = given.get(act)
    if form is None or str(form.data.get(name, "")) != value:
        return None
    form.auto_id = f"{act}-{value}-%s"
    return form
