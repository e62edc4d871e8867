"""The purchase list's page, and what is done on it: stock, orders, what came, what it cost."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django import forms as django_forms
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from contracting.forms import kept
from contracting.staff.policies import StaffRequest, crew_allowed, office_required

from .. import policies
from ..daily.policies import entry_for
from ..daily.services import delivery_confirm_cost
from ..models import DeliveryEntry, Job
from . import forms, page, selectors, services


@require_safe
@crew_allowed
def purchases(request: StaffRequest, pk: int) -> HttpResponse:
    return _page(request, policies.job_for(request.user, pk), {})


@require_POST
@crew_allowed
def receive(request: StaffRequest, pk: int) -> HttpResponse:
    job = policies.job_for(request.user, pk)
    form = forms.ReceiveForm(request.POST)
    return _act(request, job, "receive", form, services.line_receive, _("Logged as a delivery of today."))


@require_POST
@crew_allowed
def stock(request: StaffRequest, pk: int) -> HttpResponse:
    job = policies.job_for(request.user, pk)
    return _act(request, job, "stock", forms.StockForm(request.POST), services.stock_set, _("Noted."))


@require_POST
@office_required
def order(request: StaffRequest, pk: int) -> HttpResponse:
    job = policies.job_for(request.user, pk)
    return _act(request, job, "order", forms.OrderForm(request.POST), services.order_log, _("Ordered."))


@require_POST
@office_required
def order_rest(request: StaffRequest, pk: int) -> HttpResponse:
    job = policies.job_for(request.user, pk)
    form = forms.OrderRestForm(request.POST)
    return _act(request, job, "order_rest", form, services.order_rest, _("Everything there is ordered."))


@require_POST
@office_required
def order_strike(request: StaffRequest, pk: int) -> HttpResponse:
    job = policies.job_for(request.user, pk)
    form = forms.StrikeForm(request.POST)

    def strike(*, job: Job, order: int, **act: Any) -> object:
        return services.order_strike(order=selectors.order_of(job, order), **act)

    return _act(request, job, "order_strike", form, strike, _("The order is taken back."))


@require_POST
@office_required
def invoice(request: StaffRequest, pk: int) -> HttpResponse:
    job = policies.job_for(request.user, pk)
    form = forms.InvoiceForm(request.POST)

    def confirm(*, job: Job, delivery: int, **act: Any) -> object:
        return delivery_confirm_cost(delivery=entry_for(act["by"], job, DeliveryEntry, delivery), **act)

    return _act(request, job, "invoice", form, confirm, _("The cost is entered."))


def _act(
    request: StaffRequest,
    job: Job,
    name: str,
    form: forms.ActForm,
    service: Callable[..., object],
    said: str,
) -> HttpResponse:
    if form.is_valid() and kept(form, service, job=job, by=request.user, **form.act()):
        messages.success(request, said)
        return redirect("work:purchases", job.pk)
    return _page(request, job, {name: form})


def _page(request: StaffRequest, job: Job, given: dict[str, django_forms.Form]) -> HttpResponse:
    return render(request, "work/purchases.html", page.purchases_page(job, request.user, given))
