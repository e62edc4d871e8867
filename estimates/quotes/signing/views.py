"""A customer's pages, by a private link and without an account."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import wraps
from typing import Any

from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect, render
from django.utils import timezone, translation
from django.views.decorators.http import require_http_methods, require_safe

from contracting.documents.models import DocumentRequest
from contracting.documents.serving import document_response
from contracting.staff.models import User
from contracting.staff.policies import everyone_allowed

from . import policies, selectors, services
from .agents import coarse_agent
from .forms import DeclineForm, SignForm
from .models import PrivateLink, Visit
from .selectors import State
from .signable import Signable
from .signature import HEIGHT, WIDTH

What = Visit.What


@dataclass(frozen=True)
class Opened:
    """A private link that somebody opens: its row, its token, and what its paper is good for now."""

    signable: Signable
    link: PrivateLink
    token: str
    state: State

    def to_the_paper(self) -> HttpResponse:
        return redirect(self.signable.address(), self.token)

    def context(self) -> dict[str, Any]:
        """Return what every page of an open link shows: from the frozen paper, and nothing else of it."""
        paper = self.link.paper
        frozen = paper.snapshot["paper"]
        return {
            "paper": self.signable.context(frozen),
            "words": self.signable.said(frozen),
            "addresses": self.signable.addresses,
            "document": paper.document,
            "paper_sha256": services.paper_sha256(paper),
            "answered_on": paper.answered_on,
            "token": self.token,
            "is_open": self.state is State.OPEN,
        }


Page = Callable[[HttpRequest, Opened], HttpResponseBase]


def private_link(page: Page) -> Callable[[HttpRequest, str, Signable], HttpResponseBase]:
    """Hand *page* the link of its token, in the paper's own language; a wrong token is told nothing."""

    @wraps(page)
    def opened(request: HttpRequest, token: str, signable: Signable) -> HttpResponseBase:
        link, now = policies.link_for_token(signable, token), timezone.now()
        if link is None:
            response: HttpResponseBase = render(request, "signing/nothing.html", status=404)
        elif selectors.is_busy(signable, link, now):
            response = render(request, "signing/busy.html", status=429)
        else:
            # What is signed is said in the words that were frozen, and in no other language.
            with translation.override(link.paper.snapshot["paper"]["language"]):
                response = page(request, Opened(signable, link, token, selectors.state_of(link, now)))
        response.headers["X-Robots-Tag"] = "noindex, nofollow"
        if "Cache-Control" not in response.headers:
            response.headers["Cache-Control"] = "private, no-store"
        return response

    return opened


@everyone_allowed
@require_safe
@private_link
def paper(request: HttpRequest, opened: Opened) -> HttpResponseBase:
    if not opened.state.shows_the_paper:
        return _closed(request, opened)
    if not getattr(request, "htmx", False):
        _log(request, opened, What.READ)
    context = opened.context()
    if opened.state is State.ACCEPTED:
        context["acceptance"] = selectors.acceptance_of(opened.signable, opened.link.paper)
    return render(request, opened.signable.page, context)


@everyone_allowed
@require_http_methods(["GET", "HEAD", "POST"])
@private_link
def sign(request: HttpRequest, opened: Opened) -> HttpResponseBase:
    form = SignForm(request.POST or None)
    consent = opened.signable.consent_lines(opened.link.paper.snapshot["paper"])
    more = {"consent": consent, "field": (WIDTH, HEIGHT)}
    return _answer(request, opened, form, services.paper_sign, What.SIGNING, "signing/sign.html", more)


@everyone_allowed
@require_http_methods(["GET", "HEAD", "POST"])
@private_link
def decline(request: HttpRequest, opened: Opened) -> HttpResponseBase:
    form = DeclineForm(request.POST or None)
    return _answer(request, opened, form, services.paper_refuse, What.DECLINING, "signing/decline.html", {})


@everyone_allowed
@require_safe
@private_link
def paper_pdf(request: HttpRequest, opened: Opened) -> HttpResponseBase:
    document = opened.link.paper.document if opened.state.shows_the_paper else None
    return _file(request, opened, document, What.PAPER)


@everyone_allowed
@require_safe
@private_link
def signed_pdf(request: HttpRequest, opened: Opened) -> HttpResponseBase:
    acceptance = selectors.acceptance_of(opened.signable, opened.link.paper)
    document = acceptance.document if acceptance and opened.state is State.ACCEPTED else None
    return _file(request, opened, document, What.SIGNED_PAPER)


def _answer(
    request: HttpRequest,
    opened: Opened,
    form: SignForm | DeclineForm,
    service: Callable[..., object],
    what: Visit.What,
    template: str,
    more: dict[str, Any],
) -> HttpResponseBase:
    """Show the form of an answer, or take the answer and show the paper."""
    if opened.state is not State.OPEN:
        return opened.to_the_paper()
    if request.method == "POST" and form.is_valid():
        try:
            service(signable=opened.signable, link=opened.link, **form.cleaned_data, **_device(request))
        except ValidationError as error:
            form.add_error(None, error)
        else:
            return opened.to_the_paper()
    _log(request, opened, What.INCOMPLETE if request.method == "POST" else what)
    return render(request, template, opened.context() | more | {"form": form})


def _file(
    request: HttpRequest, opened: Opened, document: DocumentRequest | None, what: Visit.What
) -> HttpResponseBase:
    if document is None or not document.is_done:
        return opened.to_the_paper()
    _log(request, opened, what)
    return document_response(request, document, as_attachment="keep" in request.GET)


def _closed(request: HttpRequest, opened: Opened) -> HttpResponse:
    _log(request, opened, What.CLOSED)
    frozen = opened.link.paper.snapshot["paper"]
    shown = {"state": opened.state.value, "company": frozen["company"], "words": opened.signable.said(frozen)}
    return render(request, "signing/closed.html", shown)


def _device(request: HttpRequest) -> dict[str, Any]:
    staff = request.user if isinstance(request.user, User) else None
    return {"agent": coarse_agent(request.headers.get("User-Agent", "")), "staff": staff}


def _log(request: HttpRequest, opened: Opened, what: Visit.What) -> None:
    services.visit_log(
        signable=opened.signable, link=opened.link, what=what, at=timezone.now(), **_device(request)
    )
