"""Pages of billing: the list of what is open, a job's account, an invoice and its payments."""

from __future__ import annotations

import datetime
import uuid
from collections.abc import Callable
from typing import Any

from django import forms as django_forms
from django.contrib import messages
from django.core.exceptions import ValidationError
from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from contracting.staff.policies import StaffRequest, office_required
from jobs.work.daily.selectors import today_at

from . import forms, policies, selectors, services
from .models import Invoice, Payment

PAGE_SIZE = 50


@office_required
@require_GET
def invoices(request: StaffRequest) -> HttpResponse:
    text, show = request.GET.get("q", "").strip(), request.GET.get("show", "open")
    today = timezone.localdate()
    page = Paginator(selectors.open_invoices(text=text, show=show), PAGE_SIZE).get_page(
        request.GET.get("page")
    )
    shown = {
        "page": page,
        "rows": [selectors.standing(one, today) for one in page],
        "ages": selectors.ages(today),
        "ready": selectors.ready_to_invoice(),
        "text": text,
        "show": show,
    }
    return render(request, "billing/invoices.html", shown)


@office_required
@require_GET
def job(request: StaffRequest, pk: int) -> HttpResponse:
    found = policies.billed_job_for(request.user, pk)
    account, contract = services.account_of(found), selectors.contract_of(found)
    shown = {
        "job": found,
        "account": account,
        "contract": contract,
        "standings": selectors.standings_of(found, today_at(found)),
        "terms_form": forms.TermsForm(account=account),
        "release_key": uuid.uuid4(),
    }
    return render(request, "billing/job.html", shown)


@office_required
@require_http_methods(["GET", "POST"])
def new(request: StaffRequest, pk: int) -> HttpResponse:
    found = policies.billed_job_for(request.user, pk)
    account, contract = services.account_of(found), selectors.contract_of(found)
    today = today_at(found)
    days = {"issued_on": today, "due_on": today + datetime.timedelta(days=account.due_days)}
    form = forms.InvoiceForm(
        request.POST or None, contract=contract, first=request.GET.get("part", ""), initial=days
    )
    if request.method == "POST" and form.is_valid():
        cleaned = form.cleaned_data
        made = _try(
            form,
            lambda: services.invoice_issue(
                job=found,
                amounts=form.amounts,
                by=request.user,
                **{name: cleaned[name] for name in ("key", "issued_on", "due_on")},
            ),
            form.field_of,
        )
        if made is not None:
            messages.success(request, _("Invoice %(number)s is issued.") % {"number": made})
            return redirect(made)
    shown = {"job": found, "account": account, "contract": contract, "form": form}
    return render(request, "billing/new.html", shown)


@office_required
@require_http_methods(["GET", "POST"])
def terms(request: StaffRequest, pk: int) -> HttpResponse:
    found = policies.billed_job_for(request.user, pk)
    form = forms.TermsForm(request.POST or None, account=services.account_of(found))
    if request.method == "POST" and form.is_valid():
        services.terms_set(job=found, **form.cleaned_data)
        messages.success(request, _("Saved. It holds for invoices from now on."))
        return redirect("billing:job", found.pk)
    return render(request, "billing/terms.html", {"job": found, "form": form})


@office_required
@require_POST
def release(request: StaffRequest, pk: int) -> HttpResponse:
    found = policies.billed_job_for(request.user, pk)
    form = forms.KeyForm(request.POST)
    key = form.cleaned_data["key"] if form.is_valid() else uuid.uuid4()
    try:
        made = services.retainage_release(job=found, by=request.user, key=key)
    except ValidationError as error:
        messages.error(request, error.messages[0])
        return redirect("billing:job", found.pk)
    messages.success(request, _("What was held back is asked for by %(number)s.") % {"number": made})
    return redirect(made)


@office_required
@require_GET
def invoice(request: StaffRequest, pk: int) -> HttpResponse:
    found = policies.invoice_for(request.user, pk)
    return render(request, "billing/invoice.html", _invoice_page(found))


def _invoice_page(found: Any) -> dict[str, Any]:
    today = today_at(found.job)
    payments = found.payments.select_related("by", "supersedes").order_by("received_on", "pk")
    corrected = {one.supersedes_id for one in payments if one.supersedes_id}
    standing = selectors.standing(found, today)
    return {
        "invoice": found,
        "paper": found.snapshot,
        "document": found.document,
        "standing": standing,
        "payments": [(one, one.pk in corrected) for one in payments],
        "credit_notes": found.credit_notes.defer("snapshot").order_by("number"),
        "left": standing.open_cents,
    }


@office_required
@require_http_methods(["GET", "POST"])
def credit(request: StaffRequest, pk: int) -> HttpResponse:
    found = policies.invoice_for(request.user, pk)
    form = forms.CreditForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        cleaned = form.cleaned_data
        made = _try(
            form,
            lambda: services.credit_issue(
                invoice=found,
                amount_cents=cleaned["amount"],
                reason=cleaned["reason"],
                by=request.user,
                key=cleaned["key"],
            ),
        )
        if made is not None:
            messages.success(request, _("Credit note %(number)s is issued.") % {"number": made})
            return redirect(found)
    return render(request, "billing/credit.html", {"invoice": found, "form": form})


@office_required
@require_http_methods(["GET", "POST"])
def pay(request: StaffRequest, pk: int) -> HttpResponse:
    found = policies.invoice_for(request.user, pk)
    rest = int(found.rest)
    initial = {"amount": abs(rest), "received_on": today_at(found.job), "is_refund": rest < 0}
    return _payment(request, found, None, initial)


@office_required
@require_http_methods(["GET", "POST"])
def correct(request: StaffRequest, pk: int, payment: int) -> HttpResponse:
    found, old = policies.invoice_for(request.user, pk), policies.payment_for(request.user, pk, payment)
    initial = {name: getattr(old, name) for name in ("received_on", "way", "reference")}
    initial |= {"amount": abs(old.amount_cents), "is_refund": old.amount_cents < 0}
    return _payment(request, found, old, initial)


def _payment(
    request: StaffRequest, found: Invoice, old: Payment | None, initial: dict[str, Any]
) -> HttpResponse:
    form = forms.PaymentForm(request.POST or None, invoice=found, initial=initial)
    if request.method == "POST" and form.is_valid():
        done = _try(
            form,
            lambda: services.payment_record(invoice=found, by=request.user, supersedes=old, **form.values),
        )
        if done is not None:
            messages.success(request, _("The payment is recorded."))
            return redirect(found)
    return render(request, "billing/payment.html", {"invoice": found, "form": form, "old": old})


@office_required
@require_POST
def paper_again(request: StaffRequest, pk: int) -> HttpResponse:
    found = policies.invoice_for(request.user, pk)
    services.paper_again(invoice=found, by=request.user)
    return redirect(found)


def _try(
    form: django_forms.Form,
    act: Callable[[], Any],
    field_of: Callable[[str], str | None] = lambda name: name,
) -> Any:
    """Do *act* and return what it made, or put its refusal beside the fields and return None."""
    try:
        return act()
    except ValidationError as error:
        if not hasattr(error, "error_dict"):
            form.add_error(None, error)
            return None
        for name, errors in error.error_dict.items():
            field = field_of(name)
            form.add_error(field if field in form.fields else None, errors)
        return None
