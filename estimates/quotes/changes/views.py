"""A customer's pages of a change order, by a private link and without an account."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import Any

from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect, render
from django.utils import timezone, translation
from django.views.decorators.http import require_http_methods, require_safe

from contracting.documents.serving import document_response
from contracting.staff.models import User
from contracting.staff.policies import everyone_allowed

from ..signing.agents import coarse_agent
from ..signing.forms import DeclineForm, SignForm
from ..signing.selectors import State
from ..signing.signature import HEIGHT, WIDTH
from . import paper, policies, selectors, signing
from .consent import consent_lines
from .models import ChangeLink, ChangeVisit

What = ChangeVisit.What
Page = Callable[[HttpRequest, ChangeLink, str], HttpResponseBase]


def private_link(page: Page) -> Callable[[HttpRequest, str], HttpResponseBase]:
    """Hand *page* the link of its token, in the paper's own language; a wrong token is told nothing."""

    @wraps(page)
    def opened(request: HttpRequest, token: str) -> HttpResponseBase:
        link = policies.link_for_token(token)
        if link is None:
            response: HttpResponseBase = render(request, "signing/nothing.html", status=404)
        elif selectors.is_busy(link, timezone.now()):
            response = render(request, "signing/busy.html", status=429)
        else:
            # What is signed is said in the words that were frozen, and in no other language.
            with translation.override(link.order.snapshot["paper"]["language"]):
                response = page(request, link, token)
        response.headers["X-Robots-Tag"] = "noindex, nofollow"
        if "Cache-Control" not in response.headers:
            response.headers["Cache-Control"] = "private, no-store"
        return response

    return opened


@everyone_allowed
@require_safe
@private_link
def order(request: HttpRequest, link: ChangeLink, token: str) -> HttpResponseBase:
    state = selectors.state_of(link, timezone.now())
    if not state.shows_the_quote:
        return _closed(request, link, state)
    if not getattr(request, "htmx", False):
        _log(request, link, What.READ)
    shown = {"acceptance": selectors.acceptance_of(link.order)} if state is State.ACCEPTED else {}
    return render(request, "changes/customer.html", _context(link, token, state) | shown)


@everyone_allowed
@require_http_methods(["GET", "HEAD", "POST"])
@private_link
def sign(request: HttpRequest, link: ChangeLink, token: str) -> HttpResponseBase:
    state = selectors.state_of(link, timezone.now())
    if state is not State.OPEN:
        return redirect("change-signing:order", token)
    form = SignForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            signing.change_sign(link=link, **form.cleaned_data, **_device(request))
        except ValidationError as error:
            form.add_error(None, error)
        else:
            return redirect("change-signing:order", token)
    _log(request, link, What.INCOMPLETE if request.method == "POST" else What.SIGNING)
    shown = {"form": form, "consent": consent_lines(link.order.snapshot["paper"]), "field": (WIDTH, HEIGHT)}
    return render(request, "changes/customer_sign.html", _context(link, token, state) | shown)


@everyone_allowed
@require_http_methods(["GET", "HEAD", "POST"])
@private_link
def decline(request: HttpRequest, link: ChangeLink, token: str) -> HttpResponseBase:
    state = selectors.state_of(link, timezone.now())
    if state is not State.OPEN:
        return redirect("change-signing:order", token)
    form = DeclineForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            signing.change_refuse(link=link, **form.cleaned_data, **_device(request))
        except ValidationError as error:
            form.add_error(None, error)
        else:
            return redirect("change-signing:order", token)
    _log(request, link, What.INCOMPLETE if request.method == "POST" else What.DECLINING)
    return render(request, "changes/customer_decline.html", _context(link, token, state) | {"form": form})


@everyone_allowed
@require_safe
@private_link
def order_paper(request: HttpRequest, link: ChangeLink, token: str) -> HttpResponseBase:
    state, document = selectors.state_of(link, timezone.now()), link.order.document
    if not state.shows_the_quote or document is None or not document.is_done:
        return redirect("change-signing:order", token)
    _log(request, link, What.PAPER)
    return document_response(request, document, as_attachment="keep" in request.GET)


@everyone_allowed
@require_safe
@private_link
def signed_paper(request: HttpRequest, link: ChangeLink, token: str) -> HttpResponseBase:
    state, acceptance = selectors.state_of(link, timezone.now()), selectors.acceptance_of(link.order)
    document = acceptance.document if acceptance and state is State.ACCEPTED else None
    if document is None or not document.is_done:
        return redirect("change-signing:order", token)
    _log(request, link, What.SIGNED_PAPER)
    return document_response(request, document, as_attachment="keep" in request.GET)


def _context(link: ChangeLink, token: str, state: State) -> dict[str, Any]:
    """Return what every page of an open link shows: from the frozen paper, and nothing else."""
    return {
        "paper": paper.context(link.order.snapshot["paper"]),
        "document": link.order.document,
        "paper_sha256": signing.paper_sha256(link.order),
        "answered_on": link.order.answered_on,
        "token": token,
        "is_open": state is State.OPEN,
    }


def _closed(request: HttpRequest, link: ChangeLink, state: State) -> HttpResponse:
    _log(request, link, What.CLOSED)
    company = link.order.snapshot["paper"]["company"]
    return render(request, "changes/closed.html", {"state": state.value, "company": company})


def _device(request: HttpRequest) -> dict[str, Any]:
    staff = request.user if isinstance(request.user, User) else None
    return {"agent": coarse_agent(request.headers.get("User-Agent", "")), "staff": staff}


def _log(request: HttpRequest, link: ChangeLink, what: ChangeVisit.What) -> None:
    signing.visit_log(link=link, what=what, at=timezone.now(), **_device(request))
