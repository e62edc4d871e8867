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

from . import policies, selectors, services
from .forms import LinkForm
from .signable import Paper, Signable


@office_required
@require_http_methods(["GET", "POST"])
def link_new(request: StaffRequest, pk: int, signable: Signable) -> HttpResponse:
    paper = signable.paper_for(request.user, pk)
    form = LinkForm(request.POST or None, initial=link_defaults(signable, paper))
    trail = dict(zip(("list_address", "label"), signable.trail(paper), strict=True))
    shown = {"paper": paper, "words": signable.words, "form": form, **trail}
    if request.method == "POST" and form.is_valid():
        try:
            link, token = services.link_make(
                signable=signable, paper=paper, by=request.user, **form.cleaned_data
            )
        except ValidationError as error:
            form.add_error(None, error)
        else:
            # Told on this answer alone: a redirect would have to keep the token somewhere.
            address = request.build_absolute_uri(reverse(signable.address(), args=[token]))
            shown |= {"address": address, "mail": _mail(signable, paper, address, link.recipient)}
            response = render(request, "signing/link_made.html", shown)
            response.headers["Cache-Control"] = "no-store"
            return response
    return render(request, "signing/link_new.html", shown)


@office_required
@require_POST
def link_revoke(request: StaffRequest, pk: int, link: int, signable: Signable) -> HttpResponse:
    found = policies.link_for(signable, request.user, pk, link)
    services.link_revoke(link=found, by=request.user)
    messages.success(request, _("The link is closed. Whoever has it is told so, and nothing else."))
    return redirect(found.paper.get_absolute_url())


@office_required
@require_POST
def signed_again(request: StaffRequest, pk: int, signable: Signable) -> HttpResponse:
    paper = signable.paper_for(request.user, pk)
    acceptance = selectors.acceptance_of(signable, paper)
    if acceptance is not None:
        services.signed_paper_again(signable=signable, acceptance=acceptance)
    return redirect(paper)


def link_defaults(signable: Signable, paper: Paper) -> dict[str, object]:
    """Return what the form for a link begins with: the customer's address and the paper's last day."""
    return {"recipient": signable.customer(paper), "expires_on": paper.valid_until}


def _mail(signable: Signable, paper: Paper, address: str, recipient: str) -> str:
    """Return a ``mailto:`` address with the message filled in (RFC 6068)."""
    frozen = paper.snapshot["paper"]
    subject, body = signable.say("trail", frozen), signable.say("letter", frozen, address=address)
    to = encoded(recipient, safe="@") if "@" in recipient else ""
    # Lines of a body end in CR LF.
    text = encoded(body.replace("\n", "\r\n"), safe="")
    return f"mailto:{to}?subject={encoded(subject, safe='')}&body={text}"
