"""The office makes and revokes private links."""

from __future__ import annotations

from urllib.parse import quote as encoded

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST

from contracting.staff.policies import StaffRequest, office_required

from ..models import Quote
from ..policies import quote_for
from . import policies, selectors, services
from .forms import LinkForm


@office_required
@require_http_methods(["GET", "POST"])
def link_new(request: StaffRequest, pk: int) -> HttpResponse:
    quote = quote_for(request.user, pk)
    form = LinkForm(request.POST or None, initial=link_defaults(quote))
    if request.method == "POST" and form.is_valid():
        try:
            _link, token = services.link_make(quote=quote, by=request.user, **form.cleaned_data)
        except ValidationError as error:
            form.add_error(None, error)
        else:
            # Told on this answer alone: a redirect would have to keep the token somewhere.
            shown = {"quote": quote, "address": _address(request, token), "recipient": _link.recipient}
            response = render(request, "signing/link_made.html", shown | _mail(quote, shown))
            response.headers["Cache-Control"] = "no-store"
            return response
    return render(request, "signing/link_new.html", {"quote": quote, "form": form})


@office_required
@require_POST
def link_revoke(request: StaffRequest, pk: int, link: int) -> HttpResponse:
    found = policies.link_for(request.user, pk, link)
    services.link_revoke(link=found, by=request.user)
    messages.success(request, _("The link is closed. Whoever has it is told so, and nothing else."))
    return redirect(found.quote)


@office_required
@require_POST
def signed_again(request: StaffRequest, pk: int) -> HttpResponse:
    found = quote_for(request.user, pk)
    acceptance = selectors.acceptance_of(found)
    if acceptance is not None:
        services.signed_paper_again(acceptance=acceptance)
    return redirect(found)


def link_defaults(quote: Quote) -> dict[str, object]:
    """Return what the form for a link begins with: the customer's address and the quote's last day."""
    customer = quote.snapshot["paper"]["customer"]
    return {"recipient": customer["email"] or customer["name"], "expires_on": quote.valid_until}


def _address(request: StaffRequest, token: str) -> str:
    return request.build_absolute_uri(reverse("signing:quote", args=[token]))


def _mail(quote: Quote, shown: dict[str, object]) -> dict[str, str]:
    """Return a ``mailto:`` address with the message filled in (RFC 6068)."""
    paper = quote.snapshot["paper"]
    named = {"company": paper["company"]["name"], "number": quote.number, "title": quote.title}
    subject = _("Quote %(number)s: %(title)s") % named
    body = _(
        "Hello,\n\nhere is our quote. You can read it on a phone, and sign or decline it there:\n\n"
        "%(address)s\n\nThe link is private: please do not pass it on.\n\n%(company)s"
    ) % (named | {"address": shown["address"]})
    recipient = str(shown["recipient"])
    to = encoded(recipient, safe="@") if "@" in recipient else ""
    # Lines of a body end in CR LF.
    text = encoded(body.replace("\n", "\r\n"), safe="")
    return {"mail": f"mailto:{to}?subject={encoded(subject, safe='')}&body={text}"}
