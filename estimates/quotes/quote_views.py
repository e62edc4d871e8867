"""Pages of issued quotes; for the office and the owner only."""

from __future__ import annotations

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from contracting.staff.policies import StaffRequest, office_required

from . import policies, selectors, services
from .forms import AnswerForm
from .models import Estimate, Quote
from .signing.forms import LinkForm
from .signing.office_views import link_defaults
from .signing.quotes import QUOTE
from .signing.selectors import signing_of

PAGE_SIZE = 50


@office_required
@require_GET
def quotes(request: StaffRequest) -> HttpResponse:
    asked = {name: request.GET.get(name, "").strip() for name in ("q", "status")}
    found = selectors.quotes_matching(text=asked["q"], status=asked["status"])
    page = Paginator(found, PAGE_SIZE).get_page(request.GET.get("page"))
    context = {"page": page, "asked": asked, "statuses": Quote.Status.choices, "today": timezone.localdate()}
    return render(request, "quotes/quotes.html", context)


@office_required
@require_GET
def quote(request: StaffRequest, pk: int) -> HttpResponse:
    found = policies.quote_for(request.user, pk)
    context = {
        "quote": found,
        "paper": found.snapshot["paper"],
        "lines": selectors.quote_budget(found),
        "standing": selectors.standing(found),
        "document": found.document,
        "revisions": selectors.quotes_of(found.estimate),
        "today": timezone.localdate(),
        "signing": signing_of(QUOTE, found),
        "link_form": LinkForm(initial=link_defaults(QUOTE, found)),
    }
    return render(request, "quotes/quote.html", context)


@office_required
@require_POST
def issue(request: StaffRequest, pk: int) -> HttpResponse:
    return issue_now(request, policies.estimate_for(request.user, pk))


def issue_now(request: StaffRequest, estimate: Estimate) -> HttpResponse:
    """Issue the estimate and show its quote, or say on the estimate's page what keeps it back."""
    try:
        issued = services.quote_issue(estimate=estimate, by=request.user, at=timezone.now())
    except ValidationError as error:
        for sentence in error.messages:
            messages.error(request, sentence)
        return redirect(estimate)
    messages.success(request, _("Quote %(quote)s is issued.") % {"quote": issued})
    return redirect(issued)


@office_required
@require_http_methods(["GET", "POST"])
def decline(request: StaffRequest, pk: int) -> HttpResponse:
    found = policies.quote_for(request.user, pk)
    form = AnswerForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        day, note = form.cleaned_data["day"], form.cleaned_data["note"]
        try:
            services.quote_decline(quote=found, declined_on=day, note=note, by=request.user)
        except ValidationError as error:
            form.add_error("day", error.messages[0])
        else:
            messages.success(request, _("Quote %(quote)s is recorded as declined.") % {"quote": found})
            return redirect(found)
    return render(request, "quotes/quote_decline.html", {"quote": found, "form": form})


@office_required
@require_POST
def withdraw(request: StaffRequest, pk: int) -> HttpResponse:
    found = policies.quote_for(request.user, pk)
    try:
        services.quote_withdraw(quote=found, note=request.POST.get("note", ""), by=request.user)
    except ValidationError as error:
        messages.error(request, error.messages[0])
    else:
        messages.success(request, _("Quote %(quote)s is withdrawn.") % {"quote": found})
    return redirect(found)


@office_required
@require_POST
def paper_again(request: StaffRequest, pk: int) -> HttpResponse:
    found = policies.quote_for(request.user, pk)
    services.quote_paper_again(quote=found, by=request.user)
    return redirect(found)
