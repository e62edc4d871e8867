"""The office writes, measures, issues and follows change orders."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from contracting.staff.policies import StaffRequest, office_required

from ..policies import quote_for
from ..signing.forms import LinkForm
from ..signing.office_views import link_defaults
from ..signing.selectors import signing_of
from . import forms, policies, selectors, services
from .models import ChangeOrder
from .signing import CHANGE
from .snapshot import line_price, sums_of


@office_required
@require_GET
def orders(request: StaffRequest, quote: int) -> HttpResponse:
    found = quote_for(request.user, quote)
    rows = selectors.orders_of(found)
    context = {"quote": found, "orders": rows, "contract": selectors.contract_sum(found, rows)}
    return render(request, "changes/orders.html", context | {"today": timezone.localdate()})


@office_required
@require_http_methods(["GET", "POST"])
def new(request: StaffRequest, quote: int) -> HttpResponse:
    found = quote_for(request.user, quote)
    form = forms.StartForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            made = services.change_start(quote=found, by=request.user, **form.cleaned_data)
        except ValidationError as error:
            form.add_error(None, error)
        else:
            return redirect("changes:write", made.pk)
    return render(request, "changes/new.html", {"quote": found, "form": form})


@office_required
@require_http_methods(["GET", "POST"])
def write(request: StaffRequest, pk: int) -> HttpResponse:
    """The draft's page: what it says, its lines, its measured rooms, and what it comes to."""
    order = policies.order_for(request.user, pk)
    if not order.is_draft:
        return redirect(order)
    form = forms.OrderForm(request.POST or None, order=order)
    stored = list(order.lines.order_by("position", "pk"))
    lines = forms.LineFormSet(
        request.POST or None,
        initial=forms.line_initial(stored),
        prefix="line",
        form_kwargs={"materials": forms.materials_of(order.quote)},
    )
    # Both are asked, so that all errors show at once.
    if request.method == "POST" and all([form.is_valid(), lines.is_valid()]):
        try:
            services.change_save(
                order=order,
                revision=form.cleaned_data["revision"],
                values=form.values(),
                lines=[one.line() for one in lines if not one.is_empty],
            )
        except services.DraftChangedError as error:
            form.add_error(None, error)
            form.data = _over_newest(request, order)
        except ValidationError as error:
            form.add_error(None, error.messages)
        else:
            messages.success(request, _("Saved."))
            return redirect("changes:write", order.pk)
    return render(request, "changes/write.html", _draft_page(order, stored) | {"form": form, "lines": lines})


def _draft_page(order: ChangeOrder, stored: list[Any]) -> dict[str, Any]:
    signed = services.signed_of(order.quote)
    sums = sums_of(order, stored)
    before = order.quote.total_cents + sum(one.total_cents for one in signed)
    return {
        "order": order,
        "quote": order.quote,
        "paper": order.quote.snapshot["paper"],
        "sums": sums,
        "shown": [(line, line_price(line)) for line in stored],
        "steps": order.measured.get("steps", []),
        "before_cents": before,
        "after_cents": before + sums.total_cents,
        "measure_form": forms.MeasureForm(order=order),
        "issue_form": forms.IssueForm(initial={"valid_until": timezone.localdate() + services.VALID_FOR}),
        "has_rooms": bool(order.quote.snapshot["work"].get("room_set")),
    }


@office_required
@require_http_methods(["GET", "POST"])
def measure(request: StaffRequest, pk: int) -> HttpResponse:
    order = policies.order_for(request.user, pk)
    if not order.is_draft:
        return redirect(order)
    form = forms.MeasureForm(request.POST or None, order=order)
    if request.method == "POST" and form.is_valid():
        try:
            services.change_measure(
                order=order,
                revision=form.cleaned_data["revision"],
                rooms=list(form.cleaned_data["rooms"]),
            )
        except ValidationError as error:
            form.add_error("rooms", error.messages)
        else:
            return redirect("changes:write", order.pk)
    return render(request, "changes/measure.html", {"order": order, "quote": order.quote, "form": form})


@office_required
@require_POST
def issue(request: StaffRequest, pk: int) -> HttpResponse:
    order = policies.order_for(request.user, pk)
    form = forms.IssueForm(request.POST)
    try:
        if not form.is_valid():
            raise ValidationError([error for errors in form.errors.values() for error in errors])
        made = services.change_issue(
            order=order, by=request.user, at=timezone.now(), valid_until=form.cleaned_data["valid_until"]
        )
    except ValidationError as error:
        for sentence in error.messages:
            messages.error(request, sentence)
        return redirect("changes:write", order.pk)
    messages.success(request, _("Change order %(number)s is issued.") % {"number": made.number})
    return redirect(made)


@office_required
@require_POST
def discard(request: StaffRequest, pk: int) -> HttpResponse:
    order = policies.order_for(request.user, pk)
    try:
        services.change_discard(order=order)
    except ValidationError as error:
        messages.error(request, error.messages[0])
        return redirect(order)
    messages.success(request, _("The draft is thrown away."))
    return redirect("changes:orders", order.quote_id)


@office_required
@require_GET
def order(request: StaffRequest, pk: int) -> HttpResponse:
    found = policies.order_for(request.user, pk)
    if found.is_draft:
        return redirect("changes:write", found.pk)
    context = {
        "order": found,
        "quote": found.quote,
        "paper": found.snapshot["paper"],
        "office": found.snapshot["office"],
        "work": found.snapshot["work"],
        "document": found.document,
        "signing": signing_of(CHANGE, found),
        "link_form": LinkForm(initial=link_defaults(CHANGE, found)),
        "today": timezone.localdate(),
        "after": found.replaced_by.exclude(status=ChangeOrder.Status.DRAFT).select_related("quote").first(),
    }
    return render(request, "changes/order.html", context)


@office_required
@require_http_methods(["GET", "POST"])
def sign(request: StaffRequest, pk: int) -> HttpResponse:
    found = policies.order_for(request.user, pk)
    form = forms.PaperSignatureForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            services.change_accept_on_paper(order=found, by=request.user, **form.cleaned_data)
        except ValidationError as error:
            form.add_error(None, error)
        else:
            messages.success(request, _("Change order %(number)s is signed.") % {"number": found.number})
            return redirect(found)
    return render(request, "changes/sign_on_paper.html", {"order": found, "form": form})


@office_required
@require_http_methods(["GET", "POST"])
def declined(request: StaffRequest, pk: int) -> HttpResponse:
    found = policies.order_for(request.user, pk)
    form = forms.DeclinedForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        day, reason = form.cleaned_data["day"], form.cleaned_data["note"]
        try:
            services.change_decline(order=found, declined_on=day, reason=reason, by=request.user)
        except ValidationError as error:
            form.add_error(None, error)
        else:
            messages.success(
                request, _("Change order %(number)s is recorded as declined.") % {"number": found.number}
            )
            return redirect(found)
    return render(request, "changes/declined.html", {"order": found, "form": form})


@office_required
@require_POST
def withdraw(request: StaffRequest, pk: int) -> HttpResponse:
    found = policies.order_for(request.user, pk)
    try:
        services.change_withdraw(order=found, note=request.POST.get("note", ""), by=request.user)
    except ValidationError as error:
        messages.error(request, error.messages[0])
    else:
        messages.success(request, _("Change order %(number)s is withdrawn.") % {"number": found.number})
    return redirect(found)


@office_required
@require_POST
def revise(request: StaffRequest, pk: int) -> HttpResponse:
    found = policies.order_for(request.user, pk)
    try:
        made = services.change_revise(order=found, by=request.user)
    except ValidationError as error:
        for sentence in error.messages:
            messages.error(request, sentence)
        return redirect(found)
    return redirect("changes:write", made.pk)


@office_required
@require_POST
def paper_again(request: StaffRequest, pk: int) -> HttpResponse:
    found = policies.order_for(request.user, pk)
    if not found.is_draft:
        services.change_paper_again(order=found, by=request.user)
    return redirect(found)


def _over_newest(request: StaffRequest, order: ChangeOrder) -> Any:
    """Return what was typed, to be saved over the newest revision if the editor says so again."""
    typed = request.POST.copy()
    typed["revision"] = str(ChangeOrder.objects.only("revision").get(pk=order.pk).revision)
    return typed
